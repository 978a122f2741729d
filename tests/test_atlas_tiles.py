"""Tiles and the store of an atlas by hand: places of cells, heights, what nobody wrote."""

from __future__ import annotations

import json

import numpy as np
from atlases import unpacked

from sheltermap.atlas.area import Block
from sheltermap.atlas.scored import ScoredBlock
from sheltermap.atlas.store import Store
from sheltermap.atlas.tiles import tile_scripts


def scored(known, height) -> ScoredBlock:
    """Return a block from row 20 and column 40 whose codes count month, row and column."""
    rows, columns = np.shape(known)
    month, row, column = np.indices((12, rows, columns))
    codes = (10 * month + 3 * row + column)[np.newaxis].astype(np.uint8)
    block = Block(20, 40, np.arange(rows), np.arange(columns))
    return ScoredBlock(block, {"share": codes}, np.array(height, float), np.array(known))


def test_a_tile_has_the_cells_with_a_climate_and_heights_to_a_decimetre():
    """Row 1 and column 2 is place 22; 12.34 m is 12.3, 100.04 is 100, unknown stays so."""
    found = scored(
        [[True, False, True], [False, False, True]], [[12.34, 0.0, 100.04], [0.0, 0.0, np.nan]]
    )
    ((name, script),) = tile_scripts(found)
    text = script.decode()
    assert name == "1_2" and text.startswith('SM_ATLAS_TILE("1_2",{') and text.endswith(");\n")
    tile = json.loads(text[len('SM_ATLAS_TILE("1_2",') : -3])
    assert tile["cells"] == [0, 2, 22] and tile["height"] == [12.3, 100, None]
    assert '"height":[12.3,100,null]' in text
    shares = unpacked(tile["share"], 1, 12, 3)
    assert shares[0, 0].tolist() == [0, 2, 5] and shares[0, 11].tolist() == [110, 112, 115]


def test_a_tile_without_a_climate_is_not_written():
    """Of 2 by 25 cells the second tile is sea."""
    known = np.zeros((2, 25), bool)
    known[1, 3] = True
    assert [name for name, _ in tile_scripts(scored(known, np.zeros((2, 25))))] == ["1_2"]


def test_what_nobody_wrote_is_missing_in_the_store(tmp_path):
    """A block of two cells in an area of 3 by 4: the others have no code and no height."""
    store = Store(tmp_path / "store", (3, 4))
    place = Block(1, 2, np.zeros(1), np.zeros(2))
    codes = np.arange(48, dtype=np.uint8).reshape(2, 12, 1, 2)
    store.write(ScoredBlock(place, {"share": codes}, np.array([[1.5, -7.0]]), np.ones((1, 2))))
    month = np.full((3, 4), 255)
    month[1, 2:] = 30, 31  # the second kit's fourth month: 24 + 2 x 3
    assert store.month("share", 1, 3).tolist() == month.tolist()
    year = store.year("share", 1)
    assert year.shape == (12, 3, 4) and year[:, 1, 3].tolist() == [*range(25, 48, 2)]
    height = np.full((3, 4), np.nan)
    height[1, 2:] = 1.5, -7.0
    np.testing.assert_array_equal(store.height(), height)
