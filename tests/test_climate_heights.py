"""The embedded heights against heights in print, and the reader's own promises."""

import csv
from pathlib import Path

import numpy as np
import pytest
import shapely
import xarray as xr
from climates import whole_world
from published_tables import published

from sheltermap.climate.heights import along, height_map, heights_at, highest, within

FOOT = 0.3048
AIRPORTS = Path(__file__).parent / "published" / "airport_heights.csv"


@pytest.fixture(scope="module")
def airports():
    """Return the airports' printed heights, beside the map's."""
    with AIRPORTS.open(encoding="utf-8") as file:
        rows = [
            [float(row[key]) for key in ("latitude", "longitude", "elevation_ft")]
            for row in csv.DictReader(file)
        ]
    latitude, longitude, feet = np.array(rows).T
    found = heights_at(latitude, longitude).assign_coords(
        latitude=("dim_0", latitude), longitude=("dim_0", longitude)
    )
    found["printed"] = ("dim_0", feet * FOOT)
    known = found.dropna("dim_0")
    assert known.sizes["dim_0"] > 0.97 * len(rows)
    return known


def _rmse(error):
    return float(np.sqrt((error**2).mean()))


def test_the_map_is_the_one_pvlib_reads():
    """Cells have the heights that pvlib's own function gives there."""
    for latitude, longitude, height in published("climate_sources", "height_map")["places"]:
        box = height_map(longitude, latitude, longitude, latitude)
        cell = box.sel(latitude=latitude, longitude=longitude, method="nearest")
        assert float(cell) == height


def test_the_stated_error_holds_at_airports_two_times_in_three(airports):
    """At airports in steep country and in flat, no more and hardly less."""
    least, most = published("climate_sources", "airport_heights")["covered"]
    missed = np.abs(airports["camp_elevation"] - airports["printed"])
    held = missed < airports["camp_elevation_error"]
    assert least < float(held.mean()) < most
    for steep in (airports["relief"] > 60, airports["relief"] <= 60):
        assert least - 0.05 < float(held[steep].mean()) < most + 0.05


def test_camps_lie_nearer_to_airports_than_the_map_and_the_climate_cell(airports):
    """Half the relief below the map is nearer, most of all where it is steep."""
    error = airports["camp_elevation"] - airports["printed"]
    map_error = airports["elevation"] - airports["printed"]
    cell = whole_world()["elevation"].sel(
        latitude=airports["latitude"], longitude=airports["longitude"], method="nearest"
    )
    cell_error = (cell - airports["printed"]).dropna("dim_0")
    # CLIMATOLOGY figures at 14,306 airports: 142 m for the nearest cell, 252 for the climate's.
    assert _rmse(error) < _rmse(map_error) < 0.8 * _rmse(cell_error)
    steep = airports["relief"] > 100
    assert float(map_error[steep].mean()) > 100
    assert abs(float(error[steep].mean())) < 0.6 * float(map_error[steep].mean())


def test_no_height_at_sea_nor_under_ice():
    """Greenland's bedrock, Antarctica, the open sea and the North Pole are missing."""
    found = heights_at(np.array([72.0, -75.0, 30.0, 89.99]), np.array([-40.0, 0.0, -30.0, 0.0]))
    assert found.isnull().to_array().all()


def test_land_far_below_the_sea_is_kept():
    """The Dead Sea's shore, printed at about 430 m below the sea, and the basin of Turfan."""
    found = heights_at(np.array([31.5, 42.7]), np.array([35.48, 89.2]))["elevation"]
    assert float(found[0]) < -250
    assert float(found[1]) < -100


def test_heights_run_on_across_the_180th_meridian():
    """A place on the meridian lies between the cells of both sides, named either way."""
    east, west = heights_at(67.46, 180.0), heights_at(67.46, -180.0)
    xr.testing.assert_identical(east, west)
    sides = height_map(179.99, 67.4, -179.99, 67.5)
    assert {-180, 179} <= set(np.floor(sides["longitude"].values))
    assert float(sides.min()) <= float(east["elevation"]) <= float(sides.max())


def test_a_height_between_cells_is_linear():
    """Halfway between two centres lies the mean of both cells; on a centre, the cell's own."""
    box = height_map(10.0, 46.0, 10.2, 46.2)
    row, column = box["latitude"][1], box["longitude"][1:3]
    left, right = (float(box.sel(latitude=row, longitude=each)) for each in column)
    assert left != right
    found = heights_at(float(row), np.array([*column, column.mean()]))
    np.testing.assert_allclose(found["elevation"], [left, right, (left + right) / 2], atol=0.01)


def test_dimensions_follow_the_positions():
    """Scalars, arrays and named arrays come back in their own shape."""
    named = xr.DataArray([46.0, 47.0], dims="cell")
    assert heights_at(46.0, 8.0)["elevation"].dims == ()
    assert heights_at(named, named * 0 + 8.0)["camp_elevation"].dims == ("cell",)
    grid = heights_at(named, xr.DataArray([7.0, 8.0, 9.0], dims="longitude"))
    assert dict(grid.sizes) == {"cell": 2, "longitude": 3}


def test_the_highest_place_of_a_line_and_of_an_area():
    """A road over the Furka pass climbs to its cells; the Everest's box holds 6,550 m of ice."""
    road = shapely.LineString([(8.30, 46.53), (8.415, 46.57), (8.60, 46.64)])
    crest = highest(*along(road))
    ends = heights_at(np.array([46.53, 46.64]), np.array([8.30, 8.60]))["elevation"]
    assert float(crest["elevation"]) >= float(ends.max())
    # swisstopo prints 2,429 m for the Furka pass.
    assert abs(float(crest["elevation"]) - 2429) < 2 * float(crest["relief"])
    box = shapely.box(86.0, 27.5, 87.5, 28.5)
    top = highest(*within(box))
    assert box.contains(shapely.Point(float(top["longitude"]), float(top["latitude"])))
    assert float(top["elevation"]) == float(height_map(86.05, 27.55, 87.45, 28.45).max())


def test_an_area_smaller_than_a_cell_still_has_a_place():
    """A tiny polygon stands for the point in its middle."""
    latitude, longitude = within(shapely.box(8.0, 46.0, 8.001, 46.001))
    np.testing.assert_allclose([latitude[0], longitude[0]], [46.0005, 8.0005])
