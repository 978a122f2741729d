"""Whether the climate suits malaria: two published rules, none of them a risk.

In: mean temperature, rain and humidity of months. Out: suitability, and whether it lasts
long enough for stable transmission.
Assumes rain makes the breeding water, so rivers, lakes and irrigation break it; places
without the parasite can be as suitable as can be. Ask a travel clinic.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

STABLE_MONTHS = 5
"""Suitable months in a row for stable transmission. Craig et al. 1999."""

_WARM_ENOUGH = (18.0, 22.0)  # [degC]
_TOO_HOT = (32.0, 40.0)  # [degC]
_WET_ENOUGH = (0.0, 80.0)  # [mm month-1]
_MILD_WINTER = (4.0, 6.0)  # [degC] mean minimum of the coldest month

_BOOLEAN_MEAN = (18.0, 32.0)  # [degC]
_BOOLEAN_RAIN = 80.0  # [mm month-1]
_BOOLEAN_HUMIDITY = 60.0  # [%]


def fuzzy_suitability(mean_temperature, monthly_rain, winter_minimum):
    """
    Return how well the climate of a month suits malaria.

    Parameters
    ----------
    mean_temperature : array_like or DataArray, any shape
        Mean of the month. [degC]
    monthly_rain : same shape
        Sum of the month. [mm]
    winter_minimum : broadcastable
        Mean daily minimum of the year's coldest month. [degC]

    Returns
    -------
    same shape
        The least of the three memberships, 0 to 1. [1] Missing in, missing out.

    References
    ----------
    .. [1] M. H. Craig, R. W. Snow and D. le Sueur, Parasitology Today 15 (1999), 105-111;
       shape of the membership from memory.

    Examples
    --------
    >>> float(fuzzy_suitability(20.0, 80.0, 10.0).round(3))
    0.5
    """
    warm = rising(mean_temperature, *_WARM_ENOUGH)
    cool = 1.0 - rising(mean_temperature, *_TOO_HOT)
    wet = rising(monthly_rain, *_WET_ENOUGH)
    mild = rising(winter_minimum, *_MILD_WINTER)
    return np.minimum(np.minimum(warm, cool), np.minimum(wet, mild))


def boolean_suitability(mean_temperature, monthly_rain, humidity):
    """
    Return whether a month's climate suits malaria by three thresholds.

    Parameters
    ----------
    mean_temperature : DataArray, any shape
        [degC]
    monthly_rain : DataArray, same shape
        [mm]
    humidity : DataArray, same shape
        Relative humidity. [%]

    Returns
    -------
    DataArray of float
        1 or 0; missing where an input is.

    References
    ----------
    .. [1] International Research Institute for Climate and Society, malaria climate
       suitability tool: 18 to 32 °C, at least 80 mm and at least 60 %.
    """
    low, high = _BOOLEAN_MEAN
    suits = (
        (mean_temperature >= low)
        & (mean_temperature <= high)
        & (monthly_rain >= _BOOLEAN_RAIN)
        & (humidity >= _BOOLEAN_HUMIDITY)
    )
    known = mean_temperature.notnull() & monthly_rain.notnull() & humidity.notnull()
    return suits.astype(float).where(known)


def stable_transmission(suitable: xr.DataArray, months: int = STABLE_MONTHS) -> xr.DataArray:
    """
    Return whether enough suitable months follow each other, round the year's end.

    Parameters
    ----------
    suitable : DataArray of bool, dim month of 12
        Whether each month suits.
    months : int
        Months in a row; three in north Africa.

    Returns
    -------
    DataArray of bool
        Without ``month``.
    """
    run = suitable.copy()
    for shift in range(1, months):
        run = run & suitable.roll(month=-shift, roll_coords=False)
    return run.any("month")


def rising(value, low: float, high: float):
    """
    Return a membership that rises from 0 at `low` to 1 at `high` as a squared sine.

    Examples
    --------
    >>> float(rising(19.0, 18.0, 22.0).round(3))
    0.146
    """
    share = np.clip((value - low) / (high - low), 0.0, 1.0)
    return np.sin(0.5 * np.pi * share) ** 2
