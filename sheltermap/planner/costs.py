"""What each stay costs: one table of nights for all kits, stops and dates.

In: a planning problem. Out: sums of what nights cost by date, barred nights included as a
cost no sum of allowed ones can reach, what they are made of, and the nights each stop allows.
Assumes costs are whole millionths of a night, so that sums are exact, ties are true ties
and results do not depend on the order of additions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from sheltermap.dates import days_of_year
from sheltermap.planner.problem import NEVER, PlanningProblem

MICRO = 1_000_000
"""Cost units in one rough night; scores are stored to the same step."""

BARRED = 1 << 45
"""Cost of a night that may not be spent: above the cost of every allowed stay (3660 nights
at the three heaviest weights are below 2^44), while 2^17 of them still fit into 64 bits."""

IMPOSSIBLE = 1 << 61
"""Cost of what cannot be done."""


@dataclass(frozen=True, eq=False)
class StayCosts:
    """Costs by date, counted in days from the first departure.

    Attributes
    ----------
    problem : PlanningProblem
    origin : date
        Day 0: the earliest departure.
    departures : int
        Number of departure days.
    horizon : int
        Last day on which a stop may be left. [day]
    kits : tuple of int
        Positions of the kits considered.
    sums : int array, shape (kits, stops, horizon + 1)
        Cost of all nights before each day. [1e-6 night]
    rough, dangerous, serious : int array, shape (kits, stops, horizon + 1)
        Expected rough and dangerous nights, and nights under a serious hazard, before each
        day; barred ones count as nothing. [1e-6 night]
    """

    problem: PlanningProblem
    origin: date
    departures: int
    horizon: int
    kits: tuple[int, ...]
    sums: np.ndarray
    rough: np.ndarray
    dangerous: np.ndarray
    serious: np.ndarray

    def day(self, when: date) -> int:
        """Return a date as days since day 0. [day]"""
        return (when - self.origin).days

    def date(self, day: int) -> date:
        """Return the date of a day."""
        return self.origin + timedelta(days=int(day))

    def nights(self, stop: int, fewest: int) -> list[int]:
        """
        Return the nights a stay may have, most preferred first.

        Parameters
        ----------
        stop : int
            Position of the stop.
        fewest : int
            Least nights here, for example for a climb. [night]

        Returns
        -------
        list of int
            The order settles ties: nearest to the preferred stay, then the shorter.
        """
        asked = self.problem.stops[stop]
        allowed = range(max(asked.nights_min, fewest), asked.nights_max + 1)
        return sorted(allowed, key=lambda n: (abs(n - asked.nights_preferred), n))

    def weight(self, stop: int, nights: int) -> int:
        """Return the cost of the nights off the preferred stay. [1e-6 night]"""
        off = abs(nights - self.problem.stops[stop].nights_preferred)
        return round(self.problem.stay_weight * MICRO) * off

    def arrivals(self, stop: int, nights: int, on_the_way: int = 0) -> tuple[int, int]:
        """
        Return the first and last arrival day on which a stay meets its fixed evenings.

        Parameters
        ----------
        stop : int
        nights : int
        on_the_way : int
            First of them that are slept before the camp. [night]

        Returns
        -------
        tuple of int
            First and last day; the first is later than the last when none does. [day]
        """
        first, last = 0, self.horizon - nights
        slack = self.problem.stops[stop].be_there_slack_days
        for evening in map(self.day, self.problem.stops[stop].be_there):
            first = max(first, evening - nights + 1 - slack)
            last = min(last, evening - on_the_way + slack)
        return first, last


def stay_costs(problem: PlanningProblem) -> StayCosts:
    """
    Return the cost table of a problem.

    Parameters
    ----------
    problem : PlanningProblem

    Returns
    -------
    StayCosts
    """
    origin = problem.earliest
    departures = (problem.latest - problem.earliest).days + 1
    longest = sum(problem.stops[stop].nights_max for stop in problem.remaining)
    horizon = departures - 1 + longest
    if problem.finish_by is not None:
        horizon = min(horizon, max((problem.finish_by - origin).days, 0))
    kits = tuple(range(len(problem.kits))) if problem.choose_kit else (0,)
    position = days_of_year(origin, horizon)

    def by_date(table: np.ndarray | None) -> np.ndarray:
        if table is None:
            return np.zeros((len(kits), len(problem.stops), horizon), dtype=np.int64)
        values = np.asarray(table, float)[list(kits)][:, :, position]
        return np.rint(np.nan_to_num(values) * MICRO).astype(np.int64)

    rough, dangerous, serious = map(by_date, (problem.rough, problem.dangerous, problem.serious))
    cost = rough + np.rint(
        problem.danger_weight * dangerous + problem.serious_weight * serious
    ).astype(np.int64)
    missing = np.isnan(problem.rough[list(kits)][:, :, position])
    barred = missing | barred_nights(problem, kits, origin, horizon, position)
    cost[barred] = BARRED
    return StayCosts(
        problem,
        origin,
        departures,
        horizon,
        kits,
        *(_sums(nights) for nights in (cost, rough, dangerous, serious)),
    )


def _sums(nights: np.ndarray) -> np.ndarray:
    """Return the sums of all nights before each day."""
    sums = np.zeros((*nights.shape[:2], nights.shape[2] + 1), dtype=np.int64)
    np.cumsum(nights, axis=2, out=sums[:, :, 1:])
    return sums


def barred_nights(
    problem: PlanningProblem,
    kits: Sequence[int],
    origin: date,
    days: int,
    position: np.ndarray,
) -> np.ndarray:
    """
    Return the nights that closures, barriers and permits forbid.

    Parameters
    ----------
    problem : PlanningProblem
    kits : sequence of int
        Positions of the kits considered.
    origin : date
        Day 0.
    days : int
        Number of nights.
    position : int array, shape (days,)
        Day of the year of each night.

    Returns
    -------
    bool array, shape (kits, stops, days)
    """
    barred = np.zeros((len(kits), len(problem.stops), days), dtype=bool)
    ids = [problem.kits[kit] for kit in kits]

    def day(when: date) -> int:
        return max((when - origin).days, 0)

    for index, stop in enumerate(problem.stops):
        for closure in stop.closures:
            open_again = max((closure.last - origin).days + 1, 0)
            rows = _rows(ids, closure.kits)
            barred[rows, index, day(closure.first) : open_again] = True
        for barrier in stop.barriers:
            barred[_rows(ids, barrier.kits), index] |= np.asarray(barrier.by_day, bool)[position]
        permit = problem.permit(index)
        if permit is not None and permit.valid_from is not None:
            barred[:, index, : day(permit.valid_from)] = True
        if permit is not None and permit.valid_until is not None:
            # The last day inside is the day of leaving, so its evening is slept elsewhere.
            barred[:, index, day(permit.valid_until) :] = True
    return barred


def fewest_nights(
    problem: PlanningProblem, previous: int | None, stop: int, *, reverse: bool = False
) -> int:
    """
    Return the least nights of a stay after another, for the road and for the climb.

    Nobody gets used to a height on the way to it: the nights of a climb follow those of the
    approach.

    Parameters
    ----------
    problem : PlanningProblem
    previous : int or None
        Stop left that day; None for home.
    stop : int
        Stop arrived at.
    reverse : bool
        Whether the stops are made in reverse; of no meaning in a free order.

    Returns
    -------
    int
        Least nights, before the stop's own fewest. [night] `NEVER` where no road leads from
        one to the other, or the climb is refused.
    """
    climb, road = climb_nights(problem, previous, stop) or 0, _road_nights(problem, previous, stop)
    if climb:
        climb += evenings_before_camp(problem, previous, stop, reverse=reverse)
    return max(climb, road)


def evenings_on_the_way(
    problem: PlanningProblem, previous: int | None, stop: int, *, reverse: bool = False
) -> int:
    """
    Return the first evenings of a stay on which no fixed evening of it is met.

    Parameters
    ----------
    problem, previous, stop, reverse
        As for `fewest_nights`.

    Returns
    -------
    int
        [night] None where no fixed evening depends on it.
    """
    if not problem.stops[stop].be_there:
        return 0
    return evenings_before_camp(problem, previous, stop, reverse=reverse)


def evenings_before_camp(
    problem: PlanningProblem, previous: int | None, stop: int, *, reverse: bool
) -> int:
    """
    Return the first evenings of a stay that are slept before its camp, whatever depends on them.

    Parameters
    ----------
    problem, previous, stop, reverse
        As for `fewest_nights`.

    Returns
    -------
    int
        [night] As many as there were where somebody says when the camp is reached.
    """
    if (said := _evenings_said(problem, stop, reverse=reverse)) is not None:
        return said
    if problem.order == "free":
        road = _road_nights(problem, previous, stop)
        return 0 if road >= NEVER else max(road - 1, 0)
    asked = problem.stops[stop]
    return asked.evenings_on_the_way_back if reverse else asked.evenings_on_the_way


def known_evenings_before_camp(
    problem: PlanningProblem, previous: int | None, stop: int, *, reverse: bool
) -> int:
    """
    Return the evenings that lie between setting out for a stop and reaching its camp.

    Where the way to the camp is not known, all that is driven in a stop counts against a fixed
    evening, so that none is missed; a date of reaching the camp is then left as it is.

    Parameters
    ----------
    problem, previous, stop, reverse
        As for `fewest_nights`.

    Returns
    -------
    int
        [night]
    """
    if problem.order == "free" or (problem.stops[stop].approach_known and not reverse):
        return evenings_before_camp(problem, previous, stop, reverse=reverse)
    return _evenings_said(problem, stop, reverse=reverse) or 0


def _evenings_said(problem: PlanningProblem, stop: int, *, reverse: bool) -> int | None:
    """Return the evenings before the camp of the stop made next, where somebody says them."""
    if problem.order == "free":
        following = problem.first_stop
    else:
        following = problem.remaining[-1 if reverse else 0] if problem.remaining else None
    return problem.on_the_way if stop == following else None


def climb_nights(problem: PlanningProblem, previous: int | None, stop: int) -> int | None:
    """
    Return the nights that the climb to a stop needs.

    Parameters
    ----------
    problem : PlanningProblem
    previous : int or None
        Stop left that day; None for home.
    stop : int
        Stop arrived at.

    Returns
    -------
    int or None
        None when it could not be checked for lack of a height. [night]
    """
    below = (
        problem.home_elevation_m
        if previous is None
        else problem.stops[previous].sleeping_elevation_m
    )
    above = problem.stops[stop].sleeping_elevation_m
    if problem.climb_nights is None or np.isnan(below) or np.isnan(above):
        return None
    return int(problem.climb_nights(below, above))


def _road_nights(problem: PlanningProblem, previous: int | None, stop: int) -> int:
    """Return the days of driving between two stops of a free order; none to the first."""
    if problem.order != "free" or problem.travel is None or previous is None:
        return 0
    if (said := _evenings_said(problem, stop, reverse=False)) is not None:
        return said + 1
    km = problem.travel.km[previous, stop]
    return int(np.ceil(km / problem.travel.daily_km)) if np.isfinite(km) else NEVER


def _rows(ids: Sequence[str], concerned: Sequence[str] | None) -> list[int]:
    """Return the rows of the kits that a closure concerns."""
    return [i for i, kit in enumerate(ids) if concerned is None or kit in concerned]
