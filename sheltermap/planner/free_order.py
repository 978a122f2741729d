"""Exact plans for stops in any order, for every departure day at once.

In: the cost table. Out: for each first stop, the least cost of every departure day, and
on demand the order and nights that reach it.
Assumes a dynamic programme over sets of stops still to come: what follows depends only on
that set, on the stop just left (for roads and climbs) and on the day it was left.

A set of stops is a whole number whose bits are stops: bit i is set where the stop at
position i of `FreeOrder.stops` is still to come. So ``still >> i & 1`` asks whether it is,
``still & ~(1 << i)`` takes it out, ``(1 << count) - 1`` is all of them, and a set is a
smaller number than every set that holds it and more: counting upwards, what follows a
stop is known before the stop is.

A table of a set has one row for each stop that may have been left before, which are those
outside the set, in rising order; `_row` counts the zeros below a stop's bit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from sheltermap.planner.costs import (
    BARRED,
    IMPOSSIBLE,
    StayCosts,
    evenings_on_the_way,
    fewest_nights,
)
from sheltermap.planner.problem import PlanningProblem


@dataclass(frozen=True, eq=False)
class FreeOrder:
    """Least costs of all orders for one kit.

    Attributes
    ----------
    stops : tuple of int
        The stops to order; below, a stop is its position here and a set a bit mask of them.
    objective : int array, shape (stops, departures)
        Least cost with each stop first; `IMPOSSIBLE` or more where there is no plan.
        [1e-6 night]
    fewest : int array, shape (stops + 1, stops)
        Least nights at the column's stop after the row's; the last row is the start.
    ways : int array, shape (stops + 1, stops)
        Evenings on the way to the column's stop from the row's. [night]
    shortest : tuple of int
        Least nights at each stop after any other. [night]
    stays : tuple of dict of int to int array, shape (nights, horizon + 1)
        Of each stop, by the evenings on the way there: cost of each stay by nights, from the
        shortest on, and arrival day. [1e-6 night]
    left : dict of int to int array, shape (stops, horizon + 1)
        Least cost of the stops of a set after leaving each other stop on each day.
    preferred : tuple of int
        Preferred nights. [night]
    """

    stops: tuple[int, ...]
    objective: np.ndarray
    fewest: np.ndarray
    ways: np.ndarray
    shortest: tuple[int, ...]
    stays: tuple[dict[int, np.ndarray], ...]
    left: dict[int, np.ndarray]
    preferred: tuple[int, ...]

    def solution(self, first: int, day: int) -> tuple[list[int], list[int]]:
        """
        Return the order and the nights of the best plan with a given first stop.

        Parameters
        ----------
        first : int
            Position in `stops`.
        day : int
            Departure day.

        Returns
        -------
        tuple of list of int
            Stops of the problem in travel order, and the nights at each. Among equals,
            the stop nearest to the preferred nights, then the one listed first.
        """
        order, nights = [], []
        previous, stop, still = len(self.stops), first, (1 << len(self.stops)) - 1
        while True:
            still &= ~(1 << stop)
            totals = self._totals(previous, stop, still, day)
            here = self.fewest[previous, stop] + np.arange(len(totals))
            off = np.abs(here - self.preferred[stop])
            chosen = int(here[np.lexsort((here, off, totals))[0]])
            order.append(self.stops[stop])
            nights.append(chosen)
            if not still:
                return order, nights
            day += chosen
            previous = stop
            following = [
                (int(self._totals(stop, after, still & ~(1 << after), day).min()), after)
                for after in range(len(self.stops))
                if still >> after & 1 and self._any_nights(stop, after)
            ]
            stop = min(following)[1]

    def _any_nights(self, previous: int, stop: int) -> bool:
        """Return whether any stay is long enough after the stop before it."""
        skipped = self.fewest[previous, stop] - self.shortest[stop]
        return bool(skipped < len(self._stays(previous, stop)))

    def _stays(self, previous: int, stop: int) -> np.ndarray:
        """Return the costs of stays after a stop, by nights and arrival day."""
        return self.stays[stop][int(self.ways[previous, stop])]

    def _totals(self, previous: int, stop: int, still: int, day: int) -> np.ndarray:
        """Return the cost from one arrival onwards for each number of nights."""
        skipped = self.fewest[previous, stop] - self.shortest[stop]
        costs = self._stays(previous, stop)[skipped:, day]
        leaves = day + self.fewest[previous, stop] + np.arange(len(costs))
        following = self.left[still][_row(stop, still)]
        return costs + following[np.minimum(leaves, len(following) - 1)]


def free_order(costs: StayCosts, kit: int) -> FreeOrder:
    """
    Return the least costs of all orders of the stops to come.

    Parameters
    ----------
    costs : StayCosts
    kit : int
        Row of the cost table.

    Returns
    -------
    FreeOrder
    """
    problem, stops = costs.problem, costs.problem.remaining
    count, days = len(stops), costs.horizon + 1
    fewest = _fewest_table(problem)
    shortest = tuple(int(least) for least in fewest.min(axis=0))
    ways = _ways_table(problem)
    stays = tuple(
        {way: _stay_table(costs, kit, stop, least, way) for way in set(ways[:, row].tolist())}
        for row, (stop, least) in enumerate(zip(stops, shortest, strict=True))
    )
    preferred = tuple(problem.stops[stop].nights_preferred for stop in stops)
    objective = np.full((count, costs.departures), IMPOSSIBLE, dtype=np.int64)
    left = {0: np.zeros((count, days), dtype=np.int64)}
    result = FreeOrder(stops, objective, fewest, ways, shortest, stays, left, preferred)

    everything = (1 << count) - 1
    for still in range(1, everything):
        left[still] = np.full((count - still.bit_count(), days), IMPOSSIBLE, dtype=np.int64)
        inside, outside = _split(still, count)
        for stop in inside:
            _add_first(result, still, stop, outside, left[still])
    departures = min(costs.departures, days)
    for stop in range(count):
        if problem.first_stop in (None, stops[stop]):
            best = np.full((1, days), IMPOSSIBLE, dtype=np.int64)
            _add_first(result, everything, stop, [count], best)
            objective[stop, :departures] = best[0, :departures]
    return result


def _fewest_table(problem: PlanningProblem) -> np.ndarray:
    """Return the least nights at the column's stop after the row's, the start last."""
    stops = problem.remaining
    start = problem.finished[-1].stop if problem.finished else None
    fewest = np.array(
        [
            [max(problem.stops[to].nights_min, fewest_nights(problem, origin, to)) for to in stops]
            for origin in (*stops, start)
        ]
    )
    np.fill_diagonal(fewest, np.iinfo(np.int32).max)  # No stop follows itself.
    return fewest


def _ways_table(problem: PlanningProblem) -> np.ndarray:
    """Return the evenings on the way to the column's stop from the row's, the start last."""
    stops = problem.remaining
    start = problem.finished[-1].stop if problem.finished else None
    return np.array(
        [[evenings_on_the_way(problem, origin, to) for to in stops] for origin in (*stops, start)]
    )


def _split(still: int, count: int) -> tuple[list[int], list[int]]:
    """Return the stops inside a set, and those outside of it.

    Examples
    --------
    >>> _split(0b1010, 4)
    ([1, 3], [0, 2])
    """
    inside = [stop for stop in range(count) if still >> stop & 1]
    return inside, [stop for stop in range(count) if not still >> stop & 1]


def _add_first(
    result: FreeOrder, still: int, stop: int, origins: Sequence[int], best: np.ndarray
) -> None:
    """
    Lower the least costs of a set by those of visiting one of its stops first.

    Parameters
    ----------
    result : FreeOrder
    still : int
        The set.
    stop : int
        The stop of the set that comes first.
    origins : list of int
        Stops left before it, one for each row of `best`.
    best : int array, shape (origins, horizon + 1)
        Least costs so far, lowered in place.
    """
    for way, costs in result.stays[stop].items():
        coming = [pair for pair in enumerate(origins) if result.ways[pair[1], stop] == way]
        if coming and len(costs):
            _add_from(result, still, stop, coming, costs, best)


def _add_from(
    result: FreeOrder,
    still: int,
    stop: int,
    coming: Sequence[tuple[int, int]],
    costs: np.ndarray,
    best: np.ndarray,
) -> None:
    """Lower the least costs of the rows and origins that have the same evenings on the way."""
    rest = still & ~(1 << stop)
    following = result.left[rest][_row(stop, rest)]
    longest = result.shortest[stop] + len(costs) - 1
    # Row n of the window is what follows when the stop is left n nights after the shortest
    # stay: one table of days, shifted. Beyond the horizon there is nothing left to do.
    padded = np.full(len(following) + longest, IMPOSSIBLE, dtype=np.int64)
    padded[: len(following)] = following
    totals = costs + sliding_window_view(padded[result.shortest[stop] :], len(following))
    # Origins that need the same nights here share one minimum over all longer stays.
    by_fewest: dict[int, np.ndarray] = {}
    for row, origin in coming:
        skipped = int(result.fewest[origin, stop]) - result.shortest[stop]
        if skipped >= len(costs):
            continue
        if skipped not in by_fewest:
            by_fewest[skipped] = totals[skipped:].min(axis=0)
        np.minimum(best[row], by_fewest[skipped], out=best[row])


def _stay_table(
    costs: StayCosts, kit: int, stop: int, shortest: int, on_the_way: int
) -> np.ndarray:
    """Return the cost of each stay by nights and arrival day, `IMPOSSIBLE` where barred."""
    longest = costs.problem.stops[stop].nights_max
    table = np.full((max(longest - shortest + 1, 0), costs.horizon + 1), IMPOSSIBLE)
    sums = costs.sums[kit, stop]
    for nights in range(shortest, longest + 1):
        first, last = costs.arrivals(stop, nights, on_the_way)
        if first > last:
            continue
        stay = sums[first + nights : last + nights + 1] - sums[first : last + 1]
        stay = np.where(stay >= BARRED, IMPOSSIBLE, stay + costs.weight(stop, nights))
        table[nights - shortest, first : last + 1] = stay
    return table


def _row(stop: int, still: int) -> int:
    """Return the row of a stop among those outside a set.

    Examples
    --------
    Outside the set of stops 1 and 3 lie 0, 2 and 4, so 4 has the third row:

    >>> _row(4, 0b01010)
    2
    """
    below = still & ((1 << stop) - 1)
    return stop - below.bit_count()
