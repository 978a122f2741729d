"""Shapes over an atlas's cells by hand: rows from the south, parts, areas, both sides of 180."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from sheltermap.atlas.area import Block
from sheltermap.atlas.overlap import Shapes

STEP = (1.0, 2.0)


def covered(shapes, latitude, longitude, step=STEP) -> list[tuple]:
    """Return (shape, row, column, part) of every cell that is covered."""
    block = Block(0, 0, np.array(latitude), np.array(longitude))
    return [
        (one.shape, int(row), int(column), pytest.approx(part, abs=1e-9))
        for one in Shapes(shapes, step).over(block)
        for row, column, part in zip(one.row, one.column, one.part, strict=True)
    ]


def test_rows_count_from_the_south_and_columns_from_the_west():
    """Cells 1 high and 2 wide around 10, 11, 12 N and 30, 32 E; a quarter, then a half.

    The first shape lies in the north-western cell, 29 to 31 E and 11.5 to 12.5 N: half of its
    width and of its height. The second covers the western half of the south-eastern cell.
    """
    shapes = [
        shapely.box(29, 12, 30, 12.5),
        shapely.box(31, 9.5, 32, 10.5),
        shapely.box(0, 0, 1, 1),
    ]
    found = [one for one in covered(shapes, [10.0, 11.0, 12.0], [30.0, 32.0]) if one[3] != 0]
    assert found == [(0, 2, 0, 0.25), (1, 0, 1, 0.5)]


def test_area_is_the_covered_part_of_the_cell_on_the_sphere():
    """Half of two degrees by sin 60.5 - sin 59.5: 0.0349066 x 0.0087265 / 2 sr, by hand."""
    block = Block(0, 0, np.array([60.0]), np.array([10.0]))
    (one,) = Shapes([shapely.box(9, 59.5, 10, 60.5)], STEP).over(block)
    assert one.part.tolist() == [0.5] and one.area.tolist() == pytest.approx(
        [1.52306e-4], rel=1e-5
    )


WEST_SIDE, EAST_SIDE = shapely.box(170, 59, 180, 61), shapely.box(-180, 59, -170, 61)


@pytest.mark.parametrize("node", [180.0, -180.0])
@pytest.mark.parametrize(
    ("shapes", "part"),
    [([WEST_SIDE], 0.5), ([EAST_SIDE], 0.5), ([shapely.union_all([WEST_SIDE, EAST_SIDE])], 1.0)],
)
def test_a_cell_at_180_degrees_is_covered_from_both_sides(shapes, part, node):
    """The cell from 179 to 181 is half of each side, whichever way its node is written."""
    assert covered(shapes, [60.0], [node]) == [(0, 0, 0, part)]


def test_a_block_over_the_meridian_is_laid_out_in_two_parts():
    """Nodes 178, 180, -178: the eastern side covers half of the second cell and all the third."""
    found = covered([EAST_SIDE], [60.0], [178.0, 180.0, -178.0])
    assert [one for one in found if one[3] != 0] == [(0, 0, 1, 0.5), (0, 0, 2, 1.0)]


def test_shapes_that_end_a_cell_before_the_meridian_are_left_as_they_are():
    """Nothing of a shape from 170 to 178 comes round to the cell at -180."""
    assert covered([shapely.box(170, 59, 178, 61)], [60.0], [-180.0]) == []
