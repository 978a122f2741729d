"""Whether any plan exists at all, much faster than finding the best one.

In: the cost table. Out: yes or no, and how far along an order a journey can get.
Assumes sets of days are whole numbers whose bits are days: moving every day of a set by n
nights is one shift, so all departures are followed at once.
"""

from __future__ import annotations

import numpy as np

from sheltermap.planner.costs import BARRED, StayCosts, fewest_nights
from sheltermap.planner.fixed_order import legs_in_order, nights_since_entry


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


def reaches(costs: StayCosts) -> list[tuple[tuple[int, ...], int]]:
    """
    Return how many stops of each allowed order can be spent, with the best of the kits.

    Parameters
    ----------
    costs : StayCosts

    Returns
    -------
    list of (order, stops)
        For every direction the problem allows.
    """
    remaining, direction = costs.problem.remaining, costs.problem.direction
    orders = [remaining] if direction != "reverse" else []
    orders += [remaining[::-1]] if direction != "forward" else []
    return [
        (order, max(_reach(costs, kit, order) for kit in range(len(costs.kits))))
        for order in orders
    ]


def _reach(costs, kit, order):
    """Return the number of stops that can be spent one after the other."""
    legs = legs_in_order(costs, order)
    entered = nights_since_entry(costs.problem) if legs[0].elapsed[0] else None
    departures = min(costs.departures, costs.horizon + 1)
    if entered is None:
        days_by_elapsed = {0: (1 << departures) - 1}
    else:
        days_by_elapsed = {entered + day: 1 << day for day in range(departures)}
    for position, leg in enumerate(legs):
        leaving = {}
        for nights, arrivals in _stay_days(costs, kit, leg.stop, leg.fewest):
            for elapsed, days in days_by_elapsed.items():
                if leg.limit is not None and elapsed + nights > leg.limit:
                    continue
                after = elapsed + nights if leg.continues else 0
                leaving[after] = leaving.get(after, 0) | (days & arrivals) << nights
        days_by_elapsed = {elapsed: days for elapsed, days in leaving.items() if days}
        if not days_by_elapsed:
            return position
    return len(legs)


def _free_order_exists(costs, kit):
    """Return whether all stops can be spent in some order."""
    problem, stops = costs.problem, costs.problem.remaining
    departures = (1 << min(costs.departures, costs.horizon + 1)) - 1
    start = problem.finished[-1].stop if problem.finished else None
    stays = [dict(_stay_days(costs, kit, stop, 0)) for stop in stops]
    fewest = {
        (origin, to): fewest_nights(problem, origin, to)
        for to in stops
        for origin in (*stops, start)
    }
    # Days of leaving, by the set of stops made and the last of them.
    left = {0: {start: departures}}
    everything = (1 << len(stops)) - 1
    for made in range(everything):
        rest = sum(
            problem.stops[stop].nights_min for i, stop in enumerate(stops) if not made >> i & 1
        )
        # Who leaves later than this cannot spend even the shortest rest.
        in_time = (1 << max(costs.horizon - rest + 1, 0)) - 1
        origins = {stop: days & in_time for stop, days in left.pop(made, {}).items()}
        if not any(origins.values()):
            continue
        for place, stop in enumerate(stops):
            first_is_set = made == 0 and problem.first_stop is not None
            if made >> place & 1 or (first_is_set and stop != problem.first_stop):
                continue
            arriving = {}
            for origin, days in origins.items():
                least = max(fewest[origin, stop], problem.stops[stop].nights_min)
                arriving[least] = arriving.get(least, 0) | days
            leaving = reached = 0
            for nights, arrivals in stays[place].items():
                # Longer stays are open to all who could make a shorter one.
                reached |= arriving.pop(nights, 0)
                leaving |= (reached & arrivals) << nights
            if leaving:
                left.setdefault(made | 1 << place, {})[stop] = leaving
    return everything in left


def _stay_days(costs, kit, stop, fewest):
    """Yield each number of nights with the set of arrival days that allow it."""
    barred = np.diff(costs.sums[kit, stop]) >= BARRED
    free = int.from_bytes(np.packbits(~barred, bitorder="little").tobytes(), "little")
    allowed, done = (1 << (costs.horizon + 1)) - 1, 0
    for nights in sorted(costs.nights(stop, fewest)):
        while done < nights:
            allowed &= free >> done
            done += 1
        first, last = costs.arrivals(stop, nights)
        meets = (1 << (last + 1)) - (1 << first) if first <= last else 0
        yield nights, allowed & meets
