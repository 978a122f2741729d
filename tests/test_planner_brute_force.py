"""The planner against every plan there is, on small journeys."""

from collections import Counter
from functools import cache

import pytest
from planner_cases import broken_rules, brute_force, objective_to_come, small_problem

from sheltermap.planner.costs import stay_costs
from sheltermap.planner.feasible import feasible
from sheltermap.planner.search import best_plans

# Sums of at most 28 nights stored to 1e-6 cannot differ by more.
TOLERANCE = 1e-6


@cache
def least_costs(seed, order):
    """Return the least objective of each departure day of a small journey."""
    return brute_force(small_problem(seed, order))


@pytest.mark.parametrize("order", ["fixed", "free"])
@pytest.mark.parametrize("seed", range(100))
def test_every_departure_equals_brute_force(order, seed):
    """No plan beats the planner's on any departure day, and its plans break no rule."""
    problem = small_problem(seed, order)
    expected = least_costs(seed, order)
    result = best_plans(problem)
    assert feasible(stay_costs(problem)) == any(cost is not None for cost in expected)
    found = [
        None if plan is None else objective_to_come(problem, plan)
        for plan in result.best_by_departure
    ]
    assert found == pytest.approx(expected, abs=TOLERANCE)
    for plan in (*filter(None, result.best_by_departure), *result.alternatives):
        assert broken_rules(problem, plan) == []
    if any(value is not None for value in expected):
        least = min(value for value in expected if value is not None)
        assert objective_to_come(problem, result.best) == pytest.approx(least, abs=TOLERANCE)
    else:
        assert result.best is None and result.message


def test_small_journeys_hold_every_kind_of_constraint():
    """The comparison means something: each constraint occurs, and in either order many
    journeys have plans, on many departure days, and many have none."""
    seen, departures = Counter(), Counter()
    for order in ("fixed", "free"):
        for seed in range(100):
            problem = small_problem(seed, order)
            costs = least_costs(seed, order)
            seen[f"{order} plan"] += any(value is not None for value in costs)
            seen[f"{order} none"] += all(value is None for value in costs)
            departures[order] += sum(value is not None for value in costs)
            seen["finish_by"] += problem.finish_by is not None
            seen["either"] += problem.direction == "either"
            seen["choose_kit"] += problem.choose_kit and len(problem.kits) > 1
            seen["climb"] += problem.climb_nights is not None
            seen["finished"] += bool(problem.finished)
            seen["travel"] += problem.travel is not None
            seen["longest"] += any(permit.longest_stay_days for permit in problem.permits)
            seen["valid"] += any(permit.valid_from for permit in problem.permits)
            for kind in ("closures", "barriers", "be_there"):
                seen[kind] += any(getattr(stop, kind) for stop in problem.stops)
    assert min(seen.values()) >= 10, seen
    for order in ("fixed", "free"):
        assert seen[f"{order} plan"] >= 35 and seen[f"{order} none"] >= 35, seen
        assert departures[order] >= 140, departures
