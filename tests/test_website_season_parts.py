"""The season chart's parts by hand: days on an axis, rows, months, strips and marks.

At two units a day, day d of the axis stands at 2 d; `test_website_season.py` has whole drawings.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import pytest
from sample_report import sample_report
from season_reports import hand_made_year, week
from test_website_season import HAND, YEAR

from sheltermap.website import hazardstrip, season, seasonmarks
from sheltermap.website.seasonaxis import (
    WIDE,
    Axis,
    Frame,
    shown_weeks,
    week_starts,
    whole_years,
)
from sheltermap.website.seasonmarks import EVENING, PERMIT, Mark

PART = Axis(2027, 100, 50)
"""From 11 April, day 100, to 30 May, day 149."""


def frame(span: Axis) -> Frame:
    """Return three rows at two units a day."""
    return Frame(replace(HAND, plot=2 * span.days), span, 20, (20, 60, 100))


@pytest.mark.parametrize(
    ("first", "days", "years"),
    [
        (0, 365, range(2027, 2028)),
        (0, 366, range(2027, 2029)),
        (350, 15, range(2027, 2028)),
        (350, 16, range(2027, 2029)),
        (365, 5, range(2028, 2029)),
        (-10, 10, range(2026, 2027)),
        (-10, 11, range(2026, 2028)),
    ],
)
def test_years_that_an_axis_touches(first, days, years):
    """Day 364 is 31 December of the first year, day 365 the next 1 January."""
    assert Axis(2027, first, days).years == years


def test_size_of_a_drawing():
    """Below the last row's 10 units lie a gap of 1, the strip's 7 and 4 more."""
    assert frame(YEAR).height == 100 + 10 + 1 + 7 + 4
    assert replace(frame(YEAR), tops=()).height == 20 + 10 + 1 + 7 + 4
    narrow = replace(frame(YEAR), layout=replace(HAND, plot=100, week=7))
    assert (narrow.width, narrow.x(10)) == (365, 10)
    wider = replace(frame(YEAR), layout=replace(HAND, plot=100, week=7.001))
    assert wider.width == 366  # 365.05, in whole units


def test_weeks_begin_with_the_first_of_them():
    """A year whose first day is counted as 1 begins at 0 like any other."""
    counted = tuple(SimpleNamespace(first_day_of_year=1 + 7 * n) for n in range(3))
    assert week_starts(counted) == [0, 7, 14]
    assert week_starts(()) == []


@pytest.mark.parametrize(
    ("first", "days", "shown"),
    [
        (0, 365, [(0, 200), (200, 165)]),
        (200, 165, [(0, 165)]),
        (200, 166, [(0, 165), (165, 200)]),
        (201, 164, []),
        (-165, 166, [(0, 165), (165, 200)]),
    ],
)
def test_weeks_that_an_axis_shows(first, days, shown):
    """Two spans a year, from day 0 and from day 200; one that begins before is not shown."""
    two = tuple(SimpleNamespace(first_day_of_year=day) for day in (0, 200))
    found = [(at, length) for at, length, _ in shown_weeks(two, Axis(2027, first, days))]
    assert found == shown


def test_names_stand_above_their_rows_or_beside_them():
    """10 above the cells; else 5 below the middle of their 27 units."""
    report = hand_made_year()
    above, beside = season.names(report, HAND), season.names(report, WIDE)
    assert [row["y"] for row in above["rows"]] == [10, 50, 90]
    tops = season.drawn(report, WIDE, whole_years(report)).tops
    assert [row["y"] for row in beside["rows"]] == [top + 18.5 for top in tops]
    assert (above["width"], beside["width"]) == (730, 206)


def test_weeks_that_say_the_same_are_one_run():
    """Two hard weeks of 0.4 and 0.6, then a sound one to the end of the year."""
    weeks = (
        replace(week(0, 2), sound_share=0.6),
        replace(week(1, 2), sound_share=0.4),
        week(2, 0),
    )
    told = [(run["first"], run["days"], run["grade"], run["lowest"], run["highest"])
            for run in season.week_runs(weeks)]  # fmt: skip
    assert told == [(0, 14, 2, 0.4, 0.6), (14, 351, 0, 0.5, 0.5)]
    whens = [run["when"] for run in season.week_runs(weeks)]
    assert whens[0].startswith("1 Jan") and "14 Jan" in whens[0]
    assert whens[1].startswith("15 Jan") and "31 Dec" in whens[1]


def months(span: Axis) -> list[tuple]:
    """Return the months of a drawing at two units a day."""
    found = season.drawing(hand_made_year(), replace(HAND, plot=2 * span.days), span)["months"]
    return [(month["x"], month["name"], month["line"], month["year"]) for month in found]


def test_months_of_a_year():
    """31, 28 and 31 days are 62, 56 and 62 units; one year needs no number."""
    assert months(YEAR)[:3] == [
        (0, "Jan", True, None),
        (62, "Feb", True, None),
        (118, "Mar", True, None),
    ]
    assert len(months(YEAR)) == 12


@pytest.mark.parametrize(("first", "name"), [(18, "Jan"), (19, "")])
def test_months_have_room_for_their_names(first, name):
    """13 days are the 26 units that a name asks for; a month begun before has no line."""
    assert months(Axis(2027, first, 60))[0] == (0, name, first < 0, None)


@pytest.mark.parametrize(("first", "year"), [(348, 2027), (349, None)])
def test_years_have_room_for_their_numbers(first, year):
    """17 days are the 34 units that a year asks for; it stands at its first month."""
    old, new, later, *_ = months(Axis(2027, first, 100))
    assert (old[3], new[3], later[3]) == (year, 2028, None)


def test_closed_stretches_have_a_cross_every_28_units():
    """Two on 56 units, at 14 and 42, one on less; 2 units each way, in the middle of 7."""
    paths: dict[str, str] = {}
    hazardstrip.strip([(100, 56, 4, True)], 30, paths)
    assert paths["h4"] == "M100 30h56v7h-56z"
    assert paths["hx"] == "M112.0 31.5l4 4m0 -4l-4 4M140.0 31.5l4 4m0 -4l-4 4"
    hazardstrip.strip([(0, 55, 4, True), (60, 3, 0, False), (70, 5, 0, True)], 0, paths := {})
    assert paths["hx"] == "M25.5 1.5l4 4m0 -4l-4 4"
    assert paths["nc"] == "M60 0h3v3h-3z"


def test_signs_are_a_line_under_the_strip():
    """7 units of strip and 1.5 below its top at 30."""
    assert hazardstrip.sign_line([(3, 4), (10, 2.5)], 30) == "M3.0 38.5h4.0M10.0 38.5h2.5"


def test_levels_of_the_legend_are_as_thick_as_in_the_strip():
    """2, 5, 7 and 7 units, of which 14 fill a chip of 18."""
    heights = [one["height"] for one in hazardstrip.legend()]
    assert heights == pytest.approx([18 / 7, 45 / 7, 9, 9])


def mark(first: date, last: date, kind: str = PERMIT) -> Mark:
    """Return a mark of any place."""
    return Mark(kind, "steppe", first, last)


@pytest.mark.parametrize(
    ("first", "last", "path"),
    [
        (date(2027, 1, 1), date(2027, 4, 10), None),  # the day before the axis begins
        (date(2027, 1, 1), date(2027, 4, 11), "M0.0 54.0H2.0v5"),
        (date(2027, 4, 11), date(2027, 4, 12), "M0.0 59.0v-5H4.0v5"),
        (date(2027, 5, 30), date(2027, 5, 30), "M98.0 59.0v-5H100.0v5"),
        (date(2027, 5, 30), date(2027, 5, 31), "M98.0 59.0v-5H100.0"),
        (date(2027, 5, 31), date(2027, 6, 5), None),
    ],
)
def test_brackets_are_open_where_they_go_on(first, last, path):
    """From 11 April to 30 May; a unit above the row at 60 and 5 high."""
    found = seasonmarks.mark_path(mark(first, last), frame(PART), 60)
    assert (found and found[0]) == path


def test_a_triangle_points_at_its_day():
    """12 April is the second day, from 2 to 4: the middle is 3, 5 each way."""
    day = date(2027, 4, 12)
    path, begin, end = seasonmarks.mark_path(mark(day, day, EVENING), frame(PART), 60)
    assert (path, begin, end) == ("M-2.0 53.0h10l-5 6z", -2, 8)


def test_where_the_stair_crosses_a_lane():
    """Between the first and the third row, from day 10 to 12, with 4 units on each side."""
    down = (0, date(2027, 4, 1), date(2027, 4, 21)), (2, date(2027, 4, 23), date(2027, 5, 1))
    up = (2, *down[0][1:]), (0, *down[1][1:])
    for pair in (down, up):
        spots = [seasonmarks.stair_spot(pair, row, frame(PART)) for row in range(3)]
        assert spots == [(-float("inf"),) * 2, (16, 28), (16, 28)]


@pytest.mark.parametrize(
    ("days", "label", "x"),
    [
        (date(2027, 4, 13), "be there", 14),  # 4 and 5 to 10, then 4 more
        (date(2027, 4, 11), "be there", 10),
        (date(2027, 5, 30), "be there", 99 - 5 - 4 - 51.2),
    ],
)
def test_labels_stand_beside_their_marks(days, label, x):
    """To the right of the triangle, 4 units off it; near the end to the left of it."""
    one = mark(days, days, EVENING)
    report = sample_report()
    rows = list(report.trip.legs)
    rows[2] = rows[2].model_copy(update={"be_there": (days,)})
    report = replace(report, trip=report.trip.model_copy(update={"legs": tuple(rows)}))
    order = [place.id for place in report.places]
    (found,) = seasonmarks.placed_marks(report, frame(PART), order, [])
    assert found["row"] == order.index(one.place)
    assert (found["label"], found["x"], found["y"]) == (label, pytest.approx(x), 98)
    assert found["end"] == pytest.approx(x + 51.2)
