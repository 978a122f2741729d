"""A closure's margin counts real dates, whoever states the closure."""

from __future__ import annotations

import json
from datetime import date

import numpy as np
import pytest
import shapely
from small_trips import leg, saved, stored, trip

from sheltermap import pipeline
from sheltermap.hazards.findings import findings
from sheltermap.hazards.layers import level_by_day, read_layer
from sheltermap.hazards.shapes import place_extent
from sheltermap.places.chosen import _closed_days
from sheltermap.trip.model import read_trip

ROW = """
[[hazards]]
legs = ["A"]
kind = "road-closed"
level = "closure"
first = {first}
last = {last}
margin_days = 15
source = "road office"
"""
OF_A_LEG = "closed = [{{ first = {first}, last = {last}, margin_days = 15 }}]"


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    """Return the file of a climate of perfect sleep everywhere."""
    return stored(tmp_path_factory.mktemp("world"))


def in_march(year):
    """Return what to change for a journey from 1 March of a year on."""
    return [
        ("earliest = 2027-05-01", f"earliest = {year}-03-01"),
        ("latest = 2027-05-10", f"latest = {year}-03-20"),
        ("finish_by = 2027-07-01", f"finish_by = {year}-05-01"),
    ]


def layer(folder):
    """Write a closed road round camp A as a hazard file, closed as the rows are."""
    properties = {
        "kind": "road-closed",
        "level": {"01-15..02-20": "closure"},
        "margin_days": 15,
        "source": "road office",
    }
    shape = shapely.box(28, 39, 30, 41).__geo_interface__
    feature = {"type": "Feature", "properties": properties, "geometry": shape}
    path = folder / "roads.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    return path


@pytest.mark.parametrize("stated_by", ["a row", "a leg", "a dated leg", "a layer"])
@pytest.mark.parametrize(
    ("year", "opens"),
    # By hand: 20 February and 15 days are 7 March; 29 February is the ninth of them in 2028.
    [(2027, 8), (2028, 7)],
)
def test_first_open_evening_after_a_margin_across_29_february(
    tmp_path, world, stated_by, year, opens
):
    """In a common year and in a leap year alike for who may state a closure."""
    yearly = {"first": '"01-15"', "last": '"02-20"'}
    dated = {"first": f"{year}-01-15", "last": f"{year}-02-20"}
    parts = {
        "a row": (leg("A"), ROW.format(**yearly)),
        "a leg": (leg("A", more=OF_A_LEG.format(**yearly)),),
        "a dated leg": (leg("A", more=OF_A_LEG.format(**dated)),),
        "a layer": (leg("A"), '\n[files]\nhazards = ["roads.geojson"]\n'),
    }[stated_by]
    layer(tmp_path)
    report = pipeline.plan(saved(tmp_path, trip(*parts, changed=in_march(year))), climate=world)
    feasible = [one.depart for one in report.by_departure if one.rough_nights is not None]
    assert min(feasible) == date(year, 3, opens)
    assert report.best.legs[0].hazards == ()


def test_journey_that_meets_springs_of_both_kinds_keeps_the_later_end(tmp_path):
    """27 February and 5 days: to 4 March, in a leap year to 3 March."""
    span = {"02-01..02-27": "closure"}
    common, in_leap_years = (level_by_day(span, 5, leap=leap) for leap in (False, True))
    # By hand: 1 February is day 32, 4 March day 63 of a common year.
    assert np.flatnonzero(common).tolist() == list(range(31, 63))
    assert np.flatnonzero(in_leap_years).tolist() == list(range(31, 62))
    read = read_layer(layer(tmp_path))
    (common,), (in_leap_years,) = (
        findings([read], place_extent(40.0, 29.0), leap=leap) for leap in (False, True)
    )
    assert common.level_by_day.sum() - in_leap_years.level_by_day.sum() == 4


@pytest.mark.parametrize(
    ("span", "margin", "end"),
    [
        ("12-20..12-27", 70, 64),  # 4 days in December, 31, 29, then 6 in March
        ("12-20..12-27", 10, 5),  # no February within: 6 January
        ("February", 10, 68),  # 29 February and ten days: 10 March
        ("01-01..02-28", 10, 67),  # 28 February and ten days: 9 March
        ("06-01..06-30", 10, 190),
        ("03-10..02-20", 10, 59),  # 20 February and nine days are 29 February, one is left
    ],
)
def test_end_of_a_margin_in_leap_years(span, margin, end):
    """By hand; 0 is 1 January, 58 both 28 and 29 February."""
    shut = level_by_day({span: "closure"}, margin, leap=True) > 0
    after = (end + 1) % 365
    assert shut[end] and not shut[after]


def test_drawn_weeks_of_a_leg_end_with_its_closure(tmp_path):
    """What the pages draw of a leg's closure: to 6 March 2028, 7 March 2027."""
    for year, last in ((2027, 65), (2028, 64)):
        text = trip(
            leg("A", more=OF_A_LEG.format(first='"01-15"', last='"02-20"')),
            changed=in_march(year),
        )
        read = read_trip(saved(tmp_path, text))
        shut = _closed_days(read.legs[0], (read.departure.earliest, read.departure.finish_by))
        assert np.flatnonzero(shut)[-1] == last
