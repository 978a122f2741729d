"""Water in the ground: when tracks turn to mud, and how wet the country is.

In: the days of a long-term year. Out: evaporation, and how full the ground's store of water
is, and what runs off it. Assumes level ground of one kind everywhere: sand drains sooner, black
clay later, and rivers that bring water from elsewhere are not known.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.elementwise import elementwise
from sheltermap.hazards.snow import MELT_FACTOR, RAIN_FROM, SNOW_TO
from sheltermap.sun import extraterrestrial_radiation
from sheltermap.vocabulary import DAYS_IN_YEAR, Floats, Values

STORE = 100.0
"""Water that the ground holds for plants. [mm] FAO-56 table 19: 75 to 100 mm in half a metre of
loam or clay; judgement: the depth that tracks feel."""

EASY_SHARE = 0.5
"""Share of the store that evaporates as fast as from open grass. [1] FAO-56 table 22: about a
half for most plants; below it evaporation falls in proportion (eq. 84)."""

_EVAPORATION_MM = 0.408
"""Water that a megajoule evaporates. [mm m2 MJ-1] FAO-56 eq. 20."""


def reference_evapotranspiration(
    mean: Values | float, low: Values | float, high: Values | float, radiation: Values | float
) -> Values:
    """
    Return the water that well-watered grass evaporates in a day, from temperatures alone.

    Parameters
    ----------
    mean, low, high : any shape
        Mean, minimum and maximum of the day. [degC]
    radiation : any shape that broadcasts
        Of the sun above the air. [MJ m-2 day-1]

    Returns
    -------
    broadcast shape
        [mm day-1] Not below 0.

    References
    ----------
    .. [1] FAO-56 eq. 52, after Hargreaves. It reads high in humid country and low where wind
       blows above 3 m/s.

    Examples
    --------
    FAO-56 example 20: Lyon in July, 26.6 and 14.8 degC, 40.6 MJ m-2 day-1.

    >>> round(float(reference_evapotranspiration(20.7, 14.8, 26.6, 40.6)), 1)
    5.0
    """
    return elementwise(_hargreaves, mean, low, high, radiation, units="mm day-1")


def evapotranspiration(season: xr.Dataset) -> xr.DataArray:
    """
    Return `reference_evapotranspiration` of a season.

    Parameters
    ----------
    season : xarray.Dataset, dims ``day`` or ``month`` and any others
        air_temperature, its _min and _max [degC]; coordinates latitude and day_of_year.

    Returns
    -------
    xarray.DataArray, same dims
        [mm day-1]
    """
    radiation = extraterrestrial_radiation(season["latitude"], season["day_of_year"])
    return reference_evapotranspiration(
        season["air_temperature"],
        season["air_temperature_min"],
        season["air_temperature_max"],
        radiation,
    ).transpose(*season["air_temperature"].dims)


def wetness(season: xr.Dataset, drying: xr.DataArray) -> xr.DataArray:
    """
    Return how full the ground's store of water is on each day of a mean year.

    Parameters
    ----------
    season : xarray.Dataset, dim ``day`` and any others
        air_temperature [degC], rain_per_day [mm day-1].
    drying : xarray.DataArray, same dims
        From `evapotranspiration`. [mm day-1]

    Returns
    -------
    xarray.DataArray, dims ``day`` and the others
        Share of `STORE`. [1, 0 to 1] Missing where an input is.

    Notes
    -----
    What falls below freezing lies as snow until it melts (``hazards.snow``); nothing seeps into
    ground whose mean day is below freezing, and what the full store cannot take runs off.
    """
    held, _ = _balance(season, drying)
    return (held / STORE).assign_attrs(units="1")


def runoff(season: xr.Dataset, drying: xr.DataArray) -> xr.DataArray:
    """
    Return the water that a full store cannot take on each day of a mean year.

    Parameters
    ----------
    season, drying
        As for `wetness`.

    Returns
    -------
    xarray.DataArray, dims ``day`` and the others
        Of rain and melted snow. [mm day-1] Missing where an input is.
    """
    _, over = _balance(season, drying)
    return over.assign_attrs(units="mm day-1")


def _hargreaves(mean: Floats, low: Floats, high: Floats, radiation: Floats) -> Floats:
    warmth = np.maximum(mean + 17.8, 0.0)
    return 0.0023 * warmth * np.sqrt(np.maximum(high - low, 0.0)) * _EVAPORATION_MM * radiation


def _balance(season: xr.Dataset, drying: xr.DataArray) -> tuple[xr.DataArray, xr.DataArray]:
    """Return `_store` of labelled days."""
    mean = season["air_temperature"]
    order = ("day", *(dim for dim in mean.dims if dim != "day"))
    values = (each.transpose(*order).values for each in (mean, season["rain_per_day"], drying))
    coordinates = {name: each for name, each in mean.coords.items() if each.dims}
    held, over = (xr.DataArray(each, coordinates, order) for each in _store(*values))
    return held, over


def _store(mean: Floats, rain: Floats, drying: Floats) -> tuple[Floats, Floats]:
    """Return the water in the store on each day of arrays (day, ...), and what runs off. [mm]"""
    snow_share = np.clip((RAIN_FROM - mean) / (RAIN_FROM - SNOW_TO), 0.0, 1.0)
    snowing, raining = rain * snow_share, rain * (1.0 - snow_share)
    melting = MELT_FACTOR * np.maximum(mean, 0.0)
    thawed = mean > 0.0
    water, over = np.empty_like(mean), np.empty_like(mean)
    held, snow = np.full(mean.shape[1:], STORE / 2), np.zeros(mean.shape[1:])
    for _ in range(2):  # The second year forgets how full the store began.
        for day in range(DAYS_IN_YEAR):
            snow = snow + snowing[day]
            melted = np.minimum(snow, melting[day])
            snow = snow - melted
            lost = drying[day] * np.minimum(held / (EASY_SHARE * STORE), 1.0)
            filled = held + np.where(thawed[day], raining[day] + melted - lost, 0.0)
            held = np.clip(filled, 0.0, STORE)
            water[day], over[day] = held, filled
    return water, np.maximum(over - STORE, 0.0)
