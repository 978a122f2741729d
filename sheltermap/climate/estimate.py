"""Estimates of what a climate source lacks, from what it has.

In: monthly temperature, rain and place. Out: extremes of a known range, day-to-day spread,
wet days, each with the error it had against observations (``extremes`` estimates those of an
unknown range).
Assumes monthly means over open land. The constants were fitted on the full sample of
sites named beside each estimate, so expect slightly worse elsewhere; tropical Africa,
South America and islands are barely tested.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from sheltermap.climate.calendar import MID_MONTH_DAYS, month_lengths
from sheltermap.sun import extraterrestrial_radiation

MINIMUM_SHARE_OF_RANGE = 0.495
"""How far the mean minimum lies below the monthly mean, as a share of the daily range.

Fitted at 50 sites; single sites lie within 0.035 of it. The maximum lies above by the rest."""


@dataclass(frozen=True)
class Estimate:
    """What is known about one estimator.

    Attributes
    ----------
    how : str
        In words.
    error : float
        Root mean square error against observations, leaving each site out in turn.
    units : str
        Units of `error`.
    validity : str
        What it was compared with, and where it is worse.
    """

    how: str
    error: float
    units: str
    validity: str

    @property
    def attributes(self) -> dict[str, str]:
        """Return the attributes an estimated variable carries through every later step."""
        return {
            "estimated": f"{self.how}; compared with {self.validity}",
            "uncertainty": f"RMSE {self.error:g} {self.units}",
        }


ESTIMATES = {
    "air_temperature_min": Estimate(
        "from the monthly mean, humidity, rain, sun, height and land",
        1.3,
        "K",
        "places left out of the fit: dry interior 1.9 K, temperate 1.0, humid tropics 1.0, "
        "five daily stations 1.2; a whole dry region left out 2.5",
    ),
    "air_temperature_max": Estimate(
        "from the monthly mean, humidity, rain, sun, height and land",
        1.3,
        "K",
        "places left out of the fit: dry interior 1.4 K, temperate 1.3, humid tropics 1.1, "
        "five daily stations 1.3",
    ),
    "wet_days": Estimate(
        "from monthly rain, temperature and latitude",
        2.0,
        "days a month",
        "15 daily series in 11 groups; 1.5 days where the rain itself was observed",
    ),
    "vapour_pressure": Estimate(
        "from the yearly distribution of vapour density, ordered by temperature and rain",
        2.0,
        "K of dewpoint",
        "49 sites, each left out; 2.9 K at the seven with a monsoon",
    ),
    "night_low_spread": Estimate(
        "from temperature and its annual range",
        0.92,
        "K",
        "55 sites; includes the spread from year to year",
    ),
    "rainfall": Estimate(
        "from reanalysis blended with mapped liquid rain",
        30.0,
        "mm a month",
        "nine stations; 16 % of the yearly total at 68 stations",
    ),
}
"""What is known about each estimator, by variable."""


def wet_share(
    air_temperature: xr.DataArray, rainfall: xr.DataArray, latitude: xr.DataArray | float
) -> xr.DataArray:
    """
    Return the share of days with at least 1 mm of rain.

    The same rain falls on more days where it is cool and far from the equator.

    Parameters
    ----------
    air_temperature : DataArray
        Monthly means. [degC]
    rainfall : DataArray
        Monthly sums. [mm]
    latitude : DataArray or float
        [degrees_north]

    Returns
    -------
    DataArray
        [1, 0 to 1] Rises with rain, falls with temperature; 0 without rain.

    Notes
    -----
    RMSE 1.54 days a month, bias -0.2, at 15 daily series in 11 groups, leaving each group
    out in turn; from rain and temperature alone 1.8, a constant 5.
    """
    warmth = air_temperature.clip(5, 25)
    poleward = np.minimum(np.maximum(np.abs(latitude), 20), 60)
    frequency = (
        0.1067 * (rainfall / 30) ** 0.7984 * np.exp(-0.0169 * warmth + 0.7799 * poleward / 45)
    )
    return -xr.apply_ufunc(np.expm1, -frequency, dask="allowed")


def wet_days(
    air_temperature: xr.DataArray, rainfall: xr.DataArray, latitude: xr.DataArray | float
) -> xr.DataArray:
    """
    Return the days of each month with at least 1 mm of rain.

    Parameters
    ----------
    air_temperature, rainfall, latitude
        As for `wet_share`, along ``month``.

    Returns
    -------
    DataArray
        [day]
    """
    return wet_share(air_temperature, rainfall, latitude) * month_lengths(air_temperature)


def extremes(
    air_temperature: xr.DataArray, temperature_range: xr.DataArray
) -> tuple[xr.DataArray, xr.DataArray]:
    """
    Return the mean daily minimum and maximum.

    Parameters
    ----------
    air_temperature : DataArray
        Monthly means. [degC]
    temperature_range : DataArray
        Mean daily maximum minus mean daily minimum. [K]

    Returns
    -------
    minimum, maximum : DataArray
        [degC]

    Notes
    -----
    For a range that was measured; `extremes.daily_extremes` estimates both without one.
    """
    minimum = air_temperature - MINIMUM_SHARE_OF_RANGE * temperature_range
    return minimum, minimum + temperature_range


def night_low_spread(air_temperature: xr.DataArray) -> xr.DataArray:
    """
    Return the standard deviation of the daily minimum from day to day.

    Parameters
    ----------
    air_temperature : DataArray, along ``month``
        Monthly means. [degC]

    Returns
    -------
    DataArray, same shape
        [K, 1 to 9] Falls with temperature, rises with its annual range. Includes the spread
        from year to year.

    Notes
    -----
    RMSE 0.92 K (24 %) at 55 sites, leaving each out in turn; a constant has 1.6 K.
    """
    continental = annual_range(air_temperature).clip(max=40)
    return (2.77 + 0.090 * continental - 0.079 * air_temperature.clip(-15, 30)).clip(1, 9)


def annual_range(air_temperature: xr.DataArray) -> xr.DataArray:
    """
    Return the warmest minus the coldest month; missing where a month is.

    Parameters
    ----------
    air_temperature : DataArray, along ``month``
        Monthly means. [degC]

    Returns
    -------
    DataArray, without ``month``
        [K]
    """
    warmest = air_temperature.max("month", skipna=False)
    return warmest - air_temperature.min("month", skipna=False)


def monthly_radiation(months: xr.DataArray, latitude: xr.DataArray | float) -> xr.DataArray:
    """
    Return the radiation above the air in the middle of each month.

    Parameters
    ----------
    months : DataArray
        Month numbers. [1 to 12]
    latitude : DataArray or float
        [degrees_north]

    Returns
    -------
    DataArray, along ``month`` and the dimensions of `latitude`
        [MJ m-2 day-1]
    """
    days = np.asarray(MID_MONTH_DAYS)[months.values - 1]
    day = xr.DataArray(days, {"month": months.values}, ["month"])
    return extraterrestrial_radiation(latitude, day)
