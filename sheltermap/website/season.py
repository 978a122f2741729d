"""The season chart: regions down the side, weeks across, the journey through them.

In: the Report's places, weeks and dated plan. Out: coordinates and words for the chart's
template, by which the page's script draws other departures too.
Assumes 365-day years, in which 29 February stands on 28 February.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from itertools import groupby
from typing import Any

import numpy as np

from sheltermap.places.place import Place, Week
from sheltermap.report.report import Report
from sheltermap.spans import day_word
from sheltermap.vocabulary import DAYS_IN_MONTH, DAYS_IN_YEAR, MONTHS
from sheltermap.website import hazardstrip, seasonmarks
from sheltermap.website.charts import box_path
from sheltermap.website.placesigns import marked_days
from sheltermap.website.seasonaxis import (
    YEAR_LINE,
    Axis,
    Frame,
    Layout,
    shown_weeks,
    week_starts,
    whole_years,
)


def drawn(report: Report, layout: Layout, span: Axis) -> Frame:
    """
    Return where the rows of a drawing stand.

    Parameters
    ----------
    report : Report
    layout : Layout
    span : Axis

    Returns
    -------
    Frame
    """
    marked = {mark.place for mark in seasonmarks.marks(report)}
    several = len(whole_years(report).years) > 1
    tops: list[float] = []
    top = y = layout.top + (YEAR_LINE if several else 0)
    for place in report.places:
        lane = layout.marked if place.id in marked else layout.lane
        tops.append(y + lane)
        y += layout.pitch + lane - layout.lane
    return Frame(layout, span, top, tuple(tops))


def drawing(report: Report, layout: Layout, span: Axis) -> dict:
    """
    Return one drawing of the season chart for the template.

    Parameters
    ----------
    report : Report
    layout : Layout
    span : Axis

    Returns
    -------
    dict
        Coordinates, texts and the journey's paths.
    """
    frame = drawn(report, layout, span)
    differs = seasonmarks.unchecked(report.places).differs
    rows = [list(_cells(place, frame, quiet=place.id not in differs)) for place in report.places]
    legs = () if report.best is None else report.best.legs
    order = [place.id for place in report.places]
    stays = [(order.index(leg.place), leg.arrive, leg.leave) for leg in legs]
    line, dots = journey(stays, frame)
    return {
        "layout": layout,
        "span": span,
        "width": frame.width,
        "height": frame.height,
        "stretch": 100 * frame.width / layout.plot,
        "top": frame.top,
        "tops": frame.tops,
        "areas": _areas(rows, frame),
        "signs": _sign_lines(report, frame),
        "months": _months(frame),
        "marks": list(seasonmarks.placed_marks(report, frame, order, stays)),
        "line": line,
        "dots": dots,
    }


def names(report: Report, layout: Layout) -> dict:
    """
    Return the rows' names of a drawing, the same whatever weeks it shows.

    Parameters
    ----------
    report : Report
    layout : Layout

    Returns
    -------
    dict
        Keys layout, width, height, rows (name, y, note).
    """
    frame = drawn(report, layout, whole_years(report))
    notes = seasonmarks.unchecked(report.places).notes
    above = layout.names == 0
    return {
        "layout": layout,
        "width": layout.names or layout.plot,
        "height": frame.height,
        "rows": [
            {
                "name": place.name,
                "y": top - 10 if above else top + layout.cell / 2 + 5,
                "note": notes.get(place.id, ""),
            }
            for place, top in zip(report.places, frame.tops, strict=True)
        ],
    }


def _areas(rows: Sequence[Sequence[dict]], frame: Frame) -> list[dict]:
    """
    Return one path for each pattern: all cells of a grade, all stretches of a hazard level.

    One path a pattern instead of one a cell: printing draws each patterned shape as a
    picture of the whole chart.
    """
    paths: dict[str, str] = {}
    height = frame.layout.cell
    for top, cells in zip(frame.tops, rows, strict=True):
        for grade, alike in groupby(cells, key=lambda cell: cell["grade"]):
            name = "gx" if grade < 0 else f"g{grade}"
            paths[name] = paths.get(name, "") + _joined(list(alike), top, height)
        stretches = [
            _stretch(list(alike))
            for _, alike in groupby(
                cells, key=lambda cell: (cell["hazard_level"], cell["checked"])
            )
        ]
        hazardstrip.strip(stretches, top + height + hazardstrip.GAP, paths)
    return [{"pattern": name, "path": path} for name, path in sorted(paths.items())]


def _cells(place: Place, frame: Frame, *, quiet: bool) -> Iterator[dict]:
    """Yield the shown weeks of a place; with `quiet` what nobody looked at leaves no mark."""
    for at, days, week in shown_weeks(place.weeks, frame.span):
        yield {
            "x": frame.x(at),
            "width": frame.x(days),
            "grade": int(week.grade),
            "hazard_level": int(week.hazard_level),
            "checked": week.checked or quiet,
        }


def _sign_lines(report: Report, frame: Frame) -> str:
    """Return the path of all rows' signs."""
    path = ""
    shown = (frame.span.first + np.arange(frame.span.days)) % DAYS_IN_YEAR
    for place, top in zip(report.places, frame.tops, strict=True):
        days = marked_days(place)[shown]
        starts = np.flatnonzero(np.diff(days, prepend=False) & days)
        ends = np.flatnonzero(np.diff(days, append=False) & days) + 1
        stretches = [
            (frame.x(first), frame.x(end - first))
            for first, end in zip(starts.tolist(), ends.tolist(), strict=True)
        ]
        path += hazardstrip.sign_line(stretches, top + frame.layout.cell + hazardstrip.GAP)
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


def journey(stays: Iterable[tuple[int, date, date]], frame: Frame) -> tuple[str, str]:
    """
    Return the journey as SVG paths.

    The page's script draws other departures by the same rule; a browser test compares.

    Parameters
    ----------
    stays : iterable of (row number, arrive, leave)
    frame : Drawing

    Returns
    -------
    line, dots : str
        Path data, empty without stays: a stair through all stays, or a line for each with a dot
        at its arrival.
    """
    stair, lines, dots = [], "", ""
    for row, arrive, leave in stays:
        y = frame.tops[row] + frame.layout.cell / 2
        begin, end = frame.at(arrive), frame.at(leave)
        stair += [f"{begin:.1f} {y:.1f}", f"{end:.1f} {y:.1f}"]
        lines += f"M{begin:.1f} {y:.1f}H{end:.1f}"
        dots += f"M{begin:.1f} {y:.1f}h0"
    if frame.layout.stair:
        return ("M" + "L".join(stair) if stair else ""), ""
    return lines, dots


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
        checked, lowest and highest share.
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
        ),
    )
    for (grade, factor, hazard, level, checked), numbers in alike:
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
                "lowest": float(np.min(shares)),
                "highest": float(np.max(shares)),
                "when": f"{day_word(starts[members[0]])} to {day_word(ends[members[-1]] - 1)}",
            }
        )
    return runs


_NAME, _YEAR = 26.0, 34.0
"""Room that a month's short name and a year ask for. [SVG unit]"""


def _months(frame: Frame) -> list[dict]:
    """Return month lines and names, each name at its line where there is room for it."""
    span = frame.span
    found: list[dict] = []
    for year in span.years:
        day = (year - span.year) * DAYS_IN_YEAR - span.first
        left = frame.x(min(day + DAYS_IN_YEAR, span.days) - max(day, 0))
        told = len(span.years) > 1 and left >= _YEAR
        for month, days in enumerate(DAYS_IN_MONTH):
            begin, end = max(day, 0), min(day + days, span.days)
            if begin < end:
                found.append(
                    {
                        "x": frame.x(begin),
                        "line": day >= 0,
                        "name": MONTHS[month][:3] if frame.x(end - begin) >= _NAME else "",
                        "year": year if told else None,
                    }
                )
                told = False
            day += days
    return found
