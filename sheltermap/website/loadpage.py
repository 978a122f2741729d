"""The Load page: what is on board leg by leg, against what the vehicle is rated for.

In: what the pages share. Out: the page with template and context. Assumes that the empty
vehicle is the same on every leg, so that a chart of what is loaded on it tells the rest.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from sheltermap.economy.load import CAUTIONS, PARTS, LegLoad, LoadReport
from sheltermap.economy.ratings import Limit, rounded_down, rounded_up
from sheltermap.website.axes import axis
from sheltermap.website.charts import WIDTH
from sheltermap.website.figures import is_known
from sheltermap.website.shared import Page, Shared

_LOADED = tuple((part, f"p{n}") for n, part in enumerate(PARTS) if part != "vehicle")
"""What is put on the empty vehicle, in the order a bar shows it, each with its style."""

_LEFT, _RIGHT, _TOP, _PITCH, _NAME, _BAR = 6, 10, 26, 44, 13, 18  # of the drawing [its units]


def load_page(shared: Shared) -> Page:
    """
    Return the Load page.

    Parameters
    ----------
    shared : Shared

    Returns
    -------
    Page
    """
    load = shared.report.load
    context: dict[str, Any] = {"load": load, "cautions": CAUTIONS}
    if load is not None:
        context |= {"mass": load_chart(load), "parts": _LOADED, "limits": _limits(load)}
    return Page("load", "Load", "load.html.j2", context)


def load_chart(load: LoadReport) -> dict[str, Any]:
    """
    Return what each leg's start loads on the empty vehicle, one bar a leg.

    Parameters
    ----------
    load : LoadReport

    Returns
    -------
    dict
        Keys empty_kg and rated_kg (of the vehicle; None is unknown), bars, and where all
        stands. A bar ends where a mass is unknown, and says so instead of a margin.
    """
    first = load.legs[0]
    empty, rated = first.parts_kg["vehicle"], first.limits[0].rating
    room = None if empty is None or rated is None else rated - empty
    loaded = [sum(leg.parts_kg[part] or 0.0 for part, _ in _LOADED) for leg in load.legs]
    scale = axis(0.0, max([*loaded, room or 0.0, 1.0]), "mass", 5)

    def x(mass: float) -> float:
        return _LEFT + mass / scale.last * (WIDTH - _LEFT - _RIGHT)

    bottom = _TOP + len(load.legs) * _PITCH
    return {
        "width": WIDTH,
        "height": bottom + 34,
        "left": _LEFT,
        "top": _TOP,
        "bottom": bottom,
        "bar": _BAR,
        "name": _NAME,
        "empty_kg": empty,
        "rated_kg": rated,
        "limit": x(room) if is_known(room) and room > 0 else None,
        "axis": scale.placed(x),
        "bars": [
            _bar(leg, _TOP + number * _PITCH, x, room) for number, leg in enumerate(load.legs)
        ],
    }


def _bar(
    leg: LegLoad, y: float, x: Callable[[float], float], room: float | None
) -> dict[str, Any]:
    """Return one leg's bar, and what is left of the rating or by how much it is exceeded."""
    parts, so_far, whole = [], 0.0, True
    for part, style in _LOADED:
        mass = leg.parts_kg[part]
        whole = whole and is_known(mass)
        if whole and mass:
            parts.append({"x": x(so_far), "width": x(so_far + mass) - x(so_far), "style": style})
            so_far += mass
    margin = leg.margin_kg
    return {
        "name": leg.name,
        "y": y,
        "parts": parts,
        "end": x(so_far),
        "margin": rounded_down(margin),
        "over": rounded_up(-margin) if is_known(margin) and margin < 0 else None,
        "aboard": rounded_up(leg.aboard_kg),
        "excess": x(max(room, 0.0))
        if is_known(margin) and margin < 0 and room is not None
        else None,
        "masses": [leg.parts_kg[part] for part, _ in _LOADED],
    }


def _limits(load: LoadReport) -> list[dict]:
    """Return every rating that was given, where it is tightest, for the templates."""
    return [
        {
            "name": limit.name,
            "load": limit.load,
            "rating": limit.rating,
            "margin": limit.margin,
            "exceeded": limit.exceeded,
            "kind": "mass" if limit.unit == "kg" else "volume",
        }
        for limit in _tightest(load)
    ]


def _tightest(load: LoadReport) -> list[Limit]:
    """Return each rating once: where its margin is least, or unknown."""
    worst: dict[str, Limit] = {}
    for limit in (*(one for leg in load.legs for one in leg.limits), *load.roof):
        held = worst.get(limit.name)
        # An unknown margin must not hide behind a known one.
        if held is None or (
            held.margin is not None and (limit.margin is None or limit.margin < held.margin)
        ):
            worst[limit.name] = limit
    return list(worst.values())
