"""Fire weather: the air of a mean day and the drought that months of little rain leave.

In: months of air and rain. Out: the Angström index, the monthly drought code, and the months
in which both say that what grows there burns. Assumes nothing of wind, slope or who lights
fires; what burns was rained on before, so a desert has nothing to burn.

References
----------
.. [1] C. Chandler et al., Fire in Forestry, 1983, as printed by the WSL fire wiki,
   "Angström index", read 2026-11-25.
.. [2] C. E. Van Wagner and T. L. Pickett, Equations and FORTRAN program for the Canadian Forest
   Fire Weather Index System, 1985, equations 18 to 23.
.. [3] M. P. Girardin and B. M. Wotton, Journal of Applied Meteorology and Climatology 48 (2009),
   517-529: its drought code from months; the form from memory.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.air import relative_humidity
from sheltermap.vocabulary import DAYS_IN_MONTH, Floats

DRY_AIR = 2.8
"""Angström index of the mean day from which fires spread. [1] In print conditions favour fire
below 2.5; judgement: half of a month's days are drier than their mean."""

VERY_DRY_AIR = 2.0
"""The same where fire is very likely. [1] As printed."""

DROUGHT, DEEP_DROUGHT = 100.0, 250.0
"""Monthly drought code from which litter and from which heavy fuel burns. [1] The first was
chosen with 32 places in view (see the tests); the second is judgement."""

WET_MONTH = 85.0
"""Rain of a month in which little burns for long. [mm] Chosen with the same places in view."""

SOAKED_MONTH = 130.0
"""Rain of a month after which what grew in it stays green for another. [mm] judgement: grass
cures in about a month; so Niamey doesn't burn in September, nor Bangkok in November."""

LEAST_RAIN = 240.0
"""Rain of a year from which enough grows to carry a fire. [mm] judgement"""

_DAY_LENGTH = (-1.6, -1.6, -1.6, 0.9, 3.8, 5.8, 6.4, 5.0, 2.4, 0.4, -1.6, -1.6)
_TROPICAL_DAY_LENGTH, _TROPICS = 1.4, 10.0
"""Day length factor of [2], the southern half a year off; near the equator a constant, which
is common practice. [1], [degrees]"""

_YEARS = 3
"""How often the year is run through for the code to forget its start."""


def angstrom_index(season: xr.Dataset) -> xr.DataArray:
    """
    Return the Angström fire index of the mean day's warmest hour. [1]

    Parameters
    ----------
    season : xarray.Dataset
        air_temperature_max [degC] stands for 13:00, with vapour_pressure [kPa].

    Returns
    -------
    xarray.DataArray
        Above 4 fire is unlikely, from 2.5 down conditions favour it, below 2 it is very
        likely.
    """
    warmest = season["air_temperature_max"]
    humidity = relative_humidity(warmest, season["vapour_pressure"])
    return humidity / 20.0 + (27.0 - warmest) / 10.0


def drought_code(season: xr.Dataset) -> xr.DataArray:
    """
    Return the drought code of each month of a year that repeats. [2], [3]

    Parameters
    ----------
    season : xarray.Dataset, dim ``month`` and any others
        air_temperature_max [degC], rain_per_day [mm day-1]; coordinate latitude.

    Returns
    -------
    xarray.DataArray, dims ``month`` and the others
        0 for soaked ground, 800 for the driest that the scale of [2] was made for. [1]
    """
    warmest = season["air_temperature_max"]
    order = ("month", *(dim for dim in warmest.dims if dim != "month"))
    warmest = warmest.transpose(*order)
    rain = season["rain_per_day"].transpose(*order)
    factor = _day_length(season["latitude"]).broadcast_like(warmest).transpose(*order)
    code = _code(warmest.values, rain.values, factor.values)
    return warmest.copy(data=code).assign_attrs(units="1")


def fire_strength(season: xr.Dataset) -> xr.DataArray:
    """
    Return the fire weather of months: 0 none, 1 a sign, 2 a strong one.

    Parameters
    ----------
    season : xarray.Dataset, dim ``month`` and any others
        As for the two indices.

    Returns
    -------
    xarray.DataArray, dims ``month`` and the others
        Missing where an input is.
    """
    index, code = angstrom_index(season), drought_code(season)
    lengths = xr.DataArray(np.array(DAYS_IN_MONTH), dims="month")
    rain = season["rain_per_day"] * lengths
    grown = rain.sum("month") >= LEAST_RAIN
    cured = rain.roll(month=1, roll_coords=False) < SOAKED_MONTH
    dry = (rain < WET_MONTH) & (index <= DRY_AIR) & (code >= DROUGHT)
    burns = grown & cured & dry
    strong = burns & (index <= VERY_DRY_AIR) & (code >= DEEP_DROUGHT)
    return (burns * 1.0 + strong).where(index.notnull() & code.notnull() & rain.notnull())


def _day_length(latitude: xr.DataArray) -> xr.DataArray:
    """Return the day length factor of [2] by month and place."""
    north = xr.DataArray(np.array(_DAY_LENGTH), dims="month")
    south = xr.DataArray(np.roll(_DAY_LENGTH, 6), dims="month")
    return xr.where(
        abs(latitude) <= _TROPICS, _TROPICAL_DAY_LENGTH, xr.where(latitude > 0, north, south)
    )


def _code(warmest: Floats, rain: Floats, factor: Floats) -> Floats:
    """Return the code of months along the first axis; [3] takes the mean of mid and end."""
    lengths = np.reshape(DAYS_IN_MONTH, (-1, *[1] * (warmest.ndim - 1)))
    drying = 0.25 * np.maximum(lengths * (0.36 * warmest + factor), 0.0)
    wetting = 3.937 * 0.83 * rain * lengths
    code = np.empty_like(warmest)
    last = np.zeros(warmest.shape[1:])
    for _ in range(_YEARS):
        for month in range(len(code)):
            held = np.minimum(800.0 * np.exp(-last / 400.0) + wetting[month], 800.0)
            end = 400.0 * np.log(800.0 / held) + drying[month]
            code[month] = (last + drying[month] + end) / 2.0
            last = end
    return code
