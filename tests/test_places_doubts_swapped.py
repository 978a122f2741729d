"""Drawn files with latitude first are doubted, and files that are right are not."""

from __future__ import annotations

import json

import pytest
import shapely
from click.testing import CliRunner
from small_trips import leg, saved, trip

from sheltermap.cli import main
from sheltermap.places.doubts import swapped_doubts
from sheltermap.places.ground import extents
from sheltermap.resources import bundled
from sheltermap.trip.inputs import read_inputs

LAKE = (54.0, 22.0)
"""A leg by its place. Written the other way round it lies in Arabia, 4,300 km off."""


def square(latitude, longitude, swapped=False):
    """Return a square of a degree round a place as GeoJSON has it, or with latitude first."""
    box = shapely.box(longitude - 0.5, latitude - 0.5, longitude + 0.5, latitude + 0.5)
    ring = shapely.get_coordinates(box).tolist()
    return {"type": "Polygon", "coordinates": [[p[::-1] for p in ring] if swapped else ring]}


def collection(path, *pairs):
    """Write properties and geometries as a GeoJSON file."""
    features = [
        {"type": "Feature", "properties": properties, "geometry": geometry}
        for properties, geometry in pairs
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))


def doubts(folder, stated, regions=(), hazards=()):
    """Return what is doubted in a trip of stated legs, regions and hazards."""
    named = [({"id": f"r{n}", "name": f"R{n}"}, shape) for n, shape in enumerate(regions)]
    flood = {"kind": "flood", "level": {"June": "serious"}, "source": "x"}
    files = "\n[files]\n"
    if named:
        collection(folder / "r.geojson", *named)
        files += 'regions = "r.geojson"\n'
    if hazards:
        collection(folder / "h.geojson", *((flood, shape) for shape in hazards))
        files += 'hazards = ["h.geojson"]\n'
    legs = [leg(f"P{n}", place) for n, place in enumerate(stated)]
    legs += [
        f'\n[[legs]]\nname = "{p["name"]}"\nregion = "{p["id"]}"\nnights = 4\n' for p, _ in named
    ]
    inputs = read_inputs(saved(folder, trip(*legs, files)))
    return list(swapped_doubts(inputs, extents(inputs)))


def test_a_region_file_with_latitude_first_is_doubted_once(tmp_path):
    """Its regions lie near each other, which must not hide that all of them are elsewhere."""
    regions = [square(54, 24, swapped=True), square(55, 25, swapped=True)]
    (doubt,) = doubts(tmp_path, [LAKE], regions)
    # From 54, 22 to the corner at 25.5, 54.5: hav = sin²(14.25°) + 0.588 · 0.903 · sin²(16.25°)
    # = 0.1021, and 2 · 6,371 km · asin(√0.1021) = 4,145 km.
    assert doubt.startswith("r.geojson: what legs name of it lies 4,145 km from the rest")
    # Swapped back, the nearest edge lies 1.5 degrees east at 54 north: 1.5 * 111.2 * 0.588.
    assert "but 98 km with latitude and longitude swapped" in doubt


def test_one_region_with_latitude_first_is_named(tmp_path):
    """The others tell where the journey is, though no leg states a place."""
    regions = [square(54, 22), square(55, 25), square(54, 24, swapped=True)]
    (doubt,) = doubts(tmp_path, [], regions)
    assert doubt.startswith("r.geojson: region 'r2' lies")


def test_a_hazard_file_with_latitude_first_is_doubted(tmp_path):
    """Else the hazard threatens nobody, and the leg reads as safe as if it were looked at."""
    (doubt,) = doubts(tmp_path, [LAKE], hazards=[square(*LAKE, swapped=True)])
    assert doubt.startswith("h.geojson: the nearest of it lies") and "but 0 km with" in doubt


@pytest.mark.parametrize("swapped", [False, True])
def test_hazards_are_held_against_regions_as_they_are_meant(tmp_path, swapped):
    """A hazard file with the slip of the region file is near it, and wrong all the same."""
    regions, hazards = [square(54, 24, swapped=True)], [square(55, 25, swapped=swapped)]
    found = doubts(tmp_path, [LAKE], regions, hazards)
    assert [doubt.partition(":")[0] for doubt in found] == ["r.geojson", "h.geojson"][
        : 1 + swapped
    ]


@pytest.mark.parametrize(
    ("place", "regions", "hazards"),
    [
        (LAKE, [square(54, 24)], [square(54, 23)]),
        (LAKE, [square(-20, 15)], [square(-21, 16)]),
        ((54.0, -156.0), [square(24, 126)], []),  # Where 126 north would be, beyond the pole.
        (LAKE, [square(54, 24)], [square(22, 54), square(54, 23)]),
        ((45.0, 35.0), [square(30, 50)], []),
        ((35.0, 25.0), [square(25, 35)], []),
        (LAKE, [], []),
    ],
    ids=[
        "near",
        "another continent, swapped in the Atlantic",
        "longitudes no latitude can have",
        "a layer of many countries",
        "2,100 km off, 600 km if swapped",
        "1,400 km off, none if swapped",
        "nothing drawn",
    ],
)
def test_what_may_well_be_meant_is_not_doubted(tmp_path, place, regions, hazards):
    """Legs by ship and world-wide layers are common."""
    assert doubts(tmp_path, [place], regions, hazards) == []


def test_check_tells_it_and_the_bundled_journeys_are_not_doubted(tmp_path):
    """Where people look first, and where nothing is wrong."""
    folder = tmp_path
    doubts(folder, [LAKE], [square(54, 24, swapped=True)])
    result = CliRunner().invoke(main, ["check", str(folder / "trip.toml")])
    assert result.exit_code == 0 and "Look again: r.geojson" in result.stderr
    journeys = [path.parent for path in bundled("regions").glob("*/trip.toml")]
    assert journeys
    for journey in journeys:
        inputs = read_inputs(journey)
        assert list(swapped_doubts(inputs, extents(inputs))) == []
