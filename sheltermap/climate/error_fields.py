"""How far estimates of a climatology miss, by place and month.

In: the climate. Out: the standard error of minimum, maximum, dewpoint and rain in each cell
and month. Assumes the estimates of the embedded climatology; a source that measured has no
use for them.

Each error is a sum over a few conditions, fitted so that 68 % of the misses at places left
out of the estimates' own fit lie within it (``regions/world/fit_extremes.py``; the
coefficients stand in ``extremes.toml``). Places are seldom missed by chance: an error holds
for all years at a place, and neighbours share it.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import xarray as xr

from sheltermap.climate.extremes import fitted, weighted_sum

LEAST_ERROR = {
    "air_temperature_min_error": 1.0,
    "air_temperature_max_error": 1.0,
    "dewpoint_error": 0.7,
    "rainfall_error": 3.0,
}
"""Error below which no estimate is believed. [K; mm] judgement: the mean temperature alone
misses by 1.1 K at eleven stations."""


def conditions(climate: xr.Dataset, known: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    """
    Return what the errors rest on.

    Parameters
    ----------
    climate : Dataset
        air_temperature, ``rainfall`` [mm] and ``relief`` [m], the standard deviation of the
        heights of the 3 x 3 half-degree cells around.
    known : mapping of str to array
        From `extremes.predictors`.

    Returns
    -------
    dict of str to array, as the air temperature
        dryness [1]: one less the humidity; coast [1]: one less the share of land; relief
        [km]; continentality [10 K]; rain and rain_over_relief [100 mm; 100 mm km].
    """
    _, rain, relief = (
        array.data
        for array in xr.broadcast(
            climate["air_temperature"], climate["rainfall"] / 100, climate["relief"] / 1000
        )
    )
    return {
        "dryness": 1 - known["humidity"],
        "coast": 1 - known["land"],
        "relief": relief,
        "continentality": known["continentality"],
        "rain": rain,
        "rain_over_relief": rain * relief,
    }


def estimated_errors(
    climate: xr.Dataset, known: Mapping[str, np.ndarray]
) -> dict[str, xr.DataArray]:
    """
    Return the standard errors of the estimates.

    Parameters
    ----------
    climate, known
        As for `conditions`.

    Returns
    -------
    dict of str to DataArray
        By the names of `grid.ERRORS`, in their units; 68 % of misses lie within.
    """
    fit, values = fitted(), conditions(climate, known)
    template = climate["air_temperature"]
    return {
        name: template.copy(
            data=weighted_sum(values, coefficients, fit["error_span"])
            .clip(min=LEAST_ERROR[name])
            .astype("float32")
        )
        for name, coefficients in fit["error"].items()
    }
