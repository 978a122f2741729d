"""The area of an atlas by hand: edges, blocks, tiles, and which nodes lie in a box."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from sheltermap.atlas.area import AtlasGrid, Block, grid_in
from sheltermap.vocabulary import InputError


def climate(latitude, longitude) -> xr.Dataset:
    """Return a climatology with nothing but its nodes."""
    return xr.Dataset(coords={"latitude": np.array(latitude), "longitude": np.array(longitude)})


def test_edges_lie_half_a_step_beyond_the_nodes():
    """Cells 0.5 high and 0.8 wide: from 10 - 0.25 and 20 - 0.4, three rows and two columns."""
    grid = AtlasGrid(np.array([10.0, 10.5, 11.0]), np.array([20.0, 20.8]), (0.5, 0.8))
    assert grid.shape == (3, 2)
    assert grid.box == (19.6, 9.75, 21.2, 11.25)


def test_edges_are_told_to_a_millionth_of_a_degree():
    """Cells of a third: their edges are sixths."""
    grid = AtlasGrid(np.array([0.0, 1 / 3]), np.array([1.0, 4 / 3]), (1 / 3, 1 / 3))
    assert grid.box == (0.833333, -0.166667, 1.5, 0.5)


def test_blocks_of_eight_tiles_cover_the_area_once():
    """170 rows and 330 columns: 160 and 10, by 160, 160 and 10, from the south-west."""
    grid = AtlasGrid(np.arange(170) * 0.5, np.arange(330) * 0.25, (0.5, 0.25))
    blocks = [*grid.blocks()]
    assert [(one.row, one.column, *one.shape) for one in blocks] == [
        (0, 0, 160, 160), (0, 160, 160, 160), (0, 320, 160, 10),
        (160, 0, 10, 160), (160, 160, 10, 160), (160, 320, 10, 10),
    ]  # fmt: skip
    last = blocks[-1]
    assert last.window == (slice(160, 170), slice(320, 330))
    assert last.box == (80.0, 80.0, 82.25, 84.5)
    seen = np.zeros(grid.shape)
    for one in blocks:
        seen[one.window] += 1
    assert (seen == 1).all()


def test_tiles_are_named_by_their_place_in_the_atlas():
    """A block from row 160 and column 320: 25 by 45 cells are tiles 8_16 to 9_18."""
    block = Block(160, 320, np.arange(25.0), np.arange(45.0))
    assert [*block.tiles()] == [
        ("8_16", slice(0, 20), slice(0, 20)),
        ("8_17", slice(0, 20), slice(20, 40)),
        ("8_18", slice(0, 20), slice(40, 60)),
        ("9_16", slice(20, 40), slice(0, 20)),
        ("9_17", slice(20, 40), slice(20, 40)),
        ("9_18", slice(20, 40), slice(40, 60)),
    ]


def test_nodes_on_the_edges_of_a_box_lie_in_it():
    """One beyond each edge does not."""
    nodes = climate(np.arange(0.0, 6.0), np.arange(10.0, 18.0, 2.0))
    grid = grid_in(nodes, (12.0, 1.0, 14.0, 4.0))
    assert grid.latitude.tolist() == [1, 2, 3, 4] and grid.longitude.tolist() == [12, 14]
    assert grid.step == (1, 2)


def test_a_box_over_the_meridian_takes_the_nodes_on_its_edges():
    """From 170 eastwards to -170, in steps of 10: the jump lies between 180 and -170."""
    nodes = climate([0.0, 10.0], np.arange(-170.0, 181.0, 10.0))
    grid = grid_in(nodes, (170.0, 0.0, -160.0, 10.0))
    assert grid.longitude.tolist() == [170, 180, -170, -160]


def test_rows_around_the_poles_are_left_out():
    """A cell that ends at 85 degrees is shown, one that goes on is not, north and south."""
    nodes = climate(np.arange(-86.0, 87.0, 2.0), [0.0, 2.0])
    grid = grid_in(nodes, (-180.0, -90.0, 180.0, 90.0))
    assert (grid.latitude[0], grid.latitude[-1]) == (-84, 84)
    finer = grid_in(climate(np.arange(80.25, 90.0, 0.5), [0.0, 2.0]), (-180.0, -90.0, 180.0, 90.0))
    assert finer.latitude[-1] == 84.75


@pytest.mark.parametrize(
    "box", [(5.5, 1.0, 6.5, 3.0), (5.0, 3.25, 7.0, 3.75)], ids=["no column", "no row"]
)
def test_a_box_between_the_nodes_is_told_what_there_is(box):
    """Latitudes 1 to 4 in steps of 1, longitudes 5 to 9: all of it is in the message."""
    nodes = climate(np.arange(1.0, 5.0), [5.0, 7.0, 9.0])
    with pytest.raises(InputError) as caught:
        grid_in(nodes, box, "own.nc")
    said = str(caught.value)
    assert said.startswith("own.nc") and "box" in said
    assert "latitudes 1 to 4 and longitudes 5 to 9, in steps of 1" in said


def test_an_uneven_grid_is_refused():
    """Nodes at 0, 1 and 3 degrees are no regular grid."""
    with pytest.raises(InputError, match=r"own\.nc.*regular grid"):
        grid_in(climate([0.0, 1.0, 3.0], [0.0, 1.0]), (0.0, 0.0, 1.0, 1.0), "own.nc")
