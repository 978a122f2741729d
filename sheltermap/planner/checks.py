"""What the planner's arithmetic rests on, and the bounds within which it is exact.

In: a planning problem. Out: nothing, or a ValueError with everything wrong. Assumes that
what a traveller can get wrong was told before, in ``trip.checks``: who reads this message
has called the planner wrongly.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from sheltermap.vocabulary import DAYS_IN_YEAR

if TYPE_CHECKING:
    from sheltermap.planner.problem import PlanningProblem

MOST_FREE_STOPS = 12
"""Largest number of stops whose order is searched exactly."""

MOST_NIGHTS = 3660
"""Longest stay at one stop that is planned: ten years, far beyond any journey."""

HEAVIEST_WEIGHT = 1000.0
"""Largest weight of a night of any kind; keeps sums inside 64-bit integers."""

_HALF_STEP = 5e-7  # Scores are stored to 1e-6, so this much is rounding.


def require_usable(problem: PlanningProblem) -> None:
    """
    Refuse a problem whose plans would not be exact.

    Parameters
    ----------
    problem : PlanningProblem

    Raises
    ------
    ValueError
        With everything wrong.
    """
    faults = list(_faults(problem))
    if faults:
        raise ValueError("; ".join(faults))


def _faults(problem: PlanningProblem) -> Iterator[str]:
    """Yield what the cost table and the searches cannot hold."""
    yield from _table_faults(problem)
    if problem.latest < problem.earliest:
        yield f"latest: expected a day from {problem.earliest} on, got {problem.latest}"
    for name in ("stay_weight", "danger_weight", "serious_weight"):
        if not 0 <= getattr(problem, name) <= HEAVIEST_WEIGHT:
            yield f"{name}: expected 0 to {HEAVIEST_WEIGHT:g}, got {getattr(problem, name)}"
    for number in range(len(problem.stops)):
        yield from _stop_faults(problem, number)
    yield from _free_order_faults(problem) if problem.order == "free" else _split_permits(problem)


def _table_faults(problem: PlanningProblem) -> Iterator[str]:
    """Yield what is wrong with the tables of nights."""
    stops, kits = problem.stops, problem.kits
    if not stops or not kits:
        yield f"expected stops and kits, got {len(stops)} and {len(kits)}"
    shape = (len(kits), len(stops), DAYS_IN_YEAR)
    if np.shape(problem.rough) != shape:
        yield f"rough: expected shape {shape}, got {np.shape(problem.rough)}"
    elif not np.all(np.isnan(problem.rough) | (np.abs(problem.rough - 0.5) <= 0.5 + _HALF_STEP)):
        yield "rough: expected values from 0 to 1, got others"
    for name in ("dangerous", "serious"):
        table = getattr(problem, name)
        if table is not None and np.shape(table) != shape:
            yield f"{name}: expected shape {shape}, got {np.shape(table)}"


def _stop_faults(problem: PlanningProblem, number: int) -> Iterator[str]:
    """Yield what is wrong with one stop."""
    stop, key = problem.stops[number], f"stops[{number}]"
    counts = (stop.nights_min, stop.nights_preferred, stop.nights_max)
    if not 1 <= counts[0] <= counts[1] <= counts[2] <= MOST_NIGHTS:
        yield f"{key}: expected nights in rising order from 1 to {MOST_NIGHTS}, got {counts}"
    if stop.permit is not None and problem.permit(number) is None:
        yield f"{key}.permit: expected one of the permits, got {stop.permit!r}"
    for barrier in stop.barriers:
        if np.shape(barrier.by_day) != (DAYS_IN_YEAR,):
            yield f"{key}.barriers: expected 365 days, got shape {np.shape(barrier.by_day)}"


def _free_order_faults(problem: PlanningProblem) -> Iterator[str]:
    """Yield why the stops to come cannot be put in a free order."""
    count, shape = len(problem.remaining), (len(problem.stops),) * 2
    if count > MOST_FREE_STOPS:
        yield f"order: expected at most {MOST_FREE_STOPS} stops in a free order, got {count}"
    # What follows would depend on the days since entry too, which its sets do not hold.
    if any(problem.permit(stop) is not None for stop in problem.remaining):
        yield "order: expected no permits in a free order, got one"
    if problem.first_stop is not None and problem.first_stop not in problem.remaining:
        yield f"first_stop: expected a stop still to come, got {problem.first_stop}"
    if problem.travel is not None and np.shape(problem.travel.km) != shape:
        yield f"travel.km: expected shape {shape}, got {np.shape(problem.travel.km)}"


def _split_permits(problem: PlanningProblem) -> Iterator[str]:
    """Yield permits whose stops are apart: days since entry are counted for one entry."""
    for permit in problem.permits:
        inside = [i for i, stop in enumerate(problem.stops) if stop.permit == permit.name]
        if inside and inside[-1] - inside[0] + 1 != len(inside):
            yield f"permits: expected stops of {permit.name!r} that follow each other"
