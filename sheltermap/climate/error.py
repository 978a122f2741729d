"""The error that a climatology states about a variable.

In: a climatology, or a variable of it. Out: the standard error. Assumes an error by cell and
month (`contract.ERRORS`), or the ``uncertainty`` attribute of the contract, "RMSE 2 K"; a
variable with neither claims to be measured, and its error is taken as nought.
"""

from __future__ import annotations

import math
import re

import xarray as xr

CORRECTION_ERROR = "temperature_correction_error"
"""Standard error of what `altitude.at_elevation` added. [K]"""

_FIELDS = {"vapour_pressure": "dewpoint_error"}


def error_of(climate: xr.Dataset, name: str) -> float | xr.DataArray:
    """
    Return the standard error of a variable, by cell and month where the climate has it.

    Parameters
    ----------
    climate : Dataset
    name : str
        Of a variable of it.

    Returns
    -------
    float or DataArray
        In the unit of the variable; of the vapour pressure that of its dewpoint. [K] See
        `stated_error` for a climate without the field. A temperature corrected for a camp's
        height has the error of that too.
    """
    field = _FIELDS.get(name, f"{name}_error")
    error = climate[field] if field in climate else stated_error(climate[name])
    if name.startswith("air_temperature") and CORRECTION_ERROR in climate:
        of_height = climate[CORRECTION_ERROR].fillna(0.0)
        error = (of_height**2 + error**2) ** 0.5
    return error


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
