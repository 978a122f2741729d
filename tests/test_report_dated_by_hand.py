"""Dated legs of the hand-made sample: what is told of one leg, from arrays made for it.

Nights are positions in the year: 1 June is the 152nd day, position 151.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from sample_report import sample_report

from sheltermap.hazards.layers import HazardFinding
from sheltermap.places.behind import DoneStay
from sheltermap.places.camp_height import CampHeight
from sheltermap.planner.problem import Plan, Stay
from sheltermap.planner.search import best_plans
from sheltermap.report.dated import Dater, _largest
from sheltermap.report.question import planning_problem
from sheltermap.shelters.kit import load_kits
from sheltermap.suitability.candidates import Candidate
from sheltermap.suitability.remedy import Advice
from sheltermap.trip.log import DoneRow
from sheltermap.vocabulary import FACTORS

FIRST = date(2027, 6, 1)
JUNE = 151
NIGHTS = 5


def finding(kind, first, last, level, title="", **more):
    """Return a hazard on days of June, both counted."""
    by_day = np.zeros(365, np.uint8)
    by_day[JUNE + first - 1 : JUNE + last] = level
    return HazardFinding(kind, title or kind, by_day, 1.0, "", "a source", **more)


def dater(findings=(), trip=None, heights=(), **season):
    """Return a dater of the sample, its first place's nights in the roof tent changed."""
    report = sample_report()
    kits = tuple(load_kits()[kit.id] for kit in report.kits)
    places = [replace(one, findings=(), signs=()) for one in report.places]
    nights = replace(places[0].seasons["roof-tent"], **season)
    places[0] = replace(
        places[0],
        findings=tuple(findings),
        seasons=places[0].seasons | {"roof-tent": nights},
    )
    for number, height in enumerate(heights):
        places[number] = replace(places[number], height=height)
    read = trip or report.trip
    problem = planning_problem(read, kits, SimpleNamespace(legs=read.legs), places)
    return Dater(read, kits, problem, tuple(places), Advice(report.remedy))


def stay(stop=0, arrive=FIRST, nights=NIGHTS, **more):
    """Return a stay of some nights from 1 June on."""
    return Stay(stop, arrive, arrive + timedelta(days=nights), nights, 1.25, **more)


def plan(*stays, kit="roof-tent", done=0):
    """Return a plan of stays as they are."""
    rough = sum(one.rough_nights for one in stays)
    return Plan(stays[0].arrive, stays[-1].leave, "forward", kit, stays, rough, rough, done=done)


def told(**changed):
    """Return the first leg of a plan of one stay from 1 to 5 June."""
    return dater(**changed).dated(plan(stay())).legs[0]


def on(*values, elsewhere):
    """Return an array over the year with given values from 1 June on."""
    days = np.full(365, elsewhere)
    days[JUNE : JUNE + len(values)] = values
    return days


@pytest.mark.parametrize(
    ("nights", "close"), [((1, 1, 1, 0, 0), True), ((1, 1, 0, 0, 0), False), ((1,) * 5, True)]
)
def test_a_leg_is_close_where_most_of_its_nights_are(nights, close):
    """Three of five; what is close elsewhere in the year says nothing."""
    assert told(close=on(*map(bool, nights), elsewhere=not close)).close is close


@pytest.mark.parametrize(("most", "count"), [(False, 10), (True, 11)])
def test_half_of_the_nights_is_not_most(most, count):
    """Ten of twenty nights are not, eleven are."""
    twenty = dater(close=on(*[True] * count, *[False] * (20 - count), elsewhere=not most))
    assert twenty.dated(plan(stay(nights=20))).legs[0].close is most


def test_the_grade_is_that_of_the_mean_share():
    """0.95, 0.95, 0.85, 0.85, 0.80: a mean of 0.88, below the 0.90 of a sound leg."""
    assert told(sound_share=on(0.95, 0.95, 0.85, 0.85, 0.80, elsewhere=0.99)).grade == 1
    assert told(sound_share=on(0.95, 0.95, 0.90, 0.90, 0.80, elsewhere=0.01)).grade == 0


@pytest.mark.parametrize(
    ("by_factor", "cause"),
    [
        ({"cold": 0.2, "heat": 0.3, "wet": None}, "heat"),
        ({"cold": 1e-6, "heat": 0.0}, "cold"),
        ({"cold": 0.95e-6, "heat": 0.0}, ""),
        ({"cold": None}, ""),
        ({}, ""),
    ],
)
def test_the_cause_is_the_largest_that_is_known(by_factor, cause):
    """From a millionth of a night on, as for one night (DECISIONS 2)."""
    assert _largest(by_factor) == cause


def test_causes_are_summed_over_the_nights():
    """0.1 to 0.5 of five nights are 1.5; wind is not assessed."""
    leg = told(cold=on(0.1, 0.2, 0.3, 0.4, 0.5, elsewhere=0.9), heat=np.full(365, 0.25))
    assert leg.nights_by_factor["cold"] == pytest.approx(1.5)
    assert leg.nights_by_factor["heat"] == pytest.approx(1.25)
    assert leg.nights_by_factor["wind"] is None
    assert leg.limiting_factor == "cold"


@pytest.mark.parametrize(
    ("cause", "margins", "words"),
    [
        ("cold", (2.0, 5.0), "An average dry night would still be sound about 3 °C colder."),
        ("cold", (-2.0, 5.0), "is about 3 °C colder than the bedding holds: chilly."),
        ("cold", (-2.0, -5.0), "is about 3 °C colder than the bedding holds: dangerous."),
        ("heat", (-2.0, 5.0), "is about 3 °C hotter than people fall asleep in: warm."),
        ("wet", (2.0, 5.0), None),
        ("cold", (np.nan, 5.0), None),
    ],
)
def test_depth_is_the_mean_of_the_nights(cause, margins, words):
    """Five nights of 1 to 2 times a margin have 1.5 of it: 3 K of 2 K. None for other causes."""
    steps = np.array([1.0, 1.25, 1.5, 1.75, 2.0])
    risks = dict.fromkeys(("cold", "heat", "wet"), np.zeros(365)) | {cause: np.full(365, 0.2)}
    factor = cause if cause != "wet" else "cold"
    leg = told(
        **risks,
        **{f"{factor}_margin": on(*margins[0] * steps, elsewhere=30.0)},
        **{f"{factor}_danger_margin": on(*margins[1] * steps, elsewhere=-30.0)},
    )
    found = [caution for caution in leg.cautions if "An average dry night" in caution]
    assert [caution.endswith(words) for caution in found] == ([True] if words else [])


def test_hazards_are_those_of_the_nights_the_worst_first():
    """Of 1 to 5 June: a flood on the 5th, an advisory before; not the one from the 6th on."""
    leg = told(
        findings=[
            finding("lightning", 1, 2, 1),
            finding("flood", 5, 9, 3),
            finding("wildfire", 6, 9, 4),
            finding("crawling-animals", 1, 5, 2),
        ]
    )
    # A roof tent is off the ground: what crawls is lowered by one level.
    assert [(one.kind, one.level, one.stated_level) for one in leg.hazards] == [
        ("flood", 3, 3), ("lightning", 1, 1), ("crawling-animals", 1, 2)
    ]  # fmt: skip
    assert leg.hazards[2].shield.startswith("while you lie off the ground")
    assert leg.hazards[0].shield == ""
    assert len([words for words in leg.cautions if "An average" not in words]) == 3


def test_signs_are_those_of_the_nights():
    """Snow that lies until 31 March is none of a June leg."""
    sample = sample_report()
    whole = dater()
    places = (replace(whole.places[0], signs=sample.places[1].signs), *whole.places[1:])
    snowy = replace(whole, places=places)
    assert snowy.dated(plan(stay())).legs[0].signs == ()
    (sign,) = snowy.dated(plan(stay(arrive=date(2027, 2, 20)))).legs[0].signs
    assert sign.kind == "snow-on-the-road"


def stated(elevation):
    """Return a height that a traveller stated."""
    return CampHeight(elevation, None, "stated")


def test_a_first_high_night_looks_at_the_camp_before():
    """From 500 to 3,000 m is one; from 2,900 m, or to 2,700 m, is none."""
    both = plan(stay(0), stay(1, arrive=FIRST + timedelta(days=NIGHTS)))
    for below, above, warned in ((500, 3000, True), (2900, 3000, False), (500, 2700, False)):
        legs = dater(heights=(stated(below), stated(above))).dated(both).legs
        assert any("first night above" in words for words in legs[1].cautions) is warned
        assert legs[1].ascent == ""  # The planner keeps to stated heights.
    (first, _) = dater(heights=(stated(3000), stated(3000))).dated(both).legs
    assert any("from 0 m to 3,000 m" in words for words in first.cautions)


def test_home_has_a_height_too():
    """From 2,900 m at home, 3,000 m are no first high night."""
    trip = sample_report().trip
    high = trip.departure.model_copy(update={"from_elevation_m": 2900.0})
    made = dater(heights=(stated(3000),), trip=trip.model_copy(update={"departure": high}))
    (leg,) = made.dated(plan(stay())).legs
    assert not any("first night" in words for words in leg.cautions)


def test_remedies_are_told_in_the_kit_they_are_known_for():
    """The second kit of the trip has none, whatever the plan's remedy is."""
    whole = dater(sound_share=np.full(365, 0.6))
    assert whole.dated(plan(stay(), kit="bedroll")).legs[0].remedy is None


def test_the_plans_remedy_is_told_on_the_legs_that_it_helps():
    """Five nights of 0.6 that warm bedding makes 0.9: 1.5 nights saved, and a grade."""
    whole = dater(sound_share=np.full(365, 0.6), dangerous=np.zeros(365))
    warm = Candidate("warm-bedding", "Warm bedding", 180.0, 2.4, np.full(365, 0.9), np.zeros(365))
    places = tuple(replace(one, remedies=(warm,)) for one in whole.places)
    leg = replace(whole, places=places).dated(plan(stay())).legs[0]
    assert leg.remedy.id == "warm-bedding" and leg.remedy.lifts_grade
    assert leg.remedy.nights_saved == pytest.approx(1.5)
    other = replace(whole, places=places).dated(plan(stay(), kit="bedroll")).legs[0]
    assert other.remedy is None


def test_a_climb_to_a_height_of_the_map_is_told():
    """By hand: 500 to 3,500 m needs three nights; of two, 400 km at 200 a day take the first."""
    mapped = CampHeight(3500.0, 140.0, "map")
    both = plan(stay(0), stay(1, arrive=FIRST + timedelta(days=NIGHTS), nights=2))
    (_, high) = dater(heights=(stated(500), mapped)).dated(both).legs
    assert "rises from 500 m to 3,500 m in 1 night" in high.ascent
    assert "The first is on the way and counts for nothing." in high.ascent
    assert "3,500 m is read from a 5-minute map" in high.ascent
    assert high.cautions[0] == high.ascent
    unknown = CampHeight(np.nan, None, "cells")
    assert [one.ascent for one in dater(heights=(unknown, mapped)).dated(both).legs] == ["", ""]


def test_days_without_a_plan_say_why():
    """The first leg is shut on 20 to 25 June, so no stay of 20 nights may begin before the 6th.

    Whoever is on the road has left, and is told nothing of other departures.
    """
    trip = sample_report().trip
    when = {"earliest": date(2027, 6, 4), "latest": date(2027, 6, 27)}
    trip = trip.model_copy(update={"departure": trip.departure.model_copy(update=when)})
    made = dater(findings=[finding("flood", 20, 25, 4)], trip=trip)
    result = best_plans(made.problem)
    days = {one.depart: one for one in made.departures(result)}
    shut = [day for day, one in days.items() if one.rough_nights is None]
    assert shut == [date(2027, 6, day) for day in range(4, 26)]
    assert all(bool(days[day].why_none) is (day in shut) for day in days)
    assert all("20 June" in days[day].why_none or "flood" in days[day].why_none for day in shut)
    row = DoneRow(leg="Lowland", arrived=date(2027, 6, 26))
    gone = replace(made, trip=trip.model_copy(update={"done": (row,)}))
    assert not any(one.why_none for one in gone.departures(result))
    none = replace(result, best=None)
    assert not any(one.why_none for one in made.departures(none))


def test_driving_that_takes_all_preferred_nights_forces_none():
    """2,400 km at 200 km a day are the 12 nights that were preferred; 2,401 are 13."""
    trip = sample_report().trip
    daily = trip.departure.model_copy(update={"daily_km": 200})
    for km, said in ((2400.0, False), (2401.0, True)):
        nights = trip.legs[0].nights.model_copy(update={"least": 12, "preferred": 12, "most": 20})
        leg = trip.legs[0].model_copy(update={"kilometres": km, "nights": nights})
        made = dater(
            trip=trip.model_copy(update={"departure": daily, "legs": (leg, *trip.legs[1:])})
        )
        (told_leg,) = made.dated(plan(stay(nights=13))).legs
        found = [words for words in told_leg.cautions if "driving days" in words]
        assert len(found) == said
        assert all("take 13 driving days, more than the 12 nights" in words for words in found)


def test_a_plan_sums_its_legs():
    """Nights of the stays; other figures are the plan's own."""
    both = plan(stay(0), stay(1, arrive=FIRST + timedelta(days=NIGHTS), nights=7))
    found = dater().dated(both)
    assert (found.nights, found.rough_nights, found.unplanned_nights) == (12, 2.5, 0)
    assert [leg.leg for leg in found.legs] == [0, 1] and found.equal_to_best
    assert found.rough_low <= 2.5 <= found.rough_high


def reached(done=(), stays=None):
    """Return what is replanned of the sample's plan: leg, planned day, days in all."""
    whole = dater()
    made = replace(whole, trip=whole.trip.model_copy(update={"done": tuple(done)}))
    return [
        (one.leg, one.planned, len(one.dates), one.dates[0].depart) for one in made.replans(stays)
    ]


def test_replans_reach_four_weeks_either_way_but_not_before_a_night():
    """Of 20, 15 and 25 nights: the second leg may be reached 19 days early, the third 14."""
    best = best_plans(dater().problem).best
    found = reached(stays=best)
    assert [one[:3] for one in found] == [(1, 19, 19 + 28 + 1), (2, 14, 14 + 28 + 1)]
    assert found[0][3] == best.depart + timedelta(days=1)


def test_replans_on_the_road_begin_at_the_leg_ahead():
    """The next leg where one has left, the one after it where one is there."""
    best = best_plans(dater().problem).best
    over = replace(best, stays=(replace(best.stays[0], kit="roof-tent"), *best.stays[1:]), done=1)
    first = best.stays[0]
    row = {"leg": "Lowland", "arrived": first.arrive}
    left = [DoneRow(**row, left=first.leave)]
    assert [one[0] for one in reached(left, over)] == [1, 2]
    there = [*left, DoneRow(leg="High valley", arrived=first.leave)]
    assert [one[0] for one in reached(there, over)] == [2]
    at_first = [DoneRow(**row)]
    assert [one[0] for one in reached(at_first, best)] == [1, 2]


def test_a_leg_that_is_over_is_told_as_it_was():
    """By the nights kept of it: 0.5, 0.9 and 1 sound, 0.4 of them cold; nothing is advised."""
    whole = dater(close=np.full(365, True), findings=[finding("flood", 2, 2, 2)])
    shares = {name: np.zeros(3) for name in ("dangerous", *FACTORS)}
    shares |= {"sound_share": np.array([0.5, 0.9, 1.0]), "cold": np.array([0.3, 0.1, 0.0])}
    shares["wind"] = np.full(3, np.nan)
    days = FIRST, FIRST + timedelta(days=3)
    kit = load_kits()["roof-tent"]
    over = DoneStay(0, *days, 0, kit, whole.places[0], shares)
    made = replace(whole, behind={0: over})
    (leg,) = made.dated(plan(stay(nights=3, kit="roof-tent"), done=1)).legs
    assert leg.done and not leg.close and leg.remedy is None and leg.cautions == ()
    assert (leg.grade, leg.limiting_factor, leg.ascent) == (1, "cold", "")  # a mean of 0.8
    assert leg.nights_by_factor["cold"] == pytest.approx(0.4)
    assert leg.nights_by_factor["wind"] is None
    assert leg.rough_bad_year == leg.rough_nights == 1.25
    assert [one.kind for one in leg.hazards] == ["flood"]
