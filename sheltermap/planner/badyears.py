"""Bad years: how many nights of a journey go wrong in one year of ten.

In: plain arrays, one value a stay: by how much its rough nights change when a year departs
from the mean by one standard deviation, with its sign, so that a year that is bad for one stay
may be good for another; when and where the stays are. Out: the spread of rough nights between
years, and the count that nine years in ten stay below.
Assumes that a year's departure from the mean lasts for weeks and reaches far, so that stays
close in time and place share it, and that rough nights change in proportion to it.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.special import gammaincinv

MONTHLY_MEMORY = 0.3
"""judgement: share of a month's departure from the mean that is left one month later. [1]"""

REACH = 1500.0
"""judgement: distance over which the likeness of two places' departures falls to 1/e. [km]"""

BAD_YEAR_SHARE = 0.9
"""Share of years with no more rough nights than a bad year. "In one year of ten". [1]"""


def year_likeness(middles: np.ndarray, kilometres: np.ndarray) -> np.ndarray:
    """
    Return the correlation of the stays' departures from their long-term means.

    Parameters
    ----------
    middles : float array, shape (stays,)
        The middle of each stay, counted from any one date. [month]
    kilometres : float array, shape (stays, stays)
        Distances between the stays. [km]

    Returns
    -------
    float array, shape (stays, stays)
        [1, 0 to 1]
    """
    middles = np.asarray(middles, float)
    apart = np.abs(middles[:, np.newaxis] - middles)
    return MONTHLY_MEMORY**apart * np.exp(-np.asarray(kilometres, float) / REACH)


def years_variance(swing: np.ndarray, likeness: np.ndarray) -> float:
    """
    Return the variance of a journey's rough nights between years.

    Parameters
    ----------
    swing : float array, shape (stays,)
        Change of each stay's rough nights for one standard deviation between years. [night]
    likeness : float array, shape (stays, stays)
        From `year_likeness`. [1]

    Returns
    -------
    float
        [night^2] Missing where a swing is.
    """
    swing = np.asarray(swing, float)
    variance = float(swing @ likeness @ swing)
    # Rounding may leave a variance of nought a hair below it.
    return 0.0 if variance < 0 else variance


def bad_year(expected: float, spread: float, nights: float) -> float:
    """
    Return the rough nights that nine years in ten stay below.

    Parameters
    ----------
    expected : float
        Rough nights of the mean year. [night]
    spread : float
        Root of `years_variance`. [night]
    nights : float
        Nights of the journey. [night]

    Returns
    -------
    float
        [night, `expected` to `nights`] Missing where an input is.

    Notes
    -----
    Bad years of the legs do not add up to the journey's: they come in different years.
    """
    if math.isnan(expected) or math.isnan(spread):
        return math.nan
    # A tiny mean under a large spread is so skewed that nine in ten lie below it.
    return min(max(gamma_quantile(expected, spread, BAD_YEAR_SHARE), expected), nights)


def gamma_quantile(mean: float, spread: float, share: float) -> float:
    """
    Return a quantile of the gamma distribution of a mean and a standard deviation.

    A count that cannot be negative is skewed where its spread is of the size of its mean,
    and nearly normal where it is small.

    Parameters
    ----------
    mean, spread : float
    share : float
        [1, between 0 and 1]

    Returns
    -------
    float
        The mean itself where it or the spread is 0.
    """
    if mean <= 0 or spread <= 0:
        return mean
    return float(gammaincinv((mean / spread) ** 2, share)) * (spread**2 / mean)


def weather_variance(chances: np.ndarray, nightly_swing: np.ndarray) -> float:
    """
    Return the variance of the number of rough nights within one year.

    The chance of a rough night holds the spread of all years. What the years bring is
    counted by `years_variance`, so it is taken out here.

    Parameters
    ----------
    chances : float array, shape (nights,)
        Chance that each night is rough, over all years. [1]
    nightly_swing : float array, shape (departures, nights)
        Change of that chance for one standard deviation between years of each thing that
        departs from its mean, as warmth and rain do, independent of each other. [1]

    Returns
    -------
    float
        As of nights independent of each other; spells multiply it. [night^2]
    """
    chances, swing = np.asarray(chances, float), np.asarray(nightly_swing, float)
    return float(np.sum(np.maximum(chances * (1 - chances) - (swing**2).sum(axis=0), 0.0)))
