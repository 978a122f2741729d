"""Marks of the season chart: permits, fixed evenings, and rows that others do not share.

In: the Report's trip, plan and places. Out: marks with their paths and labels, and which rows
have kinds of hazard that nobody looked at. Assumes that a mark on every row says nothing.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from sheltermap.dates import day_of_year
from sheltermap.places.place import Place
from sheltermap.report.report import Report
from sheltermap.trip.values import Span
from sheltermap.vocabulary import listed
from sheltermap.website.seasonaxis import Frame, whole_years

PERMIT, EVENING = "permit", "evening"
LABELS = {PERMIT: "permit", EVENING: "be there"}
"""How the chart calls its marks."""

Stay = tuple[int, date, date]
"""Row, arrival and leaving."""


@dataclass(frozen=True)
class Mark:
    """
    A mark above the cells of a row.

    Attributes
    ----------
    kind : str
        `PERMIT` or `EVENING`.
    place : str
        Id of the row's place.
    first, last : date
        Both included.
    """

    kind: str
    place: str
    first: date
    last: date


def leg_places(report: Report) -> dict[int, str]:
    """
    Return the place of each leg that a plan reaches.

    Parameters
    ----------
    report : Report

    Returns
    -------
    dict of int to str
        Ids by the leg's position in the trip; empty where no date has a plan.
    """
    dates = (*report.by_departure, *(one for each in report.replans for one in each.dates))
    found = {leg.leg: leg.place for leg in report.best.legs} if report.best else {}
    for one in dates:
        found |= dict(zip(one.legs, one.places, strict=True))
    return found


def marks(report: Report) -> tuple[Mark, ...]:
    """
    Return the marks of all rows: where a permit holds, and evenings that are fixed.

    Parameters
    ----------
    report : Report

    Returns
    -------
    tuple of Mark
        Each once; those of a permit that holds every year in each year of the journey.
    """
    places, found = leg_places(report), []
    years = whole_years(report).years
    for number, leg in enumerate(report.trip.legs):
        if number not in places:
            continue
        valid = report.trip.permits[leg.permit].valid if leg.permit is not None else None
        if valid is not None:
            found += [
                Mark(PERMIT, places[number], first, last) for first, last in _held(valid, years)
            ]
        found += [Mark(EVENING, places[number], day, day) for day in leg.be_there]
    return tuple(dict.fromkeys(found))


def _held(valid: Span, years: Sequence[int]) -> Iterator[tuple[date, date]]:
    """Yield the spans of dates on which a permit holds."""
    once = valid.dates
    if once is not None:
        yield once
        return
    begin = date(years[0] - 1, 1, 1)
    days = [begin + timedelta(days=n) for n in range((date(years[-1] + 1, 12, 31) - begin).days)]
    inside = valid.days()
    first = None
    for day in days:
        holds = inside[day_of_year(day)]
        if holds and first is None:
            first = day
        elif not holds and first is not None:
            yield first, day - timedelta(days=1)
            first = None


def in_words(report: Report) -> dict[str, str]:
    """
    Return the marks of each place in a sentence, for the chart's table.

    Parameters
    ----------
    report : Report

    Returns
    -------
    dict of str to str
        By id of the place; none for a place without marks.
    """
    told: dict[str, list[str]] = {}
    for mark in marks(report):
        first, last = (f"{day.day} {day:%B} {day.year}" for day in (mark.first, mark.last))
        words = f"permit from {first} to {last}" if mark.kind == PERMIT else f"be there on {first}"
        told.setdefault(mark.place, []).append(words)
    for place, words in _longest(report):
        told.setdefault(place, []).append(words)
    return {place: "; ".join(words) for place, words in told.items()}


def _longest(report: Report) -> Iterator[tuple[str, str]]:
    """Yield how long a permit lets stay, by place: no bracket, as it goes with the arrival."""
    places = leg_places(report)
    said = dict.fromkeys(
        (places[number], leg.permit)
        for number, leg in enumerate(report.trip.legs)
        if number in places and leg.permit is not None
    )
    for place, name in said:
        yield place, f"{report.trip.permits[name].longest_stay_days} days at most on permit {name}"


def cut_stays(report: Report) -> str:
    """
    Return which stays of the plan are shorter than the traveller prefers.

    Parameters
    ----------
    report : Report

    Returns
    -------
    str
        A sentence; empty without any. Stays that are done are no choice any more.
    """
    legs = [] if report.best is None else report.best.legs
    cut = [
        f"{leg.name} ({leg.nights} of {report.trip.legs[leg.leg].nights.preferred} nights)"
        for leg in legs
        if not leg.done and leg.nights < report.trip.legs[leg.leg].nights.preferred
    ]
    return f"Shorter than you prefer: {listed(cut)}." if cut else ""


@dataclass(frozen=True)
class Unchecked:
    """
    Kinds of hazard that nobody looked at, told once, and by row where a row differs.

    Attributes
    ----------
    everywhere : str
        A sentence on the rows that are alike; empty where all was looked at on most.
    notes : dict of str to str
        Of the rows that differ, by id of the place.
    differs : frozenset of str
        Those of them with kinds that most rows had looked at.
    """

    everywhere: str
    notes: dict[str, str]
    differs: frozenset[str]


def unchecked(places: Sequence[Place]) -> Unchecked:
    """
    Return what the chart says of kinds that nobody looked at.

    Parameters
    ----------
    places : sequence of Place

    Returns
    -------
    Unchecked
    """
    sets = {place.id: frozenset(place.not_checked) for place in places}
    usual = Counter(sets.values()).most_common(1)[0][0] if sets else frozenset()
    others = {place: kinds for place, kinds in sets.items() if kinds != usual}
    where = "on the other rows" if others else "on any row"
    return Unchecked(
        f"{_counted(len(usual))} {where}." if usual else "",
        {place: _counted(len(kinds)) for place, kinds in others.items()},
        frozenset(place for place, kinds in others.items() if kinds - usual),
    )


def _counted(kinds: int) -> str:
    """Return how many kinds were not looked at."""
    if not kinds:
        return "all kinds checked"
    return f"{kinds} kind{'s' if kinds > 1 else ''} not checked"


_TICK = 5.0
"""Height of a permit's bracket. [SVG unit]"""
_POINT = 5.0
"""Half the width of an evening's triangle, and its height less one. [SVG unit]"""


def mark_path(mark: Mark, frame: Frame, top: float) -> tuple[str, float, float] | None:
    """
    Return the path of a mark above a row, and where it begins and ends.

    Parameters
    ----------
    mark : Mark
    frame : Frame
    top : float
        Of the row's cells.

    Returns
    -------
    path : str
        A bracket, open where it goes on beyond the axis, or a triangle that points at its day.
    begin, end : float
    None where the axis does not show it.
    """
    span = frame.span
    first, last = span.position(mark.first), span.position(mark.last) + 1
    if last <= 0 or first >= span.days:
        return None
    begin, end = frame.x(max(first, 0)), frame.x(min(last, span.days))
    if mark.kind == EVENING:
        x = (begin + end) / 2
        path = (
            f"M{x - _POINT:.1f} {top - _POINT - 2:.1f}h{2 * _POINT:g}l{-_POINT:g} {_POINT + 1:g}z"
        )
        return path, x - _POINT, x + _POINT
    y = top - 1 - _TICK
    path = f"M{begin:.1f} {top - 1:.1f}v{-_TICK:g}" if first >= 0 else f"M{begin:.1f} {y:.1f}"
    path += f"H{end:.1f}" + (f"v{_TICK:g}" if last <= span.days else "")
    return path, begin, end


_LETTER, _BESIDE = 6.4, 4.0
"""Width of a letter of a label, and room between it and its mark. [SVG unit]"""


def placed_marks(
    report: Report, frame: Frame, rows: Sequence[str], stays: Sequence[Stay]
) -> Iterator[dict]:
    """
    Yield the marks that an axis shows, each with its label where there is room.

    Parameters
    ----------
    report : Report
    frame : Frame
    rows : sequence of str
        Ids of the places from the top.
    stays : sequence of (row, arrive, leave)

    Yields
    ------
    dict
        Keys kind, row, path, and label with x, end and y; it is empty where the stair or another
        mark is on both sides, and in drawings without a stair, where names stand.
    """
    stair = frame.layout.stair
    taken = {
        row: [stair_spot(pair, row, frame) for pair in pairwise(stays)] if stair else []
        for row in range(len(rows))
    }
    shown = []
    for mark in marks(report):
        row = rows.index(mark.place)
        placed = mark_path(mark, frame, frame.tops[row])
        if placed is not None:
            taken[row].append(placed[1:])
            shown.append((mark, row, *placed))
    for mark, row, path, begin, end in shown:
        room = len(LABELS[mark.kind]) * _LETTER
        sides = ((end + _BESIDE, end + _BESIDE + room), (begin - _BESIDE - room, begin - _BESIDE))
        free = [spot for spot in sides if stair and _is_free(spot, frame.width, taken[row])][:1]
        taken[row] += free
        x, right = free[0] if free else (0.0, 0.0)
        yield {
            "kind": mark.kind,
            "row": row,
            "path": path,
            "label": LABELS[mark.kind] if free else "",
            "x": x,
            "end": right,
            "y": frame.tops[row] - 2,
        }


def _is_free(
    spot: tuple[float, float], width: float, taken: Sequence[tuple[float, float]]
) -> bool:
    """Return whether nothing stands in a stretch of a lane."""
    return (
        spot[0] >= 0
        and spot[1] <= width
        and not any(spot[0] < end and begin < spot[1] for begin, end in taken)
    )


_CASE = 4.0
"""Half the width of the stair with its edge. [SVG unit]"""


def stair_spot(pair: tuple[Stay, Stay], row: int, frame: Frame) -> tuple[float, float]:
    """
    Return where the stair between two stays crosses the lane above a row.

    Parameters
    ----------
    pair : two of (row number, arrive, leave)
    row : int
    frame : Drawing

    Returns
    -------
    float, float
        From and to; an empty stretch off the plot where it does not.
    """
    (one, _, left), (other, arrived, _) = pair
    if not min(one, other) < row <= max(one, other):
        return -math.inf, -math.inf
    ends = frame.at(left), frame.at(arrived)
    return min(ends) - _CASE, max(ends) + _CASE
