"""Legends: the classes of the atlas's pictures, with a colour and words for each.

In: nothing, or kits. Out: classes in the order of a picture's class numbers, which start at 1.
Assumes the site's colours: a grade is told by its hue, a step of 5 % by a shade of it, and the
worst is the darkest, which a greyscale print keeps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from sheltermap.shelters.kit import Kit
from sheltermap.vocabulary import FACTORS, GRADE_FLOORS, MONTHS, Grade, Level
from sheltermap.website.overlays import RISK_SHADES
from sheltermap.website.words import FACTOR_WORDS

Colour: TypeAlias = tuple[int, int, int]

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

_GRADE_SHADES: dict[Grade, tuple[Colour, Colour]] = {
    Grade.UNFIT: ((22, 12, 18), (112, 66, 82)),
    Grade.HARD: ((214, 158, 84), (243, 214, 158)),
    Grade.WORKABLE: ((184, 226, 218), (136, 200, 189)),
    Grade.SOUND: ((46, 140, 131), (24, 108, 102)),
}
"""Colours of a grade's lowest and highest share."""

_FACTOR_COLOURS: tuple[Colour, ...] = (
    (45, 96, 117),
    (240, 176, 105),
    (156, 195, 203),
    (120, 134, 128),
    (140, 124, 168),
    (28, 118, 111),
)
"""As the season chart has them; the last for nights that nothing spoils."""

_SEASONS: tuple[Colour, ...] = (
    (44, 62, 112),
    (62, 104, 160),
    (104, 160, 176),
    (136, 196, 140),
    (172, 214, 96),
    (224, 216, 88),
    (240, 180, 72),
    (232, 136, 72),
    (204, 92, 80),
    (160, 68, 96),
    (112, 56, 108),
    (72, 56, 112),
)
"""The year as a ring of colours: December lies beside January."""

_FEW_MONTHS, _MANY_MONTHS = (22, 12, 18), (28, 128, 118)
_SAVED_COLOURS: tuple[Colour, ...] = (
    (150, 90, 110),
    (232, 230, 222),
    (214, 232, 226),
    (170, 212, 204),
    (112, 182, 172),
    (48, 142, 132),
    (16, 92, 88),
)
_KIT_COLOURS: tuple[Colour, ...] = (
    (28, 118, 111),
    (214, 150, 84),
    (45, 96, 117),
    (172, 92, 110),
    (150, 178, 92),
    (110, 84, 140),
    (236, 206, 120),
    (96, 160, 190),
    (120, 78, 56),
    (160, 160, 152),
)
_UNFIT_ALL: Colour = (52, 34, 44)
_LEVEL_COLOURS: tuple[Colour, ...] = (
    (226, 240, 236),
    (240, 214, 158),
    (214, 150, 84),
    (150, 60, 40),
    (48, 12, 20),
)


def between(first: Colour, last: Colour, part: float) -> Colour:
    """Return a colour between two, 0 being the first and 1 the last."""
    red, green, blue = (
        round(one + part * (other - one)) for one, other in zip(first, last, strict=True)
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
        colour = between(*_GRADE_SHADES[grade], place / max(steps - 1, 1))
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
        Entry(f"{count} months", between(_FEW_MONTHS, _MANY_MONTHS, count / 12), float(count))
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
