"""Grids and what lies in their cells: edges, areas and lengths of lines by hand."""

import numpy as np
import pytest
import shapely
import xarray as xr

from sheltermap.places.grid import area_weights, cell_lengths, coverages, grid_of, line_weights


def nodes(latitude, longitude):
    """Return a grid's nodes as a climatology has them."""
    return xr.Dataset(coords={"latitude": list(latitude), "longitude": list(longitude)})


SMALL = nodes([-1.0, 0.0, 1.0], [9.0, 10.0, 11.0])
GLOBE = nodes(np.arange(-75.0, 90.0, 30.0), np.arange(-180.0, 180.0, 30.0))
POLAR = nodes([30.0, 60.0, 90.0], np.arange(-180.0, 180.0, 30.0))


BESIDE = {
    "west": ((7.5, 0), (9.5, 0)),
    "east": ((10.5, 0), (12.5, 0)),
    "south": ((10, -2.5), (10, -0.5)),
    "north": ((10, 0.5), (10, 2.5)),
}
"""Lines of two degrees, of which one lies on a grid from 8.5 to 11.5 by -1.5 to 1.5."""


@pytest.mark.parametrize("side", BESIDE)
def test_route_beyond_the_grid_is_said(side):
    """Half of it has no cell on either side, within the half per cent by which degrees differ."""
    weights, beyond = line_weights(grid_of(SMALL), shapely.LineString(BESIDE[side]))
    assert beyond == pytest.approx(0.5, abs=0.003)
    assert weights.sum() == pytest.approx(1 - beyond)
    assert weights.max() == pytest.approx(0.5, abs=0.003)


@pytest.mark.parametrize(
    ("box", "beyond", "column"),
    [((10.25, -0.5, 13.25, 0.5), 7 / 12, 2), ((9.25, -0.5, 9.75, 0.5), 0.0, 1)],
)
def test_area_beyond_the_grid_is_said(box, beyond, column):
    """Of three degrees 1.25 lie on it, one in column 2; of half a degree all, half in column 1."""
    grid, shape = grid_of(SMALL), shapely.box(*box)
    (covered,) = coverages(grid, [shape])
    weights, found = area_weights(grid, covered, shape)
    assert found == pytest.approx(beyond, abs=1e-4)
    assert weights.sum() == pytest.approx(1 - beyond, abs=1e-4)
    assert weights.toarray()[1, column] == pytest.approx(1 / 3 if beyond else 0.5, abs=1e-3)


def test_route_over_the_antimeridian_counts_whole_cells():
    """On nodes 30 degrees apart, from 160 to 200: 5, 30 and 5 degrees of three cells."""
    line = shapely.MultiLineString([[(160, 15), (180, 15)], [(-180, 15), (-160, 15)]])
    weights, beyond = line_weights(grid_of(GLOBE), line)
    # Along a parallel, geodesics of unlike length are not quite as long as it.
    assert weights.toarray()[3, [11, 0, 1]] == pytest.approx([0.125, 0.75, 0.125], abs=0.002)
    assert (weights.sum(), beyond) == (pytest.approx(1), 0)


def test_pieces_of_a_line_by_hand():
    """From (0.25, 0.5) to (2.75, 3.0) on cells of 1 by 2: edges at x = 1, 2 and y = 2.

    Over x, y is x + 0.25, so the line crosses at 1, 1.75 and 2: pieces of 0.75, 0.75, 0.25, 0.75.
    """
    line = shapely.LineString([(0.25, 0.5), (2.75, 3.0)])
    row, column, kilometres = cell_lengths(line, (0.0, 2.0), (0.0, 1.0))
    assert list(zip(row.tolist(), column.tolist(), strict=True)) == [
        (0, 0), (0, 1), (1, 1), (1, 2),
    ]  # fmt: skip
    assert kilometres / kilometres.sum() == pytest.approx([0.3, 0.3, 0.1, 0.3], abs=1e-3)


@pytest.mark.parametrize(
    ("line", "pieces"),
    [
        # Back and forth over the edge at 1, and a stop on it: a cell may come several times.
        ([(0.5, 0.5), (1.5, 0.5), (0.5, 0.5)], [(0, 0.5), (1, 0.5), (1, 0.5), (0, 0.5)]),
        ([(0.5, 0.5), (1, 0.5), (1.25, 0.5)], [(0, 0.5), (1, 0.25)]),
        ([(-1.5, 0.5), (-0.25, 0.5)], [(-2, 0.5), (-1, 0.75)]),
        ([(2.25, 0.5), (2.75, 0.5)], [(2, 0.5)]),
    ],
)
def test_pieces_end_at_edges(line, pieces):
    """Columns and degrees along a parallel, by hand."""
    row, column, kilometres = cell_lengths(shapely.LineString(line), (0.0, 1.0), (0.0, 1.0))
    assert set(row.tolist()) == {0}
    assert column.tolist() == [where for where, _ in pieces]
    # A degree along 0.5 degrees north: 111.319 cos 0.5 degrees.
    assert kilometres == pytest.approx([111.315 * degrees for _, degrees in pieces], abs=0.01)


def test_a_grid_goes_round_the_globe_if_its_last_cell_meets_the_first():
    """Twelve cells of 30 degrees do, eleven do not; edges are half a step beyond the nodes."""
    globe = grid_of(GLOBE)
    assert (globe.padding, globe.columns) == (1, 14)
    assert (globe.west, globe.east, globe.south, globe.north) == (-225, 195, -90, 90)
    part = grid_of(GLOBE.isel(longitude=slice(1, None)))
    assert (part.padding, part.columns, part.west, part.east) == (0, 11, -165, 165)
    assert grid_of(SMALL.isel(latitude=slice(2), longitude=slice(2))).step_latitude == 1.0


@pytest.mark.parametrize("axis", [[9.0], [9.0, 9.0], [9.0, 8.0], [9.0, 10.0, 11.00105]])
def test_axes_that_are_no_grid_are_refused(axis):
    """One node, two alike, descending ones, steps that differ by more than 1 per thousand."""
    with pytest.raises(ValueError, match="longitude: expected at least 2 evenly spaced"):
        grid_of(nodes([0.0, 1.0], axis))
    assert grid_of(nodes([0.0, 1.0], [9.0, 10.0, 11.001])).step_longitude > 1.0


def test_cells_share_the_sphere_by_their_height():
    """30-degree rows of a hemisphere from nodes at 15, 45 and 75: sines of 0, 30, 60 and 90."""
    area, height = grid_of(GLOBE).cell_shares
    sines = np.sin(np.radians([0, 30, 60, 90]))
    assert area[3:] == pytest.approx(np.radians(30) * np.diff(sines))
    assert area.sum() * 12 == pytest.approx(4 * np.pi)
    assert height == pytest.approx(np.ones(6))
    # A node on the pole has half a cell.
    assert grid_of(POLAR).cell_shares[1] == pytest.approx([1, 1, 0.5])


def test_edges_are_counted_from_the_first():
    """Columns from 0.3 and rows from 10.2, each of 1: from 0.5 to 1.5 the edge is at 1.3."""
    line = shapely.LineString([(0.5, 11.0), (1.5, 11.0)])
    row, column, kilometres = cell_lengths(line, (10.2, 1.0), (0.3, 1.0))
    assert (row.tolist(), column.tolist()) == ([0, 0], [0, 1])
    assert kilometres / kilometres.sum() == pytest.approx([0.8, 0.2], abs=1e-4)
