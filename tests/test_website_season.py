"""The season chart from a year made by hand: every place worked out beside its check.

At two units a day, day d of the first year stands at 2 d; a week is 14 units wide, the last
one of the year 16.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from sample_report import sample_report
from season_reports import hand_made_year, with_marks

from sheltermap.website import season, seasonmarks
from sheltermap.website.seasonaxis import NARROW, Axis, Layout, weeks_that_matter, whole_years

YEAR = Axis(2027, 0, 365)
HAND = Layout("hand", 0, 730, 20, 10, 40, 0, 12, 1, True)
"""Two units a day; rows of 10 from 20 on, every 40, 12 lower where a row has marks."""


def drawn(report, span=YEAR, layout=HAND) -> dict:
    """Return a drawing with its areas by pattern, each a list of boxes."""
    found = season.drawing(report, layout, span)
    areas = {area["pattern"]: area["path"] for area in found["areas"]}
    return found | {"areas": {name: path.split("z")[:-1] for name, path in areas.items()}}


def test_cells_of_a_hand_made_year():
    """Ten weeks are 140 wide; the twelve unknown ones, with 31 December, 170."""
    areas = drawn(hand_made_year())["areas"]
    assert areas["g3"] == ["M0 20h140v10h-140"]
    assert areas["g2"] == ["M140 20h140v10h-140"]
    assert areas["g1"] == ["M280 20h140v10h-140"]
    assert areas["gx"] == ["M560 20h170v10h-170"]
    # Sound is what the weeks 30 to 39 are, and the whole years of the rows at 60 and 100.
    assert areas["g0"] == ["M420 20h140v10h-140", "M0 60h730v10h-730", "M0 100h730v10h-730"]


def test_strip_of_a_hand_made_year():
    """A unit below the cells: two weeks closed, two forbidden, one serious, one advisory."""
    areas = drawn(hand_made_year())["areas"]
    assert areas["h4"] == ["M0 31h28v7h-28"]
    assert areas["h3"] == ["M28 31h28v7h-28"]
    assert areas["h2"] == ["M56 31h14v5h-14"]
    assert areas["h1"] == ["M70 31h14v2h-14"]
    # Nobody looked in week 6, days 42 to 48.
    assert areas["nc"] == ["M84 31h14v3h-14"]
    paths = {
        area["pattern"]: area["path"]
        for area in season.drawing(hand_made_year(), HAND, YEAR)["areas"]
    }
    assert paths["hx"] == "M12.0 32.5l4 4m0 -4l-4 4"  # one cross in the middle, 2 each way


def test_weeks_across_new_year():
    """From day 350 for 29 days at ten units a day: 15 of December, then 14 of January."""
    span, layout = Axis(2027, 350, 29), replace(HAND, plot=290)
    areas = drawn(hand_made_year(), span, layout)["areas"]
    assert areas["gx"] == ["M0 20h150v10h-150"]
    assert areas["g3"] == ["M150 20h140v10h-140"]
    assert areas["h4"] == ["M150 31h140v7h-140"]
    months = [
        (m["x"], m["name"], m["line"])
        for m in season.drawing(hand_made_year(), layout, span)["months"]
    ]
    assert months == [(0, "Dec", False), (150, "Jan", True)]


def test_no_band_where_every_row_is_alike():
    """What nobody looked at anywhere is said once, and marks no row."""
    report = hand_made_year()
    alike = tuple(replace(place, not_checked=("flood",)) for place in report.places)
    assert "nc" not in drawn(replace(report, places=alike))["areas"]
    told = seasonmarks.unchecked(alike)
    assert (told.everywhere, told.notes) == ("1 kind not checked on any row.", {})


def test_rows_that_differ_are_told():
    """The usual is told once; a row with more, fewer or other kinds says how many it has."""
    first, second, third = hand_made_year().places
    kinds = {"lowland": ("flood", "wildfire"), "high-valley": ("flood",), "steppe": ()}
    places = [replace(p, not_checked=kinds[p.id]) for p in (first, second, third)]
    places.append(replace(second, id="fourth"))
    places.append(replace(second, id="fifth", not_checked=("flood",)))
    places[3] = replace(places[3], not_checked=("flood",))
    told = seasonmarks.unchecked(places)
    assert told.everywhere == "1 kind not checked on the other rows."
    assert told.notes == {"lowland": "2 kinds not checked", "steppe": "all kinds checked"}
    assert told.differs == {"lowland"}


def test_permit_is_a_bracket_over_its_days():
    """Valid 11 April to 19 July, days 100 to 199: from 200 to 400, 1 above the row at 112."""
    permit = {"first": date(2027, 4, 11), "last": date(2027, 7, 19)}
    report = with_marks(hand_made_year(), date(2027, 12, 1), permit)
    # Rows 1 and 2 have marks, so they stand at 20 + 40 + 12 and at 20 + 80 + 24.
    found = {mark["kind"]: mark for mark in drawn(report)["marks"]}
    assert drawn(report)["tops"] == (20, 72, 124)
    assert (found["permit"]["row"], found["permit"]["path"]) == (2, "M200.0 123.0v-5H400.0v5")
    part = drawn(report, Axis(2027, 119, 60), replace(HAND, plot=120))
    open_ended = next(mark for mark in part["marks"] if mark["kind"] == "permit")
    assert open_ended["path"] == "M0.0 118.0H120.0"  # it holds before and after what is shown
    gone = drawn(report, Axis(2027, 200, 60), replace(HAND, plot=120))
    assert [mark["kind"] for mark in gone["marks"]] == []


def test_yearly_permit_holds_in_every_year():
    """From November to 10 February: round both New Years that the chart can touch."""
    report = with_marks(
        sample_report(), date(2027, 6, 1), {"first": "1 November", "last": "10 February"}
    )
    spans = [
        (mark.first, mark.last)
        for mark in seasonmarks.marks(report)
        if mark.kind == seasonmarks.PERMIT
    ]
    assert (date(2027, 11, 1), date(2028, 2, 10)) in spans
    assert (date(2026, 11, 1), date(2027, 2, 10)) in spans


def test_evening_is_a_triangle_on_its_day():
    """11 May, day 130: the middle of 260 to 262, 5 each way, 1 above the row at 72.

    The stair goes down to that row from 26 May, 290, to 28 May, 294, with 4 on each side. A
    label of eight letters, 51.2 wide, would begin 4 right of the mark, at 270: it stands left.
    """
    marks = drawn(with_marks(sample_report(), date(2027, 5, 11)))["marks"]
    assert [(m["kind"], m["row"], m["path"]) for m in marks] == [
        ("evening", 1, "M256.0 65.0h10l-5 6z")
    ]
    assert marks[0]["label"] == "be there"
    assert marks[0]["x"] == pytest.approx(256 - 4 - 51.2)
    later = drawn(with_marks(sample_report(), date(2027, 5, 30)))["marks"][0]  # 294 to 304
    assert (later["label"], later["x"]) == ("be there", 308)


def test_no_label_where_both_sides_are_taken():
    """An evening within its own row's permit has no room for words; the legend tells it."""
    report = with_marks(
        sample_report(),
        date(2027, 6, 1),
        {"first": date(2027, 4, 11), "last": date(2027, 7, 19)},
        legs=(1, 1),
    )
    assert {m["kind"]: m["label"] for m in drawn(report)["marks"]} == {
        "permit": "permit",
        "evening": "",
    }


def test_journey_as_a_stair_and_as_legs():
    """Days 125 to 145 on the first row, whose middle is 25, then 147 to 162 on the next."""
    line = drawn(sample_report())["line"]
    assert line.startswith("M250.0 25.0L290.0 25.0L294.0 65.0L324.0 65.0L")
    found = drawn(sample_report(), layout=replace(HAND, stair=False))
    assert found["line"].startswith("M250.0 25.0H290.0M294.0 65.0H324.0M")
    assert found["dots"].startswith("M250.0 25.0h0M294.0 65.0h0M")


def test_weeks_that_can_matter():
    """Six weeks before 30 April is 19 March, day 77; after 9 July it is 20 August, day 231."""
    report = replace(sample_report(), good_window=(date(2027, 4, 30), date(2027, 5, 8)))
    assert report.best.finish == date(2027, 7, 9)
    assert weeks_that_matter(report) == Axis(2027, 77, 238 - 77)
    assert whole_years(report) == Axis(2027, 0, 365)


def test_six_weeks_before_january_are_of_the_year_before():
    """29 November 2026 lies in the week of day 329; the whole years are then two."""
    report = sample_report()
    report = replace(report, best=replace(report.best, depart=date(2027, 1, 10)), good_window=None)
    assert whole_years(report) == Axis(2026, 0, 730)
    assert weeks_that_matter(report).first == 329


def test_february_29_stands_on_the_28th():
    """Day 365 + 58 of years of 365 days; 1 March is the next."""
    span = Axis(2027, 10, 730)
    days = [date(2028, 2, 28), date(2028, 2, 29), date(2028, 3, 1)]
    assert [span.position(day) for day in days] == [413, 413, 414]


def test_many_weeks_make_a_phone_scroll():
    """52 weeks and a day of 10.3 units need 537.1; thirty weeks fit the 328 of a small phone."""
    report = sample_report()
    assert season.drawn(report, NARROW, YEAR).width == 538
    assert season.drawn(report, NARROW, Axis(2027, 0, 210)).width == 328


def test_stays_cut_below_what_is_preferred():
    """Twenty nights where thirty are preferred are said, what is as long or longer is not."""
    report = sample_report()
    assert seasonmarks.cut_stays(report) == ""
    legs = list(report.trip.legs)
    nights = type(legs[0].nights)
    legs[0] = legs[0].model_copy(update={"nights": nights(least=1, preferred=30, most=40)})
    legs[1] = legs[1].model_copy(update={"nights": nights(least=1, preferred=14, most=40)})
    cut = replace(report, trip=report.trip.model_copy(update={"legs": tuple(legs)}))
    assert seasonmarks.cut_stays(cut) == "Shorter than you prefer: Lowland (20 of 30 nights)."
