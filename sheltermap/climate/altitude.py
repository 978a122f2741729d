"""Camps above or below the cell that stands for them.

In: a climatology or season and the camp's height. Out: the same, corrected, with the
correction and the error it adds. Assumes that differences of height
matter fully inland, and near coasts only beyond a dead band.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.air import ZERO_CELSIUS, saturation_vapour_pressure
from sheltermap.climate.rain_height import rain_factor, wet_days_with
from sheltermap.climate.water_errors import rainfall_error

DEAD_BAND = 350.0
"""Difference of height left uncorrected at coasts. [m] There stations with sea air differ from
their cell by less than height says: correcting all of it takes maxima from 1.45 to 1.7 K."""

COAST, INLAND = 0.6, 1.0
"""Shares of land of a cell up to which the whole dead band counts, and from which none. [1]
judgement"""

LAPSES = {
    "air_temperature": -5.5,
    "air_temperature_min": -4.4,
    "air_temperature_max": -6.5,
}
"""Change of temperatures with height. [K km-1]

At 209 stations of a dry interior minima fell by 4.4 (3 in July, 6.7 in March: seasons gained
nothing at places left out) and maxima by 6.5 to 7.4. The mean takes what lies between them; a
full 6 K/km without a band is too much for it where a cell's height is uncertain."""

VAPOUR_SCALE_HEIGHT = 2100.0
"""Height over which vapour density falls to 1/e. [m]"""

ERROR_GROWTH = 1.5
"""Standard error of temperature for each kilometre corrected. [K km-1] judgement: minima are
seen to fall by 2.5 to 4.5 K/km and maxima by 6.5 (Minder 2010, Blandford 2008)."""


def at_elevation(
    climatology: xr.Dataset,
    camp_elevation: xr.DataArray | float | None,
    camp_elevation_error: xr.DataArray | float = 0.0,
) -> xr.Dataset:
    """
    Return the climate at a camp's height.

    Parameters
    ----------
    climatology : Dataset
        A climatology or season with any dimensions, the coordinate ``latitude``, and
        ``elevation`` of its cells.
    camp_elevation : DataArray, float or None
        Height of the camp, broadcast by name; None or missing where it is unknown, which
        corrects nothing. [m]
    camp_elevation_error : DataArray or float
        Its standard error, as of a height read from a map; missing counts as none. [m]

    Returns
    -------
    Dataset, same dimensions
        Temperatures, vapour pressure (at most saturated), monthly rain and wet days
        corrected.
        ``elevation`` is the camp's; ``height_corrected`` [m] is how much of the difference
        was corrected, 0 inside the dead band; ``temperature_correction`` [K] is what was
        added to the mean and ``temperature_correction_error`` [K] its standard error.

    Notes
    -----
    A source that lacks heights is left as it is, its corrections missing. One without
    shares of land is taken as inland. Valley floors hold cold air that no lapse rate knows.

    A height from the embedded map needs no wider dead band than a stated one: the band
    stands for the cell's height, not the camp's. At 14,036 airports outside the USA the
    height left wrong had an RMSE of 248 m uncorrected, 186 m with a band of 350 m, 145 m with
    150 m and 113 m with none; so in the USA (160, 137, 103, 74). Its error adds to the spread
    at the lapse rate, inside the band too.
    """
    if camp_elevation is None:
        return climatology
    cell = climatology.get("elevation", xr.DataArray(np.nan, attrs={"units": "m"}))
    difference = xr.DataArray(camp_elevation) - cell
    height = np.sign(difference) * np.maximum(np.abs(difference) - _dead_band(climatology), 0.0)
    known = height.fillna(0.0)
    found = _lapsed(climatology, known)
    if "vapour_pressure" in climatology:
        found["vapour_pressure"] = _thinned(climatology, found["air_temperature"], known)
    if "rainfall" in climatology and "month" in climatology["rainfall"].dims:
        found |= _with_height(climatology, known)
    found["elevation"] = (cell + difference).fillna(cell).assign_attrs(cell.attrs)
    found["height_corrected"] = height.assign_attrs(
        long_name="difference of height that was corrected", units="m"
    )
    found["temperature_correction"] = (LAPSES["air_temperature"] * height / 1000).assign_attrs(
        long_name="mean temperature added for the height of the camp", units="K"
    )
    of_camp = LAPSES["air_temperature"] * xr.DataArray(camp_elevation_error).fillna(0.0)
    spread = np.hypot(ERROR_GROWTH * height, of_camp) / 1000
    found["temperature_correction_error"] = spread.assign_attrs(
        long_name="standard error of the temperature added for height", units="K"
    )
    return climatology.assign(found)


def _dead_band(climatology: xr.Dataset) -> xr.DataArray:
    """Return the difference of height left uncorrected: all at coasts, none inland. [m]"""
    land = climatology.get("land_fraction", xr.DataArray(INLAND)).fillna(INLAND)
    return DEAD_BAND * ((INLAND - land) / (INLAND - COAST)).clip(0.0, 1.0)


def _lapsed(climatology: xr.Dataset, height: xr.DataArray) -> dict[str, xr.DataArray]:
    """Return the temperatures after a change of height.

    No extreme passes the mean where lapse rates would turn them round: they differ by 2 K/km, so
    a day's range of 5 K lasts 4 km.
    """
    found = {
        name: climatology[name] + lapse * height / 1000
        for name, lapse in LAPSES.items()
        if name in climatology
    }
    for name, limit in (("air_temperature_min", np.minimum), ("air_temperature_max", np.maximum)):
        if name in found:
            found[name] = xr.apply_ufunc(
                limit, found[name], found["air_temperature"], dask="allowed"
            )
    return {name: each.assign_attrs(climatology[name].attrs) for name, each in found.items()}


def _with_height(climatology: xr.Dataset, height: xr.DataArray) -> dict[str, xr.DataArray]:
    """Return rain, wet days and the error of rain after a change of height."""
    former = climatology["rainfall"]
    factor = rain_factor(former["month"], height, former["latitude"])
    found = {"rainfall": (former * factor).assign_attrs(former.attrs)}
    if "wet_days" in climatology:
        days = wet_days_with(climatology["wet_days"], factor)
        # Where nothing was corrected, the source's own value stands.
        days = xr.where(height == 0, climatology["wet_days"], days)
        found["wet_days"] = days.assign_attrs(climatology["wet_days"].attrs)
    if "rainfall_error" in climatology:
        error = rainfall_error(climatology["air_temperature"], found["rainfall"], height)
        found["rainfall_error"] = error.assign_attrs(climatology["rainfall_error"].attrs)
    return found


def _thinned(
    climatology: xr.Dataset, temperature: xr.DataArray, height: xr.DataArray
) -> xr.DataArray:
    """Return the vapour pressure after a change of height, at most saturated."""
    former = climatology["vapour_pressure"]
    warmth = (temperature + ZERO_CELSIUS) / (climatology["air_temperature"] + ZERO_CELSIUS)
    pressure = former * np.exp(-height / VAPOUR_SCALE_HEIGHT) * warmth
    capped = np.minimum(pressure, saturation_vapour_pressure(temperature))
    # Where nothing was corrected, the source's own value stands, saturated or not.
    return xr.where(height == 0, former, capped).assign_attrs(former.attrs)
