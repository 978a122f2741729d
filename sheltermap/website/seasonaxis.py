"""The season chart's axis: which days it shows, and where days and rows stand.

In: the Report's dates and places. Out: an axis, and a frame that turns days and rows into
coordinates. Assumes 365-day years, in which 29 February stands on 28 February.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from sheltermap.dates import day_of_year
from sheltermap.places.place import Week
from sheltermap.report.report import Report
from sheltermap.vocabulary import DAYS_IN_YEAR
from sheltermap.website import hazardstrip

AROUND = timedelta(weeks=6)
"""How far before and after the journey weeks can matter. judgement: beyond it no plan of the
same journey is left"""


@dataclass(frozen=True)
class Layout:
    """Where things stand in one drawing of the chart, in its own units (about px).

    Attributes
    ----------
    name : str
    names : float
        Width of the column of names; 0 where each stands above its row.
    plot : float
        Width of the weeks where they fit; more weeks make it wider.
    top : float
        Height of the months' names, years apart.
    cell, pitch : float
        Height of a row's cells, and from one row to the next.
    lane : float
        Height above the cells for names and marks.
    marked : float
        The same of rows with marks.
    week : float
        Least width of a week.
    stair : bool
        Whether the journey is one line through all rows; else each leg has a mark of its own.
    """

    name: str
    names: float
    plot: float
    top: float
    cell: float
    pitch: float
    lane: float
    marked: float
    week: float
    stair: bool


WIDE = Layout("wide", 206, 700, 22, 27, 42, 0, 13, 6.5, True)
NARROW = Layout("narrow", 0, 328, 20, 20, 53, 21, 26, 10.3, False)


YEAR_LINE = 13.0
"""Height that the years take above the months where there are several. [SVG unit]"""


@dataclass(frozen=True)
class Axis:
    """The days a chart shows, in 365-day years.

    Attributes
    ----------
    year : int
        Whose 1 January is day 0.
    first : int
        First day shown. [day]
    days : int
        How many. [day]
    """

    year: int
    first: int
    days: int

    def position(self, day: date) -> int:
        """Return a date's place, counted from the first day shown. [day]"""
        whole = (day.year - self.year) * DAYS_IN_YEAR
        return whole + day_of_year(day) - self.first

    @property
    def years(self) -> range:
        """Return the calendar years it touches."""
        last = (self.first + self.days - 1) // DAYS_IN_YEAR
        return range(self.year + self.first // DAYS_IN_YEAR, self.year + last + 1)


def whole_years(report: Report) -> Axis:
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
    if report.best is not None:
        dates += _around(report)
    first = min(dates).year
    return Axis(first, 0, (max(dates).year - first + 1) * DAYS_IN_YEAR)


def weeks_that_matter(report: Report) -> Axis:
    """
    Return the weeks of the journey and of its good window, and six before and after them.

    Parameters
    ----------
    report : Report

    Returns
    -------
    Axis
        In whole weeks; `whole_years` where there is no plan.
    """
    whole = whole_years(report)
    if report.best is None:
        return whole
    begin, end = (whole.position(day) for day in _around(report))
    starts = [
        year * DAYS_IN_YEAR + start
        for year in range(whole.days // DAYS_IN_YEAR)
        for start in week_starts(report.places[0].weeks)
    ]
    first = max(start for start in starts if start <= begin)
    last = min((start for start in starts if start > end), default=whole.days)
    return Axis(whole.year, first, last - first)


def _around(report: Report) -> tuple[date, date]:
    """Return the first and the last day that matters to the plan."""
    plan = report.best
    assert plan is not None
    days = [plan.depart, plan.finish, *(report.good_window or ())]
    return min(days) - AROUND, max(days) + AROUND


@dataclass(frozen=True)
class Frame:
    """Scale and rows of one drawing: what turns days and places into coordinates."""

    layout: Layout
    span: Axis
    top: float
    tops: tuple[float, ...]

    @property
    def width(self) -> float:
        """Return the width of the plot."""
        return max(self.layout.plot, math.ceil(self.span.days / 7 * self.layout.week))

    def x(self, position: float) -> float:
        """Return where a day stands, counted from the first one shown."""
        return position * self.width / self.span.days

    def at(self, day: date) -> float:
        """Return where a date begins."""
        return self.x(self.span.position(day))

    @property
    def height(self) -> float:
        """Return the height of names and plot."""
        strip = hazardstrip.GAP + hazardstrip.HEIGHT
        return (self.tops[-1] if self.tops else self.top) + self.layout.cell + strip + 4


def week_starts(weeks: tuple[Week, ...]) -> list[int]:
    """Return the first day of each week, counted from 0 for 1 January."""
    base = weeks[0].first_day_of_year if weeks else 0
    return [int(week.first_day_of_year - base) for week in weeks]


def shown_weeks(weeks: tuple[Week, ...], span: Axis) -> Iterator[tuple[int, int, Week]]:
    """
    Yield the weeks of a place that an axis shows.

    Parameters
    ----------
    weeks : tuple of Week
        Of one year.
    span : Axis

    Yields
    ------
    int, int, Week
        Place on the axis and length [day], and the week.
    """
    starts = week_starts(weeks)
    for year in range(len(span.years)):
        offset = (span.years[0] - span.year + year) * DAYS_IN_YEAR - span.first
        for (start, end), week in zip(pairwise([*starts, DAYS_IN_YEAR]), weeks, strict=True):
            if 0 <= offset + start < span.days:
                yield offset + start, end - start, week
