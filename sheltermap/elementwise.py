"""One door for formulas: numbers, numpy arrays, DataArrays and dask alike.

In: a formula written for numpy and its values. Out: the same formula on whatever came,
broadcast by dimension name, with units attached. Assumes the formula treats each
element alone; then large arrays go through it in blocks that fit the processor's cache,
and dask can run it chunk by chunk as one task.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import product
from math import prod
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from sheltermap.vocabulary import Floats, Values

if TYPE_CHECKING:
    import numpy.typing as npt
    import xarray as xr

Formula: TypeAlias = Callable[..., Any]
"""Takes float arrays and settings, returns an array of their broadcast shape."""

_BLOCK = 2**16
"""Elements worked on at a time: smaller costs calls, larger costs memory traffic."""


def elementwise(
    formula: Formula,
    *values: Values | float,
    units: str,
    dtype: npt.DTypeLike | None = None,
    **settings: Any,
) -> Values:
    """
    Return a formula's result in the kind of container its values came in.

    Parameters
    ----------
    formula : callable
        Takes numpy arrays, returns a numpy array of their broadcast shape.
    *values : float, array or DataArray
        What the formula is applied to, broadcast by name where names exist.
    units : str
        Units of the result.
    dtype : dtype, optional
        Type of the result; by default the common float type of the values.
    **settings
        Handed to the formula unchanged.

    Returns
    -------
    float, array or DataArray
        DataArray if any value is one. Missing values give missing results
        without a warning.

    Raises
    ------
    ValueError
        If DataArrays carry different labels along a shared dimension.

    Examples
    --------
    >>> float(elementwise(np.add, 1.0, 2.0, units="K"))
    3.0
    """
    kind = _common_float(values)
    # Plain numbers take the arrays' type, so that float32 stays float32 whatever the formula does.
    given: list[Any] = [kind.type(v) if isinstance(v, (int, float)) else v for v in values]
    if not any(hasattr(v, "dims") for v in given):
        return _quiet(formula, *given, **settings)
    import xarray as xr

    # xarray lays a result out as the first value that names its dimensions; the fullest one
    # leads, so that a grid stays as it lies in memory whatever a formula's order of values.
    order = sorted(range(len(given)), key=lambda i: -np.ndim(given[i]))
    result = xr.apply_ufunc(
        partial(_reordered, formula, order),
        *(given[i] for i in order),
        kwargs=settings,
        join="exact",
        dask="parallelized",
        output_dtypes=[dtype or kind],
    )
    return result.assign_attrs(units=units)


def _reordered(
    formula: Formula, order: Sequence[int], *values: npt.ArrayLike, **settings: Any
) -> Any:
    """Return the formula's result for values that came in another order."""
    return _quiet(formula, *(values[order.index(i)] for i in range(len(order))), **settings)


def _quiet(formula: Formula, *values: npt.ArrayLike, **settings: Any) -> Any:
    """Return the formula's result; numpy's warnings say nothing that NaN does not say."""
    arrays = [_as_float(value) for value in values]
    shape = np.broadcast_shapes(*(array.shape for array in arrays))
    with np.errstate(all="ignore"):
        if prod(shape) <= 2 * _BLOCK:
            return np.asanyarray(formula(*arrays, **settings))[()]
        # Short shapes get ones in front, so that one index serves all; an axis of
        # length one is never cut, so that what is small stays small.
        arrays = [
            array.reshape((1,) * (len(shape) - array.ndim) + array.shape) for array in arrays
        ]
        result = None
        for index in blocks(shape, _BLOCK):
            parts = [
                array[
                    tuple(
                        slice(None) if n == 1 else i
                        for n, i in zip(array.shape, index, strict=True)
                    )
                ]
                for array in arrays
            ]
            block = formula(*parts, **settings)
            if result is None:
                result = np.empty(shape, block.dtype)
            result[index] = block
    return result


def blocks(shape: Sequence[int], size: int) -> Iterator[tuple[slice, ...]]:
    """
    Yield indices that cut an array into blocks, along its first axes.

    Parameters
    ----------
    shape : tuple of int
        At least one axis.
    size : int
        About how many elements a block has; at most twice that.

    Yields
    ------
    tuple of slices
        In the order in which elements stand in memory: every block is one run of them.

    Examples
    --------
    >>> [[(part.start, part.stop) for part in index] for index in blocks((2, 4), 2)]
    [[(0, 1), (0, 2)], [(0, 1), (2, 4)], [(1, 2), (0, 2)], [(1, 2), (2, 4)]]
    """
    inner, axis = prod(shape), 0
    while axis < len(shape) - 1 and inner // max(shape[axis], 1) >= size:
        inner //= shape[axis]
        axis += 1
    step = max(1, size * shape[axis] // max(inner, 1))
    outer = [[slice(i, i + 1) for i in range(n)] for n in shape[:axis]]
    cuts = [slice(i, min(i + step, shape[axis])) for i in range(0, shape[axis], step)]
    whole = [slice(None)] * (len(shape) - axis - 1)
    for place in product(*outer, cuts):
        yield (*place, *whole)


def _as_float(value: npt.ArrayLike) -> Floats:
    """Return floating-point values, float32 kept."""
    array = np.asanyarray(value)
    return array if array.dtype.kind == "f" else array.astype(float)


def _common_float(values: Iterable[npt.ArrayLike | xr.DataArray]) -> np.dtype[Any]:
    """Return the float type of the arrays together; float64 where there are only numbers."""
    kinds: list[np.dtype[Any]] = [
        np.dtype(getattr(v, "dtype", float)) for v in values if not isinstance(v, (int, float))
    ]
    kinds = [kind if kind.kind == "f" else np.dtype(np.float64) for kind in kinds]
    return np.result_type(*kinds) if kinds else np.dtype(np.float64)
