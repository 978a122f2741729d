"""What the years between the climate data and a trip have warmed.

In: a climatology of past years, the year of a trip. Out: the same, warmer. Assumes a steady
rate, which fits two decades; single years differ from it by more than it adds.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.air import saturation_vapour_pressure

GLOBAL_RATE = 0.02
"""Warming of the globe. [K year-1] IPCC AR6 WG1, from memory: human-induced warming rises by
0.2 K a decade; single later estimates reach 0.26."""

LAND_RATIO = 1.5
"""Warming of land over that of the globe. [1] IPCC AR6 WG1, from memory: land warmed by 1.59 K
and the globe by 1.09 K from 1850-1900 to 2011-2020, which is 1.46."""

RATIOS = ((-60.0, 0.8), (-30.0, 1.1), (0.0, 1.1), (30.0, 1.4), (60.0, 1.9), (75.0, 2.5))
"""Warming over that of the globe by latitude, on land. [degrees_north, 1]

judgement after the maps of IPCC AR6 WG1 chapter 4 and its Atlas, from memory: the Arctic warms
two to three times as fast as the globe, northern continents by half to twice as fast, tropical
land little more than the globe, southern land, narrow between oceans, as fast or less. Their
mean over land north of 60 degrees south is `LAND_RATIO` to a twentieth."""

_TEMPERATURES = ("air_temperature", "air_temperature_min", "air_temperature_max")


def warming(latitude: xr.DataArray | float, years: float) -> xr.DataArray | np.ndarray:
    """
    Return what land warms in some years.

    Parameters
    ----------
    latitude : DataArray or float
        [degrees_north]
    years : float
        From the middle year of the data to the year of the trip.

    Returns
    -------
    DataArray or float, as the latitude
        [K] Uncertain by about half of itself: rates of single decades and countries differ
        by as much.

    Examples
    --------
    Fifteen years at the equator, at 50 degrees north and in the Arctic:

    >>> [round(float(warming(latitude, 15)), 2) for latitude in (0.0, 50.0, 75.0)]
    [0.33, 0.52, 0.75]
    """
    latitudes, ratios = np.array(RATIOS).T
    ratio = np.interp(np.asarray(latitude), latitudes, ratios)
    added = GLOBAL_RATE * years * ratio
    return latitude.copy(data=added) if isinstance(latitude, xr.DataArray) else added


def warmed(climatology: xr.Dataset, years: float) -> xr.Dataset:
    """
    Return a climatology as it is expected some years after its own.

    It is off unless a trip asks for it. Added warmth makes cold nights look milder: a
    traveller whose year turns out like the data's would carry too little bedding, while the
    0.3 to 0.8 K for a trip of 2027 are less than the stated error of any minimum. For heat
    the choice errs the other way; who plans a hot journey can turn it on.

    Parameters
    ----------
    climatology : Dataset
        With ``latitude``.
    years : float
        As for `warming`; 0 changes nothing.

    Returns
    -------
    Dataset
        Mean, minimum and maximum warmer alike; vapour pressure raised so that the relative
        humidity stays, as it nearly does over land. Rain is left.
    """
    if not years:
        return climatology
    added, result = warming(climatology["latitude"], years), climatology.copy()
    for name in _TEMPERATURES:
        if name in result:
            former = climatology[name]
            result[name] = (former + added).assign_attrs(former.attrs)
    mean, vapour = climatology["air_temperature"], climatology["vapour_pressure"]
    growth = saturation_vapour_pressure(mean + added) / saturation_vapour_pressure(mean)
    result["vapour_pressure"] = (vapour * growth).assign_attrs(vapour.attrs)
    return result
