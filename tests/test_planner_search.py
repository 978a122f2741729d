"""What the planner promises, on journeys whose answer is plain."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations

import numpy as np
import pytest
from plain_problems import MAY_1, problem, stop
from planner_cases import brute_force, objective_to_come, small_problem

from sheltermap.dates import days_of_year
from sheltermap.hazards.altitude import move_refused, nights_needed
from sheltermap.planner.problem import (
    NEVER,
    Barrier,
    Closure,
    PermitRule,
    Stay,
    Travel,
)
from sheltermap.planner.search import best_plans, replanned
from sheltermap.vocabulary import InputError


def season(*bad):
    """Return rough nights of 0.1, and of 0.9 on the days of the given months' spans."""
    table = np.full(365, 0.1)
    for first, last in bad:
        table[days_of_year(first, (last - first).days + 1)] = 0.9
    return table


def test_hand_made_journey():
    """Two stops of 2 nights: rain at B until 4 May makes 3 May the first dry departure."""
    wet_until_may_4 = season((date(2027, 4, 1), date(2027, 5, 4)))
    asked = problem(
        stop("A", 2), stop("B", 2), rough=[[season(), wet_until_may_4]], latest=date(2027, 5, 10)
    )
    result = best_plans(asked)
    # A is slept on 3 and 4 May, B on 5 and 6 May: 4 nights of 0.1.
    assert result.best.stays == (
        Stay(0, date(2027, 5, 3), date(2027, 5, 5), 2, 0.2),
        Stay(1, date(2027, 5, 5), date(2027, 5, 7), 2, 0.2),
    )
    assert (result.best.depart, result.best.finish) == (date(2027, 5, 3), date(2027, 5, 7))
    assert result.best.rough_nights == pytest.approx(0.4)
    # On 1 May both nights at B (3 and 4 May) are wet, on 2 May one of them.
    rough = [cost for _, cost in result.by_departure]
    assert rough == pytest.approx([2.0, 1.2] + [0.4] * 8)
    assert [day for day, _ in result.by_departure][-1] == date(2027, 5, 10)


@pytest.mark.parametrize(("weight", "depart"), [(0.0, 0), (10.0, 10)])
def test_the_weight_of_danger_turns_the_best_plan_round(weight, depart):
    """Four nights now: 0.4 rough, 1.2 dangerous. From day 10 on: 2.0 rough, none dangerous."""
    rough, dangerous = np.full((1, 1, 365), 0.5), np.zeros((1, 1, 365))
    first = int(days_of_year(MAY_1, 1)[0])
    rough[..., first : first + 10], dangerous[..., first : first + 10] = 0.1, 0.3
    asked = problem(
        stop("A", 4, 4, 4),
        rough=rough,
        latest=MAY_1 + timedelta(days=20),
        dangerous=dangerous,
        danger_weight=weight,
    )
    best = best_plans(asked).best
    assert (best.depart - MAY_1).days == depart
    expected = (0.4, 1.2) if depart == 0 else (2.0, 0.0)
    assert (best.rough_nights, best.dangerous_nights) == pytest.approx(expected)
    assert best.objective == pytest.approx(best.rough_nights + weight * best.dangerous_nights)


def test_a_serious_hazard_costs_its_nights_once():
    """Eight nights in fire season at a quarter night each: 2.0 more; five days later none."""
    serious = np.zeros((1, 1, 365), dtype=bool)
    first = int(days_of_year(MAY_1, 1)[0])
    serious[..., first : first + 8] = True
    asked = problem(
        stop("A", 8, 8, 8),
        rough=0.1,
        latest=MAY_1 + timedelta(days=5),
        serious=serious,
        serious_weight=0.25,
    )
    best = best_plans(asked).best
    # Each later day has one serious night less: the last day of the window is left with 3.
    assert (best.depart - MAY_1).days == 5
    assert best.serious_nights == 3
    assert best.objective == pytest.approx(8 * 0.1 + 3 * 0.25)


def test_rough_nights_hold_no_weight():
    """A stay cut by 4 nights at weight 0.25 costs 1 in the objective, not in rough nights."""
    asked = problem(stop("A", 2, 6, 6), rough=0.5, finish_by=date(2027, 5, 3), stay_weight=0.25)
    best = best_plans(asked).best
    assert best.rough_nights == pytest.approx(2 * 0.5)
    assert best.objective == pytest.approx(2 * 0.5 + 4 * 0.25)


def test_reverse_is_found():
    """With the far stop dry only early, the way round is reversed."""
    dry_early = season((date(2027, 5, 4), date(2027, 6, 30)))
    asked = problem(stop("A"), stop("B"), rough=[[season(), dry_early]], direction="either")
    best = best_plans(asked).best
    assert (best.direction, best.order) == ("reverse", (1, 0))
    assert best.rough_nights == pytest.approx(0.6)


def test_chosen_kit_is_the_first_unless_free():
    """The planner changes the kit only when it may."""
    rough = np.stack([np.full((1, 365), 0.4), np.full((1, 365), 0.2)])
    asked = problem(stop("A"), rough=rough)
    assert best_plans(asked).best.kit == "kit 0"
    assert best_plans(replace(asked, choose_kit=True)).best.kit == "kit 1"


def test_ties_are_settled_by_rule():
    """Equal plans: earliest departure, forward, first kit, preferred then shorter stays."""
    asked = problem(
        stop("A", 2, 3, 4),
        stop("B", 2, 3, 4),
        rough=np.zeros((2, 2, 365)),
        latest=date(2027, 5, 9),
        direction="either",
        choose_kit=True,
    )
    best = best_plans(asked).best
    assert (best.depart, best.direction, best.kit) == (date(2027, 5, 1), "forward", "kit 0")
    assert [stay.nights for stay in best.stays] == [3, 3]
    assert best_plans(asked) == best_plans(asked)


def test_across_new_year_with_a_region_twice():
    """Out through A, B in January, back through A: 0.1 a night but where each is wet."""
    wet_at_new_year = season((date(2027, 12, 25), date(2027, 12, 31)))
    asked = problem(
        stop("out", 5, region="A"),
        stop("there", 6, region="B"),
        stop("back", 5, region="A"),
        rough=[[wet_at_new_year, season(), wet_at_new_year]],
        earliest=date(2027, 12, 15),
        latest=date(2027, 12, 30),
    )
    result = best_plans(asked)
    best = result.best
    # Left on 15 December, A is slept in until the 19th and again from the 26th to the 30th.
    assert result.by_departure[0][1] == pytest.approx(11 * 0.1 + 5 * 0.9)
    # From the 20th: A to the 24th, B to the 30th, one wet night at A on the 31st.
    assert result.by_departure[5][1] == pytest.approx(15 * 0.1 + 0.9)
    # The 21st is wet on the 25th only on the way out; every departure costs at least one.
    assert best.depart == date(2027, 12, 20)
    assert best.finish == date(2028, 1, 5)


def test_29_february_is_a_night():
    """It is slept and counted, with the figures of 28 February."""
    february_28 = season((date(2027, 2, 28), date(2027, 2, 28)))
    leap = problem(
        stop("A"), rough=[[february_28]], earliest=date(2028, 2, 28), latest=date(2028, 2, 28)
    )
    best = best_plans(leap).best
    assert best.finish == date(2028, 3, 2)
    assert best.rough_nights == pytest.approx(0.9 + 0.9 + 0.1)


def test_nine_days_late_leaves_finished_legs_alone():
    """Late at leg 4: legs 1 to 3 stand, the rest moves, the nights between are named."""
    asked = problem(
        *(stop(name, 4, 6, 9) for name in "ABCDEF"),
        rough=np.random.default_rng(5).random((1, 6, 365)).round(6),
        latest=date(2027, 7, 1),
        finish_by=date(2027, 8, 30),
        stay_weight=0.1,
    )
    plan = best_plans(asked).best
    late = plan.stays[3].arrive + timedelta(days=9)
    result = replanned(asked, plan, stop=3, on=late)
    assert result.best.stays[:3] == plan.stays[:3]
    assert result.best.stays[3].arrive == late
    assert result.best.unplanned_nights == 9
    assert result.best.depart == plan.depart
    assert result.best.rough_nights == pytest.approx(
        sum(stay.rough_nights for stay in result.best.stays)
    )
    # The rest equals a journey of the last three stops that starts that day.
    rest = replace(
        asked, stops=asked.stops[3:], rough=asked.rough[:, 3:], earliest=late, latest=late
    )
    alone = [(s.arrive, s.nights) for s in best_plans(rest).best.stays]
    assert [(s.arrive, s.nights) for s in result.best.stays[3:]] == alone


def test_replanning_keeps_the_way_round_and_the_permit_clock():
    """A reverse journey goes on in reverse, and days already inside a country count."""
    asked = problem(
        stop("A", 2, 2, 9),
        stop("B", 2, 9, 9, permit="land"),
        stop("C", 5, 5, 9, permit="land"),
        direction="reverse",
        permits=(PermitRule("land", longest_stay_days=13),),
        stay_weight=0.1,
    )
    plan = best_plans(asked).best
    assert plan.order == (2, 1, 0)
    # 13 days with those of entry and leaving are 12 nights: 5 at C leave 7 for B.
    assert [stay.nights for stay in plan.stays] == [5, 7, 2]
    late = replanned(asked, plan, stop=1, on=date(2027, 5, 9))
    # Entered on 1 May, out by 13 May: arriving on 9 May leaves 4 nights.
    assert [stay.nights for stay in late.best.stays] == [5, 4, 2]
    assert late.best.stays[1].leave == date(2027, 5, 13)
    too_late = replanned(asked, plan, stop=1, on=date(2027, 5, 12))
    assert too_late.best is None
    # 2 nights from 12 May end on 14 May: one day too many.
    assert (too_late.relaxations[0].constraint, too_late.relaxations[0].days) in {
        ("permit_stay", 1),
        ("nights_min", 1),
    }


def test_permit_clock_runs_through_all_finished_stays():
    """Entered at B on 4 May, 12 days end on 15 May wherever inside the journey is taken up."""
    asked = problem(
        *(stop(name, 3, permit="land" if name in "BCD" else None) for name in "ABC"),
        stop("D", 1, 6, 9, permit="land"),
        permits=(PermitRule("land", longest_stay_days=12),),
        stay_weight=0.1,
    )
    plan = best_plans(asked).best
    # B and C take 6 of the 11 nights.
    assert [s.nights for s in plan.stays] == [3, 3, 3, 5]
    late = replanned(asked, plan, stop=3, on=date(2027, 5, 12))
    assert late.best.stays[3].leave == date(2027, 5, 15)


def test_finish_before_the_start():
    """Dates that leave no room at all are said, not crashed on."""
    result = best_plans(problem(stop("A"), finish_by=date(2027, 4, 20)))
    # Three nights from 1 May end on the 4th, 14 days after 20 April.
    assert [(found.constraint, found.days) for found in result.relaxations] == [
        ("finish_by", 14),
        ("earliest", 14),
    ]


def test_replanning_refuses_what_did_not_happen():
    """A stop cannot be reached before a night at the one ahead of it."""
    asked = problem(stop("A"), stop("B"))
    plan = best_plans(asked).best
    with pytest.raises(InputError, match=r"on: expected 2027-05-02 or later, .* got 2027-05-01"):
        replanned(asked, plan, stop=1, on=date(2027, 5, 1))
    with pytest.raises(InputError, match=r"stop: expected .* one of \(0, 1\), got 7"):
        replanned(asked, plan, stop=7, on=date(2027, 5, 9))


def test_free_order_replanned_starts_where_the_traveller_is():
    """The stop reached comes next, whatever a fresh plan would choose."""
    asked = problem(
        *(stop(name, 3) for name in "ABCD"),
        rough=np.random.default_rng(2).random((1, 4, 365)).round(6),
        order="free",
    )
    plan = best_plans(asked).best
    here = plan.stays[2].stop
    result = replanned(asked, plan, stop=here, on=plan.stays[2].arrive + timedelta(days=5))
    assert result.best.stays[:2] == plan.stays[:2]
    assert result.best.order == plan.order


def test_alternatives_differ():
    """No alternative is the best plan a few days later."""
    asked = problem(
        stop("A", 3, 5, 8),
        stop("B", 3, 5, 8),
        rough=np.random.default_rng(8).random((2, 2, 365)).round(6),
        latest=date(2027, 12, 31),
        direction="either",
        choose_kit=True,
        most_alternatives=5,
    )
    result = best_plans(asked)
    assert len(result.alternatives) == 5
    for one, other in combinations((result.best, *result.alternatives), 2):
        same = (one.direction, one.kit, one.order) == (other.direction, other.kit, other.order)
        assert not same or abs((one.depart - other.depart).days) >= 14
    objectives = [plan.objective for plan in (result.best, *result.alternatives)]
    assert objectives == sorted(objectives)


def test_night_without_a_score_is_not_slept():
    """Missing means missing: such a night is neither good nor bad, so it is avoided."""
    unknown = season()
    unknown[days_of_year(date(2027, 5, 2), 1)] = np.nan
    asked = problem(stop("A", 2), rough=[[unknown]], latest=date(2027, 5, 4))
    assert [cost for _, cost in best_plans(asked).by_departure] == [
        None, None, pytest.approx(0.2), pytest.approx(0.2)
    ]  # fmt: skip


def test_ascent_rule_raises_the_stay_and_then_refuses():
    """From 100 m to 3,500 m takes 3 nights (1,000 m above 2,500 m: 2 up, 1 of rest)."""
    low, high = {"sleeping_elevation_m": 100.0}, {"sleeping_elevation_m": 3500.0}
    asked = problem(
        stop("valley", 2, **low), stop("plateau", 1, 1, 5, **high), climb_nights=nights_needed
    )
    assert [stay.nights for stay in best_plans(asked).best.stays] == [2, 3]
    refused = problem(
        stop("valley", 2, **low), stop("plateau", 1, 1, 2, **high), climb_nights=nights_needed
    )
    result = best_plans(refused)
    assert result.best is None
    assert [(found.constraint, found.days) for found in result.relaxations] == [("nights_max", 1)]
    assert "plateau" in result.message and "needs up to 3 nights" in result.message


def test_a_refused_climb_leaves_the_other_way_round():
    """30 m to 4,400 m has no plan at any number of nights; down from there has one."""
    low, high = {"sleeping_elevation_m": 30.0}, {"sleeping_elevation_m": 4400.0}

    def climb(from_m, to_m):
        return NEVER if move_refused(from_m, to_m) else nights_needed(from_m, to_m)

    stops = stop("valley", 2, **low), stop("plateau", 1, 1, 300, **high)
    rules = {"climb_nights": climb, "home_elevation_m": 4200.0}
    result = best_plans(problem(*stops, direction="forward", **rules))
    assert result.best is None and result.relaxations == ()
    best = best_plans(problem(*stops, direction="either", **rules)).best
    assert best.direction == "reverse"
    free = best_plans(problem(*stops, order="free", **rules)).best
    assert free.order == (1, 0)


def test_roads_count_and_missing_roads_bar():
    """A free order drives only where roads lead, and long drives take nights."""
    km = np.full((3, 3), np.inf)
    km[2, 0], km[0, 1] = 500.0, 100.0
    asked = problem(
        *(stop(name, 1, 1, 4) for name in "ABC"), order="free", travel=Travel(km, 200.0)
    )
    best = best_plans(asked).best
    assert best.order == (2, 0, 1)
    # 500 km at 200 km a day are 3 days to A, 100 km one to B.
    assert [stay.nights for stay in best.stays] == [1, 3, 1]


MAY = {"earliest": date(2027, 5, 1), "latest": date(2027, 5, 10)}


@pytest.mark.parametrize(
    ("asked", "constraint", "days", "words"),
    [
        # 6 nights from 1 May end on the 7th, 4 days after the 3rd.
        (
            problem(stop("A"), stop("B"), finish_by=date(2027, 5, 3), **MAY),
            "finish_by", 4, "7 May 2027",
        ),
        # The pass opens on 21 May; leaving on the 10th it is reached on the 13th, 8 days early.
        (
            problem(
                stop("A"),
                stop("pass", closures=(Closure("snow", date(2026, 11, 1), date(2027, 5, 20)),)),
                **MAY,
            ),
            "latest", 8, "18 May 2027",
        ),
        # Three nights from 1 May at the earliest end on the 4th; the 30th is 18 nights after
        # the last (12 May) that leaving on the 10th allows.
        (
            problem(stop("A", be_there=(date(2027, 5, 30),)), **MAY),
            "latest", 18, "28 May 2027",
        ),
        # 3 + 3 nights are 7 days with both ends, 2 more than 5.
        (
            problem(
                stop("A", permit="land", travel_days=3), stop("B", permit="land", travel_days=3),
                permits=(PermitRule("land", longest_stay_days=5),), **MAY,
            ),
            "permit_stay", 2, "land",
        ),
        # Entry from 25 May: leaving on the 10th reaches B on the 13th, 12 days early.
        (
            problem(
                stop("A"), stop("B", permit="land"),
                permits=(PermitRule("land", valid_from=date(2027, 5, 25)),), **MAY,
            ),
            "latest", 12, "22 May 2027",
        ),
        # Leaving A on 1 May, B is left on the 7th, 1 day after the permit ends.
        (
            problem(
                stop("A"), stop("B", permit="land"),
                permits=(PermitRule("land", valid_until=date(2027, 5, 6)),), **MAY,
            ),
            "earliest", 1, "30 April 2027",
        ),
        # Two evenings 8 days apart need 9 nights where at most 3 are allowed.
        (
            problem(stop("A", be_there=(date(2027, 5, 2), date(2027, 5, 10))), **MAY),
            "be_there", 3, "2 May 2027 and 10 May 2027",
        ),
    ],
)  # fmt: skip
def test_infeasible_trip_names_what_must_give(asked, constraint, days, words):
    """The message names the constraint and the days; the figures are counted by hand."""
    result = best_plans(asked)
    assert result.best is None
    assert all(cost is None for _, cost in result.by_departure)
    first = result.relaxations[0]
    assert (first.constraint, first.days) == (constraint, days)
    assert words in first.message and f"{days} day" in first.message
    assert first.message in result.message
    assert f"{first.plan.rough_nights:.1f} rough nights" in result.message


def test_danger_gives_last():
    """A flood season of one day too many is named only after changes of date."""
    flood = np.zeros(365, dtype=bool)
    flood[days_of_year(date(2027, 5, 1), 5)] = True
    asked = problem(stop("wash", barriers=(Barrier("flood", flood),)), latest=date(2027, 5, 5))
    result = best_plans(asked)
    # Leaving on the 6th is dry; so are three nights from 28 April. The flood would have to
    # end a day earlier for a departure on the 5th, or begin three days later for the 1st.
    assert [(found.constraint, found.days, found.danger) for found in result.relaxations] == [
        ("latest", 1, False),
        ("earliest", 3, False),
        ("barrier", 1, True),
        ("barrier", 3, True),
    ]


def test_danger_alone_is_no_way_out():
    """Where only a danger could give, the message says to change the journey instead."""
    flood = Barrier("flood", np.ones(365, dtype=bool))
    result = best_plans(problem(stop("wash", barriers=(flood,))))
    assert all(found.danger for found in result.relaxations)
    assert "'flood' bars" in result.message and "change the route or dates" in result.message


def test_two_constraints_that_must_both_give():
    """When no single change is enough, the stop that cannot be passed is named."""
    year = np.ones(365, dtype=bool)
    shut = (Barrier("flood", year), Barrier("war", year))
    result = best_plans(problem(stop("A"), stop("gorge", barriers=shut)))
    assert result.relaxations == ()
    assert "No single change of days is enough" in result.message and "gorge" in result.message


def test_the_other_way_round_is_offered():
    """A choice that needs no days is named beside the change that does."""
    late = Closure("snow", date(2027, 5, 1), date(2027, 5, 3))
    asked = problem(stop("pass", closures=(late,)), stop("valley"), finish_by=date(2027, 5, 7))
    assert "The other way round there is a plan." in best_plans(asked).message


def test_no_shift_of_days_is_asked_of_a_danger_in_the_kit():
    """Bedding may change, winter may not; a season barred all year says so."""
    for of_kit, said in ((True, False), (False, True)):
        cold = Barrier("cold", np.ones(365, dtype=bool), of_kit=of_kit)
        message = best_plans(problem(stop("pass", barriers=(cold,)))).message
        assert ("'cold' bars the nights all year" in message) is said


def test_missing_scores_are_named_as_the_reason():
    """A stop without any score cannot be planned, and the message says why."""
    result = best_plans(problem(stop("A"), stop("island"), rough=[[season(), season() * np.nan]]))
    assert result.best is None
    assert "Some nights at island have no score" in result.message


EASED = {
    "finish_by": lambda p, r: replace(p, finish_by=p.finish_by + timedelta(days=r.days)),
    "latest": lambda p, r: replace(p, latest=p.latest + timedelta(days=r.days)),
    "earliest": lambda p, r: replace(p, earliest=p.earliest - timedelta(days=r.days)),
    "permit_stay": lambda p, r: replace(
        p,
        permits=tuple(
            replace(permit, longest_stay_days=permit.longest_stay_days + r.days)
            for permit in p.permits
        ),
    ),
    "nights_min": lambda p, r: _with_stop(p, r, nights_min=-r.days),
    "nights_max": lambda p, r: _with_stop(p, r, nights_max=r.days),
    "be_there": lambda p, r: _with_stop(p, r, be_there_slack_days=r.days),
}


def _with_stop(asked, found, **changes):
    """Return the problem with whole numbers of one stop changed by what is given."""
    stops = tuple(
        replace(s, **{key: getattr(s, key) + change for key, change in changes.items()})
        if s.id == found.stop
        else s
        for s in asked.stops
    )
    return replace(asked, stops=stops)


def _without_the_past(asked):
    """Return the problem without fixed evenings that are over, where somebody is on the road."""
    if not asked.under_way:
        return asked
    return replace(
        asked,
        stops=tuple(
            replace(s, be_there=tuple(d for d in s.be_there if d >= asked.earliest))
            for s in asked.stops
        ),
    )


@pytest.mark.parametrize("order", ["fixed", "free"])
def test_relaxations_equal_brute_force(order):
    """Each change allows a plan, one day less does not, and the plan's cost is right."""
    checked = 0
    for seed in range(100, 160):
        asked = small_problem(seed, order)
        relaxations = best_plans(asked).relaxations
        asked = _without_the_past(asked)
        for found in relaxations:
            # Wide windows are for the planner; trying every plan of them takes too long.
            if found.constraint not in EASED or found.days > 8:
                continue
            enough = EASED[found.constraint](asked, found)
            least = min(filter(None, brute_force(enough)), default=None)
            assert objective_to_come(asked, found.plan) == pytest.approx(least, abs=1e-4)
            less = replace(found, days=found.days - 1)
            assert not any(brute_force(EASED[found.constraint](asked, less)))
            checked += 1
    assert checked >= 10


def test_unusable_problems_are_refused_all_at_once():
    """Every fault is named, not the first."""
    with pytest.raises(ValueError, match="expected") as caught:
        problem(
            stop("A", 3, 2, 1),
            stop("B", permit="nowhere"),
            rough=np.full((1, 2, 365), 2.0),
            stay_weight=-1.0,
            latest=date(2027, 4, 1),
        )
    text = str(caught.value)
    for words in ("stops[0]: expected nights", "stops[1].permit", "values from 0 to 1",
                  "stay_weight: expected 0", "from 2027-05-01 on"):  # fmt: skip
        assert words in text


@pytest.mark.parametrize(
    ("one", "wrong"), [(1.2, True), (-0.1, True), (1.0, False), (np.nan, False)]
)
def test_one_night_beyond_a_chance_is_enough_to_refuse(one, wrong):
    """All others are right; a missing one is no fault."""
    rough = np.full((1, 1, 365), 0.1)
    rough[0, 0, 200] = one
    if not wrong:
        assert problem(stop("A"), rough=rough).rough[0, 0, 0] == 0.1
        return
    with pytest.raises(ValueError, match="rough: expected values from 0 to 1"):
        problem(stop("A"), rough=rough)


@pytest.mark.parametrize(
    ("stops", "details", "words"),
    [
        ((), {}, "expected stops and kits, got 0 and 1"),
        (("A",), {"order": "free", "first_stop": 1}, "first_stop: expected a stop still to come"),
        (("A", "B"), {"order": "free", "travel": Travel(np.zeros((1, 1)), 200.0)}, "(2, 2)"),
        (map(str, range(13)), {"order": "free"}, "at most 12 stops in a free order, got 13"),
    ],
)
def test_what_the_arithmetic_cannot_hold_is_refused(stops, details, words):
    """Each bound of the tables, told to whoever calls the planner."""
    with pytest.raises(ValueError, match=re.escape(words)):
        problem(*map(stop, stops), **details)


def test_permits_that_would_not_be_exact_are_refused():
    """In a free order, and where stops of one permit are apart."""
    land = (PermitRule("land", 30),)
    with pytest.raises(ValueError, match="no permits in a free order"):
        problem(stop("A", permit="land"), permits=land, order="free")
    with pytest.raises(ValueError, match="stops of 'land' that follow each other"):
        problem(stop("A", permit="land"), stop("B"), stop("C", permit="land"), permits=land)


def test_several_years():
    """A stop open only in a later year is waited for when the window allows."""
    shut = Closure("rebuilding", date(2027, 1, 1), date(2029, 3, 31))
    asked = problem(stop("A", closures=(shut,)), latest=date(2029, 12, 31))
    assert best_plans(asked).best.depart == date(2029, 4, 1)
