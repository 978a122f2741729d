"""The strip under a row of cells: hazards by level, apart from the grade of sleep above it.

In: stretches of a row with their level and whether every kind was looked at. Out: SVG paths
by class. Assumes that thickness tells the levels apart where colours don't.
"""

from __future__ import annotations

from collections.abc import Iterable

from sheltermap.vocabulary import Level
from sheltermap.website.charts import box_path

HEIGHT = 7.0
"""Height of the whole strip; closed and forbidden stretches fill it. [SVG unit]"""

GAP = 1.0
"""Between the cells and their strip. [SVG unit]"""

_HEIGHTS = {
    Level.NONE: 3.0,  # where nobody looked
    Level.ADVISORY: 2.0,
    Level.SERIOUS: 5.0,
    Level.PROHIBITIVE: HEIGHT,
    Level.CLOSURE: HEIGHT,
}
_CROSS, _CROSS_EVERY = 2.0, 28.0
_BELOW = 1.5

LEVEL_MEANINGS = {
    Level.ADVISORY: ("advisory", "take care"),
    Level.SERIOUS: ("serious", "a reason to go elsewhere or at another time"),
    Level.PROHIBITIVE: ("don't sleep here", "prohibitive: a danger, or forbidden"),
    Level.CLOSURE: ("closed", "nobody may or can be there"),
}
"""Word and meaning of each level in the legend."""


def strip(
    stretches: Iterable[tuple[float, float, int, bool]], y: float, paths: dict[str, str]
) -> None:
    """
    Add the strip of one row to the paths of a drawing.

    Parameters
    ----------
    stretches : iterable of (x, width, level, checked)
        `level` is a `vocabulary.Level`; without one, what nobody looked at is marked.
    y : float
        Top of the strip.
    paths : dict of str to str
        Path data by class: ``h1`` to ``h4`` for the levels, ``hx`` for the crosses on closed
        stretches, ``nc`` where a kind was not looked at and no other is known.
    """
    for x, width, level, checked in stretches:
        if not level and checked:
            continue
        name = f"h{int(level)}" if level else "nc"
        paths[name] = paths.get(name, "") + box_path(x, y, width, _HEIGHTS[Level(level)])
        if level == Level.CLOSURE:
            paths["hx"] = paths.get("hx", "") + _crosses(x, width, y)


def sign_line(stretches: Iterable[tuple[float, float]], y: float) -> str:
    """
    Return the line of signs under a strip, lighter than any level.

    Parameters
    ----------
    stretches : iterable of (x, width)
    y : float
        Top of the strip.

    Returns
    -------
    str
        Path data to be stroked; empty without stretches.
    """
    return "".join(f"M{x:.1f} {y + HEIGHT + _BELOW:.1f}h{width:.1f}" for x, width in stretches)


def _crosses(x: float, width: float, y: float) -> str:
    """Return crosses along a closed stretch, one at least."""
    count = max(1, int(width // _CROSS_EVERY))
    middle = y + HEIGHT / 2
    return "".join(
        f"M{x + width * (step + 0.5) / count - _CROSS:.1f} {middle - _CROSS:.1f}"
        f"l{2 * _CROSS:g} {2 * _CROSS:g}m0 {-2 * _CROSS:g}l{-2 * _CROSS:g} {2 * _CROSS:g}"
        for step in range(count)
    )


def legend() -> list[dict]:
    """
    Return the levels with their words, meanings and heights.

    Returns
    -------
    list of dict
        Keys level, word, meaning, height (in the 18 units of a chip).
    """
    return [
        {
            "level": int(level),
            "word": word,
            "meaning": meaning,
            "height": _HEIGHTS[level] * 18 / (2 * HEIGHT),
        }
        for level, (word, meaning) in LEVEL_MEANINGS.items()
    ]
