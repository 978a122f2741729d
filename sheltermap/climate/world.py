"""The embedded world climatology.

In: nothing, or a box. Out: the loaded climatology in the form of the contract.
Assumes the packed file that ``regions/world/make_climatology.py`` makes; it stores the
daily range, from which minimum and maximum are derived here.
"""

from __future__ import annotations

from pathlib import Path

import xarray as xr

from sheltermap.climate import grid
from sheltermap.climate.estimate import ESTIMATES, extremes
from sheltermap.resources import bundled
from sheltermap.vocabulary import Box

RANGE = "temperature_range"
"""Name of the stored daily range."""


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
        ``uncertainty``.

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
        climatology = (stored if box is None else grid.box(stored, *box)).load()
    minimum, maximum = extremes(climatology["air_temperature"], climatology[RANGE])
    climatology = climatology.drop_vars(RANGE).assign(
        air_temperature_min=minimum.assign_attrs(ESTIMATES["air_temperature_min"].attributes),
        air_temperature_max=maximum.assign_attrs(ESTIMATES["air_temperature_max"].attributes),
    )
    return grid.described(climatology)


def embedded_file() -> Path:
    """
    Return the path of the packed file.

    Returns
    -------
    pathlib.Path
    """
    return bundled("regions") / "world" / "climatology.nc"
