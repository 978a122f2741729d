"""How far estimates of a climatology miss, by place and month.

In: the climate. Out: the standard error of minimum, maximum, dewpoint and rain in each cell
and month. Assumes the estimates of the embedded climatology; a source that measured has no
use for them.

Those of minimum and maximum are sums over a few conditions, fitted so that 68 % of the misses
at places left out of the estimates' own fit lie within them, most of them with their whole
region left out (``regions/world/fit_extremes.py``; the coefficients stand in
``extremes.toml``); ``water_errors`` has the others. Places are seldom missed by chance: an error
holds for all years at a place, and neighbours share it.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import xarray as xr

from sheltermap.climate.extremes import fitted, weighted_sum
from sheltermap.climate.water_errors import dewpoint_error, rainfall_error

LEAST_ERROR = {
    "air_temperature_min_error": 1.0,
    "air_temperature_max_error": 1.0,
}
"""Error below which no estimate is believed. [K] judgement: the mean temperature alone
misses by 1.1 K at eleven stations."""


def conditions(climate: xr.Dataset, known: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    """
    Return what the errors rest on.

    Parameters
    ----------
    climate : Dataset
        air_temperature and ``relief`` [m], the standard deviation of the heights of the 3 x 3
        half-degree cells around.
    known : mapping of str to array
        From `extremes.predictors`.

    Returns
    -------
    dict of str to array, as the air temperature
        dryness [1]: the square of one less the humidity, since in half as dry air less than
        half as much is missed; coast [1]: one less the share of land; relief
        [km]; continentality [10 K].
    """
    relief = xr.broadcast(climate["air_temperature"], climate["relief"] / 1000)[1].data
    return {
        "dryness": (1 - known["humidity"]) ** 2,
        "coast": 1 - known["land"],
        "relief": relief,
        "continentality": known["continentality"],
    }


def estimated_errors(
    climate: xr.Dataset, known: Mapping[str, np.ndarray]
) -> dict[str, xr.DataArray]:
    """
    Return the standard errors of the estimates.

    Parameters
    ----------
    climate, known
        As for `conditions`; the climate also with vapour_pressure [kPa] and rainfall [mm].

    Returns
    -------
    dict of str to DataArray
        By the names of `contract.ERRORS`, in their units; 68 % of misses lie within.
    """
    fit, values = fitted(), conditions(climate, known)
    template = climate["air_temperature"]
    errors = {
        name: template.copy(
            data=weighted_sum(values, coefficients, fit["error_span"])
            .clip(min=LEAST_ERROR[name])
            .astype("float32")
        )
        for name, coefficients in fit["error"].items()
    }
    water = {
        "dewpoint_error": dewpoint_error(template, climate["vapour_pressure"]),
        "rainfall_error": rainfall_error(template, climate["rainfall"]),
    }
    return errors | {name: values.astype("float32") for name, values in water.items()}
