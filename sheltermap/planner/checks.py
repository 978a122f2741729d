"""What makes a planning problem unusable, all of it at once.

In: a planning problem as it was given. Out: one Problem for each thing wrong.
Assumes nothing but that the fields have their types.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sheltermap.vocabulary import DAYS_IN_YEAR, Problem

DIRECTIONS = ("forward", "reverse", "either")
ORDERS = ("fixed", "free")
MOST_FREE_STOPS = 12
"""Largest number of stops whose order is searched exactly."""

MOST_NIGHTS = 3660
"""Longest stay at one stop that is planned: ten years, far beyond any journey."""

HEAVIEST_STAY_WEIGHT = 1000.0
"""Largest weight of a night off the preferred stay; keeps sums inside 64-bit integers."""

_HALF_STEP = 5e-7  # Scores are stored to 1e-6, so this much is rounding.


def problems_of(problem) -> Iterator[Problem]:
    """
    Yield everything that makes a planning problem unusable.

    Parameters
    ----------
    problem : PlanningProblem

    Yields
    ------
    Problem
    """

    def wrong(key, expected, got, mend):
        return Problem("journey", key, expected, str(got), mend)

    stops, kits = problem.stops, problem.kits
    if not stops:
        yield wrong("stops", "at least one", "none", "Add a leg.")
    if not kits:
        yield wrong("kits", "at least one", "none", "Name a kit.")
    expected_shape = (len(kits), len(stops), DAYS_IN_YEAR)
    if np.shape(problem.rough) != expected_shape:
        yield wrong("rough", f"shape {expected_shape}", np.shape(problem.rough), "Score each kit.")
    elif not np.all(np.isnan(problem.rough) | (np.abs(problem.rough - 0.5) <= 0.5 + _HALF_STEP)):
        yield wrong("rough", "values from 0 to 1", "others", "Give rough nights per night.")
    if problem.latest < problem.earliest:
        yield wrong("latest", f"on or after {problem.earliest}", problem.latest, "Swap the dates.")
    if problem.direction not in DIRECTIONS:
        yield wrong("direction", " or ".join(DIRECTIONS), problem.direction, "Use one of these.")
    if problem.order not in ORDERS:
        yield wrong("order", " or ".join(ORDERS), problem.order, "Use one of these.")
    if not 0 <= problem.stay_weight <= HEAVIEST_STAY_WEIGHT:
        yield wrong(
            "stay_weight", f"0 to {HEAVIEST_STAY_WEIGHT:g}", problem.stay_weight, "Lower it."
        )
    if len({stop.id for stop in stops}) != len(stops):
        yield wrong("stops", "a different id for each", "an id used twice", "Rename one.")
    for position in range(len(stops)):
        yield from _stop_problems(position, problem, wrong)
    if any(not 0 <= stay.stop < len(stops) for stay in problem.finished):
        yield wrong("finished", "stays at stops of this journey", "another", "Name those stops.")
    elif not problem.remaining and stops:
        yield wrong("finished", "a stop still to come", "none", "The journey is over.")
    if problem.order == "free":
        yield from _free_order_problems(problem, wrong)
    else:
        yield from _permit_run_problems(problem, wrong)


def _stop_problems(position, problem, wrong):
    """Yield what is wrong with one stop."""
    stop, key = problem.stops[position], f"stops[{position + 1}]"
    counts = (stop.nights_min, stop.nights_preferred, stop.nights_max)
    if not 1 <= counts[0] <= counts[1] <= counts[2] <= MOST_NIGHTS:
        yield wrong(
            f"{key}.nights",
            f"1 <= fewest <= preferred <= most <= {MOST_NIGHTS}",
            counts,
            "Put them in this order.",
        )
    if stop.be_there_slack_days < 0:
        yield wrong(f"{key}.be_there_slack_days", "0 or more", stop.be_there_slack_days, "Raise.")
    if stop.permit is not None and problem.permit(position) is None:
        yield wrong(f"{key}.permit", "the name of a permit", stop.permit, "Define that permit.")
    for closure in stop.closures:
        if closure.last < closure.first:
            yield wrong(f"{key}.closures", "first before last", closure.reason, "Swap the dates.")
    for barrier in stop.barriers:
        if np.shape(barrier.by_day) != (DAYS_IN_YEAR,):
            yield wrong(f"{key}.barriers", "365 days", np.shape(barrier.by_day), "Give each day.")


def _free_order_problems(problem, wrong):
    """Yield why stops cannot be put in a free order."""
    count = len(problem.remaining)
    if count > MOST_FREE_STOPS:
        yield wrong(
            "order",
            f"at most {MOST_FREE_STOPS} stops in a free order",
            count,
            "Fix the order, or join stops.",
        )
    if any(problem.permit(stop) is not None for stop in problem.remaining):
        yield wrong(
            "order",
            "no permits in a free order",
            "a permit",
            "Fix the order, since the time since entry depends on it.",
        )
    if problem.first_stop is not None and problem.first_stop not in problem.remaining:
        yield wrong("first_stop", "a stop still to come", problem.first_stop, "Name another.")
    travel, shape = problem.travel, (len(problem.stops),) * 2
    if travel is None:
        return
    if np.shape(travel.km) != shape:
        yield wrong("travel.km", f"shape {shape}", np.shape(travel.km), "Give each pair.")
    if travel.from_home_km is not None and np.shape(travel.from_home_km) != shape[:1]:
        yield wrong("travel.from_home_km", f"shape {shape[:1]}", np.shape(travel.from_home_km), "")
    if not travel.daily_km > 0:
        yield wrong("travel.daily_km", "more than 0", travel.daily_km, "Give a day's distance.")


def _permit_run_problems(problem, wrong):
    """Yield permits whose stops are apart, which would mean a second entry."""
    for permit in problem.permits:
        inside = [i for i, stop in enumerate(problem.stops) if stop.permit == permit.name]
        if inside and inside[-1] - inside[0] + 1 != len(inside):
            yield wrong(
                f"permits.{permit.name}",
                "stops that follow each other",
                "stops with others between them",
                "Name a second permit for the second entry.",
            )
