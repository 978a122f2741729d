"""Thaw on frozen ground: the weeks in which unpaved roads turn to mud from above.

In: the days of a long-term year and how wet the ground is. Out: the days of the thaw. Assumes
mean years: the thaw of a given year comes up to two weeks earlier or later.

References
----------
.. [1] Minnesota Department of Transportation, "Thaw definitions and load restriction criteria",
   read 2026-11-25: roads are weakest from a thawing index of 25 degF days on, above 29 degF in
   February.
.. [2] J. P. Mahoney et al., Guidelines for spring highway use restrictions, 1985, as road
   agencies use it: the weak time lasts 25 days and 0.01 day for each degF day of the winter's
   freezing index; from memory.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.vocabulary import DAYS_IN_YEAR, Flags, Floats

THAW_ABOVE = -1.7
"""Mean of a day from which the sun thaws a dark road. [degC] 29 degF of [1]."""

THAW_STARTS = 14.0
"""Sum of the degrees above `THAW_ABOVE` at which a road begins to give way. [K day] [1]"""

LEAST_DAYS, DAYS_PER_FROST = 25.0, 0.018
"""Length of the thaw: at least so long [day], and for each degree-day of frost. [K-1] [2]"""

LEAST_FROST = 150.0
"""Sum of the winter's degrees below freezing from which ground is frozen deep enough to hold
its water up. [K day] judgement: a third of a metre."""

LEAST_WETNESS = 0.4
"""How full the ground's store must be for its thaw to make mud. [1] judgement: steppe and desert
thaw dry."""


def thaw_days(season: xr.Dataset, wetness: xr.DataArray) -> xr.DataArray:
    """
    Return the days on which frozen ground thaws to mud.

    Parameters
    ----------
    season : xarray.Dataset, dim ``day`` and any others
        air_temperature. [degC]
    wetness : xarray.DataArray, same dims
        From ``soil.wetness``. [1]

    Returns
    -------
    xarray.DataArray of float, dims ``day`` and the others
        1 on those days, 0 on others; missing where an input is.
    """
    mean = season["air_temperature"]
    order = ("day", *(dim for dim in mean.dims if dim != "day"))
    mean, wet = mean.transpose(*order), wetness.transpose(*order)
    thawing = _thawing(mean.values)
    known = mean.notnull() & wet.notnull()
    return (mean.copy(data=thawing & (wet.values >= LEAST_WETNESS)) * 1.0).where(known)


def _thawing(mean: Floats) -> Flags:
    """Return the days of the thaw for arrays (day, ...), however dry the ground."""
    frost = np.maximum(-mean, 0.0).sum(axis=0)
    coldest = np.argmin(mean, axis=0)
    since = (np.arange(DAYS_IN_YEAR).reshape(-1, *[1] * (mean.ndim - 1)) - coldest) % DAYS_IN_YEAR
    # Days in their order after the coldest, so that the sum starts with it.
    order = np.argsort(since, axis=0)
    warmth = np.maximum(np.take_along_axis(mean, order, axis=0) - THAW_ABOVE, 0.0)
    thawed = np.cumsum(warmth, axis=0) >= THAW_STARTS
    start = np.argmax(thawed, axis=0)
    length = LEAST_DAYS + DAYS_PER_FROST * frost
    weak = (since >= start) & (since < start + length)
    # Ground that no summer thaws has no start.
    return weak & thawed[-1] & (frost >= LEAST_FROST)
