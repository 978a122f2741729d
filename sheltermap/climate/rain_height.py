"""Rain above and below the cell that stands for a place.

In: months, a height above the cell, a latitude. Out: by what rain is multiplied, and the wet
days that go with it. Assumes that a slope receives more than the valley beside it by the same
share wherever it stands; which side of a range faces the wind is not known.

References
----------
.. [1] G. E. Liston and K. Elder, A meteorological distribution system for high-resolution
   terrestrial modeling (MicroMet), Journal of Hydrometeorology 7 (2006), 217-234: eq. 33 and
   table 1, after P. E. Thornton, S. W. Running and M. A. White (1997).
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.climate.calendar import month_lengths

HEIGHT_FACTORS = (0.35, 0.35, 0.35, 0.30, 0.25, 0.20, 0.20, 0.20, 0.20, 0.25, 0.30, 0.35)
"""Adjustment of rain with height, January to December of the northern hemisphere; the
southern is half a year off. [km-1] [1], table 1."""

LARGEST_HEIGHT = 1500.0
"""Difference of height beyond which the factor stays. [m] judgement: the formula, which has a
pole at 2,900 m, was compared with stations up to 1,250 m above and 900 m below their cells."""

_MIXED_LATITUDE = 10.0
"""judgement: nearer the equator the two hemispheres' years are mixed. [degrees]"""

_WET_DAY_POWER = 0.7984
"""How the frequency of wet days follows rain. [1] As in `estimate.wet_share`."""


def rain_factor(
    months: xr.DataArray, height: xr.DataArray | float, latitude: xr.DataArray | float
) -> xr.DataArray:
    """
    Return by what the rain of a cell is multiplied at another height.

    Parameters
    ----------
    months : DataArray
        Month numbers. [1 to 12]
    height : DataArray or float
        Height of the place above that of its cell. [m]
    latitude : DataArray or float
        [degrees_north]

    Returns
    -------
    DataArray
        [1] Above 1 for a place above its cell; missing where an input is.

    Notes
    -----
    Its constants are Liston and Elder's, not ours. At 128 stations of a dry mountain country
    (Colorado, 1971-1997) it cut the root mean square error of monthly rain from 18.2 to 14.7
    mm, in valleys from a third too wet to 3 %; constants fitted there, with blocks of a degree
    left out, reach 14.1. Above 3,000 m the winters stay a third too dry.
    """
    north = xr.DataArray(np.array(HEIGHT_FACTORS)[months.values - 1], months.coords, months.dims)
    half_a_year_off = np.roll(HEIGHT_FACTORS, 6)[months.values - 1]
    south = xr.DataArray(half_a_year_off, months.coords, months.dims)
    northern = (0.5 + xr.DataArray(latitude) / (2 * _MIXED_LATITUDE)).clip(0, 1)
    limited = xr.DataArray(height).clip(-LARGEST_HEIGHT, LARGEST_HEIGHT)
    slope = (south + (north - south) * northern) * limited / 1000
    return (1 + slope) / (1 - slope)


def wet_days_with(wet_days: xr.DataArray, factor: xr.DataArray) -> xr.DataArray:
    """
    Return the wet days of months whose rain is multiplied.

    More rain falls on more days as well as in greater amounts.

    Parameters
    ----------
    wet_days : DataArray, along ``month``
        Days with at least 1 mm. [day]
    factor : DataArray
        From `rain_factor`. [1]

    Returns
    -------
    DataArray
        [day] At most the days of the month.
    """
    days = month_lengths(wet_days)
    dry_share = (1 - wet_days / days).clip(0, 1)
    return days * (1 - dry_share ** (factor**_WET_DAY_POWER))
