"""Camps far off their country's height and places in the open sea are doubted, others not."""

from __future__ import annotations

import json

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from small_trips import LATITUDE, LONGITUDE, climate, leg, saved, trip

from sheltermap.cli import main
from sheltermap.places.doubts import (
    _doubts,
    _kilometres,
    _landless,
    _middles,
    off_route_doubts,
    surrounding_doubts,
)
from sheltermap.places.ground import camps, extents
from sheltermap.trip.inputs import read_inputs

HILLY = np.full((LATITUDE.size, LONGITUDE.size), 2100.0)
HILLY[4, 7] = 2300.0
"""One cell of 2,300 m at 40.0 north, 29.5 east, in a plateau of 2,100 m."""

CASPIAN = (42.0, 50.5)
"""Open water: the coasts lie 150 km off on both sides."""


def doubts(folder, climatology, *parts):
    """Return what is doubted in the country around the legs of a trip."""
    inputs = read_inputs(saved(folder, trip(*parts, departure="from_elevation_m = 2700")))
    where = camps(inputs, extents(inputs), climatology)
    return [
        tuple(surrounding_doubts(leg, one.extent, one.footprint, climatology))
        for leg, one in zip(where.legs, where.by_leg(where.grounds), strict=True)
    ]


def ran(command, path, *more):
    """Return the result of a command on a trip."""
    return CliRunner().invoke(main, [command, str(path), *map(str, more)])


@pytest.mark.parametrize(
    ("camp", "doubted"),
    [(0, True), (1199, True), (1200, False), (2100, False), (3200, False), (3201, True)],
)
def test_camps_beyond_any_likely_relief_are_doubted(tmp_path, camp, doubted):
    """Cells lie at 2,100 to 2,300 m: 500 m and twice the 200 m beyond them are 1,200, 3,200 m."""
    high = leg("High", more=f"camp_elevation_m = {camp}\n", nights="[30, 40, 60]")
    (found,) = doubts(tmp_path, climate(height=HILLY), high)
    assert bool(found) is doubted
    assert all(f"lie at {camp:,} m" in doubt and "2,100 to 2,300 m" in doubt for doubt in found)


def test_heights_nobody_knows_doubt_nothing(tmp_path):
    """A climatology of one's own may lack them."""
    high = leg("High", more="camp_elevation_m = 2400")
    assert doubts(tmp_path, climate(height=np.nan), high) == [()]


@pytest.mark.parametrize(("latitude", "doubted"), [(40.67, False), (40.68, True)])
def test_coordinates_without_land_near_are_doubted(tmp_path, latitude, doubted):
    """The one cell with land lies at 40 north: 0.67 degrees are 74.5 km, 0.68 are 75.6 km."""
    land = np.zeros_like(HILLY)
    land[4, 6] = 0.01
    sea = climate().assign(land_fraction=(("latitude", "longitude"), land))
    shore, off = leg("Shore"), leg("Off", (latitude, 29.0))
    for order in ((shore, off), (off, shore)):
        found = [doubt for of_leg in doubts(tmp_path, sea, *order) for doubt in of_leg]
        assert len(found) == doubted
        assert all(
            doubt.startswith("Off: ") and "no land within 75 km" in doubt for doubt in found
        )


def test_each_of_several_points_is_looked_at(tmp_path):
    """A good point must not hide the one in the sea."""
    land = np.where(LONGITUDE < 29.0, 1.0, 0.0) * np.ones_like(HILLY)
    coast = climate().assign(land_fraction=(("latitude", "longitude"), land))
    legs = '\n[[legs]]\nname = "Both"\npoints = [[40, 28], [41, 32]]\nnights = 4\n'
    (found,) = doubts(tmp_path, coast, legs)
    assert len(found) == 1 and "41, 32" in found[0]


def test_check_doubts_the_first_leg_and_passes(tmp_path):
    """The embedded data know where land is; a doubt is no problem."""
    lost = leg("Lost", CASPIAN, more="camp_elevation_m = 1900")
    path = saved(tmp_path, trip(lost, leg("Uludag", more="camp_elevation_m = 2499")))
    result = ran("check", path)
    assert result.exit_code == 0 and "no problem found" in result.stdout
    looked_at = [line for line in result.stderr.splitlines() if line.startswith("Look again: ")]
    assert len(looked_at) == 1 and "Lost: the climate data know no land" in looked_at[0]


def test_a_height_in_feet_is_doubted_by_check_and_depart(tmp_path):
    """The plain near 46.5 north, 20.2 east lies at 80 m; 1,640 is its 500 m in feet."""
    feet = leg("Plain", (46.5, 20.2), more="camp_elevation_m = 1640")
    path = saved(tmp_path, trip(feet))
    for command in ("check", "depart"):
        assert "Look again: Plain: its camps lie at 1,640 m" in ran(command, path).stderr


@pytest.mark.parametrize(
    ("place", "camp"),
    [
        ((23.07, 57.67), 2000),
        ((24.14, 121.27), 3000),
        ((28.22, -16.6), 2100),
        ((4.47, 101.4), 1450),
    ],
    ids=["Jebel Akhdar", "Hehuan", "Canadas del Teide", "Cameron Highlands"],
)
def test_camps_on_mountain_roads_are_not_doubted(tmp_path, place, camp):
    """Heights from general knowledge, of roads that people sleep beside."""
    high = leg("High", place, nights="9", more=f"camp_elevation_m = {camp}")
    home = f"from_elevation_m = {camp}"
    result = ran("check", saved(tmp_path, trip(high, departure=home)))
    assert result.exit_code == 0 and "Look again" not in result.stderr


def doubted(box, places):
    """Return whether a box is doubted beside places, latitude first."""
    found = list(_doubts("It lies", np.array([box], float), np.array(places, float)))
    assert len(found) < 2
    return found[0] if found else ""


@pytest.mark.parametrize(("off", "doubt"), [(9.5, False), (9.6, True)])
def test_what_lies_1500_km_off_is_far(off, doubt):
    """From (0, a) to (a, 0) by the cosine of a in square: 1,491 and 1,506 km; swapped none."""
    assert bool(doubted((off, 0, off, 0), [(off, 0)])) is doubt


@pytest.mark.parametrize(("beside", "doubt"), [(6.3, True), (6.5, False)])
def test_what_is_four_times_nearer_if_swapped_is_doubted(beside, doubt):
    """From (0, 20) to (20, b) over b at 20 north: 2,678 over 658 km, 2,665 over 679 km."""
    said = doubted((20, 0, 20, 0), [(20, beside)])
    assert bool(said) is doubt
    if doubt:
        assert "2,678 km from the rest of the journey, but 658 km with" in said


@pytest.mark.parametrize(("east", "doubt"), [(90.0, True), (90.5, False)])
def test_a_longitude_beyond_90_was_no_latitude(east, doubt):
    """On either edge of a box; nothing is doubted where there is nothing to compare."""
    assert bool(doubted((88, 10, east, 12), [(90, 11)])) is doubt
    assert bool(doubted((-east, 10, -88, 12), [(-90, 11)])) is doubt
    assert list(_doubts("It lies", np.empty((0, 4)), np.zeros((1, 2)))) == []
    assert list(_doubts("It lies", np.zeros((1, 4)), np.empty((0, 2)))) == []


def test_the_way_to_a_box_is_to_its_nearest_edge():
    """From 12 north, 5 east to a box up to 10 north, 5 east in it: 2 degrees, 222.4 km."""
    boxes = np.array([[0.0, 0.0, 20.0, 10.0], [40.0, 40.0, 41.0, 41.0]])
    assert _kilometres(boxes[:1], np.array([[12.0, 5.0]])) == pytest.approx(222.39, abs=0.01)
    assert _kilometres(boxes[:1], np.array([[5.0, 7.0]])) == 0.0
    # On the equator, 3 degrees east of it; of two places and two boxes the nearest count.
    places = np.array([[0.0, 23.0], [80.0, 100.0]])
    assert _kilometres(boxes[:1], places) == pytest.approx(333.58, abs=0.01)


def test_middles_of_boxes_have_latitude_first():
    """West, south, east, north of 10, 40, 20, 44."""
    assert _middles(np.array([[10.0, 40.0, 20.0, 44.0]])).tolist() == [[42.0, 15.0]]


@pytest.mark.parametrize(
    ("shares", "landless"),
    [
        ([0.0, 0.0], True),
        ([0.0, 0.01], False),
        ([np.nan, 0.0], True),
        ([np.nan], False),
        ([], False),
    ],
)
def test_no_land_is_known_where_all_known_shares_are_nought(shares, landless):
    """Where nothing is known nothing is doubted."""
    assert _landless(np.array(shares)) is landless


def test_a_region_on_water_is_doubted(tmp_path):
    """All of it; one cell with land is enough."""
    land = np.zeros_like(HILLY)
    land[(LATITUDE == 40.0), :] = 0.2
    sea = climate().assign(land_fraction=(("latitude", "longitude"), land))
    for south, doubt in ((41.0, True), (39.5, False)):
        box = shapely.box(28, south, 29, 42).__geo_interface__
        feature = {"type": "Feature", "properties": {"id": "r", "name": "R"}, "geometry": box}
        collection = {"type": "FeatureCollection", "features": [feature]}
        (tmp_path / "r.geojson").write_text(json.dumps(collection), encoding="utf-8")
        lake = '\n[[legs]]\nname = "Lake"\nregion = "r"\nnights = 4\n'
        (found,) = doubts(tmp_path, sea, lake, '\n[files]\nregions = "r.geojson"\n')
        assert [said.partition(". ")[0] for said in found] == [
            "Lake: the climate data know no land in its region"
        ] * doubt


def test_the_route_line_is_not_asked_for_in_a_free_order(tmp_path):
    """Nor where there is none; else each leg without kilometres is told."""
    line = {"type": "LineString", "coordinates": [[28, 40], [30, 40]]}
    route = {"type": "FeatureCollection", "features": [{"type": "Feature", "geometry": line}]}
    (tmp_path / "r.geojson").write_text(json.dumps(route), encoding="utf-8")
    drawn = '\n[files]\nroute = "r.geojson"\n'
    for parts, departure, told in (
        ((drawn,), "", ["Off"]), ((drawn,), 'order = "free"', []), ((), "", []),
    ):  # fmt: skip
        text = trip(leg("On"), leg("Off", (42.0, 29.0)), *parts, departure=departure)
        inputs = read_inputs(saved(tmp_path, text))
        legs = camps(inputs, extents(inputs), climate()).legs
        found = [said.partition(":")[0] for said in off_route_doubts(inputs, legs)]
        assert found == told
