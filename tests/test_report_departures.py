"""The ``depart`` command: a contract for programs, lines for people."""

from __future__ import annotations

import dataclasses
import json
import math
from datetime import date, timedelta

import pytest
from sample_report import sample_report
from small_trips import leg, saved, stored, trip

from sheltermap import pipeline
from sheltermap.report.departures import departures, departures_in_words, window_words
from sheltermap.report.report import MetHazard

ANSWER = {
    "best",
    "alternatives",
    "by_departure",
    "remedy",
    "helps_a_little",
    "infeasible",
    "doubts",
    "good_window",
    "not_assessed",
    "not_checked",
    "caution",
}
PLAN = {
    "depart",
    "finish",
    "direction",
    "kit",
    "nights",
    "rough_nights",
    "rough_nights_range",
    "rough_nights_bad_year",
    "dangerous_nights",
    "serious_nights",
    "unplanned_nights",
    "equal_to_best",
    "legs",
}
LEG = {
    "region",
    "camp",
    "arrive",
    "leave",
    "camp_reached",
    "nights",
    "kit",
    "done",
    "rough_nights",
    "rough_nights_bad_year",
    "dangerous_nights",
    "serious_nights",
    "grade",
    "limiting_factor",
    "close",
    "hazards",
    "signs",
    "not_checked",
    "remedy",
    "camp_elevation_m",
    "camp_elevation_error_m",
    "camp_elevation_basis",
    "cautions",
}
ROWS = """
[[hazards]]
legs = ["A"]
kind = "flood"
level = "serious"
source = "river office"
"""


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    """Return a plan of two legs, cool nights at the second of them."""
    folder = tmp_path_factory.mktemp("answers")
    world = stored(folder, mean=[2, 3, 6, 8, 10, 12, 14, 12, 10, 8, 6, 3], vapour=0.6)
    text = trip(
        leg("A", nights="[3, 4, 6]"),
        leg("B", (41.0, 31.0)),
        ROWS,
        departure='direction = "either"',
        changed=[("latest = 2027-05-10", "latest = 2027-05-25")],
    )
    return pipeline.plan(saved(folder, text), climate=world)


def test_answer_has_the_keys_of_the_contract(report):
    """Programs rely on exactly these."""
    answer = departures(report)
    assert set(answer) == ANSWER
    plans = [answer["best"], *answer["alternatives"]]
    assert len(plans) > 1
    for plan in plans:
        assert set(plan) == PLAN
        assert all(set(one) == LEG for one in plan["legs"])
    of_day = {"depart", "rough_nights", "dangerous_nights", "serious_nights"}
    assert all(set(day) == of_day for day in answer["by_departure"])


def test_answer_is_strict_json(report):
    """No NaN, no infinity, nothing that only Python reads."""
    text = json.dumps(departures(report), allow_nan=False)
    assert json.loads(text) == departures(report)


def test_legs_follow_each_other_and_add_up(report):
    """Dates, nights and rough nights of the legs are those of the plan."""
    best = departures(report)["best"]
    legs = best["legs"]
    assert legs[0]["arrive"] == best["depart"] and legs[-1]["leave"] == best["finish"]
    assert legs[0]["leave"] == legs[1]["arrive"]
    for one in legs:
        stay = date.fromisoformat(one["leave"]) - date.fromisoformat(one["arrive"])
        assert stay.days == one["nights"]
        assert one["grade"] in {"sound", "workable", "hard", "unfit"}
        assert one["limiting_factor"] in {"none", "cold", "heat", "wet", "condensation"}
    assert sum(one["nights"] for one in legs) == best["nights"]
    total = sum(one["rough_nights"] for one in legs)
    assert total == pytest.approx(best["rough_nights"], abs=2e-6)
    low, high = best["rough_nights_range"]
    assert low <= best["rough_nights"] <= high
    assert best["rough_nights"] <= best["rough_nights_bad_year"] <= best["nights"]
    assert all(one["rough_nights"] <= one["rough_nights_bad_year"] for one in legs)


def test_good_window_is_told_to_programs_and_people(report):
    """Its days surround the best one, lie in the trip's window, and read the same in words."""
    answer = departures(report)
    window = {name: date.fromisoformat(day) for name, day in answer["good_window"].items()}
    assert window["first"] <= date.fromisoformat(answer["best"]["depart"]) <= window["last"]
    cost = {one["depart"]: one["rough_nights"] for one in answer["by_departure"]}
    for day in (window["first"], window["last"]):
        assert cost[day.isoformat()] is not None
    words = next(line for line in departures_in_words(report) if line.startswith("Good window"))
    for day in window.values():
        assert f"{day.day} {day:%B %Y}" in words
    assert departures(dataclasses.replace(report, good_window=None))["good_window"] is None


def test_a_window_of_one_day_has_no_edge(tmp_path):
    """Who gave one day compares none."""
    one = trip(leg("A"), changed=[("latest = 2027-05-10", "latest = 2027-05-01")])
    lines = departures_in_words(pipeline.plan(saved(tmp_path, one), climate=stored(tmp_path)))
    assert lines[0].startswith("Leave 2027-05-01") and "trip file allows" not in "".join(lines)


def test_range_that_nobody_knows_is_said_in_words(report):
    """Imported data may state no errors: a range of dashes would read as a fault."""
    assert "(four journeys in five: " in departures_in_words(report)[0]
    nobody = dataclasses.replace(report.best, rough_low=math.nan, rough_high=math.nan)
    unknown = dataclasses.replace(report, best=nobody)
    first = departures_in_words(unknown)[0]
    assert "(range unknown, since errors of the climate data are not stated)" in first
    assert departures(unknown)["best"]["rough_nights_range"] == [None, None]


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (date(2027, 5, 1), "on the first day that the trip file allows; earlier ones were not"),
        (date(2027, 5, 25), "on the last day that the trip file allows; later ones were not"),
        (date(2027, 5, 24), ""),
    ],
)
def test_a_best_day_at_the_edge_of_the_window_is_told(report, day, said):
    """The window is 1 to 25 May: beyond it a better day may lie."""
    there = dataclasses.replace(
        report, best=dataclasses.replace(report.best, depart=day, finish=day + timedelta(days=9))
    )
    found = [line for line in departures_in_words(there) if "trip file allows" in line]
    assert len(found) == bool(said) and said in "".join(found)


def test_every_departure_day_is_listed(report):
    """1 to 25 May, in order; the best plan's day has its figure."""
    answer = departures(report)
    days = [one["depart"] for one in answer["by_departure"]]
    assert days == [str(date(2027, 5, 1) + timedelta(days=n)) for n in range(25)]
    figures = {one["depart"]: one["rough_nights"] for one in answer["by_departure"]}
    assert figures[answer["best"]["depart"]] == pytest.approx(answer["best"]["rough_nights"])


def test_hazards_met_are_named_with_their_level(report):
    """Kind and level in the words of the trip file; they leave the grade to sleep."""
    (flooded,) = [one for one in departures(report)["best"]["legs"] if one["region"] == "A"]
    assert flooded["hazards"] == [{"kind": "flood", "level": "serious", "stated_level": "serious"}]
    assert flooded["grade"] == "sound"
    assert "flood" not in flooded["not_checked"]


def test_missing_figures_are_null(report):
    """A figure that is not known is never nought, in data and in words."""
    stay = dataclasses.replace(report.best.legs[0], rough_nights=math.nan, grade=-1)
    best = dataclasses.replace(report.best, rough_nights=math.nan, legs=(stay,))
    hollow = dataclasses.replace(report, best=best)
    answer = departures(hollow)
    assert answer["best"]["rough_nights"] is None
    assert answer["best"]["legs"][0]["rough_nights"] is None
    assert answer["best"]["legs"][0]["grade"] is None
    json.dumps(answer, allow_nan=False)
    assert "nan" not in "\n".join(departures_in_words(hollow))


def test_leg_that_nothing_spoils_says_none(report):
    """As the ``night`` command does: none is an answer, null would be a missing one."""
    stay = dataclasses.replace(report.best.legs[0], limiting_factor="")
    best = dataclasses.replace(report.best, legs=(stay,))
    answer = departures(dataclasses.replace(report, best=best))
    assert answer["best"]["legs"][0]["limiting_factor"] == "none"


def test_lines_tell_dates_hazards_and_what_nobody_checked(report):
    """Danger stands in the same answer as sleep."""
    lines = departures_in_words(report)
    assert lines[0].startswith(f"Leave {report.best.depart}")
    assert lines[0].endswith(f"Finish {report.best.finish}."), "a journey may end far from home"
    assert any(line.endswith("A (Flood)") for line in lines)
    assert any(line.startswith("Not assessed: wind") for line in lines)
    (unchecked,) = [line for line in lines if line.startswith("Not checked on some legs:")]
    assert "lightning season" in unchecked
    assert "not on a forecast" in lines[-1]


def test_nights_that_no_stay_holds_are_told(report):
    """Whoever replans two days late reads which nights are missing."""
    late = dataclasses.replace(report, best=dataclasses.replace(report.best, unplanned_nights=2))
    said = "2 nights between stays belong to no stay and are in no figure."
    assert said in departures_in_words(late) and said not in departures_in_words(report)


def test_no_plan_gives_its_reasons(report):
    """`best` is null and the lines say what must give."""
    none = dataclasses.replace(
        report, best=None, alternatives=(), infeasible=("The gorge is closed.",)
    )
    assert departures(none)["best"] is None
    assert departures_in_words(none) == ["No feasible plan:", "  The gorge is closed."]


def hand_made(**changed):
    """Return the sample with figures that differ from each other."""
    report = sample_report()
    figures = {
        "depart": date(2027, 5, 6),
        "finish": date(2027, 7, 9),
        "nights": 60,
        "rough_nights": 10.25,
        "rough_low": 6.26,
        "rough_high": 15.34,
        "rough_bad_year": 14.11,
        "dangerous_nights": 0.54,
        "serious_nights": 7,
    }
    best = dataclasses.replace(report.best, **figures)
    return dataclasses.replace(report, best=best, **changed)


def test_the_plan_opens_with_all_its_figures():
    """One digit each, in the order of dates, rough nights, their range, dangers."""
    assert departures_in_words(hand_made())[0] == (
        "Leave 2027-05-06, forward, with roof-tent: 10.2 of 60 nights rough (four journeys in "
        "five: 6.3 to 15.3; one year in ten: 14.1 or more), 0.5 dangerous, 7 under a serious "
        "hazard. Finish 2027-07-09."
    )


@pytest.mark.parametrize("unknown", ["rough_low", "rough_high"])
def test_half_a_range_is_none(unknown):
    """One end alone would read as certain at the other."""
    report = hand_made()
    best = dataclasses.replace(report.best, **{unknown: math.nan})
    assert "range unknown" in departures_in_words(dataclasses.replace(report, best=best))[0]


def leg_lines(**changed):
    """Return the line of the first leg of a plan, that leg changed."""
    report = hand_made()
    first = dataclasses.replace(
        report.best.legs[0],
        **{"nights": 4, "rough_nights": 1.26, "limiting_factor": "wet", "grade": 2} | changed,
    )
    best = dataclasses.replace(report.best, legs=(first,))
    lines = departures_in_words(dataclasses.replace(report, best=best))
    (found,) = [line for line in lines if first.name in line]
    return lines[2], found


def test_a_leg_stands_under_its_heads():
    """Dates, nights, rough nights, grade and limit by column."""
    head, line = leg_lines(arrive=date(2027, 5, 6), leave=date(2027, 5, 10))
    assert line == "2027-05-06  2027-05-10       4    1.3  hard      wet           Lowland"
    for word, shown in (("arrive", "2027-05-06"), ("grade", "hard"), ("limit", "wet")):
        assert head.index(word) == line.index(shown)
    assert head.index("leg") == line.index("Lowland")


@pytest.mark.parametrize(
    ("grade", "factor", "words"), [(0, "cold", "sound     cold"), (-1, "", "-         -")]
)
def test_the_best_grade_has_its_word_and_a_missing_one_a_dash(grade, factor, words):
    """Sound has code nought."""
    assert words in leg_lines(grade=grade, limiting_factor=factor)[1]


@pytest.mark.parametrize(("level", "told"), [(1, False), (2, True), (3, True)])
def test_hazards_from_serious_on_are_told_beside_the_leg(level, told):
    """An advisory stays with the leg's own page."""
    flood = MetHazard("flood", "Flood", level, level, "", "", "", "river office")
    _, line = leg_lines(hazards=(flood,))
    assert line.endswith(" (Flood)") is told


def test_alternatives_are_counted_and_told_like_the_plan():
    """From 1 on; what the data cannot tell from the best is called as good."""
    report = hand_made()
    other = dataclasses.replace(report.best, kit="bedroll", equal_to_best=True)
    lines = departures_in_words(
        dataclasses.replace(report, alternatives=(other, dataclasses.replace(report.best)))
    )
    one, two = [line for line in lines if line.startswith("Alternative")]
    assert one == (
        "Alternative 1: leave 2027-05-06, forward, bedroll: 10.2 of 60 nights rough, 0.5 "
        "dangerous, 7 under a serious hazard, finish 2027-07-09; as good as the best, as far as "
        "the data tell."
    )
    assert two.startswith("Alternative 2:") and two.endswith("finish 2027-07-09.")


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (5, 8, "Good window: 5 May 2027 to 8 May 2027 (4 days). Leaving on any of them"),
        (6, 6, "Good window: 6 May 2027 alone; a day earlier or later"),
    ],
)
def test_a_window_counts_both_its_days(first, last, words):
    """The 5th to the 8th are four days; one day alone is none to choose from."""
    report = hand_made(good_window=(date(2027, 5, first), date(2027, 5, last)))
    assert any(line.startswith(words) for line in departures_in_words(report))


def test_a_trip_of_one_day_has_no_window():
    """There was nothing to choose; of two days there was."""
    whole = hand_made(good_window=(date(2027, 5, 6), date(2027, 5, 6)))
    for count in (1, 2):
        few = dataclasses.replace(whole, by_departure=whole.by_departure[:count])
        assert bool(window_words(few)) is (count == 2)
    assert window_words(dataclasses.replace(whole, good_window=None)) == ""


def test_what_is_over_or_unknown_stands_below_the_plan():
    """Each in a line of its own; a vehicle that is not overloaded needs none."""
    over = dataclasses.replace(sample_report().load, status="over", sentence="Too heavy by 90 kg.")
    lines = departures_in_words(hand_made(load=over))
    assert "Too heavy by 90 kg." in lines
    assert "Not assessed: wind." in lines
    assert "Not checked on some legs: flood, wildfire and fire ban." in lines
    fits = dataclasses.replace(over, status="fits")
    bare = departures_in_words(hand_made(load=fits, not_assessed=(), not_checked=()))
    assert not any(line.startswith(("Too heavy", "Not ")) for line in bare)


def test_a_remedy_is_data_with_its_price_and_nights():
    """Rounded to millionths like every figure; null where there is none."""
    bedding = dataclasses.replace(
        sample_report().remedy, price=180.0, nights_saved=8.1234567, ends_danger=True
    )
    answer = departures(hand_made(remedy=bedding))
    assert answer["remedy"] == {
        "id": "warm-bedding", "price": 180.0, "nights_saved": 8.123457, "ends_danger": True
    }  # fmt: skip
    assert answer["helps_a_little"] is None


def test_only_hazards_that_bind_are_data():
    """A finding of level none on these nights is no hazard."""
    report = hand_made()
    hazards = tuple(
        MetHazard("flood", "Flood", level, stated, "", "", "", "river office")
        for level, stated in ((1, 3), (0, 0))
    )
    first = dataclasses.replace(report.best.legs[0], hazards=hazards, grade=0)
    best = dataclasses.replace(report.best, legs=(first,))
    (leg,) = departures(dataclasses.replace(report, best=best))["best"]["legs"]
    assert leg["hazards"] == [
        {"kind": "flood", "level": "advisory", "stated_level": "prohibitive"}
    ]
    assert leg["grade"] == "sound"
