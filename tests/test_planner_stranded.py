"""Why a day of departure has no plan, counted by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from planner_cases import small_problem

from sheltermap.planner.problem import Barrier, Closure, PermitRule, PlanningProblem, Stop
from sheltermap.planner.search import best_plans
from sheltermap.planner.stranded import why_stranded

FIRST = date(2027, 6, 1)
NAMES = ("Plain", "Pass", "Coast")


def journey(**changes) -> PlanningProblem:
    """Return two nights at each of three stops in a row, left from 1 to 10 June 2027."""
    stops = tuple(Stop(name.lower(), name, 2, 2, 2) for name in NAMES)
    problem = PlanningProblem(
        stops=stops,
        kits=("tent",),
        rough=np.zeros((1, 3, 365)),
        earliest=FIRST,
        latest=date(2027, 6, 10),
        stay_weight=0.0,
    )
    return replace(problem, **changes)


def at_pass(problem: PlanningProblem, **changes) -> PlanningProblem:
    """Return the problem with its second stop changed."""
    first, second, third = problem.stops
    return replace(problem, stops=(first, replace(second, **changes), third))


def why(problem: PlanningProblem, day: int) -> str:
    """Return why nobody leaves on a day of June 2027."""
    return why_stranded(problem, [date(2027, 6, day)])[0]


def test_a_closed_stop_is_named_with_its_reason():
    """Left on 5 June, the pass is slept at on 7 and 8; it is closed up to 7 June."""
    shut = (Closure("snow", date(2027, 5, 1), date(2027, 6, 7)),)
    problem = at_pass(journey(), closures=shut)
    assert (
        why(problem, 5) == "The journey gets no further than Plain: at Pass, it is closed (snow)."
    )
    assert why(problem, 6) == ""


def test_a_hazard_of_every_year_is_named():
    """1 June is day 151; left on the 1st, the pass is slept at on days 153 and 154."""
    days = np.zeros(365, dtype=bool)
    days[154] = True
    problem = at_pass(journey(), barriers=(Barrier("flood (ranger)", days),))
    assert why(problem, 1) == "The journey gets no further than Plain: at Pass, flood (ranger)."
    assert why(problem, 3) == ""  # then on days 155 and 156


def test_an_end_that_is_too_late():
    """Left on the 9th, two nights each end on the 15th, a day after the 14th."""
    problem = journey(finish_by=date(2027, 6, 14))
    assert why(problem, 9) == (
        "The journey gets no further than Pass: at Coast, the journey would end after "
        "14 June 2027."
    )
    assert why(problem, 8) == ""


def test_a_fixed_evening_that_would_be_missed():
    """The pass is slept at on 3 and 4 June after a start on the 1st: not on the 5th."""
    problem = at_pass(journey(), be_there=(date(2027, 6, 5),))
    assert why(problem, 1) == (
        "The journey gets no further than Plain: at Pass, the evening of 5 June 2027 "
        "would be missed."
    )
    assert why(problem, 2) == ""


def test_a_permit_that_is_not_yet_valid():
    """Valid from 8 June, and the pass is reached on the 7th after a start on the 5th."""
    permit = PermitRule("zone", None, date(2027, 6, 8), date(2027, 7, 1))
    problem = at_pass(journey(permits=(permit,)), permit="zone")
    assert why(problem, 5) == (
        "The journey gets no further than Plain: at Pass, the permit zone does not allow the stay."
    )
    assert why(problem, 6) == ""


def test_a_start_that_is_barred():
    """Where the first stop is closed the journey cannot begin."""
    shut = (Closure("strike", FIRST, FIRST),)
    first, *others = journey().stops
    problem = replace(journey(), stops=(replace(first, closures=shut), *others))
    assert why(problem, 1) == "The journey cannot begin: at Plain, it is closed (strike)."


def test_two_rules_at_one_stop():
    """Each alone would bar it: neither is the one to mend, and that is said."""
    shut = (Closure("snow", FIRST, date(2027, 6, 7)),)
    days = np.zeros(365, dtype=bool)
    days[151:160] = True
    problem = at_pass(journey(), closures=shut, barriers=(Barrier("flood", days),))
    assert why(problem, 1) == (
        "The journey gets no further than Plain: Pass is barred by more than one rule."
    )


@pytest.mark.parametrize("seed", range(40))
def test_a_day_has_a_reason_where_it_has_no_plan(seed):
    """On random journeys, exactly the days without a plan are told why."""
    problem = small_problem(seed, "fixed")
    plans = best_plans(problem).best_by_departure
    days = [problem.earliest + timedelta(days=n) for n in range(len(plans))]
    told = why_stranded(problem, days)
    assert [bool(text) for text in told] == [plan is None for plan in plans]
