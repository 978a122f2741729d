"""Tests of the signs of places: a panel of places that people know, and highest points."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from climates import whole_world
from sign_places import climate

from sheltermap.hazards.shapes import place_extent, region_extent
from sheltermap.places.camp_height import CampHeight
from sheltermap.places.passes import HighPoint, high_points
from sheltermap.places.signs import _on_top, signs_at
from sheltermap.spans import days_between

# What people there would miss, and what they would laugh at.
PANEL = [
    (
        "Salar de Uyuni",
        (-20.3, -67.4, 3656.0),
        {"thin-air", "frost"},
        {
            "biting-evenings",
            "malaria-climate",
            "dengue-climate",
            "ticks",
            "fire-weather",
            "wet-tracks",
            "snow-on-the-road",
        },
    ),
    (
        "Niamey",
        (13.5, 2.1, None),
        {"heat-by-day", "malaria-climate", "biting-evenings", "fire-weather"},
        {"frost", "snow-on-the-road", "ticks", "thaw-mud", "cold-and-wet"},
    ),
    (
        "Munich",
        (48.14, 11.58, 520.0),
        {"ticks", "frost", "biting-evenings", "cold-and-wet"},
        {
            "malaria-climate",
            "dengue-climate",
            "heat-in-shade",
            "fire-weather",
            "thin-air",
            "thaw-mud",
        },
    ),
    (
        "Saratov",
        (51.5, 46.0, None),
        {"thaw-mud", "snow-on-the-road", "frost", "fire-weather"},
        {"malaria-climate", "dengue-climate", "heat-in-shade", "cloudbursts"},
    ),
    (
        "Wadi Rum",
        (29.6, 35.4, 950.0),
        {"heat-by-day"},
        {
            "biting-evenings",
            "malaria-climate",
            "dengue-climate",
            "ticks",
            "wet-tracks",
            "snow-on-the-road",
            "fire-weather",
        },
    ),
    (
        "Reykjavik",
        (64.13, -21.9, 50.0),
        {"cold-and-wet", "wet-tracks"},
        {"ticks", "malaria-climate", "heat-by-day", "fire-weather", "heavy-days"},
    ),
    (
        "Bangkok",
        (13.75, 100.5, 2.0),
        {"heat-by-day", "heat-in-shade", "biting-evenings", "dengue-climate", "wet-tracks"},
        {"frost", "ticks", "snow-on-the-road", "cold-and-wet", "thaw-mud"},
    ),
    (
        "Tuolumne",
        (37.87, -119.35, 2620.0),
        {"snow-on-the-road", "frost", "thin-air", "fire-weather"},
        {"malaria-climate", "dengue-climate", "heat-in-shade"},
    ),
    (
        "Rome",
        (41.9, 12.5, 30.0),
        {"heat-by-day", "biting-evenings", "fire-weather"},
        {"snow-on-the-road", "malaria-climate", "dengue-climate", "thaw-mud", "heat-in-shade"},
    ),
    (
        "Manaus",
        (-3.1, -60.0, 60.0),
        {"malaria-climate", "dengue-climate", "biting-evenings", "heat-by-day", "heavy-days"},
        {"frost", "ticks", "snow-on-the-road", "cold-and-wet", "thaw-mud"},
    ),
]


@pytest.mark.parametrize(
    ("place", "must", "laughable"), [row[1:] for row in PANEL], ids=[row[0] for row in PANEL]
)
def test_no_sign_that_people_there_would_laugh_at(place, must, laughable):
    """Ten places: what everybody knows is there, and what nobody has seen is not."""
    found = {sign.kind for sign in signs_at(climate(*place), 0.0)}
    assert found >= must and not found & laughable


def test_season_of_the_fire_and_the_thaw_are_where_they_belong():
    """Rome burns in August and not in January; Saratov's roads thaw in April."""
    of = {sign.kind: sign for sign in signs_at(climate(41.9, 12.5, 30.0), 0.0)}
    assert of["fire-weather"].strength_by_day[220] and not of["fire-weather"].strength_by_day[10]
    of = {sign.kind: sign for sign in signs_at(climate(51.5, 46.0), 0.0)}
    april = days_between("04-05", "04-20")
    assert of["thaw-mud"].strength_by_day[april].all()


def test_missing_rain_leaves_signs_out():
    """No rain, no snow and no mud; heat is told all the same."""
    dry = climate(13.5, 2.1).assign(rainfall=lambda data: data["rainfall"] * np.nan)
    found = {sign.kind for sign in signs_at(dry, 0.0)}
    assert "heat-by-day" in found and not found & {"wet-tracks", "malaria-climate"}


def test_signs_of_one_place_have_their_json_form():
    """Kind, strength, spans as MM-DD..MM-DD, words."""
    (snow,) = [
        sign
        for sign in signs_at(climate(37.87, -119.35, 2620.0), 0.0)
        if sign.kind == "snow-on-the-road"
    ]
    record = snow.record
    assert list(record) == ["kind", "strength", "spans", "words"]
    (span,) = record["spans"]
    first, last = span.split("..")
    assert first > "11-01" and last < "06-15"
    assert record["words"].endswith(".") and "2,620 m" in record["words"]


def test_highest_point_of_a_route_and_of_a_region():
    """Over the Alps by the Brenner (1,370 m) and in a box that holds far higher ground."""
    area = shapely.box(11.0, 46.5, 12.0, 47.4)
    road = shapely.LineString([(11.4, 47.3), (11.5, 47.0), (11.6, 46.7)])
    extents = [
        region_extent(area, shapely.MultiLineString([road])),
        place_extent(47.0, 11.5),
        region_extent(area),
    ]
    on_road, nowhere, in_box = high_points(extents, whole_world())
    assert on_road.on_route and not in_box.on_route
    assert 1200 < on_road.elevation_m < in_box.elevation_m
    assert float(on_road.climate["elevation"]) == pytest.approx(on_road.elevation_m)
    assert "the highest point of the route" in on_road.words
    assert float(in_box.climate["elevation"]) == pytest.approx(in_box.elevation_m)
    assert nowhere is None
    assert high_points(extents[1:2], whole_world()) == [None]


def test_sign_on_some_days_is_silent_on_others():
    """Of a stay in July, winter's snow says nothing."""
    (snow,) = [
        sign
        for sign in signs_at(climate(37.87, -119.35, 2620.0), 0.0)
        if sign.kind == "snow-on-the-road"
    ]
    assert snow.on(np.arange(180, 200)) is None
    january = snow.on(np.arange(0, 20))
    assert january.spans == ("01-01..01-20",)
    assert replace(january, strength_by_day=snow.strength_by_day).spans == snow.spans


@pytest.mark.parametrize(
    ("top", "told"), [(699.0, False), (700.0, True), (None, False), (np.nan, True)]
)
def test_a_highest_point_has_a_sign_from_200_metres_above_the_camps_on(top, told):
    """Camps at 500 m, in a winter of -15 degC; where their height is unknown it is looked at."""
    months = climate(51.5, 46.0)
    camps_m, top_m = (np.nan, 900.0) if top is not None and np.isnan(top) else (500.0, top)
    point = None if top is None else HighPoint(51.5, 46.0, top_m, True, months)
    ground = SimpleNamespace(id="a", top=point, height=CampHeight(camps_m, None, "cells"))
    found = _on_top([ground])
    assert list(found) == ["a"] * told
    if told:
        (sign,) = found["a"]
        assert sign.kind == "snow-on-the-pass" and "the highest point of the route" in sign.words
