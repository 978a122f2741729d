"""The error that a variable states about itself.

In: a variable of the climatology. Out: its standard error as a number. Assumes the
``uncertainty`` attribute of the contract, "RMSE 2 K"; a variable without one claims to be
measured, and its error is taken as nought.
"""

from __future__ import annotations

import math
import re

import xarray as xr


def stated_error(variable: xr.DataArray) -> float:
    """
    Return the standard error that a variable's ``uncertainty`` attribute states.

    Parameters
    ----------
    variable : DataArray

    Returns
    -------
    float
        In the unit the attribute names; 0 where none is stated, missing where what is
        stated is no "RMSE" with a number: an error nobody can read is not nought.

    Examples
    --------
    >>> stated_error(xr.DataArray(1.0, attrs={"uncertainty": "RMSE 2.25 K of dewpoint"}))
    2.25
    >>> stated_error(xr.DataArray(1.0, attrs={"uncertainty": "about 2 K"}))
    nan
    """
    stated = variable.attrs.get("uncertainty", "")
    found = re.match(r"RMSE ([0-9]+(?:\.[0-9]+)?)(?![.0-9])", stated)
    if found:
        return float(found[1])
    return math.nan if stated else 0.0
