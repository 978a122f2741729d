"""Charts as numbers for inline SVG: where every bar, line and label stands.

In: parts of the Report. Out: plain dicts that the chart templates draw, each with a
title, a sentence of description and the rows of a data table. Assumes the templates
escape every text; nothing here is markup.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np

from sheltermap.report.report import DatedPlan, Report, Stays
from sheltermap.vocabulary import FACTORS, GRADE_FLOORS, Grade
from sheltermap.website import words
from sheltermap.website.figures import is_known, number, percent

WIDTH = 344
"""Width of every small chart in its own units: one of them is one px on a small phone."""


def ticks(lowest: float, highest: float, about: int = 4) -> list[float]:
    """
    Return round numbers that span a range.

    Parameters
    ----------
    lowest, highest : float
    about : int
        Steps wanted.

    Returns
    -------
    list of float
        The first at or below `lowest`, the last at or above `highest`.

    Examples
    --------
    >>> ticks(-7, 31)
    [-10.0, 0.0, 10.0, 20.0, 30.0, 40.0]
    >>> ticks(0, 0)
    [0.0, 1.0]
    """
    reach = max(highest - lowest, 1e-9)
    size = 10 ** math.floor(math.log10(reach / about))
    step = next(size * factor for factor in (1, 2, 5, 10) if reach / (size * factor) <= about)
    if highest <= lowest:
        step, highest = 1.0, lowest + 1.0
    first = math.floor(lowest / step)
    last = math.ceil(highest / step - 1e-9)
    return [float(n * step) for n in range(first, last + 1)]


def tick_text(value: float) -> str:
    """
    Return a tick in words, with the decimals it needs, so that two never read the same.

    Parameters
    ----------
    value : float

    Returns
    -------
    str

    Examples
    --------
    >>> [tick_text(mark) for mark in ticks(0.0, 1.6)]
    ['0', '0.5', '1', '1.5', '2']
    """
    digits = next((n for n in range(3) if abs(round(value, n) - value) < 1e-9), 3)
    return number(value, digits)


def path(points: Iterable[tuple[float, float]]) -> str:
    """
    Return a line through points; a missing value interrupts it.

    Parameters
    ----------
    points : sequence of (x, y)
        y may be NaN.

    Returns
    -------
    str
        SVG path data.

    Examples
    --------
    >>> path([(0, 1), (1, 2), (2, float("nan")), (3, 4), (4, 5)])
    'M0.0 1.0L1.0 2.0M3.0 4.0L4.0 5.0'
    """
    text, pen_up = "", True
    for x, y in points:
        if math.isnan(y):
            pen_up = True
            continue
        text += f"{'M' if pen_up else 'L'}{x:.1f} {y:.1f}"
        pen_up = False
    return text


def box_path(x: float, y: float, width: float, height: float) -> str:
    """
    Return a rectangle as SVG path data.

    Examples
    --------
    >>> box_path(1, 2, 3.25, 4)
    'M1 2h3.25v4h-3.25z'
    """
    left, top, across, down = (
        f"{value:.2f}".rstrip("0").rstrip(".") for value in (x, y, width, height)
    )
    return f"M{left} {top}h{across}v{down}h-{across}z"


def departure_curve(report: Report) -> dict | None:
    """
    Return rough nights against departure date.

    Parameters
    ----------
    report : Report

    Returns
    -------
    dict or None
        None where there are fewer than two departure days.
    """
    stays = report.by_departure
    if len(stays) < 2:
        return None
    costs = [one.rough_nights if is_known(one.rough_nights) else math.nan for one in stays]
    if all(math.isnan(cost) for cost in costs):
        return None
    left, top, bottom = 30, 16, 150
    marks = ticks(0.0, float(np.nanmax(costs)))
    step = (WIDTH - left - 10) / (len(stays) - 1)

    def x(position: float) -> float:
        return left + position * step

    def y(cost: float) -> float:
        return bottom - cost / marks[-1] * (bottom - top)

    best = day_of_plan(report)
    rows = [
        (words.full_date(one.depart), "no plan" if math.isnan(cost) else number(cost, 1))
        for n, (one, cost) in enumerate(zip(stays, costs, strict=True))
        if n % 7 == 0 or n == best
    ]
    return {
        "width": WIDTH,
        "height": 176,
        "left": left,
        "top": top,
        "bottom": bottom,
        "line": path((x(n), y(cost)) for n, cost in enumerate(costs)),
        "gaps": _gaps(costs, x),
        "ticks": [{"y": y(mark), "text": tick_text(mark)} for mark in marks],
        "months": _month_marks(stays, x),
        "best": None if best is None else {"x": x(best), "y": y(costs[best])},
        "step": step,
        "rows": rows,
    }


def day_of_plan(report: Report) -> int | None:
    """
    Return which of the departure days is the plan's.

    Parameters
    ----------
    report : Report

    Returns
    -------
    int or None
        Position in `Report.by_departure`; None without a plan, or where it leaves on none.
    """
    depart = report.best.depart if report.best else None
    return next((n for n, one in enumerate(report.by_departure) if one.depart == depart), None)


def _month_marks(stays: Sequence[Stays], x: Callable[[float], float]) -> list[dict]:
    """Return the months along departure days, each where it begins and has room for its name."""
    months: list[dict[str, Any]] = [
        {"x": x(n), "name": words.MONTHS[one.depart.month - 1][:3]}
        for n, one in enumerate(stays)
        if one.depart.day == 1 or n == 0
    ]
    return [m for n, m in enumerate(months) if n == 0 or m["x"] - months[n - 1]["x"] > 22]


def _gaps(costs: Sequence[float], x: Callable[[float], float]) -> list[dict]:
    """Return the stretches of departure dates that no plan fits."""
    gaps, start = [], None
    for n, cost in enumerate([*costs, 0.0]):
        if math.isnan(cost) and start is None:
            start = n
        elif not math.isnan(cost) and start is not None:
            gaps.append(
                {"x": x(max(0, start - 0.5)), "width": x(n - 0.5) - x(max(0, start - 0.5))}
            )
            start = None
    return gaps


def causes_chart(plan: DatedPlan, names: list[str]) -> dict:
    """
    Return nights by cause, one stacked bar a leg.

    Parameters
    ----------
    plan : DatedPlan
    names : list of str
        How the page calls the legs.

    Returns
    -------
    dict
    """
    rows = [
        {
            "name": name,
            "total": leg.rough_nights,
            "parts": [
                (words.FACTOR_WORDS[f], leg.nights_by_factor.get(f), f"f{n}")
                for n, f in enumerate(FACTORS)
            ],
        }
        for name, leg in zip(names, plan.legs, strict=True)
    ]
    return stacked_bars(rows, bar_ticks(rows))


def bar_ticks(rows: list[dict]) -> list[float]:
    """Return an axis from 0 on which every stacked bar of `rows` fits."""
    longest = max(
        (sum(value for _, value, _ in row["parts"] if is_known(value)) for row in rows),
        default=0.0,
    )
    return ticks(0.0, max(longest, 1.0))


def stacked_bars(rows: list[dict], marks: list[float]) -> dict[str, Any]:
    """
    Return horizontal stacked bars, each under its name.

    Parameters
    ----------
    rows : list of dict
        Keys name, total, parts (a list of word, value or None, style class).
    marks : list of float
        Axis ticks from 0.

    Returns
    -------
    dict
    """
    left, pitch, top, right = 4, 40, 8, 34
    unit = (WIDTH - left - right) / marks[-1]
    bars = []
    for number_, row in enumerate(rows):
        y, x, parts = top + number_ * pitch, float(left), []
        for word, value, style in row["parts"]:
            if not is_known(value) or value <= 0:
                continue
            parts.append({"x": x, "width": value * unit, "word": word, "style": style})
            x += value * unit
        bars.append(
            {
                "name": row["name"],
                "y": y,
                "parts": parts,
                "total": row["total"],
            }
        )
    bottom = top + len(rows) * pitch
    return {
        "width": WIDTH,
        "height": bottom + 22,
        "bars": bars,
        "bottom": bottom,
        "ticks": [
            {"x": left + mark * unit, "value": mark, "text": tick_text(mark)} for mark in marks
        ],
        "rows": rows,
    }


def grade_legend() -> list[dict]:
    """
    Return the grades with their words and what they mean.

    Returns
    -------
    list of dict
        Keys grade, word, meaning, short (the share alone).
    """
    rows, above = [], None
    for grade, floor in (*GRADE_FLOORS, (Grade.UNFIT, None)):
        if above is None:
            meaning = short = f"{percent(floor)} or more"
            short = f"{percent(floor)}+"
        elif floor is None:
            meaning = short = f"under {percent(above)}"
        else:
            low = round(floor * 100)
            meaning, short = f"{low} to {percent(above)}", f"{low}–{percent(above)}"
        meaning += " of nights sound"
        rows.append({"grade": int(grade), "word": grade.word, "meaning": meaning, "short": short})
        above = floor
    return rows
