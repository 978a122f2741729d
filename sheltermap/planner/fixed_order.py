"""Exact plans for stops in a given order, for every departure day at once.

In: the cost table and an order of stops. Out: the least cost of every departure day and
kit, and the nights that reach it.
Assumes a dynamic programme from the last stop backwards: the cost of all that follows
depends only on the day a stop is reached and, inside a country with a longest stay, on
the days since entry.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from sheltermap.planner.costs import (
    BARRED,
    IMPOSSIBLE,
    StayCosts,
    evenings_on_the_way,
    fewest_nights,
)
from sheltermap.planner.problem import PlanningProblem


@dataclass(frozen=True)
class StayBounds:
    """What an order sets for the stay at one of its stops.

    Attributes
    ----------
    stop : int
    fewest : int
        Least nights, climb included. [night]
    on_the_way : int
        First evenings before the camp, on which no fixed evening is met. [night]
    limit : int or None
        Most nights between entry and leaving; None where nothing limits them. [night]
    elapsed : tuple of int
        Least and most nights since entry on arrival here. [night]
    continues : bool
        Whether the next stop falls under the same permit.
    """

    stop: int
    fewest: int
    on_the_way: int
    limit: int | None
    elapsed: tuple[int, int]
    continues: bool


@dataclass(frozen=True, eq=False)
class FixedOrder:
    """The best way to spend an order of stops, for every departure day and kit.

    Attributes
    ----------
    order : tuple of int
        Stops in travel order.
    objective : int array, shape (kits, departures)
        Least cost; `IMPOSSIBLE` or more where there is none. [1e-6 night]
    nights : int array, shape (kits, departures, stops of the order)
        Nights of each stay; of no meaning where there is no plan. [night]
    """

    order: tuple[int, ...]
    objective: np.ndarray
    nights: np.ndarray

    def solution(self, kit: int, day: int) -> tuple[list[int], list[int]]:
        """Return the stops in travel order and the nights at each, for one departure."""
        return list(self.order), self.nights[kit, day].tolist()


def fixed_order(costs: StayCosts, order: tuple[int, ...]) -> FixedOrder:
    """
    Return the best nights at each stop of an order, for every departure day.

    Parameters
    ----------
    costs : StayCosts
    order : tuple of int
        Stops in travel order, finished ones left out.

    Returns
    -------
    FixedOrder
    """
    kits, horizon = len(costs.kits), costs.horizon
    bounds = stay_bounds(costs, order)
    after = np.zeros((kits, 1, horizon + 1), dtype=np.int64)
    after_elapsed = 0
    choices = []
    for stay, (first, last) in zip(bounds[::-1], _arrival_days(costs, bounds)[::-1], strict=True):
        after, choice = _best_stays(costs, stay, (first, last), after, after_elapsed)
        after_elapsed = stay.elapsed[0]
        choices.append(choice)
    day = np.arange(min(costs.departures, horizon + 1))
    objective = np.full((kits, costs.departures), IMPOSSIBLE, dtype=np.int64)
    columns = np.minimum(_elapsed_at_departure(bounds[0], day), bounds[0].elapsed[1])
    objective[:, day] = after[:, columns - bounds[0].elapsed[0], day]
    # Beyond the last column the longest stay is already over.
    objective[:, day[_elapsed_at_departure(bounds[0], day) > bounds[0].elapsed[1]]] = IMPOSSIBLE
    return FixedOrder(order, objective, _nights(costs, bounds, choices[::-1]))


def stay_bounds(costs: StayCosts, order: tuple[int, ...]) -> list[StayBounds]:
    """
    Return what an order sets for each of its stays.

    Parameters
    ----------
    costs : StayCosts
    order : tuple of int
        Stops in travel order, finished ones left out.

    Returns
    -------
    list of StayBounds
        In travel order.
    """
    problem = costs.problem
    bounds: list[StayBounds] = []
    previous = problem.finished[-1].stop if problem.finished else None
    span = _waited(costs, order[0])
    reverse = order != problem.remaining or problem.direction == "reverse"
    for run in _runs(problem, order):
        permit = problem.permit(run[0])
        most = span[1] + sum(problem.stops[stop].nights_max for stop in run)
        limit = None
        if permit is not None and permit.longest_stay_days is not None:
            # The days of entry and of leaving both count, so nights are one fewer.
            limit = permit.longest_stay_days - 1
            limit = None if most <= limit else limit
        for stop in run:
            fewest = max(
                problem.stops[stop].nights_min,
                fewest_nights(problem, previous, stop, reverse=reverse),
            )
            # One more than allowed bars the stay as well as any number, and keeps spans in order.
            most_here = problem.stops[stop].nights_max
            fewest = min(fewest, most_here + 1)
            elapsed = (0, 0)
            if limit is not None:
                elapsed = (span[0], max(min(span[1], limit), span[0]))
            continues = limit is not None and stop != run[-1]
            way = evenings_on_the_way(problem, previous, stop, reverse=reverse)
            bounds.append(StayBounds(stop, fewest, way, limit, elapsed, continues))
            span = (span[0] + fewest, span[1] + max(most_here, fewest))
            previous = stop
        span = (0, 0)
    return bounds


def _waited(costs: StayCosts, first: int) -> tuple[int, int]:
    """Return the least and most nights since entry on arrival at the first stop. [night]"""
    problem, entered = costs.problem, nights_since_entry(costs.problem)
    if entered is None or problem.permit(first) != problem.permit(problem.finished[-1].stop):
        return 0, 0
    return entered, entered + costs.departures - 1


def nights_since_entry(problem: PlanningProblem) -> int | None:
    """
    Return the nights from entry under the last finished stay's permit to day 0.

    Parameters
    ----------
    problem : PlanningProblem

    Returns
    -------
    int or None
        None where no finished stay ends under a permit. [night]
    """
    if not problem.finished or problem.permit(problem.finished[-1].stop) is None:
        return None
    permit = problem.permit(problem.finished[-1].stop)
    entry = problem.finished[-1].arrive
    for stay in reversed(problem.finished):
        if problem.permit(stay.stop) != permit:
            break
        entry = stay.arrive
    return (problem.earliest - entry).days


def _runs(problem: PlanningProblem, order: tuple[int, ...]) -> list[list[int]]:
    """Return an order cut into runs of stops under one permit."""
    return [list(run) for _, run in groupby(order, key=problem.permit)]


def _arrival_days(costs: StayCosts, bounds: Sequence[StayBounds]) -> list[tuple[int, int]]:
    """Return the first and last day each stop can be reached on."""
    first, last, days = 0, costs.departures - 1, []
    for stay in bounds:
        days.append((min(first, costs.horizon + 1), min(last, costs.horizon)))
        first += stay.fewest
        last += costs.problem.stops[stay.stop].nights_max
    return days


def _best_stays(
    costs: StayCosts,
    stay: StayBounds,
    days: tuple[int, int],
    after: np.ndarray,
    after_elapsed: int,
) -> tuple[np.ndarray, np.ndarray]:
    """
    Return the least cost from each arrival at a stop onwards, and the nights that give it.

    Parameters
    ----------
    costs : StayCosts
    stay : StayBounds
    days : tuple of int
        First and last arrival day.
    after : int array, shape (kits, nights since entry, horizon + 1)
        Least cost from each day of leaving.
    after_elapsed : int
        Nights since entry of the first column of `after`.

    Returns
    -------
    tuple of int array
        Costs and nights, shape (kits, nights since entry, horizon + 1).
    """
    shortest, longest = stay.elapsed
    shape = (len(costs.kits), longest - shortest + 1, costs.horizon + 1)
    best = np.full(shape, IMPOSSIBLE, dtype=np.int64)
    choice = np.zeros(shape, dtype=np.int16)
    sums = costs.sums[:, stay.stop]
    for nights in costs.nights(stay.stop, stay.fewest):
        first, last = costs.arrivals(stay.stop, nights, stay.on_the_way)
        first, last = max(first, days[0]), min(last, days[1])
        until = longest if stay.limit is None else min(longest, stay.limit - nights)
        if first > last or until < shortest:
            continue
        here, there = slice(first, last + 1), slice(first + nights, last + nights + 1)
        spent = sums[:, there] - sums[:, here] + costs.weight(stay.stop, nights)
        # Stays over a barred night are dropped here, so that costs never pile up.
        spent[spent >= BARRED] = IMPOSSIBLE
        if stay.continues:
            start = shortest + nights - after_elapsed
            following = after[:, start : start + until - shortest + 1, there]
        else:
            following = after[:, :1, there]
        total = spent[:, None, :] + following
        rows = (slice(None), slice(0, until - shortest + 1), here)
        better = total < best[rows]
        np.copyto(best[rows], total, where=better)
        np.copyto(choice[rows], nights, where=better)
    return best, choice


def _elapsed_at_departure(stay: StayBounds, day: np.ndarray) -> np.ndarray:
    """Return the nights since entry at the first stop: none, or more for each day waited."""
    return stay.elapsed[0] + day if stay.elapsed[0] else np.zeros_like(day)


def _nights(
    costs: StayCosts, bounds: Sequence[StayBounds], choices: Sequence[np.ndarray]
) -> np.ndarray:
    """Return the nights of every stay by kit and departure day, following the choices."""
    kits = np.arange(len(costs.kits))[:, None]
    day = np.broadcast_to(np.arange(costs.departures), (len(kits), costs.departures))
    day = np.minimum(day, costs.horizon)
    nights = np.zeros((len(kits), costs.departures, len(bounds)), dtype=np.int64)
    elapsed = _elapsed_at_departure(bounds[0], day)
    for position, (stay, choice) in enumerate(zip(bounds, choices, strict=True)):
        chosen = choice[kits, np.clip(elapsed - stay.elapsed[0], 0, choice.shape[1] - 1), day]
        nights[:, :, position] = chosen
        day = np.minimum(day + chosen, costs.horizon)
        elapsed = elapsed + chosen if stay.continues else np.zeros_like(elapsed)
    return nights
