"""The first screen of the Plan, line by line: what each says when things are otherwise."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest
from sample_report import sample_report

from sheltermap.report.report import MetHazard
from sheltermap.website.figures import danger_odds
from sheltermap.website.opening import facts, headline
from sheltermap.website.slider import week_data


def said(report):
    """Return the first screen: label to text, plain."""
    return {
        fact.label: re.sub(r"<[^>]+>", "", "".join(map(str, fact.parts))).translate(
            {0x202F: " ", 0xA0: " "}
        )
        for fact in facts(report)
    }


def grave(report):
    """Return the labels of what can hurt people or stops the journey."""
    return {fact.label for fact in facts(report) if fact.grave}


def with_money(report, **changed):
    """Return a report with other prices."""
    money = report.trip.money.model_copy(update=changed)
    return replace(report, trip=report.trip.model_copy(update={"money": money}))


def with_rows(report, *rows, better):
    """Return a report that compares these kits."""
    against = tuple(() for _ in rows)
    comparison = replace(report.comparison, rows=rows, better=better, reasons_against=against)
    return replace(report, comparison=comparison)


@pytest.mark.parametrize(
    ("budget", "over", "words"),
    [(4000.0, False, "of a budget of 4 000 EUR"), (3000.0, True, "over a budget of 3 000 EUR")],
)
def test_money_is_held_against_the_budget(budget, over, words):
    """3 500 EUR for kit and fuel is inside 4 000 and over 3 000."""
    report = with_money(sample_report(), budget=budget, currency="EUR")
    row = replace(report.comparison.rows[0], journey_money=3500.0, over_budget=over)
    report = with_rows(report, row, better=0)
    told = said(report)["Money"]
    assert told.startswith("3 500 EUR for the kit and all fuel") and words in told
    assert ("Money" in grave(report)) is over


def test_better_kit_has_both_figures():
    """Six rough nights for nine, 500 EUR less; what that rests on is said."""
    report = with_money(sample_report(), rough_night_price=40.0, currency="EUR")
    own, other = report.comparison.rows[:2]
    own = replace(own, rough_nights=9.04, dangerous_nights=0.2, money=2500.0)
    other = replace(other, rough_nights=6.0, dangerous_nights=0.3, money=2000.0, title="Old tarp")
    told = said(with_rows(report, own, other, better=1))
    assert told["Better kit"] == (
        "Old tarp: 6.0 rough nights instead of 9.0, 500 EUR cheaper, "
        "if a rough night less is worth 40 EUR to you."
    )
    assert "Better kit" not in said(with_rows(report, own, other, better=0))
    bought = replace(other, remedy=True)  # What helps has its own line.
    assert "Better kit" not in said(with_rows(report, own, bought, better=1))


def test_kit_that_is_better_for_its_safety_says_so():
    """Rougher and dearer, but 1.5 dangerous nights of 60 fewer."""
    report = sample_report()
    own, other = report.comparison.rows[:2]
    own = replace(own, rough_nights=3.0, dangerous_nights=2.0, money=100.0, nights=60)
    other = replace(other, rough_nights=8.0, dangerous_nights=0.5, money=400.0, nights=60)
    told = said(with_rows(report, own, other, better=1))
    assert "Better kit" not in told
    assert "8.0 rough nights instead of 3.0" in told["Safer kit"] and "dearer" in told["Safer kit"]
    # 60 / 0.5 = 120 and 60 / 2 = 30.
    assert told["Safer kit"].endswith("about 1 night in 120 instead of about 1 night in 30.")


def legs_under(report, level, count):
    """Return a plan whose first legs, `count` of them, lie under a hazard of a level."""
    storm = MetHazard("flood", "Flood", level, level, "", "", "", "somebody")
    (one, *_) = report.best.legs
    legs = tuple(
        replace(
            one,
            name=f"Leg {number}",
            hazards=(storm,) if number < count else (),
            serious_nights=2 if number < count else 0,
        )
        for number in range(6)
    )
    plan = replace(report.best, legs=legs, serious_nights=2 * count)
    return replace(report, best=plan)


def test_hazards_name_their_legs_and_count_their_nights():
    """Two nights on each; a long list ends with how many more there are."""
    report = sample_report()
    assert "Hazards" not in said(legs_under(report, 1, 6))
    two = legs_under(report, 2, 2)
    assert said(two)["Hazards"].startswith(
        "4 nights under serious ones or worse: Leg 0 (flood) and Leg 1 (flood)."
    )
    assert "Hazards" in grave(two)
    many = said(legs_under(report, 4, 6))["Hazards"]
    assert many.startswith("12 nights") and "Leg 0 (flood, closure)" in many
    assert "3 legs more" in many and "Leg 3" not in many


@pytest.mark.parametrize(
    ("part", "where"),
    [("", "outside the shelter"), ("in part of the area only", "in part of an area")],
)
def test_what_is_serious_elsewhere_is_no_good_news(part, where):
    """A shield holds while one lies in it, and a closed part is closed: neither is "none"."""
    report = legs_under(sample_report(), 1, 0)
    held_off = MetHazard("flood", "Flood", 1, 3, "" if part else "while you lie", part, "", "made")
    first, *others = report.best.legs
    legs = (replace(first, hazards=(held_off,)), *others)
    told = said(replace(report, best=replace(report.best, legs=legs)))["Danger"]
    assert f"No hazard known is serious where you lie; {where} some are: see the legs." in told
    assert "No hazard known is serious then." in said(report)["Danger"]


def test_danger_is_odds_and_says_what_was_looked_at():
    """Half a night of 100 is 1 in 200; nothing serious is not nothing unchecked."""
    report = legs_under(sample_report(), 1, 0)
    legs = tuple(
        replace(leg, nights=50, dangerous_nights=0.25 if number < 2 else 0.0)
        for number, leg in enumerate(report.best.legs[:2])
    )
    report = replace(report, best=replace(report.best, legs=legs), not_checked=("flood",))
    told = said(report)["Danger"]
    assert told.startswith("About 1 night in 200 may be cold or hot enough to harm.")
    assert "Not every kind was checked" in told
    assert "checked" not in said(replace(report, not_checked=()))["Danger"]


@pytest.mark.parametrize("nights", [9, 60, 107, 365])
@pytest.mark.parametrize("share", [0.0011, 0.004, 0.013, 0.037, 0.09, 0.2, 0.5])
def test_odds_stay_near_what_they_stand_for(nights, share):
    """Within an eighth, as far as "1 in so many" can say it."""
    words = danger_odds(share * nights, nights)
    each = re.search(r"1 night in (\d+)", words)
    some, of_all = (1, each[1]) if each else re.search(r"(\d+) of (\d+)", words).groups()
    assert int(some) / int(of_all) == pytest.approx(share, rel=0.126)


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ((2027, 5, 1), (2027, 5, 9), "(good from 1 to 9 May)"),
        ((2027, 4, 28), (2027, 5, 9), "(good from 28 April to 9 May)"),
        ((2026, 12, 28), (2027, 5, 9), "(good from 28 December 2026 to 9 May 2027)"),
        ((2027, 5, 6), (2027, 5, 6), "(no day beside it is as good)"),
    ],
)
def test_window_has_the_years_that_it_needs(first, last, words):
    """The sample leaves on 6 May 2027."""
    report = replace(sample_report(), good_window=(date(*first), date(*last)))
    assert headline(report)[1].startswith(f" {words}. Kit: ")


def test_overload_names_the_leg_and_the_excess():
    """A margin of 20.4 kg below nothing is 21 kg over."""
    report = sample_report()
    leg = report.best.legs[0].name
    first, *others = report.load.legs
    rated = replace(first.limits[0], load=3020.4, rating=3000.0)
    over = replace(first, name=leg, limits=(rated, *first.limits[1:]))
    report = replace(report, load=replace(report.load, legs=(over, *others), status="over"))
    assert said(report)["Overload"].startswith("21 kg")
    assert said(report)["Overload"].endswith(f" over the rated mass on {leg}.")
    assert "Overload" in grave(report)


def test_the_leg_with_least_left_is_named():
    """350 kg are left on one leg and 12.7 on the other: the second is told, rounded down."""
    report = sample_report()
    legs = [
        replace(leg, limits=(replace(leg.limits[0], load=2800.0 - left, rating=2800.0),))
        for leg, left in zip(report.load.legs[:2], (350.0, 12.7), strict=True)
    ]
    load = replace(report.load, legs=tuple(legs), status="fits", breaks=(), unknown=())
    told = said(replace(report, load=load))["Load"]
    assert told.startswith("12 kg") and legs[1].name in told and legs[0].name not in told
    over = replace(legs[1], limits=(replace(legs[1].limits[0], load=2810.4),))
    broken = replace(report, load=replace(load, legs=(legs[0], over)))
    assert said(broken)["Overload"].startswith("11 kg") and "Overload" in grave(broken)


@pytest.mark.parametrize(
    ("rough", "low", "high", "words"),
    [
        (0.04, 0.0, 0.4, "Hardly any of 60 nights will be rough, and four journeys of five"),
        (
            0.05,
            0.0,
            1.0,
            "Under 1 of 60 nights will be rough, in four journeys of five between 0 ",
        ),
        (0.5, 0.0, 1.0, "Under 1 of 60 nights will be rough"),
        (0.51, 0.0, 2.0, "About 1 of 60 nights will be rough"),
        (
            7.6,
            4.4,
            11.6,
            "About 8 of 60 nights will be rough, in four journeys of five between 4 ",
        ),
        (7.6, 4.4, 11.6, " and 12."),
        (float("nan"), 0.0, 1.0, "An unknown number of 60 nights will be rough"),
        (7.6, float("nan"), 11.6, "About 8 of 60 nights will be rough; how far that may stray is"),
        (7.6, 4.4, float("nan"), "About 8 of 60 nights will be rough; how far that may stray is"),
    ],
)
def test_rough_nights_of_the_whole_journey(rough, low, high, words):
    """20, 15 and 25 nights; what is about half a night is not called none of them."""
    report = sample_report()
    plan = replace(report.best, rough_nights=rough, rough_low=low, rough_high=high)
    assert words in headline(replace(report, best=plan))[1]


def test_what_is_behind_is_no_longer_expected():
    """Of 9 rough nights 2.4 lie on the leg that is done: 6.6 are to come, 3.6 to 9.6.

    The first leg has 20 of the 60 nights.
    """
    report = sample_report()
    first, *others = report.best.legs
    legs = (replace(first, done=True, rough_nights=2.4), *others)
    plan = replace(report.best, legs=legs, rough_nights=9.0, rough_low=6.0, rough_high=12.0)
    start, told = headline(replace(report, best=plan))
    assert "About 7 of 40 nights will be rough, in four journeys of five between 4 and 10." in told
    assert start.startswith(f"Start: {others[0].name}")


def test_a_journey_that_is_over():
    """All its nights are told, on three legs."""
    report = sample_report()
    legs = tuple(replace(leg, done=True) for leg in report.best.legs)
    plan = replace(report.best, legs=legs, rough_nights=9.0)
    assert headline(replace(report, best=plan)) == (
        "The journey is over: 60 nights on 3 legs.",
        " About 9 of 60 nights were rough, by the climate.",
    )


def test_the_season_chart_is_read_first_where_the_journey_goes_on():
    """The second leg's first night; with all legs done, or without a plan, the chart's corner."""
    report = sample_report()
    legs = report.best.legs
    under_way = (replace(legs[0], done=True), *legs[1:])
    over = tuple(replace(leg, done=True) for leg in legs)
    starts = [
        week_data(replace(report, best=plan))["start"]
        for plan in (
            replace(report.best, legs=under_way),
            replace(report.best, legs=over),
            None,
        )
    ]
    # 28 May is day 147: 31 + 28 + 31 + 30 and 27 more.
    assert starts == [{"row": 1, "day": 147}, {"row": 0, "day": 0}, {"row": 0, "day": 0}]
