"""The embedded world climatology.

In: nothing, or a box. Out: the loaded climatology in the form of the contract.
Assumes the packed file that ``regions/world/make_climatology.py`` makes; it stores the
daily range, from which minimum and maximum are derived here.
"""

from __future__ import annotations

from pathlib import Path

import netCDF4
import numpy as np
import xarray as xr

from sheltermap.climate import grid
from sheltermap.climate.estimate import ESTIMATES, extremes
from sheltermap.resources import bundled

RANGE = "temperature_range"
"""Name of the stored daily range."""


def world_climatology(box: tuple[float, float, float, float] | None = None) -> xr.Dataset:
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
    """
    climatology = _stored(embedded_file(), box)
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


def _stored(path: Path, box: tuple[float, float, float, float] | None) -> xr.Dataset:
    """Return the stored variables inside a box.

    The backend is called directly: opening through xarray takes 50 times as long as
    reading one place, and every command pays it.
    """
    with netCDF4.Dataset(path) as file:
        axes = {name: np.asarray(file[name][:]) for name in grid.DIMENSIONS}
        places = dict.fromkeys(axes, slice(None))
        if box is not None:
            places["latitude"], places["longitude"] = grid.box_places(
                axes["latitude"], axes["longitude"], box, str(path)
            )
        variables = {}
        for name, variable in file.variables.items():
            if name in axes:
                continue
            values = variable[tuple(places[dimension] for dimension in variable.dimensions)]
            attributes = {
                key: variable.getncattr(key)
                for key in ("estimated", "uncertainty")
                if key in variable.ncattrs()
            }
            filled = np.ma.filled(values.astype(float), np.nan)
            variables[name] = (variable.dimensions, filled, attributes)
        coordinates = {name: axes[name][places[name]] for name in axes}
        return xr.Dataset(variables, coordinates, {key: file.getncattr(key) for key in file.ncattrs()})
