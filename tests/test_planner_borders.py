"""Borders of the planner, and what its messages say there, each counted by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from plain_problems import MAY_1, problem, stop

from sheltermap.dates import days_of_year
from sheltermap.planner.checks import HEAVIEST_WEIGHT, MOST_NIGHTS
from sheltermap.planner.costs import BARRED, IMPOSSIBLE, MICRO, stay_costs
from sheltermap.planner.problem import (
    Barrier,
    Closure,
    PermitRule,
    Plan,
    Stay,
)
from sheltermap.planner.search import best_plans, replanned
from sheltermap.planner.uncertainty import NightErrors, equal, rough_range


def eased(asked):
    """Return what could give, as constraint, stop and days."""
    return [(one.constraint, one.stop, one.days) for one in best_plans(asked).relaxations]


def messages(asked, kind):
    """Return what is said of one kind of constraint."""
    found = best_plans(asked).relaxations
    return [one.message for one in found if one.constraint == kind]


@pytest.mark.parametrize("key", ["stay_weight", "danger_weight", "serious_weight"])
def test_weights_from_nought_to_a_thousand(key):
    """Both ends are taken; what lies beyond either is refused with its value."""
    for weight in (0.0, 1000.0):
        assert getattr(problem(stop("A"), **{key: weight}), key) == weight
    for weight in (-0.5, 1000.5):
        with pytest.raises(ValueError, match=f"{key}: expected 0 to 1000, got {weight}"):
            problem(stop("A"), **{key: weight})


@pytest.mark.parametrize(
    ("nights", "taken"),
    [
        ((1, 1, 3660), True),
        ((3660, 3660, 3660), True),
        ((0, 1, 2), False),
        ((1, 1, 3661), False),
        ((2, 1, 3), False),
        ((1, 3, 2), False),
    ],
)
def test_nights_rise_from_one_to_ten_years(nights, taken):
    """At least one night, at most 3660, the preferred between."""
    if taken:
        assert problem(stop("A", *nights)).stops[0].nights_max == nights[2]
        return
    with pytest.raises(ValueError, match="rising order from 1 to 3660, got"):
        problem(stop("A", *nights))


@pytest.mark.parametrize("beyond", [0.49e-6, 0.53e-6])
def test_half_a_step_beyond_a_chance_is_rounding(beyond):
    """Scores are stored to a millionth, so half of one; above it is no chance, at both ends."""
    for value in (1 + beyond, -beyond):
        if beyond < 0.5e-6:
            assert problem(stop("A"), rough=value).kits == ("kit 0",)
            continue
        with pytest.raises(ValueError, match="rough: expected values from 0 to 1"):
            problem(stop("A"), rough=value)


@pytest.mark.parametrize("key", ["rough", "dangerous", "serious"])
def test_tables_have_a_row_for_each_kit_and_stop(key):
    """One kit and one stop: a table of two stops is another problem's."""
    with pytest.raises(ValueError, match=rf"{key}: expected shape \(1, 1, 365\), got \(1, 2, 365"):
        problem(stop("A"), **{key: np.zeros((1, 2, 365))})


def test_a_barrier_has_a_common_year():
    """364 days are told as they are."""
    short = Barrier("flood", np.zeros(364, dtype=bool))
    with pytest.raises(ValueError, match=r"365 days, got shape \(364,\)"):
        problem(stop("A", barriers=(short,)))


def test_twelve_stops_may_be_put_in_any_order():
    """13 are refused elsewhere; a leg that is done is no longer one of them."""
    assert len(problem(*map(stop, "ABCDEFGHIJKL"), order="free").remaining) == 12
    made = Stay(0, date(2027, 4, 28), MAY_1, 3, 0.3)
    assert len(problem(*map(stop, "ABCDEFGHIJKLM"), order="free", finished=(made,)).stops) == 13


def test_sums_of_the_dearest_stays_are_exact():
    """The dearest allowed stay is cheaper than a barred night; two impossible ones fit 64 bits.

    A night costs at most itself and two dangers at the heaviest weight, and one off the
    preferred stay as much again.
    """
    dearest = MOST_NIGHTS * (1 + 3 * HEAVIEST_WEIGHT) * MICRO
    assert dearest < BARRED and BARRED * 2**17 < 2**63
    assert BARRED * 2 < IMPOSSIBLE and IMPOSSIBLE * 2 < 2**63


def test_nights_are_tried_from_the_preferred_on():
    """3 to 7 with 4 preferred: the nearest first, the shorter of two as near."""
    costs = stay_costs(problem(stop("A", 3, 4, 7), stay_weight=0.25))
    assert costs.nights(0, 1) == [4, 3, 5, 6, 7]
    assert costs.nights(0, 5) == [5, 6, 7]
    assert [costs.weight(0, nights) for nights in (3, 4, 7)] == [250_000, 0, 750_000]


def test_fixed_evenings_bound_the_arrival():
    """4 nights that hold 10 May: from 7 to 10 May; a day of slack widens both ends.

    Two evenings on the way bring the last arrival forward to the 8th.
    """
    asked = problem(stop("A", 4, be_there=(date(2027, 5, 10),)), latest=date(2027, 6, 1))
    assert stay_costs(asked).arrivals(0, 4) == (6, 9)
    assert stay_costs(asked).arrivals(0, 4, 2) == (6, 7)
    slack = replace(asked, stops=(replace(asked.stops[0], be_there_slack_days=1),))
    assert stay_costs(slack).arrivals(0, 4) == (5, 10)


def test_one_kit_alone_takes_its_own_tables():
    """Of two kits the second, with its rough, dangerous and serious nights."""
    rough = np.stack([np.full((1, 365), value) for value in (0.1, 0.4)])
    asked = problem(
        stop("A"), kits=2, rough=rough, dangerous=rough / 4, serious=rough > 0.2, choose_kit=True
    )
    alone = asked.with_kit("kit 1")
    assert (alone.kits, alone.choose_kit) == (("kit 1",), False)
    best = best_plans(alone).best
    assert (best.rough_nights, best.dangerous_nights) == pytest.approx((1.2, 0.3))
    assert best.serious_nights == 3
    bare = problem(stop("A"), kits=2).with_kit("kit 1")
    assert bare.dangerous is None and bare.serious is None


def test_a_fortnight_makes_another_plan():
    """43 equal days: the 1st, 15th and 29th of May; a fourth would be the fourth alternative."""
    asked = problem(stop("A"), latest=MAY_1 + timedelta(days=42), most_alternatives=2)
    found = best_plans(asked)
    assert [plan.depart.day for plan in (found.best, *found.alternatives)] == [1, 15, 29]
    every = best_plans(replace(asked, most_alternatives=9))
    assert [(plan.depart - MAY_1).days for plan in every.alternatives] == [14, 28, 42]


@pytest.mark.parametrize(
    ("details", "way"),
    [
        ({"order": "free"}, "free"),
        ({"direction": "reverse"}, "reverse"),
        ({"direction": "either"}, "forward"),
    ],
)
def test_a_journey_that_is_done_keeps_its_way(details, way):
    """Nothing is left to turn round."""
    made = Stay(0, date(2027, 4, 28), MAY_1, 3, 0.3)
    assert best_plans(problem(stop("A"), finished=(made,), **details)).best.direction == way


def test_a_stay_cut_short_has_the_dangers_of_its_nights():
    """Three of five nights at a fifth of a dangerous night each, all under a hazard."""
    danger = np.full((1, 2, 365), 0.2)
    asked = problem(stop("A", 5), stop("B"), dangerous=danger, serious=danger > 0)
    plan = best_plans(asked).best
    cut = replanned(asked, plan, 1, date(2027, 5, 4)).best.stays[0]
    assert (cut.nights, cut.serious_nights) == (3, 3)
    assert (cut.rough_nights, cut.dangerous_nights) == pytest.approx((0.3, 0.6))


@pytest.mark.parametrize("days", [366, 367])
def test_dates_are_moved_by_a_year_at_most(days):
    """Open again so many days after the only departure: 366 are offered, 367 are not."""
    last = MAY_1 + timedelta(days=days - 1)
    shut = Closure("rebuilding", date(2020, 1, 1), last)
    found = eased(problem(stop("A", closures=(shut,))))
    assert (("latest", "", 366) in found) is (days == 366)
    assert not [one for one in found if one[0] == "latest" and one[2] != 366]
    assert ("closure", "A", days) in found


def test_four_choices_are_enough():
    """9 nights from 1 May end on the 10th: the end, the start or any of three stops gives 2 days.

    Equal days stand in the order of the journey, its dates first.
    """
    asked = problem(*map(stop, "ABC"), finish_by=date(2027, 5, 8))
    assert eased(asked) == [
        ("finish_by", "", 2),
        ("earliest", "", 2),
        ("nights_min", "A", 2),
        ("nights_min", "B", 2),
    ]
    assert messages(asked, "earliest") == [
        "Leaving from 1 May 2027 is 2 days too late: 29 April 2027 would do."
    ]
    assert messages(asked, "nights_min")[0] == (
        "A: the shortest stay of 3 nights is 2 days too long; 1 night would do."
    )


@pytest.mark.parametrize(("driving", "gives"), [(0, 2), (1, 2), (2, None)])
def test_a_stay_is_not_cut_below_its_driving(driving, gives):
    """3 nights that must end on 2 May: one is left, unless two days are driven."""
    asked = problem(stop("A", travel_days=driving), finish_by=date(2027, 5, 2))
    days = {constraint: days for constraint, _, days in eased(asked)}
    assert days.get("nights_min") == gives and days["finish_by"] == 2


def test_the_one_night_that_is_not_driven_can_give():
    """3 nights, two days of driving, to end on 3 May: 2 nights would do."""
    asked = problem(stop("A", travel_days=2), finish_by=date(2027, 5, 3))
    assert ("nights_min", "A", 1) in eased(asked)


def test_a_longer_stay_is_offered_with_its_nights():
    """From 2 to 10 May are 9 evenings, 6 more than the 3 nights allowed."""
    there = (date(2027, 5, 2), date(2027, 5, 10))
    asked = problem(stop("A", be_there=there), latest=date(2027, 5, 3))
    assert messages(asked, "nights_max") == [
        "A: the longest stay of 3 nights is 6 days too short; 9 nights would do."
    ]


def test_a_season_over_new_year_is_one():
    """Barred from 20 December to 10 January; three nights from 1 January.

    Leaving on the 11th is 10 days later, and 17 December 15 earlier; the season itself would
    end after 31 December or begin on 4 January.
    """
    barred = np.zeros(365, dtype=bool)
    barred[days_of_year(date(2026, 12, 20), 22)] = True
    day = date(2027, 1, 1)
    asked = problem(stop("A", barriers=(Barrier("flood", barred),)), earliest=day, latest=day)
    assert eased(asked) == [
        ("latest", "", 10),
        ("earliest", "", 15),
        ("barrier", "A", 10),
        ("barrier", "A", 15),
    ]
    said = "A: 'flood' bars the nights from 20 December to 10 January; it would have to"
    assert messages(asked, "barrier") == [
        f"{said} end 10 days earlier.",
        f"{said} begin 15 days later.",
    ]
    assert messages(asked, "latest") == [
        "Leaving by 1 January 2027 is 10 days too early: 11 January 2027 would do."
    ]


def test_two_seasons_of_a_year_are_two():
    """1 to 3 May and 5 May: nights from the 1st need the first gone and know of no second."""
    barred = np.zeros(365, dtype=bool)
    first = int(days_of_year(MAY_1, 1)[0])
    barred[[first, first + 1, first + 2, first + 4]] = True
    found = messages(problem(stop("A", barriers=(Barrier("flood", barred),))), "barrier")
    assert len(found) == 2 and all("from 1 May to 3 May" in one for one in found)


def test_both_ends_of_a_closure():
    """28 April to 2 May against nights from 1 May: gone on 30 April, or not before 3 May."""
    shut = Closure("snow", date(2027, 4, 28), date(2027, 5, 2))
    assert messages(problem(stop("A", closures=(shut,))), "closure") == [
        "A: 'snow' would have to end 2 days before 2 May 2027.",
        "A: 'snow' would have to begin 5 days after 28 April 2027.",
    ]


@pytest.mark.parametrize(
    ("rule", "kind", "sentence"),
    [
        # 3 nights are 4 days at a border.
        (
            {"longest_stay_days": 3},
            "permit_stay",
            "land: the longest stay of 3 days is 1 day too short; 4 days would do.",
        ),
        (
            {"valid_from": date(2027, 5, 4)},
            "permit_from",
            "land: entry from 4 May 2027 is 3 days too late; 1 May 2027 would do.",
        ),
        # The last night is that of 3 May, so the 4th is the day of leaving.
        (
            {"valid_until": date(2027, 5, 2)},
            "permit_until",
            "land: leaving by 2 May 2027 is 2 days too early; 4 May 2027 would do.",
        ),
    ],
)
def test_permits_say_what_would_do(rule, kind, sentence):
    """One stop of 3 nights from 1 May; another permit is left alone."""
    rules = (PermitRule("sea", 2), PermitRule("land", **rule))
    asked = problem(stop("A", permit="land", travel_days=3), permits=rules)
    assert messages(asked, kind) == [sentence]


@pytest.mark.parametrize(("choose", "named"), [(False, False), (True, True)])
def test_missing_scores_count_in_kits_that_may_be_taken(choose, named):
    """The second kit has none; it matters where it might be chosen."""
    rough = np.full((2, 1, 365), 0.1)
    rough[1] = np.nan
    asked = problem(stop("A"), kits=2, rough=rough, choose_kit=choose, finish_by=date(2027, 5, 2))
    assert ("Some nights at A have no score" in best_plans(asked).message) is named


def no_errors(stops):
    """Return errors of nothing."""
    none = np.zeros((1, 1, stops, 365))
    return NightErrors(none, none, none, np.zeros((stops, stops)))


def test_stays_that_are_behind_have_no_range():
    """4 nights at 0.5 are done: 2 rough. Ahead are 3 at 0.5: 1.5, from none to all 3.

    Their variance is 3 x 0.25 in spells of three: 2.25, so a spread of 1.5. That is the mean,
    and the count is exponential: -ln(0.9) and -ln(0.1) of it, the latter above all three.
    """
    asked = problem(stop("A", 4), stop("B", 3), rough=0.5)
    made = best_plans(asked).best
    found = rough_range(asked, replace(made, done=1), no_errors(2))
    assert found.weather == pytest.approx(1.5)
    assert found.expected == pytest.approx(3.5)
    assert found.low == pytest.approx(2 - 1.5 * np.log(0.9))
    assert (found.high, found.bad_year) == pytest.approx((5.0, 3.5))


@pytest.mark.parametrize(("chance", "one"), [(0.0095, False), (0.0105, True)])
def test_none_is_said_below_a_chance_of_one_in_a_hundred(chance, one):
    """judgement: from 1 in 100 on a range ends at a night or more."""
    asked = problem(stop("A", 1), rough=chance)
    high = rough_range(asked, best_plans(asked).best, no_errors(1)).high
    assert (high == 1.0) is one


@pytest.mark.parametrize(("more", "same"), [(0.049, True), (0.053, False)])
def test_a_twentieth_of_a_dangerous_night_parts_two_plans(more, same):
    """Else alike: what lies between 0.05 and 0.06 is more already."""
    asked = problem(stop("A"))
    best: Plan = best_plans(asked).best
    risky = replace(best, stays=(replace(best.stays[0], dangerous_nights=more),))
    assert equal(asked, best, risky, no_errors(1)) is same
