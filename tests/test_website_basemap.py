"""The base map that ships: land where there is land, and names as they are today."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest
import shapely
from shapely.geometry import shape

from sheltermap.website.basemap import clipped, positions, shipped, surroundings

_FILE = Path(__file__).parents[1] / "regions" / "world" / "basemap.json"


@cache
def layer(name: str) -> list[tuple[str, shapely.Geometry]]:
    """Return a layer of the shipped base map: name and shape of each feature."""
    features = json.loads(_FILE.read_text(encoding="utf-8"))[name]["features"]
    return [(one["properties"].get("name", ""), shape(one["geometry"])) for one in features]


# Longitude, latitude and owner, from any atlas: open seas and far inland, at the latitudes
# of the islands that the 180th meridian cuts.
PLACES = [
    (0.0, 71.2, set()),  # Norwegian Sea
    (-30.0, -16.5, set()),  # South Atlantic
    (-100.0, -16.5, set()),  # South Pacific
    (-55.0, -16.5, {"Brazil"}),
    (130.0, -16.5, {"Australia"}),
    (26.0, 69.8, {"Norway"}),
    (-150.0, 69.0, {"United States of America"}),
    (179.0, 67.5, {"Russia"}),
    (-175.0, 67.0, {"Russia"}),
    (-179.5, 71.2, {"Russia"}),  # Wrangel Island
    (178.0, -17.8, {"Fiji"}),
]


@pytest.mark.parametrize(("longitude", "latitude", "owners"), PLACES)
def test_no_country_reaches_round_the_world(longitude, latitude, owners):
    """A shape across the 180th meridian is cut there, not drawn through all the others."""
    point = shapely.Point(longitude, latitude)
    assert {name for name, one in layer("countries") if one.contains(point)} == owners


def test_renamed_towns_have_their_present_names():
    """Astana took its former name back on 17 September 2022 (decree of the president)."""
    towns = {name for name, _ in layer("places")}
    assert "Astana" in towns
    assert "Nur-Sultan" not in towns


@pytest.mark.parametrize("box", [(36.0, 25.0, 52.0, 85.0), (-20.0, 176.0, -12.0, 180.0)])
def test_what_lies_elsewhere_is_dropped_unseen(box):
    """Leaving shapes out while they are read gives what cutting the whole world gives."""
    whole = json.loads(_FILE.read_text(encoding="utf-8"))
    assert shipped(box) == clipped(whole, box)
    assert shipped(box)["countries"]["features"]


def test_what_only_touches_the_window_is_left_out():
    """By hand: a window from 0 to 10 degrees, its right edge touched by a side and by a tip.

    The third area lies in it with one of its two parts.
    """
    side = [[10, 1], [12, 1], [12, 3], [10, 3], [10, 1]]
    tip = [[10, 6], [12, 5], [12, 7], [10, 6]]
    inside = [[1, 1], [2, 1], [2, 2], [1, 1]]
    areas = {"touches": [[side], [tip]], "a side": [[side]], "reaches": [[inside], [side]]}
    features = [
        {
            "type": "Feature",
            "properties": {"name": name},
            "geometry": {"type": "MultiPolygon", "coordinates": parts},
        }
        for name, parts in areas.items()
    ]
    found = clipped({"lakes": {"features": features}}, (0.0, 0.0, 10.0, 10.0))
    (kept,) = found["lakes"]["features"]
    assert kept["properties"]["name"] == "reaches"
    assert shape(kept["geometry"]).equals(shapely.Polygon(inside))


def test_features_without_a_shape_or_a_name_do_no_harm():
    """GeoJSON lets geometry and properties be null (RFC 7946, section 3.2); two decimals stay."""
    point = {"type": "Point", "coordinates": [5.004, 6.006]}
    features = [
        {"type": "Feature", "geometry": None, "properties": {"name": "nowhere"}},
        {"type": "Feature", "geometry": point, "properties": None},
        {"type": "Feature", "geometry": point, "properties": {"name": None}},
        {"type": "Feature", "geometry": point, "properties": {"name": "here", "other": 1}},
    ]
    found = clipped({"places": {"features": features}}, (0.0, 0.0, 10.0, 10.0))
    assert [
        (one["properties"], one["geometry"]["coordinates"]) for one in found["places"]["features"]
    ] == [
        ({"name": ""}, [5.0, 6.01]),
        ({"name": ""}, [5.0, 6.01]),
        ({"name": "here"}, [5.0, 6.01]),
    ]
    assert list(found) == ["places"]


def test_an_outline_that_crosses_itself_keeps_both_its_halves():
    """By hand: two triangles that meet at (2, 2), each of base 2 and height 1, have area 2."""
    bow = [[1, 1], [3, 3], [3, 1], [1, 3], [1, 1]]
    lake = {
        "type": "Feature",
        "properties": {"name": "bow"},
        "geometry": {"type": "Polygon", "coordinates": [bow]},
    }
    (kept,) = clipped({"lakes": {"features": [lake]}}, (0.0, 0.0, 10.0, 10.0))["lakes"]["features"]
    assert shape(kept["geometry"]).area == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("coordinates", "expected"),
    [
        ([1.5, 2.5], [[1.5, 2.5]]),
        ([1, 2, 300], [[1, 2, 300]]),
        ([], []),
        ([[1, 2], [3, 4]], [[1, 2], [3, 4]]),
        ([[[1, 2], [3, 4]], [[5, 6]]], [[1, 2], [3, 4], [5, 6]]),
        ([[[[1, 2]]], [[]], [[[3, 4]]]], [[1, 2], [3, 4]]),
    ],
)
def test_positions_of_every_kind_of_shape(coordinates, expected):
    """A point, one with a height, nothing, a line, an area, and areas of which one is empty."""
    assert positions(coordinates) == expected


def test_surroundings_are_four_degrees_more_on_each_side():
    """By hand, away from the edges of a web map and at each of them."""
    assert surroundings((10.0, 20.0, 30.0, 40.0)) == (6.0, 16.0, 34.0, 44.0)
    assert surroundings((-84.0, -179.0, 84.0, 179.0)) == (-85.0, -180.0, 85.0, 180.0)
