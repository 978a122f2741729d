"""Blocks: a formula over many pieces gives what it gives over the whole."""

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from sheltermap.suitability.blocks import walked


@pytest.mark.parametrize("workers", [1, 3])
def test_pieces_make_the_whole(workers):
    """A grid of many blocks, a row of it and a single value, two results of each of two kits."""
    draw = np.random.default_rng(3)
    grid = draw.normal(size=(12, 70, 90)).astype(np.float32)
    row, single = draw.normal(size=90), np.array(2.0)
    lengths = []

    def formula(block):
        lengths.append(block["a"].size)
        assert {array.dtype for array in block.values()} == {np.dtype(float)}
        for factor in (1.0, 10.0):
            total = factor * block["a"] + block["b"] * block["c"]
            yield {"total": total, "sign": np.sign(total), "unused": total}

    given = {"a": grid, "b": row, "c": single}
    found = walked(formula, given, 2, {"total": np.float32, "sign": np.int8}, workers)
    assert len(lengths) > 3 and sum(lengths) == grid.size
    assert {name: values.dtype for name, values in found.items()} == {
        "total": np.float32,
        "sign": np.int8,
    }
    for place, factor in enumerate((1.0, 10.0)):
        total = factor * grid.astype(float) + row * 2.0
        assert_array_equal(found["total"][place], total.astype(np.float32))
        assert_array_equal(found["sign"][place], np.sign(total))


def test_one_night_and_none():
    """A night without dimensions stays one; an empty grid gives an empty result."""
    for shape in ((), (0,), (3, 0, 2)):
        found = walked(
            lambda block: [{"x": 2 * block["a"]}], {"a": np.ones(shape)}, 1, {"x": "f8"}
        )
        assert found["x"].shape == (1, *shape)
        assert (found["x"] == 2).all()


def test_a_failing_block_is_heard():
    """What a thread raises, the caller hears."""

    def formula(block):
        raise ArithmeticError("in a block")

    with pytest.raises(ArithmeticError, match="in a block"):
        walked(formula, {"a": np.ones(50_000)}, 1, {"x": float}, workers=2)
