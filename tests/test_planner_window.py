"""The good window: unbroken days around the best plan, by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from sheltermap.planner.problem import Plan, PlanningProblem, Result, Stay, Stop
from sheltermap.planner.search import best_plans
from sheltermap.planner.window import good_window

FIRST = date(2027, 5, 1)


def found(costs, dangers=None):
    """Return a result whose days cost so much, None where no plan is feasible."""
    plans = []
    for offset, cost in enumerate(costs):
        depart = FIRST + timedelta(days=offset)
        danger = 0.0 if dangers is None else dangers[offset]
        plans.append(None if cost is None else OfDay(depart, cost, danger))
    known = [plan for plan in plans if plan is not None]
    best = min(known, key=lambda plan: plan.objective, default=None)
    days = tuple((FIRST + timedelta(days=offset), cost) for offset, cost in enumerate(costs))
    return Result(best, (), days, tuple(plans))


class OfDay(Plan):
    """A plan of which the day, the cost and the danger are given."""

    def __init__(self, depart, cost, danger):
        stay = Stay(0, depart, depart + timedelta(days=1), 1, cost)
        super().__init__(depart, depart, "forward", "kit", (stay,), cost, cost)
        object.__setattr__(self, "danger", danger)

    @property
    def dangerous_nights(self):
        """Return what was given."""
        return self.danger


def window(costs, dangers=None):
    """Return the first and last day of the window, counted from the first of May."""
    days = good_window(found(costs, dangers))
    return None if days is None else tuple((day - FIRST).days for day in days)


@pytest.mark.parametrize(
    ("costs", "days"),
    [
        # Within one night of 4.0: 5.0 is, 5.1 is not, and what lies beyond counts no more.
        ([4.5, 5.1, 5.0, 4.0, 4.9, 5.1, 4.0], (2, 4)),
        # A tenth of 20 is 2 nights.
        ([22.1, 22.0, 20.0, 21.9], (1, 3)),
        # A day without a plan ends it.
        ([4.0, None, 4.0, 4.1], (0, 0)),
        ([None, None], None),
    ],
)
def test_window_is_unbroken_and_within_a_night_or_a_tenth(costs, days):
    """By hand."""
    assert window(costs) == days


def test_days_with_more_danger_are_not_good():
    """0.05 more dangerous nights are allowed, 0.06 are not, however cheap the day."""
    assert window([4.2, 4.0, 4.1, 4.1], [0.15, 0.10, 0.15, 0.16]) == (0, 2)


def test_window_of_real_plans():
    """Six days of departure; A is rough at 0.5 a night up to 3 May, then at 0.1.

    Ten nights from 1, 2, 3 May hold 3, 2, 1 of the worse nights: 2.2, 1.8, 1.4, then 1.0.
    """
    rough = np.full((1, 1, 365), 0.1)
    rough[0, 0, :123] = 0.5
    asked = PlanningProblem(
        stops=(Stop("1", "A", 10, 10, 10),),
        kits=("kit",),
        rough=rough,
        earliest=FIRST,
        latest=FIRST + timedelta(days=5),
        stay_weight=0.05,
    )
    result = best_plans(asked)
    assert result.best.depart == FIRST + timedelta(days=3)
    assert good_window(result) == (FIRST + timedelta(days=1), FIRST + timedelta(days=5))
    assert good_window(replace(result, best=None)) is None
