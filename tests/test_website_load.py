"""The Load page: bars from the empty vehicle on, the margin, marks in both systems."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from sample_report import BASE_MAP, sample_report

from sheltermap.website.axes import axis
from sheltermap.website.loadpage import load_chart
from sheltermap.website.pages import site

MASSES = {"people": 160.0, "gear": 50.0, "kit": 64.0, "water": 40.0, "fuel": 86.0}


def load(rated=3050.0, **other):
    """Return a load of one leg whose masses are round; the empty vehicle is 2,300 kg."""
    report = sample_report().load
    parts = {"vehicle": 2300.0} | MASSES | other
    aboard = None if None in parts.values() else sum(parts.values())
    leg = report.legs[0]
    limit = replace(leg.limits[0], load=aboard, rating=rated)
    leg = replace(leg, parts_kg=parts, aboard_kg=aboard, limits=(limit,))
    return replace(report, legs=(leg,))


def test_bar_begins_with_the_empty_vehicle():
    """Widths are in proportion to the masses loaded; the line stands 750 kg from the start."""
    chart = load_chart(load())
    (bar,) = chart["bars"]
    assert bar["parts"][0]["x"] == chart["left"]
    widths = [part["width"] for part in bar["parts"]]
    a_kilogram = widths[0] / 160
    assert widths == pytest.approx([mass * a_kilogram for mass in MASSES.values()])
    # By hand: 2300 + 160 + 50 + 64 + 40 + 86 = 2700 of 3050 kg.
    assert chart["limit"] - chart["left"] == pytest.approx(750 * a_kilogram)
    assert bar["end"] - chart["left"] == pytest.approx(400 * a_kilogram)
    assert (bar["margin"], bar["over"], bar["excess"]) == (350, None, None)


def test_excess_is_named_and_begins_at_the_line():
    """Of 2,700 kg on 2,650.5 rated the part beyond the line is told, rounded up."""
    chart = load_chart(load(rated=2650.5))
    (bar,) = chart["bars"]
    assert bar["over"] == 50 and bar["excess"] == pytest.approx(chart["limit"])
    assert bar["end"] > chart["limit"]


def test_unknown_mass_ends_the_bar_without_a_margin():
    """What follows an unknown mass would stand in the wrong place."""
    (bar,) = load_chart(load(water=None))["bars"]
    assert len(bar["parts"]) == 3 and bar["margin"] is None and bar["aboard"] is None


@pytest.mark.parametrize("gone", ["vehicle", "rated"])
def test_without_vehicle_or_rating_there_is_no_line(gone):
    """An empty mass or a rating that nobody gave leaves what is loaded, and no margin."""
    chart = load_chart(load(rated=None) if gone == "rated" else load(vehicle=None))
    (bar,) = chart["bars"]
    assert chart["limit"] is None and bar["margin"] is None and len(bar["parts"]) == 5


def test_a_vehicle_over_its_rating_when_empty():
    """With no room at all everything loaded is excess, from the start of the axis."""
    chart = load_chart(load(rated=2200.0))
    (bar,) = chart["bars"]
    assert bar["excess"] == chart["left"] and bar["over"] == 500


def test_page_tells_margin_or_excess():
    """In words on the page, not by colour alone."""
    report = sample_report()
    files = site(replace(report, load=load(rated=2650.5)), base_map=BASE_MAP)
    page = files["load.html"].decode()
    drawing = page.split('id="load-mass-t"')[1].split("</svg>")[0]
    words = re.sub("<[^>]*>|[\u00a0\u202f]", "", drawing)
    assert "50kg" in words and " over" in words and "#mark-danger" in drawing


def test_axis_marks_are_round_in_both_systems():
    """0 to 800 kg is 0 to 1,763.7 lb: its marks are whole fives of hundreds."""
    scale = axis(0.0, 750.0, "mass", 5)
    assert [mark.at for mark in scale.metric] == [0, 200, 400, 600, 800]
    told = [mark.text.replace("\u202f", "") for mark in scale.imperial]
    assert told == ["0", "500", "1000", "1500"]
    # By hand: 500 lb are 500 times 0.45359237 kg.
    assert scale.imperial[1].at == pytest.approx(226.796185)


def test_fahrenheit_axis_has_tens():
    """-10 to 40 degC is 14 to 104 degF; 20 degF is -6.67 degC."""
    scale = axis(-7, 31, "temperature")
    assert all(float(mark.text) % 10 == 0 for mark in scale.imperial)
    assert scale.imperial[0].at == pytest.approx(-20 / 3)
