"""How high camps lie: as stated, else by the map, else as the cells."""

from __future__ import annotations

import json

import numpy as np
import pytest
from small_trips import climate, leg, saved, trip

from sheltermap.places.ground import camps, extents
from sheltermap.report.night_words import in_words
from sheltermap.report.point import Camp, twelve_months
from sheltermap.trip.inputs import read_inputs

ULUDAG = (40.1, 29.2)
"""Slopes above Bursa: the map's cells near differ by hundreds of metres."""


def camped(folder, text, world=None):
    """Return where a trip of one leg sleeps."""
    inputs = read_inputs(saved(folder, text))
    return camps(inputs, extents(inputs), climate() if world is None else world)


def height(folder, text, world=None):
    """Return how high the camps of a trip of one leg lie."""
    return camped(folder, text, world).ground(0).height


def test_stated_height_has_no_error_of_its_own(tmp_path):
    """The traveller's word wins over the map."""
    one = height(tmp_path, trip(leg("A", ULUDAG, more="camp_elevation_m = 1234.5")))
    assert (one.elevation_m, one.error_m, one.basis, one.words) == (1234.5, None, "stated", "")


def test_unstated_height_of_a_place_is_read_from_the_map(tmp_path):
    """Sirkeci in Istanbul stands on the shore."""
    found = height(tmp_path, trip(leg("A", (41.01, 28.98))))
    assert found.basis == "map"
    assert abs(found.elevation_m - 5) < 2 * found.error_m


def test_temperatures_follow_the_map_with_its_error(tmp_path):
    """By hand: 5.5 K/km inland; in quadrature 1.5 K/km and the map's own error."""
    one = camped(tmp_path, trip(leg("A", ULUDAG)))
    found = one.ground(0).height
    assert found.basis == "map" and found.error_m > 100
    assert found.elevation_m > 500
    beyond = found.elevation_m - 100.0
    np.testing.assert_allclose(one.climate["temperature_correction"], -5.5e-3 * beyond, atol=0.005)
    by_hand = np.hypot(1.5e-3 * beyond, 5.5e-3 * found.error_m)
    np.testing.assert_allclose(
        one.climate["temperature_correction_error"], by_hand, atol=5.5e-3 * 5
    )


def test_each_of_several_camps_has_its_own_height(tmp_path):
    """The shore of Marmara and the high slopes above it; the leg's height lies between."""
    points = "\n[[legs]]\nname = 'P'\npoints = [[40.4, 28.1], [40.1, 29.2]]\nnights = 4\n"
    one = camped(tmp_path, trip(points))
    heights = one.climate["elevation"].values
    assert heights.min() < 200 < 700 < heights.max()
    assert heights.min() < one.ground(0).height.elevation_m < heights.max()


@pytest.mark.parametrize("routed", [True, False])
def test_region_reads_the_map_along_a_route_only(tmp_path, routed):
    """Without a route nobody knows where in a region the camps are: its cells' mean stands."""
    shape = {
        "type": "Polygon",
        "coordinates": [[[28, 39], [31, 39], [31, 41], [28, 41], [28, 39]]],
    }
    way = {"type": "LineString", "coordinates": [[28.0, 39.9], [31.0, 39.9]]}
    for name, geometry in (("regions", shape), ("route", way)):
        feature = {
            "type": "Feature",
            "properties": {"id": "r1", "name": "R"},
            "geometry": geometry,
        }
        collection = {"type": "FeatureCollection", "features": [feature]}
        (tmp_path / f"{name}.geojson").write_text(json.dumps(collection), encoding="utf-8")
    files = '\n[files]\nregions = "regions.geojson"\n' + 'route = "route.geojson"\n' * routed
    high = '\n[[legs]]\nname = "R"\nregion = "r1"\nnights = 4\n'
    one = camped(tmp_path, trip(high, files))
    found = one.ground(0).height
    if routed:
        assert found.basis == "map"
        assert np.unique(one.climate["elevation"]).size > 1
    else:
        assert (found.elevation_m, found.basis) == (100.0, "cells")
        assert "height_corrected" not in one.climate


def test_high_camp_by_the_map_says_what_its_height_rests_on(tmp_path):
    """A height above 2,500 m that nobody stated is named with its error: the Pamir's Murghab."""
    world = climate()
    east = world.assign_coords(longitude=world["longitude"] + 45.0)
    one = camped(tmp_path, trip(leg("A", (38.17, 73.97))), east).ground(0)
    assert one.height.elevation_m == pytest.approx(3650, abs=2 * one.height.error_m)
    (words,) = (words for words in one.cautions if "ascent rule" in words)
    assert f"{one.height.elevation_m:,.0f} m is read from a 5-minute map, within about" in words


def test_night_reads_the_map_unless_told(tmp_path):
    """Kabul's airport is printed at 5,877 ft; in Greenland's ice the cell's own height stands."""
    read = twelve_months(Camp(34.565853, 69.212328), "bedroll")
    assert (read["elevation_basis"], read["elevation_error_m"]) == ("map", 110.0)
    assert abs(read["elevation_m"] - 5877 * 0.3048) < read["elevation_error_m"]
    first = " ".join(" ".join(in_words(read)[:2]).split())
    assert "read from a 5-minute map, within about 110 m two times in three" in first
    told = twelve_months(Camp(34.565853, 69.212328, 1791.0), "bedroll")
    assert (told["elevation_basis"], told["elevation_error_m"]) == ("stated", None)
    ice = twelve_months(Camp(72.0, -40.0), "bedroll")
    assert (ice["elevation_basis"], ice["elevation_error_m"]) == ("cells", None)
    assert ice["elevation_m"] > 2500  # Not the rock, which lies near sea level.


def test_stated_and_read_heights_stand_beside_each_other(tmp_path):
    """Of two legs one is stated: each is corrected to its own height, the stated without error."""
    told = leg("A", ULUDAG, more="camp_elevation_m = 1100")
    inputs = read_inputs(saved(tmp_path, trip(told, leg("B", (38.5, 32.0)))))
    where = camps(inputs, extents(inputs), climate())
    one, other = (where.climate.isel(cell=where.ground(number).cells) for number in (0, 1))
    assert [where.ground(number).height.basis for number in (0, 1)] == ["stated", "map"]
    np.testing.assert_allclose(one["temperature_correction_error"], 1.5)
    np.testing.assert_allclose(other["elevation"], where.ground(1).height.elevation_m, atol=0.51)
