"""Tables that travel with the season chart: what a week tells, what a date costs.

In: a Report. Out: JSON-ready data from which the page's script answers without Python.
Assumes 365-day years, in which 29 February stands on 28 February, and that the script
writes texts as text.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from datetime import date

import numpy as np

from sheltermap.places.place import NightSeason, Place
from sheltermap.report.report import PlannedLeg, Report, Stays
from sheltermap.vocabulary import DAYS_IN_YEAR, GRADE_FLOORS, Floats, Grade
from sheltermap.website import charts, words
from sheltermap.website.season import week_starts

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
        JSON-ready: `words` (each text once), and `rows` with `name` and `weeks`. To
        keep pages small, weeks are columns: `first` (day of year from 0), `days`, `grade`,
        `share` (null where missing), `level` of the hazard, `checked`, and `factor`,
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
    return {"words": texts, "rows": rows}


def _week_columns(place: Place, position: Callable[[str], int]) -> dict[str, list]:
    """Return a place's weeks as columns, with texts as positions."""
    starts = week_starts(place.weeks)
    ends = [*starts[1:], DAYS_IN_YEAR]
    return {
        "first": starts,
        "days": [end - start for start, end in zip(starts, ends, strict=True)],
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
        JSON-ready: `first` (ISO date of day 0),
        `legs` (names), `factors` (`name` and `word`), `floors` of the grades (`grade` and
        `floor`, the best first), `kits`, `sets`, and `done`: legs that no date moves, as the
        script tells a leg.

        A kit of `kits`, of those that a date is planned with, has its `title` and `places`,
        each with `rough` in millionths of a night by day of year, null where missing, `level`
        of hazards, a digit a day, and `causes` by factor in ten-thousandths, null where not
        assessed.

        A set of `sets` has `reached`, `best` (position of the plan's date) and columns with an
        entry for each date. `reached` is null for the departures, which come first, else the
        leg reached early or late. Of the columns,
        `day` counts from day 0, `kit` is a position in `kits`, null where no plan fits, and
        `dangerous` and `serious` count nights of danger and under a serious hazard [night],
        `direction` is in words; `places`, `legs`, `arrive` and `leave` [days from day 0] have
        an entry for each stay.
    """
    plan = report.best
    first = report.trip.departure.earliest
    order = {place.id: number for number, place in enumerate(report.places)}
    dates = (*report.by_departure, *(one for reached in report.replans for one in reached.dates))
    kits = list(dict.fromkeys(one.kit for one in dates if one.rough_nights is not None))
    titles = {kit.id: kit.title for kit in report.kits}

    def dated(some: Iterable[Stays], reached: int | None, best: int) -> dict:
        return {
            "reached": reached,
            "best": best,
            **_date_columns(some, first, kits, order, len(done)),
        }

    done = [leg for leg in plan.legs if leg.done] if plan else []
    ahead = [leg for leg in plan.legs if not leg.done] if plan else []
    # On the road nobody departs: the first set has the day on which the next leg is reached.
    start = ahead[0].leg if done and ahead else None
    return {
        "first": first.isoformat(),
        "legs": [leg.name for leg in report.trip.legs],
        "kits": [
            {"title": titles[kit], "places": [_nights(one.seasons[kit]) for one in report.places]}
            for kit in kits
        ],
        "floors": [
            {"grade": int(grade), "floor": floor}
            for grade, floor in (*GRADE_FLOORS, (Grade.UNFIT, 0.0))
        ],
        "factors": [{"name": name, "word": words.FACTOR_WORDS[name]} for name in words.FACTORS],
        "sets": [
            dated(report.by_departure, start, charts.day_of_plan(report) or 0),
            *(dated(each.dates, each.leg, each.planned) for each in report.replans),
        ],
        "done": [_done_leg(leg, order) for leg in done],
    }


def _date_columns(
    dates: Iterable[Stays], first: date, kits: list[str], order: dict[str, int], done: int
) -> dict[str, list]:
    """Return plans as columns with an entry for each date, without what is done before them."""
    dates = list(dates)
    return {
        "day": [(one.depart - first).days for one in dates],
        "kit": [None if one.rough_nights is None else kits.index(one.kit) for one in dates],
        "dangerous": [_tenths(one.dangerous_nights) for one in dates],
        "serious": [one.serious_nights for one in dates],
        "direction": [words.DIRECTION_WORDS.get(one.direction, "") for one in dates],
        "places": [[order[place] for place in one.places[done:]] for one in dates],
        "legs": [list(one.legs[done:]) for one in dates],
        "arrive": [[(day - first).days for day in one.arrive[done:]] for one in dates],
        "leave": [[(day - first).days for day in one.leave[done:]] for one in dates],
    }


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
        "rough": [_micro(1 - share) for share in season.sound_share],
        "level": "".join(str(int(code)) for code in season.hazard_level),
        "causes": {name: _small(getattr(season, name)) for name in words.FACTORS},
    }


def _share(value: float) -> float | None:
    """Return a share as the page holds it, None where missing; only certainty is 0 or 1."""
    if np.isnan(value):
        return None
    return round(float(np.clip(value, 0.0001, 0.9999)) if 0 < value < 1 else float(value), 4)


def _small(values: Floats) -> list[int] | None:
    """Return values in ten-thousandths; None where any is missing."""
    values = np.asarray(values, dtype=float)
    if np.isnan(values).any():
        return None
    return [round(float(value) * 10_000) for value in values]


def _tenths(nights: float | None) -> float | None:
    """Return nights to a tenth, None where they are not known."""
    return None if nights is None or math.isnan(nights) else round(nights, 1)


def _known(nights: float) -> float | None:
    """Return nights, None where they are not known."""
    return None if math.isnan(nights) else round(nights, 6)


def _micro(value: float) -> int | None:
    """Return a rough night in millionths, None where missing."""
    return None if np.isnan(value) else round(float(value) * MICRO)
