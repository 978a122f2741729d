"""Climatologies for tests: a small one made by hand, and the embedded one read once."""

from __future__ import annotations

from functools import cache

import numpy as np
import xarray as xr

from sheltermap.climate.world import world_climatology

LATITUDE = np.array([40.0, 40.5, 41.0])
LONGITUDE = np.array([28.0, 28.5, 29.0, 29.5])


@cache
def whole_world():
    """Return the embedded climatology, for all tests of a process: nothing writes into it."""
    world = world_climatology()
    for variable in world.data_vars.values():
        variable.values.flags.writeable = False
    return world


def small_climatology(**replaced):
    """Return a valid climatology of 3 x 4 cells, every value different from its neighbours."""
    month = np.arange(1, 13)
    shape = (12, LATITUDE.size, LONGITUDE.size)
    warm = -np.cos((month - 1) / 12 * 2 * np.pi)[:, None, None]
    cell = np.arange(12).reshape(shape[1:]) / 10
    mean = 12 + 9 * warm + cell
    variables = {
        "air_temperature": (mean, "degC"),
        "air_temperature_min": (mean - 5, "degC"),
        "air_temperature_max": (mean + 6, "degC"),
        "rainfall": (50 - 40 * warm + cell, "mm"),
        "wet_days": (8 - 6 * warm + cell, "day"),
        "vapour_pressure": (1.0 + 0.5 * warm + cell / 10, "kPa"),
        "night_low_spread": (3.5 - warm + cell / 10, "K"),
        "elevation": (100 * cell, "m"),
    }
    arrays = {
        name: (("month", "latitude", "longitude")[-values.ndim :], values, {"units": units})
        for name, (values, units) in variables.items()
    }
    coordinates = {"month": month, "latitude": LATITUDE, "longitude": LONGITUDE}
    return xr.Dataset(arrays, coordinates, {"title": "small"}).assign(replaced)
