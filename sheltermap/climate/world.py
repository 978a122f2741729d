"""The embedded world climatology.

In: nothing, or a box. Out: the loaded climatology in the form of the contract, with the
error of each estimate by cell and month. Assumes the packed file that
``regions/world/make_climatology.py`` makes; daily extremes and errors are derived here.
"""

from __future__ import annotations

from pathlib import Path

import xarray as xr

from sheltermap.climate import contract, grid
from sheltermap.climate.calendar import month_lengths
from sheltermap.climate.error_fields import estimated_errors
from sheltermap.climate.estimate import ESTIMATES
from sheltermap.climate.extremes import EXTREMES, daily_extremes, predictors
from sheltermap.resources import bundled
from sheltermap.vocabulary import Box

RELATIVE_HEIGHT, RELIEF = "relative_height", "relief"
"""Names of what the file holds for the estimates alone."""


def world_climatology(box: Box | None = None) -> xr.Dataset:
    """
    Return the embedded world climatology, loaded.

    Parameters
    ----------
    box : tuple of four floats, optional
        West, south, east, north. [degrees] Only this part, with one more cell on each side,
        is read; west beyond east crosses the 180th meridian.

    Returns
    -------
    Dataset, month x latitude x longitude
        Values missing at sea. Every estimated variable carries ``estimated`` and
        ``uncertainty``; those of `contract.ERRORS` say how much by cell and month.

    Raises
    ------
    InputError
        If the box lies outside the data.

    Examples
    --------
    >>> around = world_climatology((28.0, 40.0, 30.0, 42.0))
    >>> around.air_temperature.dims, around.air_temperature.attrs["units"]
    (('month', 'latitude', 'longitude'), 'degC')
    >>> "estimated" in around.air_temperature_min.attrs
    True
    """
    stored = embedded(box)
    temperature = stored["air_temperature"]
    wet = stored["wet_days"] / month_lengths(stored["month"])
    known = predictors(stored.assign(wet_share=wet), stored["latitude"])
    extremes = {
        name: values.astype("float32").assign_attrs(ESTIMATES[name].attributes)
        for name, values in zip(EXTREMES, daily_extremes(temperature, known), strict=True)
    }
    errors = estimated_errors(stored, known)
    kept = stored.drop_vars([RELATIVE_HEIGHT, RELIEF]).assign(extremes | errors)
    return contract.described(kept)


def embedded(box: tuple[float, float, float, float] | None = None) -> xr.Dataset:
    """
    Return what the packed file holds, loaded.

    Parameters
    ----------
    box : tuple of four floats, optional
        As for `world_climatology`.

    Returns
    -------
    Dataset, month x latitude x longitude
        Without daily extremes; with ``relative_height`` [m], of a cell above the mean of the
        5 x 5 cells around it, and ``relief`` [m], the standard deviation of 3 x 3 heights.

    Raises
    ------
    InputError
        If the box lies outside the data.

    Examples
    --------
    >>> around = world_climatology((28.0, 40.0, 30.0, 42.0))
    >>> around.air_temperature.dims, around.air_temperature.attrs["units"]
    (('month', 'latitude', 'longitude'), 'degC')
    >>> "estimated" in around.air_temperature_min.attrs
    True
    """
    with xr.open_dataset(embedded_file(), engine="netcdf4", cache=False) as stored:
        return (stored if box is None else grid.box(stored, *box)).load()


def embedded_file() -> Path:
    """
    Return the path of the packed file.

    Returns
    -------
    pathlib.Path
    """
    return bundled("regions") / "world" / "climatology.nc"
