"""Tables that travel with the season chart: what a week tells, what a date costs.

In: a Report. Out: JSON-ready data from which the page's script answers without Python.
Assumes 365-day years, in which 29 February stands on 28 February, and that the script
writes texts as text.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np

from sheltermap.places.place import NightSeason, Place
from sheltermap.report.report import PlannedLeg, Report, Stays
from sheltermap.vocabulary import DAYS_IN_YEAR, GRADE_FLOORS, Floats, Grade
from sheltermap.website import charts, words
from sheltermap.website.packed import changed_places, changes
from sheltermap.website.seasonaxis import week_starts, whole_years
from sheltermap.website.seasonmarks import leg_places

MICRO = 1_000_000
"""Steps in which the slider's tables hold one rough night."""


def week_data(report: Report) -> dict:
    """
    Return what the page tells when a week is pointed at.

    Parameters
    ----------
    report : Report

    Returns
    -------
    dict
        JSON-ready: `words` (each text once), `start` (`row`, and `day` from 1 January of the
        chart's first year, of the first night ahead), the weeks' `first` (day of year from 0) and
        `days`, and `rows` with `name` and `weeks`. To keep pages small, weeks are columns:
        `grade`, `share` (null where missing), `level` of the hazard, `checked`, and `factor`,
        `hazard` and `remedy` as positions in `words`.
    """
    texts: list[str] = []

    def position(text: str) -> int:
        if text not in texts:
            texts.append(text)
        return texts.index(text)

    rows = [
        {
            "name": place.name,
            "weeks": _week_columns(place, position),
        }
        for place in report.places
    ]
    starts = week_starts(report.places[0].weeks)
    days = [end - start for start, end in pairwise([*starts, DAYS_IN_YEAR])]
    return {"words": texts, "start": _start(report), "first": starts, "days": days, "rows": rows}


def _start(report: Report) -> dict[str, int]:
    """Return where the chart is read first: the plan's first night ahead, else its corner."""
    legs = report.best.legs if report.best else ()
    ahead = next((leg for leg in legs if not leg.done), None)
    if ahead is None:
        return {"row": 0, "day": 0}
    row = [place.id for place in report.places].index(ahead.place)
    return {"row": row, "day": whole_years(report).position(ahead.arrive)}


def _week_columns(place: Place, position: Callable[[str], int]) -> dict[str, list]:
    """Return a place's weeks as columns, with texts as positions."""
    return {
        "grade": [int(week.grade) for week in place.weeks],
        "share": [_share(week.sound_share) for week in place.weeks],
        "factor": [position(words.named_factor(week.factor)) for week in place.weeks],
        "hazard": [position(week.hazard or "") for week in place.weeks],
        "level": [int(week.hazard_level) for week in place.weeks],
        "checked": [int(week.checked) for week in place.weeks],
        "remedy": [position(week.remedy or "") for week in place.weeks],
    }


def departure_data(report: Report) -> dict:
    """
    Return the tables from which the departure slider sums each plan.

    Parameters
    ----------
    report : Report

    Returns
    -------
    dict
        JSON-ready: `first` (ISO date of day 0), `legs` (`name`, `place` as a row of the chart,
        `preferred` nights), `factors` (`name` and `word`), `floors` of the grades (`grade` and
        `floor`, the best first), `kits`, `ways`, `sets`, `reasons` in sentences, and `done`:
        legs that no date moves, as the script tells a leg.

        A kit of `kits`, of those that a date is planned with, has its `title` and `places`,
        each a year as `packed.changes`: `rough` in millionths of a night, `level` of hazards,
        and `causes` by factor in ten-thousandths, null where not assessed.

        A way of `ways` is how a date is travelled: `kit`, a position in `kits`, and `legs` in
        their order.

        A set of `sets` has `reached`, `best` (position of the plan's date), `day` of its first
        date [days from day 0] and columns with an entry for each of the days from then on.
        `reached` is null for the departures, which come first, else the leg whose camp is reached
        early or late: then the legs before it are those of the plan, and the columns have the
        rest, the first of which begins before the day where evenings are on the way. Of
        the columns, `way` is a position in `ways`, null where no plan fits, `dangerous` and
        `serious` count nights of danger and under a serious hazard [night], and `stays` are
        `packed.changed_places` of two numbers a leg: days between the leg before and this one,
        and nights. The departures also have `why` no plan fits, a position in `reasons`.
    """
    order = {place.id: number for number, place in enumerate(report.places)}
    tables = _Tables(report)
    reasons = list(dict.fromkeys(one.why_none for one in report.by_departure))
    sets = _sets(report, tables, reasons)  # The tables fill while dates are read.
    floors = (*GRADE_FLOORS, (Grade.UNFIT, 0.0))
    return {
        "first": tables.first.isoformat(),
        "legs": _legs(report, order),
        "kits": _kits(report, tables.kits),
        "ways": [{"kit": tables.kits.index(kit), "legs": list(legs)} for kit, legs in tables.ways],
        "reasons": reasons,
        "floors": [{"grade": int(grade), "floor": floor} for grade, floor in floors],
        "factors": [{"name": name, "word": words.FACTOR_WORDS[name]} for name in words.FACTORS],
        "sets": sets,
        "done": [_done_leg(leg, order) for leg in _plan_legs(report) if leg.done],
    }


def _plan_legs(report: Report) -> tuple[PlannedLeg, ...]:
    """Return the legs of the plan; none where there is no plan."""
    return report.best.legs if report.best else ()


def _sets(report: Report, tables: _Tables, reasons: Sequence[str]) -> list[dict[str, Any]]:
    """Return the departures, then the days on which each later leg may be reached."""
    planned = _plan_legs(report)
    done = sum(leg.done for leg in planned)
    # On the road nobody departs: the first set has the day on which the next leg is reached.
    start = planned[done].leg if 0 < done < len(planned) else None
    dates = report.by_departure
    if start is not None:
        dates = tuple(replace(one, depart=planned[done].camp_reached) for one in dates)
    departures = tables.dated(dates, done) | {
        "reached": start,
        "best": charts.day_of_plan(report) or 0,
        "why": [reasons.index(one.why_none) for one in report.by_departure],
    }
    at = {leg.leg: number for number, leg in enumerate(planned)}
    return [
        departures,
        *(
            tables.dated(each.dates, at[each.leg]) | {"reached": each.leg, "best": each.planned}
            for each in report.replans
        ),
    ]


def _legs(report: Report, order: Mapping[str, int]) -> list[dict[str, Any]]:
    """Return the legs of the trip with their rows of the chart, None where none is planned."""
    places = leg_places(report)
    return [
        {
            "name": leg.name,
            "place": order[places[number]] if number in places else None,
            "preferred": leg.nights.preferred,
        }
        for number, leg in enumerate(report.trip.legs)
    ]


def _kits(report: Report, kits: Sequence[str]) -> list[dict[str, Any]]:
    """Return the nights of kits at every place."""
    titles = {kit.id: kit.title for kit in report.kits}
    return [
        {"title": titles[kit], "places": [_nights(one.seasons[kit]) for one in report.places]}
        for kit in kits
    ]


def _all_dates(report: Report) -> list[Stays]:
    """Return every date that the slider can show."""
    return [*report.by_departure, *(one for each in report.replans for one in each.dates)]


class _Tables:
    """Kits and ways of travelling that dates share, each kept once, in the order met."""

    def __init__(self, report: Report):
        self.first = report.trip.departure.earliest
        dates = _all_dates(report)
        self.kits = list(dict.fromkeys(one.kit for one in dates if one.rough_nights is not None))
        self.ways: list[tuple[str, tuple[int, ...]]] = []

    def dated(self, dates: Sequence[Stays], before: int) -> dict[str, Any]:
        """Return plans as columns with an entry for each day, without the stays `before`."""
        return {
            "day": (dates[0].depart - self.first).days if dates else 0,
            "way": [self._way(one, before) for one in dates],
            "dangerous": [_tenths(one.dangerous_nights) for one in dates],
            "serious": [one.serious_nights for one in dates],
            "stays": changed_places(_gaps_and_nights(one, before) for one in dates),
        }

    def _way(self, one: Stays, before: int) -> int | None:
        """Return a date's position in the ways."""
        if one.rough_nights is None:
            return None
        way = (one.kit, one.legs[before:])
        if way not in self.ways:
            self.ways.append(way)
        return self.ways.index(way)


def _gaps_and_nights(one: Stays, before: int) -> list[int]:
    """Return for each stay after `before` the days since the one ahead of it, and its nights."""
    if one.rough_nights is None:
        return []
    left, found = one.depart, []
    for arrive, leave in zip(one.arrive[before:], one.leave[before:], strict=True):
        found += [(arrive - left).days, (leave - arrive).days]
        left = leave
    return found


def _done_leg(leg: PlannedLeg, order: dict[str, int]) -> dict:
    """Return a leg that is done as the page's script tells one."""
    return {
        "place": order[leg.place],
        "leg": leg.leg,
        "arrive": leg.arrive.isoformat(),
        "leave": leg.leave.isoformat(),
        "nights": leg.nights,
        "rough": _known(leg.rough_nights),
        "grade": leg.grade,
        "reason": words.FACTOR_WORDS.get(leg.limiting_factor, "nothing"),
        "hazard": "",
    }


def _nights(season: NightSeason) -> dict:
    """Return one kit's nights at one place."""
    return {
        "rough": changes(_micro(1 - share) for share in season.sound_share),
        "level": changes(int(code) for code in season.hazard_level),
        "causes": {name: _small(getattr(season, name)) for name in words.FACTORS},
    }


def _share(value: float) -> float | None:
    """Return a share as the page holds it, None where missing; only certainty is 0 or 1."""
    if np.isnan(value):
        return None
    return round(float(np.clip(value, 0.0001, 0.9999)) if 0 < value < 1 else float(value), 4)


def _small(values: Floats) -> str | None:
    """Return a year in ten-thousandths; None where any day is missing."""
    values = np.asarray(values, dtype=float)
    if np.isnan(values).any():
        return None
    return changes(round(float(value) * 10_000) for value in values)


def _tenths(nights: float | None) -> float | None:
    """Return nights to a tenth, None where they are not known."""
    return None if nights is None or math.isnan(nights) else round(nights, 1)


def _known(nights: float) -> float | None:
    """Return nights, None where they are not known."""
    return None if math.isnan(nights) else round(nights, 6)


def _micro(value: float) -> int | None:
    """Return a rough night in millionths, None where missing."""
    return None if np.isnan(value) else round(float(value) * MICRO)
