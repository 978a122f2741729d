"""Tests of footprints and of what holds across them.

Hand-made grids have cells of one degree, so that covered parts can be read off; areas of
cells are sines of their edges, worked out beside them.
"""

import json

import numpy as np
import pytest
import shapely
import xarray as xr
from shapely.affinity import rotate

from sheltermap.hazards.layers import read_regions
from sheltermap.hazards.shapes import boxes, place_extent, points_extent, region_extent
from sheltermap.places import grid
from sheltermap.places.cells import (
    cells,
    footprints,
    grade_shares,
    weighted_mean,
    weighted_quantile,
)
from sheltermap.vocabulary import InputError

# Rows of cells from -1.5 to -0.5, -0.5 to 0.5 and 0.5 to 1.5 degrees, one degree wide.
OUTER = np.sin(np.radians(1.5)) - np.sin(np.radians(0.5))
MIDDLE = 2 * np.sin(np.radians(0.5))
ROWS = np.array([OUTER, MIDDLE, OUTER])[:, None]


def climatology(latitude, longitude, missing=()):
    """Return a climatology in which every cell has its own temperature."""
    shape = (12, len(latitude), len(longitude))
    values = np.arange(np.prod(shape), dtype=float).reshape(shape)
    for row, column in missing:
        values[:, row, column] = np.nan
    dims = ("month", "latitude", "longitude")
    coords = {"month": range(1, 13), "latitude": list(latitude), "longitude": list(longitude)}
    return xr.Dataset(
        {
            "air_temperature": (dims, values),
            "rainfall": (dims, np.ones(shape)),
            "vapour_pressure": (dims, np.ones(shape)),
        },
        coords,
    )


SMALL = climatology([-1.0, 0.0, 1.0], [9.0, 10.0, 11.0])
GLOBE = climatology(np.arange(-75.0, 90.0, 30.0), np.arange(-180.0, 180.0, 30.0))


def grid_weights(footprint):
    """Return a footprint's weights as a grid."""
    grid = np.zeros(footprint.grid_shape)
    np.add.at(grid, (footprint.latitude_index, footprint.longitude_index), footprint.weight)
    return grid


def weights_of(shape, dataset=SMALL):
    """Return the weights of a region as a grid."""
    return grid_weights(footprints(dataset, [region_extent(shape)])[0])


# Covered part of each cell, south row first.
QUARTERS = [[0.25, 0.5, 0.25], [0.5, 1.0, 0.5], [0.25, 0.5, 0.25]]
KNOWN = {
    "a quarter of one cell": (shapely.box(8.5, -1.5, 9, -1), [[0.25, 0, 0], [0] * 3, [0] * 3]),
    "half of two cells": (shapely.box(9, -0.5, 10, 0.5), [[0] * 3, [0.5, 0.5, 0], [0] * 3]),
    "quarters, halves and a whole": (shapely.box(9, -1, 11, 1), QUARTERS),
    "all cells": (shapely.box(8.5, -1.5, 11.5, 1.5), [[1] * 3] * 3),
    "a hole over the middle cell": (
        shapely.box(8.5, -1.5, 11.5, 1.5) - shapely.box(9.5, -0.5, 10.5, 0.5),
        [[1, 1, 1], [1, 0, 1], [1, 1, 1]],
    ),
    "two parts": (
        shapely.union_all([shapely.box(8.5, -1.5, 9, -1), shapely.box(11, 1, 11.5, 1.5)]),
        [[0.25, 0, 0], [0] * 3, [0, 0, 0.25]],
    ),
    "a triangle, half a cell": (
        shapely.Polygon([(9.5, -0.5), (10.5, -0.5), (10.5, 0.5)]),
        [[0] * 3, [0, 0.5, 0], [0] * 3],
    ),
    "far smaller than a cell": (
        shapely.box(10.1, 0.1, 10.1001, 0.1001),
        [[0] * 3, [0, 1e-8, 0], [0] * 3],
    ),
}


@pytest.mark.parametrize("name", KNOWN)
def test_known_overlaps(name):
    """Weights are covered parts times the area of cells on the sphere."""
    shape, covered = KNOWN[name]
    expected = np.array(covered) * ROWS
    np.testing.assert_allclose(weights_of(shape), expected / expected.sum(), rtol=1e-6)


def test_cells_on_both_sides_of_the_antimeridian():
    """On nodes 30 degrees apart, the cell at 180 reaches from 165 to 195.

    From 160 to 200 that is 5, 30 and 5 degrees of three cells of one row.
    """
    weights = weights_of(boxes((160, -30, -160, 0)), GLOBE)
    assert weights[2, [11, 0, 1]] == pytest.approx([0.125, 0.75, 0.125])
    assert weights.sum() == pytest.approx(1)


def test_drawn_ring_over_the_antimeridian(tmp_path):
    """The same square, read from a file whose longitudes jump from 160 to -160."""
    ring = [[160, -30], [-160, -30], [-160, 0], [160, 0], [160, -30]]
    feature = {
        "type": "Feature",
        "properties": {"id": "a", "name": "A"},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }
    path = tmp_path / "regions.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    drawn = read_regions(path).geometry[0]
    np.testing.assert_allclose(
        weights_of(drawn, GLOBE), weights_of(boxes((160, -30, -160, 0)), GLOBE)
    )


def test_cells_without_climate_are_dropped_and_said():
    """Of four quarters round a corner one is sea: a quarter of the region, about."""
    sea = climatology([-1.0, 0.0, 1.0], [9.0, 10.0, 11.0], missing=[(0, 0)])
    (footprint,) = footprints(sea, [region_extent(shapely.box(9, -1, 10, 0))])
    assert footprint.dropped_share == pytest.approx(OUTER / (2 * OUTER + 2 * MIDDLE), rel=1e-6)
    assert footprint.weight.sum() == pytest.approx(1) and footprint.weight.size == 3


def test_part_beyond_the_grid_is_said():
    """Half of the square lies east of the grid."""
    (footprint,) = footprints(SMALL, [region_extent(shapely.box(10.5, -0.5, 12.5, 0.5))])
    assert footprint.dropped_share == pytest.approx(0.5, rel=1e-4)


def test_region_without_climate_is_refused_with_its_place():
    """All such regions at once, each with its key."""
    extents = [region_extent(shapely.box(x, 40, x + 1, 41)) for x in (20, 10, 30)]
    with pytest.raises(InputError, match="swapped") as caught:
        footprints(SMALL, extents, "trip.toml", ["legs[1]", "legs[2]", "legs[3]"])
    assert [problem.key for problem in caught.value.problems] == ["legs[1]", "legs[2]", "legs[3]"]
    assert "latitude 40.50, longitude 20.50" in caught.value.problems[0].got


def test_route_counts_the_cells_along_it():
    """From 9 to 11 on the equator: half a cell, a whole, half a cell."""
    route = shapely.LineString([(0, 0), (9, 0), (11, 0)])
    extent = region_extent(shapely.box(9, -1.5, 11, 1.5), route)
    (footprint,) = footprints(SMALL, [extent])
    expected = np.zeros((3, 3))
    expected[1] = [0.25, 0.5, 0.25]
    assert footprint.kind == "line"
    np.testing.assert_allclose(grid_weights(footprint), expected, atol=1e-9)


def test_diagonal_route_against_shapely():
    """Lengths in each cell agree with clipping the line by every cell."""
    route = shapely.LineString([(8.7, -1.3), (10.2, 0.9), (11.4, -0.2), (9.1, -0.4)])
    (footprint,) = footprints(SMALL, [region_extent(shapely.box(8, -2, 12, 2), route)])
    clipped = [
        [
            route.intersection(shapely.box(x - 0.5, y - 0.5, x + 0.5, y + 0.5)).length
            for x in (9, 10, 11)
        ]
        for y in (-1, 0, 1)
    ]
    expected = np.array(clipped) / route.length
    # Near the equator a degree is as long east as north, within 0.7 %.
    np.testing.assert_allclose(grid_weights(footprint), expected, atol=0.003)


def test_short_stretch_of_route_leaves_the_area():
    """A route that only touches the region says nothing of its camps."""
    route = shapely.LineString([(8, -1.5), (9.001, -1.499)])
    (footprint,) = footprints(SMALL, [region_extent(shapely.box(9, -1.5, 11, 1.5), route)])
    assert footprint.kind == "region"


def test_points_count_the_same():
    """Two places, one of them over two cells: half a leg each."""
    (footprint,) = footprints(SMALL, [points_extent([(0, 9), (0, 10.5)])])
    np.testing.assert_allclose(grid_weights(footprint)[1], [0.5, 0.25, 0.25], rtol=1e-3)
    (place,) = footprints(SMALL, [place_extent(0, 10)])
    assert place.kind == "place" and grid_weights(place)[1, 1] == pytest.approx(1)


def test_point_at_sea_is_half_of_two():
    """One of two points has no climate: half the leg is dropped, and said."""
    sea = climatology([-1.0, 0.0, 1.0], [9.0, 10.0, 11.0], missing=[(1, 0)])
    (footprint,) = footprints(sea, [points_extent([(0, 9), (0, 11)])])
    assert footprint.dropped_share == pytest.approx(0.5)
    assert footprint.longitude.tolist() == [11.0]


def test_poles_do_not_count_twice():
    """A node on the pole has half a cell: its cap is 1 - sin 75° of the hemisphere."""
    polar = climatology([30.0, 60.0, 90.0], np.arange(-180.0, 180.0, 30.0))
    weights = weights_of(shapely.box(-180, 45, 180, 90), polar)
    cap = (1 - np.sin(np.radians(75))) / (1 - np.sin(np.radians(45)))
    assert weights[2].sum() == pytest.approx(cap)


def test_fifty_random_polygons_agree_with_shapely():
    """Weights against intersecting each polygon with each cell, holes and parts included."""
    rng = np.random.default_rng(20)
    latitude, longitude = np.arange(30.0, 50.0), np.arange(0.0, 20.0)
    dataset = climatology(latitude, longitude)
    x, y = np.meshgrid(longitude, latitude)
    boxed = shapely.box(x - 0.5, y - 0.5, x + 0.5, y + 0.5)
    area = np.sin(np.radians(y + 0.5)) - np.sin(np.radians(y - 0.5))
    for number in range(50):
        shape = _random_polygon(rng, number)
        expected = shapely.area(shapely.intersection(boxed, shape)) * area
        np.testing.assert_allclose(
            weights_of(shape, dataset), expected / expected.sum(), atol=1e-9, err_msg=str(number)
        )


def _random_polygon(rng, number):
    """Return a star, some with a hole, some with a second part, some below a cell's size."""
    size = 10 ** rng.uniform(-1, 0.8)
    angle = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(5, 40)))
    radius = size * rng.uniform(0.4, 1.0, angle.size)
    centre = rng.uniform([6, 36], [13, 43])
    star = shapely.Polygon(
        centre + np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    )
    star = star.buffer(0)
    if number % 3 == 0:
        star = star - shapely.Point(centre).buffer(size * 0.2)
    if number % 4 == 0:
        star = star | rotate(shapely.box(1, 31, 1 + size / 8, 31 + size / 4), 30)
    return star


def test_cells_carry_their_weight():
    """Dim cell in place of the grid's, coordinates along it."""
    (footprint,) = footprints(SMALL, [region_extent(shapely.box(9, -1, 11, 1))])
    chosen = cells(SMALL, [footprint])
    assert chosen.air_temperature.dims == ("month", "cell")
    assert chosen.weight.dims == ("cell",) and float(chosen.weight.sum()) == pytest.approx(1)
    for i in range(9):
        here = SMALL.sel(latitude=chosen.latitude[i], longitude=chosen.longitude[i])
        np.testing.assert_array_equal(here.air_temperature, chosen.air_temperature[:, i])


def test_footprint_of_another_grid_is_refused():
    """Indices mean nothing there."""
    (footprint,) = footprints(SMALL, [region_extent(shapely.box(9, -1, 11, 1))])
    with pytest.raises(ValueError, match="expected a grid of"):
        cells(GLOBE, [footprint])


def test_irregular_grid_is_refused():
    """Weights would be wrong without a word."""
    with pytest.raises(ValueError, match="latitude: expected"):
        footprints(climatology([0, 1, 3], [0, 1, 2]), [place_extent(1, 1)])
    with pytest.raises(ValueError, match="longitude: expected"):
        footprints(climatology([0, 1, 2], [2, 1, 0]), [place_extent(1, 1)])


VALUES = np.array([[0.2, 0.95, 0.8, 0.6], [0.9, np.nan, 0.9, 0.9]])
"""Two months of four camps."""

WEIGHT = np.array([0.08, 0.52, 0.30, 0.10])


def test_quantiles_are_values_of_camps():
    """Sorted by hand: 0.2 (8 %), 0.6 (18 %), 0.8 (48 %), 0.95 (100 %)."""
    for share, value in [(0.05, 0.2), (0.1, 0.6), (0.18, 0.6), (0.3, 0.8), (0.5, 0.95)]:
        assert float(weighted_quantile(VALUES[0], WEIGHT, share)) == value


def test_mean_is_weighted():
    """0.016 + 0.494 + 0.24 + 0.06."""
    assert float(weighted_mean(VALUES, WEIGHT)[0]) == pytest.approx(0.81)


def test_mostly_missing_is_missing():
    """52 % of the camps lack a value, so nobody knows the median."""
    assert np.isnan(weighted_mean(VALUES, WEIGHT)[1])
    assert np.isnan(weighted_quantile(VALUES, WEIGHT, 0.5)[1])
    assert np.isnan(grade_shares(VALUES, WEIGHT)[1]).all()


def test_grade_shares_by_hand():
    """0.95 is sound, 0.8 workable, 0.6 rough, 0.2 unfit."""
    np.testing.assert_allclose(grade_shares(VALUES, WEIGHT)[0], [0.52, 0.30, 0.10, 0.08])


def test_grade_floors_belong_to_the_better_grade():
    """0.90, 0.75 and 0.50 reach their grade."""
    values = np.array([0.90, 0.75, 0.50, 0.4999])
    weight = np.array([0.4, 0.3, 0.2, 0.1])
    np.testing.assert_allclose(grade_shares(values, weight), [0.4, 0.3, 0.2, 0.1])


def test_weights_are_built_in_one_pass_and_hold_their_own_cells(monkeypatch):
    """Fifty polygons walk a half-degree globe once, and carry their own cells, not all of it."""
    rng = np.random.default_rng(3)
    globe = climatology(np.arange(-59.5, 90.5, 0.5), np.arange(-180.0, 180.0, 0.5))
    extents = [
        region_extent(shapely.Point(rng.uniform([-170, -50], [170, 70])).buffer(5))
        for _ in range(50)
    ]
    passes, honest = [], grid.exact_extract
    monkeypatch.setattr(grid, "exact_extract", lambda *a, **k: passes.append(a) or honest(*a, **k))
    found = [cells(globe, [footprint]) for footprint in footprints(globe, extents)]
    means = [weighted_mean(one.air_temperature.values, one.weight.values) for one in found]
    assert len(passes) == 1
    # A circle of 5 degrees spans at most 21 cells each way where a globe has 216,000.
    assert all(one.sizes["cell"] <= 22 * 22 for one in found)
    assert len(means) == 50
    assert all(mean.shape == (12,) and np.isfinite(mean).all() for mean in means)


def test_a_value_needs_half_of_the_weight():
    """Known cells of 50 % are enough, 49 % are not; means and quantiles alike."""
    values = np.array([3.0, np.nan])
    for weight, known in ((np.array([0.5, 0.5]), True), (np.array([0.49, 0.51]), False)):
        for found in (
            weighted_mean(values, weight),
            weighted_quantile(values, weight, 0.5),
            grade_shares(values, weight).sum(),
        ):
            assert np.isfinite(found) == known
    assert weighted_mean(values, np.array([0.5, 0.5])) == 3.0


def test_a_route_of_a_kilometre_in_a_region_counts():
    """0.0089 degrees of the equator are 0.99 km: too few to say where camps are; 0.0091, 1.01."""
    region = shapely.box(9, -1.5, 11, 1.5)
    for length, kind in ((0.0089, "region"), (0.0091, "line")):
        route = shapely.LineString([(8, 0), (9 + length, 0)])
        (footprint,) = footprints(SMALL, [region_extent(region, route)])
        assert footprint.kind == kind


def test_parts_of_a_leg_beyond_the_grid_are_averaged():
    """Three places, one a third of a degree beyond the grid's east: the mean of its shares."""
    where = points_extent([(0, 9), (0, 10), (0, 11.5)])
    (footprint,) = footprints(SMALL, [where])
    assert footprint.dropped_share == pytest.approx(0.5 / 3, abs=1e-3)
    assert grid_weights(footprint)[1] == pytest.approx(np.array([1, 1, 0.5]) / 2.5, abs=1e-3)


@pytest.mark.parametrize("name", ["air_temperature", "rainfall", "vapour_pressure"])
def test_a_cell_that_lacks_one_month_of_one_variable_is_dropped(name):
    """Of two cells that share a region, the other one stands for it."""
    dataset = SMALL.copy(deep=True)
    dataset[name][10, 1, 0] = np.nan
    (footprint,) = footprints(dataset, [region_extent(shapely.box(9, -0.5, 10, 0.5))])
    assert footprint.longitude.tolist() == [10.0]
    assert footprint.dropped_share == pytest.approx(0.5, abs=1e-6)


def test_a_place_without_climate_is_told_as_it_was_written():
    """Its camp, not the middle of the ring around it; the first of several."""
    with pytest.raises(InputError) as caught:
        footprints(SMALL, [points_extent([(40.25, 20.5), (50, 30)])])
    (problem,) = caught.value.problems
    assert (problem.key, problem.got) == ("", "none at latitude 40.25, longitude 20.50")
