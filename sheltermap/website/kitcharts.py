"""Charts of kits against each other: rough nights against money or mass.

In: rows of kits. Out: plain dicts that the chart templates draw. Assumes the templates
escape every text; nothing here is markup.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from sheltermap.economy.rows import KitRow
from sheltermap.website.axes import Axis, Mark, axis
from sheltermap.website.charts import WIDTH, tick_text, ticks
from sheltermap.website.figures import is_known

_DISC = 17.0  # across a numbered point with its edge, in the same units
_HAIR = 1e-6  # far above what sums of places are rounded by


def trade_off(
    rows: Sequence[KitRow],
    against: Literal["money", "mass_kg"],
    better: int | None,
    worth: set[int],
) -> dict | None:
    """
    Return rough nights against money or mass, one point a kit.

    Parameters
    ----------
    rows : sequence of KitRow
    against : {"money", "mass_kg"}
    better : int or None
        Position of the better kit.
    worth : set of int
        Positions that no other row beats.

    Returns
    -------
    dict or None
        None where fewer than two kits have both figures.
    """
    known = [
        (n, getattr(row, against), row.rough_nights, row.title)
        for n, row in enumerate(rows)
        if is_known(getattr(row, against)) and is_known(row.rough_nights)
    ]
    if len(known) < 2:
        return None
    left, top, right, bottom = 34, 18, WIDTH - 12, 180
    across = _axis(against, max(value for _, value, _, _ in known))
    up = ticks(0.0, max(rough for _, _, rough, _ in known))

    def x(value: float) -> float:
        return left + value / across.last * (right - left)

    def y(rough: float) -> float:
        return bottom - rough / up[-1] * (bottom - top)

    points = [
        {
            "x": x(value),
            "y": y(rough),
            "number": n + 1,
            "title": title,
            "value": value,
            "rough": rough,
            "better": n == better,
            "worth": n in worth,
        }
        for n, value, rough, title in known
    ]
    moved = _spread(points, right)
    return {
        "width": WIDTH,
        "height": 206,
        "left": left,
        "top": top,
        "right": right,
        "bottom": bottom,
        "across": across.placed(x) if against == "mass_kg" else across.placed(x)[:1],
        "y_ticks": [{"y": y(rough), "text": tick_text(rough)} for rough in up],
        "points": points,
        "moved": moved,
    }


def _axis(against: Literal["money", "mass_kg"], highest: float) -> Axis:
    """Return the axis across; money has one unit, and no imperial marks."""
    if against == "mass_kg":
        return axis(0.0, highest, "mass")
    marks = ticks(0.0, highest)
    return Axis(0.0, marks[-1], tuple(Mark(mark, tick_text(mark)) for mark in marks), ())


def _spread(points: list[dict], right: float) -> bool:
    """Move numbered points beside those they would cover; return whether any was moved."""
    moved = False
    for place, point in enumerate(points):
        leftwards = point["x"] > right - 3 * _DISC
        # On past the farthest. A hair less than a disc is apart: a rounded sum of a place and
        # the disc may lie so near, and would be moved to where it is for ever.
        while covered := [
            other["x"]
            for other in points[:place]
            if abs(point["x"] - other["x"]) < _DISC - _HAIR
            and abs(point["y"] - other["y"]) < _DISC - _HAIR
        ]:
            point["x"] = min(covered) - _DISC if leftwards else max(covered) + _DISC
            moved = True
    return moved
