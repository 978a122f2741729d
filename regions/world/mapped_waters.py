"""Rain and humidity from published maps, for the making of the embedded climatology.

In: monthly reanalysis values and maps of yearly statistics. Out: monthly rain and vapour
pressure. Assumes the maps' own scales; sources that people import bring their own rain and
humidity, so nothing else uses this.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.air import saturation_vapour_pressure, vapour_density

MEAN_MONTH_DAYS = 30.44
"""Length of the constant month that the reanalysis rain assumes. [day]"""


def blended_rain(
    air_temperature: xr.DataArray, reanalysis: xr.DataArray, liquid: xr.DataArray
) -> xr.DataArray:
    """
    Return monthly precipitation from a reanalysis tamed by mapped liquid rain.

    The reanalysis has spurious very wet cells and is too wet on the whole; the map lacks
    most snow. Warm months take half of each, frosty ones the reanalysis.

    Parameters
    ----------
    air_temperature : DataArray, along ``month``
        Monthly means. [degC]
    reanalysis : DataArray, same shape
        Precipitation sums of real months. [mm]
    liquid : DataArray, same shape
        Liquid rain sums. [mm]

    Returns
    -------
    DataArray, same shape
        [mm] Rises with both inputs.

    Notes
    -----
    RMSE 30 mm a month at nine stations (reanalysis alone 27, map alone 41); yearly totals of
    68 stations: 16 % (23 %, 9 %; the map is probably made from gauges, so this match is not
    fully independent). A compromise and a safeguard, not a proven gain everywhere.
    """
    liquid_share = np.maximum(0.1, 1 / (1 + np.exp(-(air_temperature + 1.5) / 4.5)))
    mapped = liquid / liquid_share
    ceiling = xr.where(air_temperature > 0, 3 * mapped + 40, np.inf)
    tamed = 0.9 * np.minimum(reanalysis, ceiling)
    weight = 0.5 * (air_temperature / 8).clip(0, 1)
    return weight * mapped + (1 - weight) * tamed


def humidity_score(air_temperature: xr.DataArray, rainfall: xr.DataArray) -> xr.DataArray:
    """
    Return where each month stands in the year's distribution of vapour density.

    Parameters
    ----------
    air_temperature : DataArray, along ``month``, all twelve in order
        Monthly means. [degC]
    rainfall : DataArray, same shape
        Monthly sums. [mm]

    Returns
    -------
    DataArray, same shape
        Normal score: 0 is the median, larger is moister. [1]

    Notes
    -----
    Before a monsoon the hottest months are dry ones: what moistens the air there is rain, and
    the rain of the month before, still in the ground, counts as much as the month's own.
    """
    before = rainfall.roll(month=1, roll_coords=False)
    air, ground = saturated_density(air_temperature), (rainfall + before) / 2 + 10
    moisture: xr.DataArray = xr.apply_ufunc(lambda a, g: np.log(a) + 0.2 * np.log(g), air, ground)
    deviation = moisture - moisture.mean("month")
    return 0.95 * deviation / (moisture.std("month") + 0.17)


def vapour_pressure(
    air_temperature: xr.DataArray,
    rainfall: xr.DataArray,
    exceeded_density: np.ndarray,
    exceedance: np.ndarray,
) -> xr.DataArray:
    """
    Return the monthly vapour pressure from the yearly distribution of vapour density.

    Parameters
    ----------
    air_temperature : DataArray, along ``month`` and others
        Monthly means. [degC]
    rainfall : DataArray, same shape
        Monthly sums. [mm]
    exceeded_density : ndarray, first axis as `exceedance`, then the other dimensions
        Vapour density exceeded for each share of the year. [g m-3]
    exceedance : ndarray, one dimension, ascending
        Those shares. [%]

    Returns
    -------
    DataArray, same shape
        [kPa] At most 95 % of saturation.

    Notes
    -----
    Left out in turn, 49 hourly sites and typical years: dewpoint RMSE 2.0 K, bias 0; at the
    seven of them with a monsoon 2.9 K, where temperature and the month's own rain alone have
    3.2. Still 3 to 7 K too moist in the dry heat before a monsoon, and as dry or moist as the
    map where its coarse nodes smooth a valley or a coast. Linear in the normal score between
    the published shares, constant beyond. It rises with rain and temperature of one month
    wherever the other months' spread hides the change of the yearly mean; not everywhere.
    """
    from scipy.special import ndtri

    score = humidity_score(air_temperature, rainfall)
    moist_first = -ndtri(np.asarray(exceedance) / 100)
    density = score.copy(data=_interpolated(score, exceeded_density, moist_first))
    most = 0.95 * saturated_density(air_temperature)
    density = xr.apply_ufunc(np.minimum, density, most)
    return density / vapour_density(air_temperature, 1.0)


def _interpolated(score: xr.DataArray, levels: np.ndarray, nodes: np.ndarray) -> np.ndarray:
    """Return `levels`, given at descending `nodes` of the first axis, at every score."""
    axis = score.get_axis_num("month")
    months = np.moveaxis(score.values, axis, 0)
    clipped = np.clip(months, nodes[-1], nodes[0])
    result = np.full_like(clipped, np.nan)
    for upper, lower in zip(range(len(nodes) - 1), range(1, len(nodes)), strict=True):
        inside = (clipped <= nodes[upper]) & (clipped >= nodes[lower])
        part = (clipped - nodes[lower]) / (nodes[upper] - nodes[lower])
        value = levels[lower] + part * (levels[upper] - levels[lower])
        result = np.where(inside, value, result)
    return np.moveaxis(result, 0, axis)


def saturated_density(air_temperature: xr.DataArray) -> xr.DataArray:
    """
    Return the vapour density of saturated air.

    Parameters
    ----------
    air_temperature : DataArray
        [degC]

    Returns
    -------
    DataArray
        [g m-3]
    """
    return vapour_density(air_temperature, saturation_vapour_pressure(air_temperature))
