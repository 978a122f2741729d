"""A fixed date missed on the road: what is said, and that doing it gives the plan promised."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from click.testing import CliRunner
from small_trips import saved, stored

from sheltermap.cli import main
from sheltermap.planner.problem import PermitRule, PlanningProblem, Stay, Stop
from sheltermap.planner.search import best_plans, replanned
from sheltermap.report.question import kit_in_words
from sheltermap.trip.model import Shelter
from sheltermap.vocabulary import InputError

WARM_FROM_JUNE = [2.0] * 5 + [18.0] * 4 + [2.0] * 3
"""Mean temperature of each month: whoever may choose leaves in June."""

DEPARTURE = {
    "earliest": "2027-05-01",
    "latest": "2027-06-30",
    "finish_by": "2027-09-01",
    # The dates are in question here, not how cold May is.
    "most_danger": "1",
    "danger_weight": "0",
}

ROWS = r"\[\[done\]\] (.*?)(?=; \[\[done\]\]|\.$)"


def journey(**departure):
    """Return a journey of three legs with a date in May at the second, as tables."""
    legs = {
        "Hills": {"place": "[40.0, 29.0]", "nights": "[3, 5, 8]"},
        "Lake": {"place": "[39.0, 30.0]", "nights": "[3, 5, 8]", "be_there": "[2027-05-12]"},
        "Coast": {"place": "[41.0, 31.0]", "nights": "[3, 5, 8]"},
    }
    return DEPARTURE | departure, legs


BEDROLL = {"kits": '["bedroll"]'}


def written(folder, departure, legs, shelter=BEDROLL, done=()):
    """Return the path of a trip file with these tables, and rows of what is done."""
    tables = {"[departure]": departure, "[shelter]": shelter}
    lines = ['title = "Missed"']
    for head, table in (
        *tables.items(),
        *(("[[legs]]", {"name": f'"{name}"', **leg}) for name, leg in legs.items()),
    ):
        lines += [head, *(f"{key} = {value}" for key, value in table.items() if value)]
    lines += [f"[[done]]\n{row}" for row in done]
    return saved(folder, "\n".join(lines))


def departed(path, world, *more):
    """Return the exit code and the answer of the ``depart`` command."""
    arguments = ["depart", str(path), "--climate", str(world), "--json", *more]
    result = CliRunner().invoke(main, arguments)
    return result.exit_code, json.loads(result.stdout) if result.exit_code < 2 else result.stderr


def stays(plan):
    """Return the dated legs of an answer."""
    return [(leg["region"], leg["arrive"], leg["leave"]) for leg in plan["legs"]]


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    """Return the file of a climate that is warm from June on."""
    return stored(tmp_path_factory.mktemp("world"), mean=WARM_FROM_JUNE)


@pytest.mark.parametrize(
    ("choice", "legs_behind"),
    [
        ({}, 1),
        ({"direction": '"reverse"'}, 1),
        ({"direction": '"either"'}, 1),
        ({"order": '"free"'}, 0),
        ({"order": '"free"', "latest": "2027-05-02"}, 2),
    ],
    ids=["forward", "reverse", "either", "free, first", "free, last"],
)
def test_doing_what_the_message_says_gives_the_plan_it_promises(
    tmp_path, world, choice, legs_behind
):
    """On 15 May the evening of the 12th is three days over; the message mends the trip file."""
    departure, legs = journey(**choice)
    _, before = departed(written(tmp_path, departure, legs), world)
    behind = stays(before["best"])[:legs_behind]
    assert stays(before["best"])[legs_behind][0] == "Lake"
    on = ("--from", "Lake", "--on", "2027-05-15")
    code, answer = departed(written(tmp_path, departure, legs), world, *on)
    assert code == 1 and answer["best"] is None
    (message,) = answer["infeasible"]
    assert "Lake: being there is missed, 12 May 2027 by 3 days." in message
    assert "Take 2027-05-12 out of its be_there." in message

    legs["Lake"]["be_there"] = ""
    rows = [row.replace(", ", "\n") for row in re.findall(ROWS, message)]
    assert len(rows) == legs_behind + 1
    code, answer = departed(written(tmp_path, departure, legs, done=rows), world)
    assert code == 0
    after = stays(answer["best"])
    assert after[:legs_behind] == behind
    rest = after[legs_behind:]
    assert rest[0][:2] == ("Lake", "2027-05-15")
    assert ", ".join(f"{name} {first} to {last}" for name, first, last in rest) in message
    rough = sum(leg["rough_nights"] for leg in answer["best"]["legs"][legs_behind:])
    assert f"with {rough:.1f} rough nights" in message


def test_the_way_so_far_is_planned_anew_unless_it_is_written_down(tmp_path, world):
    """Without its date the lake is best seen in June: that is why the message asks for more."""
    departure, legs = journey()
    legs["Lake"]["be_there"] = ""
    path = written(tmp_path, departure, legs)
    code, refused = departed(path, world, "--from", "Lake", "--on", "2027-05-15")
    assert code == 2 and "--on: expected 2027-0" in refused and "under [[done]]" in refused


@pytest.mark.parametrize("addons", ["", '["fan"]'])
def test_the_kit_on_the_road_stays(tmp_path, world, addons):
    """A dearer bed that is warmer in May is chosen; the message says how it stays chosen."""
    departure, legs = journey()
    shelter = {"kits": '["ground-tent", "bedroll"]', "choose": '"best"', "addons": addons}
    path = written(tmp_path, departure, legs, shelter)
    _, before = departed(path, world)
    assert before["best"]["kit"] == "bedroll"
    on = ("--from", "Lake", "--on", "2027-05-15")
    code, answer = departed(path, world, *on)
    assert code == 1
    pinned = 'kits = ["bedroll", "ground-tent"], choose = "first"'
    assert answer["infeasible"][-1].endswith(pinned + (", addons = []." if addons else "."))
    shelter = {"kits": '["bedroll", "ground-tent"]', "choose": '"first"'}
    _, answer = departed(written(tmp_path, departure, legs, shelter), world, *on)
    assert len(answer["infeasible"]) == 1 and "on the road stays" not in answer["infeasible"][0]


def test_add_ons_stay_with_the_first_kit():
    """Where the first kit is the one on the road, its add-ons are too."""
    shelter = Shelter(kits=("bedroll", "ground-tent"), addons=("fan",), choose="best")
    (sentence,) = kit_in_words(shelter, "bedroll")
    assert sentence.endswith('kits = ["bedroll", "ground-tent"], choose = "first".')


def stop(name, nights=3, **details):
    """Return a stop of fixed nights, unless given."""
    least, preferred, most = (nights,) * 3 if isinstance(nights, int) else nights
    return Stop(name, name, least, preferred, most, **details)


def problem(*stops, **details):
    """Return a problem of one kit and equal nights that leaves on 1 May."""
    return PlanningProblem(
        stops,
        ("kit",),
        np.full((1, len(stops), 365), 0.1),
        **{"earliest": date(2027, 5, 1), "latest": date(2027, 5, 1), "stay_weight": 0.05}
        | details,
    )


def late(asked, position, days):
    """Return what replanning says to who reaches a stop some days late."""
    plan = best_plans(asked).best
    return replanned(asked, plan, position, plan.stays[position].arrive + timedelta(days=days))


def test_every_evening_that_is_over_is_named_with_its_days():
    """Reached on 10 May instead of the 4th: the 4th and the 6th are over, the 12th is not."""
    evenings = (date(2027, 5, 4), date(2027, 5, 6), date(2027, 5, 12))
    asked = problem(stop("A"), stop("B", (3, 3, 20), be_there=evenings))
    result = late(asked, 1, 6)
    assert result.best is None
    (first,) = result.relaxations
    assert (first.constraint, first.stop, first.days) == ("missed", "B", 6)
    assert "missed, 4 May 2027 by 6 days and 6 May 2027 by 4 days" in result.message
    assert "Take 2027-05-04 and 2027-05-06 out of its be_there." in result.message
    assert first.plan.stays[1].arrive == date(2027, 5, 10)
    assert first.plan.stays[1].leave > date(2027, 5, 12)


def test_dates_missed_at_several_stops_are_given_up_together():
    """No single date could give: both are over."""
    asked = problem(
        stop("A"),
        stop("B", be_there=(date(2027, 5, 5),)),
        stop("C", be_there=(date(2027, 5, 8),)),
    )
    result = late(asked, 1, 9)
    assert "B: being there is missed, 5 May 2027 by 8 days." in result.message
    assert "C: being there is missed, 8 May 2027 by 5 days." in result.message
    # 3 nights at B and C from 13 May, a tenth of each rough.
    assert "B 2027-05-13 to 2027-05-16, C 2027-05-16 to 2027-05-19, with 0.6" in result.message


def test_what_else_must_give_is_told_without_the_missed_date():
    """On 13 May three nights end on the 16th, two days after the journey must be over."""
    there = (date(2027, 5, 5),)
    asked = problem(stop("A"), stop("B", be_there=there), finish_by=date(2027, 5, 14))
    result = late(asked, 1, 9)
    assert "missed, 5 May 2027 by 8 days" in result.message
    assert "That alone is not enough." in result.message
    assert "Finishing by 14 May 2027 is 2 days too early: 16 May 2027 would do." in result.message
    assert [found.constraint for found in result.relaxations] == ["finish_by", "nights_min"]


def test_who_is_at_the_first_stop_cannot_leave_earlier_or_the_other_way():
    """What lies before the day of replanning is over; before departure it may still move."""
    asked = problem(
        stop("A", permit="land"),
        stop("B"),
        permits=(PermitRule("land", valid_until=date(2027, 5, 4)),),
    )
    result = late(asked, 0, 5)
    assert [found.constraint for found in result.relaxations] == ["permit_until"]
    assert "other way round" not in result.message
    moved = replace(asked, earliest=date(2027, 5, 6), latest=date(2027, 5, 6))
    assert "earliest" in {found.constraint for found in best_plans(moved).relaxations}


def test_a_date_that_can_still_be_moved_says_where_to():
    """B is reached on 10 May at the earliest: its 8th would have to be the 10th."""
    asked = problem(stop("A"), stop("B"), stop("C", be_there=(date(2027, 5, 8),)))
    result = late(asked, 1, 3)
    (found,) = (one for one in result.relaxations if one.constraint == "be_there")
    assert found.message == (
        "C: being there on 8 May 2027 would have to give 2 days; 10 May 2027 would do."
    )


def test_what_is_written_down_already_is_not_asked_for_again():
    """What is logged stands; the leg reached now is asked for alone."""
    there = (date(2027, 5, 5),)
    made = Stay(0, date(2027, 5, 1), date(2027, 5, 4), 3, 0.3)
    asked = problem(stop("A"), stop("B", be_there=there), earliest=made.leave, latest=made.leave)
    told = late(replace(asked, finished=(made,), direction="forward"), 1, 9).message
    assert told.endswith('[[done]] leg = "B", arrived = 2027-05-13.')
    assert 'leg = "A"' not in told
    assert 'leg = "A"' in late(problem(stop("A"), stop("B", be_there=there)), 1, 9).message


def test_early_cuts_the_stay_before_short():
    """Five nights at A are planned; reached after three, B has its days, and A's two are free."""
    asked = problem(stop("A", 5), stop("B", (3, 3, 9)))
    plan = best_plans(asked).best
    early = replanned(asked, plan, 1, date(2027, 5, 4)).best
    (a, b) = early.stays
    assert (a.arrive, a.leave, a.nights) == (date(2027, 5, 1), date(2027, 5, 4), 3)
    assert a.rough_nights == pytest.approx(0.3)
    assert (b.arrive, b.leave) == (date(2027, 5, 4), date(2027, 5, 7))
    assert early.unplanned_nights == 0
    assert early.done == 1
    with pytest.raises(InputError, match="expected 2027-05-02 or later, after a night in A"):
        replanned(asked, plan, 1, date(2027, 5, 1))


def test_one_search_answers_for_days_early_and_late():
    """Each day's plan is what asking for that day alone gives."""
    rough = np.random.default_rng(3).random((1, 3, 365)).round(6)
    asked = problem(stop("A", 5), stop("B", (3, 4, 6)), stop("C", (2, 3, 6)))
    asked = replace(asked, rough=rough)
    plan = best_plans(asked).best
    first, last = date(2027, 5, 2), date(2027, 5, 12)
    together = replanned(asked, plan, 1, first, last)
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    alone = [replanned(asked, plan, 1, day).best for day in days]
    assert together.best_by_departure == tuple(alone)
    assert together.by_departure == tuple(
        (day, one.rough_nights) for day, one in zip(days, alone, strict=True)
    )
    assert [one.unplanned_nights for one in alone] == [0] * 5 + [1, 2, 3, 4, 5, 6]


def test_days_between_done_stays_are_counted():
    """Two days between A and B, one between B and C: three belong to no stay."""
    made = (
        Stay(0, date(2027, 5, 1), date(2027, 5, 4), 3, 0.3, kit="kit"),
        Stay(1, date(2027, 5, 6), date(2027, 5, 9), 3, 0.3, kit="kit"),
    )
    asked = problem(stop("A"), stop("B"), stop("C"), finished=made)
    asked = replace(asked, earliest=date(2027, 5, 10), latest=date(2027, 5, 10), under_way=True)
    found = best_plans(asked).best
    assert found.unplanned_nights == 3
    assert found.stays[:2] == made
    assert found.done == 2


@pytest.mark.parametrize("on", [date(2027, 5, 1), date(2027, 5, 5), date(2027, 5, 8)])
def test_no_day_before_the_end_of_a_finished_stay_is_taken(on):
    """Amid the first, between the two, a day before the last one ended; from then on it is."""
    made = (
        Stay(0, date(2027, 5, 1), date(2027, 5, 4), 3, 0.3, kit="kit"),
        Stay(1, date(2027, 5, 6), date(2027, 5, 9), 3, 0.3, kit="kit"),
    )
    asked = problem(stop("A"), stop("B"), stop("C"), finished=made)
    asked = replace(asked, earliest=date(2027, 5, 9), latest=date(2027, 5, 9), under_way=True)
    plan = best_plans(asked).best
    with pytest.raises(InputError, match="2027-05-09 or later, when the stay before it ended"):
        replanned(asked, plan, 2, on)
    found = replanned(asked, plan, 2, date(2027, 5, 9)).best
    assert found.stays[:2] == made and found.stays[2].arrive == date(2027, 5, 9)


def test_a_journey_that_is_done_is_its_own_plan():
    """Nothing is left to decide."""
    made = (Stay(0, date(2027, 5, 1), date(2027, 5, 4), 3, 0.3, kit="kit"),)
    found = best_plans(problem(stop("A"), finished=made))
    assert found.best.stays == made
    assert found.best.rough_nights == 0.3
    assert found.by_departure == ((date(2027, 5, 1), 0.3),)
