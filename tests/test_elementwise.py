"""Formulas behave the same on numbers, arrays, DataArrays and dask."""

import warnings

import numpy as np
import pytest
import xarray as xr

from sheltermap.elementwise import blocks, elementwise


def ratio(a, b):
    return np.where(b > 0, a / b, np.nan)


def test_containers_agree():
    """A number, an array and a DataArray give the same values."""
    values = np.array([1.0, 2.0, 4.0])
    named = xr.DataArray(values, dims="cell")
    assert elementwise(ratio, 1.0, 2.0, units="1") == 0.5
    np.testing.assert_array_equal(elementwise(ratio, values, 2, units="1"), [0.5, 1, 2])
    np.testing.assert_array_equal(elementwise(ratio, named, 2, units="1"), [0.5, 1, 2])


def test_names_decide_the_broadcast():
    """Dimensions are matched by name, not by position, and units are attached."""
    rows = xr.DataArray([1.0, 2.0], dims="month")
    columns = xr.DataArray([1.0, 2.0, 4.0], dims="cell")
    result = elementwise(ratio, rows, columns, units="K")
    assert result.sizes == {"month": 2, "cell": 3}
    assert result.attrs == {"units": "K"}
    assert float(result.sel(cell=2, month=1)) == 0.5


@pytest.mark.parametrize("other", [2, 2.0, np.float64(2.0), np.ones(3, "f4")])
def test_float32_stays_float32(other):
    """Plain numbers never double the memory of a large grid."""
    assert elementwise(ratio, np.ones(3, "f4"), other, units="1").dtype == np.float32
    assert elementwise(ratio, other, np.ones(3, "f4"), units="1").dtype == np.float32


def test_dask_stays_lazy():
    """A lazy input gives a lazy result with the type it will have."""
    lazy = xr.DataArray(np.ones((4, 3), "f4"), dims=("cell", "month")).chunk(cell=2)
    result = elementwise(ratio, lazy, 2.0, units="1")
    assert result.chunks == ((2, 2), (3,))
    assert result.dtype == result.compute().dtype == np.float32
    assert (result.compute() == 0.5).all()


def test_integers_become_fractions():
    """Whole numbers are measured values, not an integer division."""
    assert elementwise(ratio, [1, 3], 2, units="1").tolist() == [0.5, 1.5]


def test_different_labels_are_refused():
    """Two grids that do not match are a mistake, not an intersection."""
    a = xr.DataArray([1.0, 2.0], coords={"latitude": [1, 2]}, dims="latitude")
    b = xr.DataArray([1.0, 2.0], coords={"latitude": [2, 3]}, dims="latitude")
    with pytest.raises(ValueError, match="latitude"):
        elementwise(ratio, a, b, units="1")


def test_missing_values_pass_without_noise():
    """NaN and impossible values give NaN and no warning."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        result = elementwise(ratio, np.array([1.0, np.nan, 1.0]), np.zeros(3), units="1")
    assert np.isnan(result).all()


def test_a_grid_stays_as_it_lies():
    """What is small does not turn a large grid round: month, latitude and longitude stay so."""
    grid = xr.DataArray(np.ones((2, 3, 4)), dims=("month", "latitude", "longitude"))
    rows = xr.DataArray(np.ones((3, 2)), dims=("latitude", "month"))
    result = elementwise(ratio, rows, grid, units="1")
    assert result.dims == grid.dims
    assert result.values.flags.c_contiguous
    assert elementwise(np.subtract, rows, 2.0 * grid, units="1")[0, 0, 0] == -1.0


@pytest.mark.parametrize("shape", [(5,), (1,), (3, 7), (2, 3, 5), (4, 0, 2)])
@pytest.mark.parametrize("size", [1, 4, 100])
def test_blocks_are_runs_of_memory(shape, size):
    """Blocks take every element once, in the order in which they stand in memory."""
    numbers = np.arange(np.prod(shape)).reshape(shape)
    parts = [numbers[index].reshape(-1) for index in blocks(shape, size)]
    assert np.concatenate([*parts, []]).tolist() == list(range(numbers.size))
    assert all(part.size <= 2 * size or part.size <= shape[-1] for part in parts)
