"""Whether any plan exists at all, much faster than finding the best one.

In: the cost table. Out: yes or no, and how far along an order a journey can get.
Assumes sets of days are whole numbers whose bits are days: moving every day of a set by n
nights is one shift, so all departures are followed at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from sheltermap.planner.costs import BARRED, StayCosts, evenings_on_the_way, fewest_nights
from sheltermap.planner.fixed_order import StayBounds, nights_since_entry, stay_bounds
from sheltermap.planner.problem import PlanningProblem


def feasible(costs: StayCosts) -> bool:
    """
    Return whether some direction or order, with some kit, keeps every constraint.

    Parameters
    ----------
    costs : StayCosts

    Returns
    -------
    bool
    """
    if costs.problem.order == "free":
        return any(_free_order_exists(costs, kit) for kit in range(len(costs.kits)))
    return any(reach == len(order) for order, reach in reaches(costs))


def reaches(costs: StayCosts, day: int | None = None) -> list[tuple[tuple[int, ...], int]]:
    """
    Return how many stops of each allowed order can be spent, with the best of the kits.

    Parameters
    ----------
    costs : StayCosts
    day : int, optional
        Day of departure, counted from the first; else any.

    Returns
    -------
    list of (order, stops)
        For every direction the problem allows.
    """
    remaining, direction = costs.problem.remaining, costs.problem.direction
    orders = [remaining] if direction != "reverse" else []
    orders += [remaining[::-1]] if direction != "forward" else []
    return [
        (order, max(_reach(costs, kit, order, day) for kit in range(len(costs.kits))))
        for order in orders
    ]


def _reach(costs: StayCosts, kit: int, order: tuple[int, ...], day: int | None) -> int:
    """Return the number of stops that can be spent one after the other."""
    bounds = stay_bounds(costs, order)
    entered = nights_since_entry(costs.problem) if bounds[0].elapsed[0] else None
    departures = min(costs.departures, costs.horizon + 1)
    if entered is None:
        days_by_elapsed = {0: (1 << departures) - 1 if day is None else 1 << day}
    else:
        leaving = range(departures) if day is None else (day,)
        days_by_elapsed = {entered + first: 1 << first for first in leaving}
    for position, stay in enumerate(bounds):
        days_by_elapsed = _left(costs, kit, stay, days_by_elapsed)
        if not days_by_elapsed:
            return position
    return len(bounds)


def _left(
    costs: StayCosts, kit: int, stay: StayBounds, reached: Mapping[int, int]
) -> dict[int, int]:
    """Return the days a stop can be left on from those it is reached on, by nights since entry."""
    leaving: dict[int, int] = {}
    for nights, arrivals in _stay_days(costs, kit, stay.stop, stay.fewest, stay.on_the_way):
        for elapsed, days in reached.items():
            if stay.limit is not None and elapsed + nights > stay.limit:
                continue
            after = elapsed + nights if stay.continues else 0
            leaving[after] = leaving.get(after, 0) | (days & arrivals) << nights
    return {elapsed: days for elapsed, days in leaving.items() if days}


def _free_order_exists(costs: StayCosts, kit: int) -> bool:
    """Return whether all stops can be spent in some order.

    Two kinds of bit masks: `made` is a set of stops, bit i for the stop at `stops[i]`; all
    other masks are sets of days, bit d for day d after the first departure.
    """
    problem, stops = costs.problem, costs.problem.remaining
    start = problem.finished[-1].stop if problem.finished else None
    origins_of_all = (*stops, start)
    fewest = [_fewest_after(problem, stop, origins_of_all) for stop in stops]
    ways = [
        {origin: evenings_on_the_way(problem, origin, stop) for origin in origins_of_all}
        for stop in stops
    ]
    # Days that allow each number of nights, by the evenings on the way there.
    stays = [
        {way: dict(_stay_days(costs, kit, stop, 0, way)) for way in sorted(set(each.values()))}
        for stop, each in zip(stops, ways, strict=True)
    ]
    # Days of leaving, by the set of stops made and the last of them.
    left: dict[int, dict[int | None, int]] = {
        0: {start: (1 << min(costs.departures, costs.horizon + 1)) - 1}
    }
    everything = (1 << len(stops)) - 1
    # A set is a smaller number than any that holds it and more, so it is complete in time.
    for made in range(everything):
        in_time = _days_in_time(costs, made)
        origins = {stop: days & in_time for stop, days in left.pop(made, {}).items()}
        if not any(origins.values()):
            continue
        for number, stop in enumerate(stops):
            if not _is_next(problem, made, number):
                continue
            leaving = 0
            for way, allowed in stays[number].items():
                coming = {one: days for one, days in origins.items() if ways[number][one] == way}
                leaving |= _leaving_days(coming, fewest[number], allowed)
            if leaving:
                left.setdefault(made | 1 << number, {})[stop] = leaving
    return everything in left


def _is_next(problem: PlanningProblem, made: int, number: int) -> bool:
    """Return whether a stop may follow those made: it is none of them, and any stated first is."""
    if made:
        return not made >> number & 1
    return problem.first_stop in (None, problem.remaining[number])


def _fewest_after(
    problem: PlanningProblem, stop: int, origins: Sequence[int | None]
) -> dict[int | None, int]:
    """Return the least nights at a stop after each other one."""
    own = problem.stops[stop].nights_min
    return {origin: max(fewest_nights(problem, origin, stop), own) for origin in origins}


def _days_in_time(costs: StayCosts, made: int) -> int:
    """Return the days from which the shortest stays at the stops not yet made still fit."""
    problem = costs.problem
    rest = sum(
        problem.stops[stop].nights_min
        for number, stop in enumerate(problem.remaining)
        if not made >> number & 1
    )
    return (1 << max(costs.horizon - rest + 1, 0)) - 1


def _leaving_days(
    origins: Mapping[int | None, int],
    fewest: Mapping[int | None, int],
    stays: Mapping[int, int],
) -> int:
    """
    Return the days on which a stop can be left.

    Parameters
    ----------
    origins : mapping of int to int
        Days of leaving each stop that may come before it.
    fewest : mapping of int to int
        Least nights here after each of those.
    stays : mapping of int to int
        By nights, the shortest first: arrival days that allow such a stay.
    """
    arriving: dict[int, int] = {}
    for origin, days in origins.items():
        arriving[fewest[origin]] = arriving.get(fewest[origin], 0) | days
    leaving = reached = 0
    for nights, arrivals in stays.items():
        # Longer stays are open to all who could make a shorter one.
        reached |= arriving.pop(nights, 0)
        leaving |= (reached & arrivals) << nights
    return leaving


def _stay_days(
    costs: StayCosts, kit: int, stop: int, fewest: int, on_the_way: int
) -> Iterator[tuple[int, int]]:
    """Yield each number of nights with the set of arrival days that allow it."""
    barred = np.diff(costs.sums[kit, stop]) >= BARRED
    free = int.from_bytes(np.packbits(~barred, bitorder="little").tobytes(), "little")
    allowed, done = (1 << (costs.horizon + 1)) - 1, 0
    for nights in sorted(costs.nights(stop, fewest)):
        while done < nights:
            allowed &= free >> done
            done += 1
        first, last = costs.arrivals(stop, nights, on_the_way)
        meets = (1 << (last + 1)) - (1 << first) if first <= last else 0
        yield nights, allowed & meets
