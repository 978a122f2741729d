"""Spread between years: how far one year's month departs from the long-term mean.

In: a month's spread of nights, its rain, its wet days, as the climatology's monthly values
give them. Out: standard deviations between years. Assumes that the spread of the nights
counts all nights of all years, so that the spread between years is a part of it and never
comes on top; trends of the climate are not in it.

References
----------
.. [1] S. Geng, F. W. T. Penning de Vries and I. Supit, Agricultural and Forest
   Meteorology 36 (1986), 363-376.
"""

from __future__ import annotations

import math

import numpy as np

from sheltermap.elementwise import elementwise
from sheltermap.night.rain import amounts, wet_after_wet
from sheltermap.vocabulary import YEARLY_SHARE, Floats, Values

WITHIN_YEAR_SHARE = math.sqrt(1 - YEARLY_SHARE**2)
"""What is left of the spread of the nights within one year. [1] Variances add up."""

RAIN_FACTOR = 1.11
"""Observed spread of a month's rain over that of the chain of wet days. [1] Our fit to the
same five stations: root mean square error 14.9 mm. Above 1, since whole seasons differ."""


def yearly_spread(night_low_spread: Values) -> Values:
    """
    Return the standard deviation of a month's mean temperature between years.

    Parameters
    ----------
    night_low_spread : any shape
        Standard deviation of the nights' lows, over all years. [K]

    Returns
    -------
    same shape
        [K]

    Examples
    --------
    >>> round(float(yearly_spread(4.0)), 2)
    1.8
    """
    return elementwise(lambda spread: YEARLY_SHARE * spread, night_low_spread, units="K")


def spread_within_year(night_low_spread: Values) -> Values:
    """
    Return the standard deviation of the nights' lows around the mean of their own year.

    Parameters
    ----------
    night_low_spread : any shape
        Standard deviation of the nights' lows, over all years. [K]

    Returns
    -------
    same shape
        [K]

    Examples
    --------
    >>> round(float(spread_within_year(4.0)), 2)
    3.57
    """
    return elementwise(lambda spread: WITHIN_YEAR_SHARE * spread, night_low_spread, units="K")


def yearly_rain_spread(
    rainfall: Values | float, wet_days: Values | float, days: Values | float
) -> Values:
    """
    Return the standard deviation of a month's rain between years.

    The number of wet days varies, in runs, and so does what each of them brings.

    Parameters
    ----------
    rainfall : any shape
        Mean sum of the month. [mm]
    wet_days : any shape that broadcasts
        Days with at least 1 mm. [day]
    days : any shape that broadcasts
        Length of the month. [day]

    Returns
    -------
    broadcast shape
        [mm] 0 without rain or wet days.

    Notes
    -----
    Wet and dry days follow each other as in Geng's chain, whose memory of one day (0.25)
    widens the spread of their number by (1 + 0.25) / (1 - 0.25); amounts are gamma. The
    whole is multiplied by `RAIN_FACTOR`.

    Examples
    --------
    >>> round(float(yearly_rain_spread(100.0, 10.0, 30.0)))
    56
    """
    return elementwise(_yearly_rain_spread, rainfall, wet_days, days, units="mm")


def wet_days_of_wet_year(
    rainfall: Values | float, wet_days: Values | float, days: Values | float
) -> Values:
    """
    Return by how many wet days a month exceeds its mean when its rain is one spread above.

    Parameters
    ----------
    rainfall, wet_days, days
        As for `yearly_rain_spread`.

    Returns
    -------
    broadcast shape
        [day] 0 without rain or wet days.

    Notes
    -----
    Of a wet month's surplus a part is more wet days and the rest more rain on each: the
    regression of their number on the month's rain.

    Examples
    --------
    >>> round(float(wet_days_of_wet_year(100.0, 10.0, 30.0)), 1)
    2.4
    """
    return elementwise(_wet_days_of_wet_year, rainfall, wet_days, days, units="day")


def _yearly_rain_spread(rainfall: Floats, wet_days: Floats, days: Floats) -> Floats:
    _, rain_variance, _ = _variances(rainfall, wet_days, days)
    return _where_it_rains(RAIN_FACTOR * np.sqrt(rain_variance), rainfall, wet_days)


def _wet_days_of_wet_year(rainfall: Floats, wet_days: Floats, days: Floats) -> Floats:
    days_variance, rain_variance, mean = _variances(rainfall, wet_days, days)
    surplus = RAIN_FACTOR * mean * days_variance / np.sqrt(rain_variance)
    return _where_it_rains(surplus, rainfall, wet_days)


def _variances(rainfall: Floats, wet_days: Floats, days: Floats) -> tuple[Floats, Floats, Floats]:
    """Return variances of wet days [day^2] and rain [mm^2], and a wet day's mean rain [mm]."""
    shape, scale = amounts(rainfall / wet_days)
    mean, wet = shape * scale, np.clip(wet_days / days, 0.0, 1.0)
    memory = wet_after_wet(0.0)
    chain = days * wet * (1 - wet) * (1 + memory) / (1 - memory)
    return chain, wet_days * mean * scale + chain * mean**2, mean


def _where_it_rains(values: Floats, rainfall: Floats, wet_days: Floats) -> Floats:
    return np.where((rainfall <= 0) | (wet_days <= 0), 0.0, values)
