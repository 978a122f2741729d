"""Camps far off their country's height and places in the open sea are doubted, others not."""

from __future__ import annotations

import numpy as np
import pytest
from click.testing import CliRunner
from small_trips import LATITUDE, LONGITUDE, climate, leg, saved, trip

from sheltermap.cli import main
from sheltermap.places.doubts import surrounding_doubts
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
