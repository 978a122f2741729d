"""Legends: the classes of the atlas's pictures, with a colour and words for each.

In: nothing, or kits. Out: classes in the order of a picture's class numbers, which start at 1.
Assumes the site's colours: a grade is told by its hue, a step of 5 % by a shade of it, and the
worst is the darkest, which a greyscale print keeps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from PIL import ImageColor

from sheltermap.shelters.kit import Kit
from sheltermap.vocabulary import FACTORS, GRADE_FLOORS, MONTHS, Grade, Level
from sheltermap.website.overlays import RISK_SHADES
from sheltermap.website.words import FACTOR_WORDS

Colour: TypeAlias = tuple[int, int, int]
Colours: TypeAlias = tuple[Colour, ...]

SHARE_STEPS = 20
"""Classes of the share of sound nights: 5 % each, so that every grade begins with one."""

SAVED_NIGHTS = (-31.0, -1.0, 1.0, 2.0, 5.0, 10.0, 20.0)
"""Least nights of a month that the dearer kit saves, of each class. [nights]"""


@dataclass(frozen=True)
class Entry:
    """
    One class of a picture.

    Attributes
    ----------
    words : str
    colour : tuple of int
        RGB.
    floor : float or None
        Least value, where values are ordered: a share, or nights. [0 to 1, nights]
    """

    words: str
    colour: Colour
    floor: float | None = None

    @property
    def as_data(self) -> dict:
        """Return it as the page reads it."""
        colour = "#{:02x}{:02x}{:02x}".format(*self.colour)
        floor = {} if self.floor is None else {"floor": self.floor}
        return {"words": self.words, "colour": colour, **floor}


Legend: TypeAlias = tuple[Entry, ...]


def _colours(codes: str) -> Colours:
    """Return colours by their codes, written as in the style sheet and in the page's data."""
    return tuple(ImageColor.getcolor(code, "RGB") for code in codes.split())  # type: ignore[misc]


_GRADE_SHADES: dict[Grade, Colours] = {
    Grade.UNFIT: _colours("#160c12 #704252"),
    Grade.HARD: _colours("#d69e54 #f3d69e"),
    Grade.WORKABLE: _colours("#b8e2da #88c8bd"),
    Grade.SOUND: _colours("#2e8c83 #186c66"),
}
"""Colours of a grade's lowest and highest share."""

_FACTOR_COLOURS: Colours = _colours("#2d6075 #f0b069 #9cc3cb #788680 #8c7ca8 #1c766f")
"""Cold, heat and wet as the season chart has them; wind and condensation darker than there, where
they have patterns too; the last for nights that nothing spoils."""

_SEASONS: Colours = _colours(
    "#2c3e70 #3e68a0 #68a0b0 #88c48c #acd660 #e0d858 "
    "#f0b448 #e88848 #cc5c50 #a04460 #70386c #483870"
)
"""The year as a ring of colours: December lies beside January."""

_MONTHS_ENDS: Colours = _colours("#160c12 #1c8076")
"""Of no workable month, and of twelve."""

_SAVED_COLOURS: Colours = _colours("#965a6e #e8e6de #d6e8e2 #aad4cc #70b6ac #308e84 #105c58")
_KIT_COLOURS: Colours = _colours(
    "#1c766f #d69654 #2d6075 #ac5c6e #96b25c #6e548c #ecce78 #60a0be #784e38 #a0a098"
)
(_UNFIT_ALL,) = _colours("#34222c")
_LEVEL_COLOURS: Colours = _colours("#e2f0ec #f0d69e #d69654 #963c28 #300c14")


def between(ends: Colours, part: float) -> Colour:
    """Return a colour between two, 0 being the first and 1 the last."""
    red, green, blue = (
        round(one + part * (other - one)) for one, other in zip(*ends, strict=True)
    )
    return red, green, blue


def share_legend() -> Legend:
    """
    Return the classes of the share of sound nights, worst first.

    Returns
    -------
    Legend

    Examples
    --------
    >>> [one.words for one in share_legend()][-3:]
    ['workable, 85 to 90 %', 'sound, 90 to 95 %', 'sound, 95 to 100 %']
    """
    floors = {grade: floor for grade, floor in GRADE_FLOORS} | {Grade.UNFIT: 0.0}
    found = []
    for step in range(SHARE_STEPS):
        floor = step / SHARE_STEPS
        grade = next(one for one in sorted(floors) if floor >= floors[one])
        top = 1.0 if grade is Grade.SOUND else floors[Grade(grade - 1)]
        steps = round((top - floors[grade]) * SHARE_STEPS)
        place = round((floor - floors[grade]) * SHARE_STEPS)
        words = f"{grade.word}, {100 * floor:.0f} to {100 * floor + 100 / SHARE_STEPS:.0f} %"
        colour = between(_GRADE_SHADES[grade], place / (steps - 1))
        found.append(Entry(words, colour, floor))
    return tuple(found)


def factor_legend() -> Legend:
    """Return the classes of the limiting factor, in the order of its codes."""
    words = [*(FACTOR_WORDS[factor] for factor in FACTORS), "nothing"]
    return tuple(Entry(*one) for one in zip(words, _FACTOR_COLOURS, strict=True))


def danger_legend() -> Legend:
    """Return the classes of the chance of a dangerous night, least first."""
    return tuple(Entry(shade.word, shade.colour, shade.floor) for shade in RISK_SHADES)


def months_legend() -> Legend:
    """Return the classes of the number of workable months, none first."""
    return tuple(
        Entry(f"{count} months", between(_MONTHS_ENDS, count / 12), float(count))
        for count in range(13)
    )


def best_legend() -> Legend:
    """Return the classes of the best month, from January on; the last for none workable."""
    months = (Entry(*one) for one in zip(MONTHS, _SEASONS, strict=True))
    return (*months, Entry("no workable month", _UNFIT_ALL))


def cheapest_legend(kits: Sequence[Kit]) -> Legend:
    """Return the classes of the cheapest workable kit, in the order of the kits; then none."""
    named = (
        Entry(kit.title, _KIT_COLOURS[place % len(_KIT_COLOURS)]) for place, kit in enumerate(kits)
    )
    return (*named, Entry("none is workable", _UNFIT_ALL))


def saved_legend() -> Legend:
    """Return the classes of the nights that the dearer kit saves, fewest first."""
    words = ["more rough nights", "no difference to speak of"]
    ends = [*SAVED_NIGHTS[3:], 31.0]
    words += [
        f"{low:.0f} to {high:.0f} nights" for low, high in zip(SAVED_NIGHTS[2:], ends, strict=True)
    ]
    entries = zip(words, _SAVED_COLOURS, SAVED_NIGHTS, strict=True)
    return tuple(Entry(*one) for one in entries)


def level_legend() -> Legend:
    """Return the classes of a hazard's level, none first."""
    return tuple(Entry(level.word, _LEVEL_COLOURS[level], float(level)) for level in Level)
