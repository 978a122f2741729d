"""Where danger bars every date, the first bedding or kit that gives a plan is named."""

from __future__ import annotations

from small_trips import leg, saved, stored, trip

from sheltermap import pipeline

COLD = {"mean": 2.0, "vapour": 0.3, "spread": 1.0}
"""Lows of -2 degC on every night of the year: far below what summer bedding holds."""


def planned(folder, bedding, more=""):
    """Return the report of a trip in the cold with one bedding for everyone."""
    party = f"\n[party]\nbedding = {bedding}\n"
    text = trip(leg("A", more=more)).replace("[departure]", f"{party}\n[departure]", 1)
    return pipeline.plan(saved(folder, text), climate=stored(folder, **COLD))


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
