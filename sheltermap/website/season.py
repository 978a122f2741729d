"""The season chart: regions down the side, weeks across, the journey as a stair.

In: the Report's places, weeks and dated plan. Out: coordinates and words for the chart's
template, and the tables from which the page redraws it for another departure date.
Assumes 365-day years, in which 29 February stands on 28 February.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

import numpy as np

from sheltermap.dates import days_of_year
from sheltermap.places.place import Place, Week
from sheltermap.report.report import PlannedLeg, Report
from sheltermap.spans import day_word
from sheltermap.vocabulary import DAYS_IN_MONTH, DAYS_IN_YEAR, MONTHS
from sheltermap.website import hazardstrip
from sheltermap.website.charts import box_path
from sheltermap.website.placesigns import marked_days


@dataclass(frozen=True)
class Layout:
    """Where things stand in one drawing of the chart, in its own units (about px)."""

    name: str
    width: float
    left: float
    right: float
    top: float
    cell: float
    pitch: float
    label_above: bool


WIDE = Layout("wide", 960, 226, 8, 34, 30, 42, False)
NARROW = Layout("narrow", 344, 2, 2, 30, 26, 56, True)


@dataclass(frozen=True)
class Axis:
    """The years a chart shows.

    Attributes
    ----------
    first : int
        First year.
    years : int
        How many.
    """

    first: int
    years: int

    @property
    def days(self) -> int:
        """Return the axis's length in 365-day years. [day]"""
        return self.years * DAYS_IN_YEAR

    def position(self, day: date) -> int:
        """Return a date's place on the axis. [day]"""
        return (day.year - self.first) * DAYS_IN_YEAR + int(days_of_year(day, 1)[0])


def axis(report: Report) -> Axis:
    """
    Return the years that the journey can touch.

    Parameters
    ----------
    report : Report

    Returns
    -------
    Axis
    """
    dates = [report.trip.departure.earliest]
    plans = [plan for plan in (report.best, *report.alternatives) if plan is not None]
    dates += [plan.finish for plan in plans]
    dates += [day for stays in report.by_departure for day in stays.leave]
    first = report.trip.departure.earliest.year
    return Axis(first, max(dates).year - first + 1)


def drawing(report: Report, layout: Layout) -> dict:
    """
    Return one drawing of the season chart for the template.

    Parameters
    ----------
    report : Report
    layout : Layout

    Returns
    -------
    dict
        Coordinates, texts and the stair's path.
    """
    span = axis(report)
    plot = layout.width - layout.left - layout.right
    scale = plot / span.days
    rows = [
        _row(place, layout, layout.top + number * layout.pitch, span, scale)
        for number, place in enumerate(report.places)
    ]
    legs = () if report.best is None else report.best.legs
    height = layout.top + len(rows) * layout.pitch + 6
    return {
        "layout": layout,
        "height": height,
        "plot": plot,
        "axis": span,
        "rows": rows,
        "areas": _areas(rows, layout),
        "signs": _sign_lines(report, rows, layout, span, scale),
        "months": _months(layout, span, scale),
        "stair": stair(
            [(_row_number(report, leg), leg.arrive, leg.leave) for leg in legs], layout, span
        ),
    }


def _areas(rows: list[dict], layout: Layout) -> list[dict]:
    """
    Return one path for each pattern: all cells of a grade, all stretches of a hazard level.

    One path a pattern instead of one a cell: printing draws each patterned shape as a
    picture of the whole chart.
    """
    paths: dict[str, str] = {}
    for row in rows:
        for grade, alike in groupby(row["cells"], key=lambda cell: cell["grade"]):
            name = "gx" if grade < 0 else f"g{grade}"
            paths[name] = paths.get(name, "") + _joined(list(alike), row["y"], layout.cell)
        stretches = [
            _stretch(list(alike))
            for _, alike in groupby(
                row["cells"], key=lambda cell: (cell["hazard_level"], cell["checked"])
            )
        ]
        hazardstrip.strip(stretches, row["y"] + layout.cell + hazardstrip.GAP, paths)
    return [{"pattern": name, "path": path} for name, path in sorted(paths.items())]


def _sign_lines(report: Report, rows: list[dict], layout: Layout, span: Axis, scale: float) -> str:
    """Return the path of all rows' signs."""
    path = ""
    for place, row in zip(report.places, rows, strict=True):
        days = marked_days(place)
        starts = np.flatnonzero(np.diff(days, prepend=False) & days)
        ends = np.flatnonzero(np.diff(days, append=False) & days) + 1
        y = row["y"] + layout.cell + hazardstrip.GAP
        for year in range(span.years):
            left = layout.left + year * DAYS_IN_YEAR * scale
            stretches = [
                (left + first * scale, (end - first) * scale)
                for first, end in zip(starts.tolist(), ends.tolist(), strict=True)
            ]
            path += hazardstrip.sign_line(stretches, y)
    return path


def _stretch(cells: Sequence[dict[str, Any]]) -> tuple[float, float, int, bool]:
    """Return neighbouring cells of one hazard level as x, width, level and whether checked."""
    first, last = cells[0], cells[-1]
    width = last["x"] + last["width"] - first["x"]
    return first["x"], width, first["hazard_level"], first["checked"]


def _joined(cells: Sequence[dict[str, Any]], y: float, height: float) -> str:
    """Return neighbouring cells as one box, so that no seam shows between them."""
    x = cells[0]["x"]
    return box_path(x, y, cells[-1]["x"] + cells[-1]["width"] - x, height)


def stair(stays: Iterable[tuple[int, date, date]], layout: Layout, span: Axis) -> str:
    """
    Return the journey as an SVG path.

    The page's script draws other departures by the same rule; a browser test compares.

    Parameters
    ----------
    stays : iterable of (row number, arrive, leave)
    layout : Layout
    span : Axis

    Returns
    -------
    str
        Path data; empty without stays.
    """
    scale = (layout.width - layout.left - layout.right) / span.days
    points = []
    for row, arrive, leave in stays:
        y = row_top(layout, row) + layout.cell / 2
        for day in (arrive, leave):
            points.append(f"{layout.left + span.position(day) * scale:.1f} {y:.1f}")
    return "M" + "L".join(points) if points else ""


def row_top(layout: Layout, row: int) -> float:
    """Return where the cells of a row begin."""
    return layout.top + row * layout.pitch + (16 if layout.label_above else 0)


def _row_number(report: Report, leg: PlannedLeg) -> int:
    """Return the row that a leg runs in."""
    return [place.id for place in report.places].index(leg.place)


def _row(place: Place, layout: Layout, top: float, span: Axis, scale: float) -> dict:
    """Return the cells and the label of one place."""
    cells = []
    y = top + (16 if layout.label_above else 0)
    for year in range(span.years):
        offset = year * DAYS_IN_YEAR
        for run in week_runs(place.weeks):
            x = layout.left + (offset + run["first"]) * scale
            cells.append({"x": x, "width": run["days"] * scale, **run})
    return {
        "name": place.name,
        "id": place.id,
        "y": y,
        "label_y": top + 11 if layout.label_above else y + layout.cell / 2 + 5,
        "cells": cells,
        "not_checked": place.not_checked,
    }


def week_runs(weeks: tuple[Week, ...]) -> list[dict]:
    """
    Return neighbouring weeks that say the same as one run each.

    Parameters
    ----------
    weeks : tuple of Week

    Returns
    -------
    list of dict
        Keys first [day of year from 0], days, grade, factor, hazard, hazard_level,
        checked, remedy, lowest and highest share.
    """
    starts = week_starts(weeks)
    ends = [*starts[1:], DAYS_IN_YEAR]
    runs = []
    alike = groupby(
        range(len(weeks)),
        key=lambda n: (
            weeks[n].grade,
            weeks[n].factor,
            weeks[n].hazard,
            weeks[n].hazard_level,
            weeks[n].checked,
            weeks[n].remedy,
        ),
    )
    for (grade, factor, hazard, level, checked, remedy), numbers in alike:
        members = list(numbers)
        shares = [weeks[n].sound_share for n in members]
        runs.append(
            {
                "first": starts[members[0]],
                "days": ends[members[-1]] - starts[members[0]],
                "grade": int(grade),
                "factor": factor,
                "hazard": hazard,
                "hazard_level": int(level),
                "checked": checked,
                "remedy": remedy,
                "lowest": float(np.min(shares)),
                "highest": float(np.max(shares)),
                "when": f"{day_word(starts[members[0]])} to {day_word(ends[members[-1]] - 1)}",
            }
        )
    return runs


def week_starts(weeks: tuple[Week, ...]) -> list[int]:
    """Return the first day of each week, counted from 0 for 1 January."""
    base = weeks[0].first_day_of_year if weeks else 0
    return [int(week.first_day_of_year - base) for week in weeks]


def _months(layout: Layout, span: Axis, scale: float) -> list[dict]:
    """Return month lines and names, short enough for the room there is."""
    marks = []
    for year in range(span.years):
        day = year * DAYS_IN_YEAR
        for month, days in enumerate(DAYS_IN_MONTH):
            room = days * scale
            name = MONTHS[month][: 3 if room > 34 else 1]
            if room < 9:
                name = name if month % 3 == 0 else ""
            marks.append(
                {
                    "x": layout.left + day * scale,
                    "middle": layout.left + day * scale + room / 2,
                    "name": name,
                    "year": span.first + year if month == 0 and span.years > 1 else None,
                }
            )
            day += days
    return marks
