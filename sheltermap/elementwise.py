"""One door for formulas: numbers, numpy arrays, DataArrays and dask alike.

In: a formula written for numpy and its values. Out: the same formula on whatever came,
broadcast by dimension name, with units attached. Assumes the formula treats each
element alone; then dask can run it block by block as one task.
"""

from __future__ import annotations

from functools import partial

import numpy as np


def elementwise(formula, *values, units, dtype=None, **settings):
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
    values = [kind.type(value) if isinstance(value, (int, float)) else value for value in values]
    if not any(hasattr(value, "dims") for value in values):
        return _quiet(formula, *values, **settings)
    import xarray as xr

    result = xr.apply_ufunc(
        partial(_quiet, formula),
        *values,
        kwargs=settings,
        join="exact",
        dask="parallelized",
        output_dtypes=[dtype or kind],
    )
    return result.assign_attrs(units=units)


def _quiet(formula, *values, **settings):
    """Return the formula's result; numpy's warnings say nothing that NaN does not say."""
    with np.errstate(all="ignore"):
        return np.asanyarray(formula(*map(_as_float, values), **settings))[()]


def _as_float(value):
    """Return floating-point values, float32 kept."""
    array = np.asanyarray(value)
    return array if array.dtype.kind == "f" else array.astype(float)


def _common_float(values):
    """Return the float type of the arrays together; float64 where there are only numbers."""
    kinds = [
        np.dtype(getattr(v, "dtype", float)) for v in values if not isinstance(v, (int, float))
    ]
    kinds = [kind if kind.kind == "f" else np.dtype(float) for kind in kinds]
    return np.result_type(*kinds) if kinds else np.dtype(float)
