"""Where danger bars every date, the first bedding or kit that gives a plan is named."""

from __future__ import annotations

from sample_report import BASE_MAP
from small_trips import leg, saved, stored, trip
from test_website_pages import visible_text

from sheltermap import pipeline
from sheltermap.website.pages import site

COLD = {"mean": 2.0, "vapour": 0.3, "spread": 1.0}
"""Lows of -2 degC on every night of the year: far below what summer bedding holds."""


def planned(folder, bedding, more="", kits="bedroll", climate=COLD):
    """Return the report of a trip in the cold with one bedding for everyone."""
    party = f"\n[party]\nbedding = {bedding}\n"
    text = trip(leg("A", more=more), kits=kits).replace("[departure]", f"{party}\n[departure]", 1)
    return pipeline.plan(saved(folder, text), climate=stored(folder, **climate))


def test_the_first_bedding_that_gives_a_plan_is_named(tmp_path):
    """Summer bedding is dangerous on all dates; three-season is tried before winter."""
    report = planned(tmp_path, '"summer"')
    assert report.best is None
    (said,) = [words for words in report.infeasible if "there is a plan: leave" in words]
    word = said.split()[1]
    assert word in ("three-season", "winter")
    assert planned(tmp_path, f'"{word}"').best is not None


def test_a_trip_with_a_plan_is_told_of_no_way_out(tmp_path):
    """Nothing needs to change."""
    assert planned(tmp_path, '"winter"').infeasible == ()


def test_who_accepts_dangerous_nights_gets_them_counted(tmp_path):
    """The plan exists, and says how many of its nights are dangerous."""
    best = planned(tmp_path, '"summer"', 'accept = ["dangerous-nights"]').best
    assert best.dangerous_nights > 0.1 * best.nights


def test_danger_is_said_before_anything_else(tmp_path):
    """The cause, the least dangerous plan and its leg; winter is not asked to be shorter."""
    first, *others = planned(tmp_path, '"summer"').infeasible
    assert first.startswith("No date that the trip allows is safe enough.")
    assert "4.0 dangerous nights of 4: at A a night in the canvas bedroll" in first
    assert "10 % or more." in first
    assert not any("would have to" in words or "bars the nights" in words for words in others)


def test_the_page_says_each_reason_once(tmp_path):
    """The headline has the cause, the list what would help."""
    report = planned(tmp_path, '"summer"')
    page = visible_text(site(report, base_map=BASE_MAP)["index.html"].decode())
    for reason in report.infeasible:
        assert page.count(reason) == 1, reason
    assert ".." not in page.split("Each week with")[0]


def test_bedding_is_not_tried_against_closed_dates(tmp_path):
    """Nothing is dangerous: the leg is closed, and no bedding opens it."""
    report = planned(
        tmp_path,
        '"winter"',
        'closed = [{ first = "05-01", last = "06-30" }]',
        climate={"mean": 15.0},
    )
    assert report.best is None
    assert not any("bedding" in words or "kit" in words for words in report.infeasible)


def test_another_kit_is_named_once(tmp_path):
    """A hazard that the cot keeps off bars the bedroll: one sentence, with its plan."""
    row = (
        '\n[[hazards]]\nlegs = ["A"]\nkind = "crawling-animals"\nlevel = "prohibitive"\n'
        'source = "ranger"\n'
    )
    report = planned(tmp_path, '"winter"', row, kits="bedroll bedroll-cot", climate={"mean": 15.0})
    assert report.best is None
    assert sum("there is a plan" in words for words in report.infeasible) == 1
    assert any(
        words.startswith("With the raised cots with a bedroll") for words in report.infeasible
    )


def test_heat_that_no_bedding_mends_says_so(tmp_path):
    """At 42 degC at its coolest neither bedding nor another kit helps."""
    report = planned(tmp_path, '"summer"', climate={"mean": 44.0, "swing": 4.0, "vapour": 4.0})
    assert report.best is None
    assert report.infeasible[1].startswith("No bedding and no kit of the trip makes a date safe")
