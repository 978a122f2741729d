"""Rain by day and by night: wet days, their runs, heavy days, rain in the sleep window.

In: the share of wet days (at least 1 mm) and rain per day, as the climatology's monthly
values give them. Out: probabilities. Assumes Geng's Markov chain of wet and dry days
with gamma amounts. A month without rain or without wet days has no rain at all; the
afternoon or nocturnal habit of a region's rain is not known, so nights of regions with
afternoon storms are drier than shown.

References
----------
.. [1] S. Geng, F. W. T. Penning de Vries and I. Supit, Agricultural and Forest
   Meteorology 36 (1986), 363-376.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from sheltermap.elementwise import elementwise
from sheltermap.vocabulary import Floats, Numbers, Values

if TYPE_CHECKING:
    import numpy.typing as npt

LEAST_HEAVY_RAIN = 5.0
"""Depth from which the gamma amounts are used; below it they fit badly. [mm] judgement: from
here on they lie within 0.012 of the chances that Geng's relation gives."""

REFERENCE_NIGHT = 9.0
"""Length of the night whose rain was fitted, 21 to 06. [h]"""

NIGHT_RAIN_EXPONENTS = ((0.25, 0.66), (0.5, 0.55), (1.0, 0.46), (2.5, 0.33), (5.0, 0.23))
"""Depth [mm] and exponent of the dry share: our fit to five station-years of hourly rain in the
eastern United States. Simulated series elsewhere give 0.49 to 0.66 at 0.5 mm."""

_SCALE_SLOPE, _SCALE_OFFSET = 1.83, 2.16  # [1], [mm] Geng et al. 1986
# judgement: 3 % of the rain falls on days below 1 mm, a wet day brings 1.2 mm at least, and the
# scale never falls below a share of the mean, where Geng's line would turn negative.
_MEAN_SHARE, _LEAST_MEAN, _LEAST_SCALE = 0.97, 1.2, 0.3  # [1], [mm], [1]

# Nodes of the table of tails, by the logarithm of the mean rain of a wet day. The mean at
# which the scale changes its law is node 200, so that straight lines join there too; the
# last one is at 1300 mm.
FIRST_NODE = math.log(_LEAST_MEAN / _MEAN_SHARE)
NODE_STEP = math.log(_SCALE_OFFSET / (_SCALE_SLOPE - _LEAST_SCALE) / _LEAST_MEAN) / 200
_NODES = 8600


def wet_after_wet(wet_share: Numbers) -> Numbers:
    """
    Return the probability that a wet day follows a wet day, for numpy values.

    Geng et al. found three quarters of the wet share after a dry day, and 0.25 more after a
    wet one; the share of wet days then stays what it is.

    Parameters
    ----------
    wet_share : float or array
        Share of days with at least 1 mm. [1]

    Returns
    -------
    same shape
        Probability. [1]

    Examples
    --------
    >>> wet_after_wet(0.4)
    0.55
    """
    return 0.25 + 0.75 * wet_share


def wet_run(wet_share: Values, length: int, days: int) -> Values:
    """
    Return the probability of at least one run of wet days in a stay.

    Canvas that does not dry between rains and ground that stays under water both
    need several wet days in a row.

    Parameters
    ----------
    wet_share : any shape
        Share of days with at least 1 mm. [1]
    length : int
        Days in the run, 1 or more.
    days : int
        Days in the stay.

    Returns
    -------
    same shape
        Probability. [1] 0 where the stay is shorter than the run.

    Raises
    ------
    ValueError
        If `length` is below 1 or `days` below 0.

    Examples
    --------
    >>> round(float(wet_run(0.4, 3, 3)), 4)
    0.121
    """
    if length < 1 or days < 0:
        raise ValueError(
            f"expected a run of 1 day or more in 0 days or more, got {length} in {days}"
        )
    return elementwise(_wet_run, wet_share, units="1", length=int(length), days=int(days))


def heavy_day(rain_per_day: Values | float, wet_share: Values | float, depth: float) -> Values:
    """
    Return the probability that a day brings more than a depth of rain.

    Parameters
    ----------
    rain_per_day : any shape
        Mean rain of all days. [mm day-1]
    wet_share : any shape that broadcasts
        Share of days with at least 1 mm. [1]
    depth : float
        1 mm, or 5 mm and more. [mm]

    Returns
    -------
    broadcast shape
        Probability; at 1 mm the wet share itself. [1]

    Raises
    ------
    ValueError
        If `depth` lies where the amounts are not trusted.

    Examples
    --------
    >>> round(float(heavy_day(4.0, 0.4, 10.0)), 2)
    0.13
    """
    if depth != 1.0 and depth < LEAST_HEAVY_RAIN:
        raise ValueError(f"expected a depth of 1 mm, or 5 mm and more, got {depth:g} mm")
    return elementwise(_heavy_day, rain_per_day, wet_share, units="1", depth=float(depth))


def rain_in_window(
    wet_share: Values | float, rain_per_day: Values | float, length: float, depth: float = 1.0
) -> Values:
    """
    Return the probability of rain while asleep.

    Parameters
    ----------
    wet_share : any shape
        Share of days with at least 1 mm. [1]
    rain_per_day : any shape that broadcasts
        Mean rain of all days; only whether there is any counts. [mm day-1]
    length : float
        Length of the sleep window. [h]
    depth : float
        Rain from which it counts: what the kit keeps out. [mm, 0 or more]

    Returns
    -------
    broadcast shape
        Probability. [1]

    Notes
    -----
    ``1 - (1 - f) ** k``: k as in `NIGHT_RAIN_EXPONENTS`, in proportion to the hours and
    at most 1. Between the depths k is linear in the logarithm; below 0.25 mm it stays.
    judgement: beyond 5 mm it goes on falling by the same ratio for each doubling.

    Examples
    --------
    >>> round(float(rain_in_window(0.4, 4.0, 9.0)), 3)
    0.209
    """
    exponent = min(night_rain_exponent(depth) * length / REFERENCE_NIGHT, 1.0)
    return elementwise(_rain_in_window, wet_share, rain_per_day, units="1", exponent=exponent)


def night_rain_exponent(depth: float) -> float:
    """
    Return the exponent of the dry share for a 9-hour night.

    Parameters
    ----------
    depth : float
        Rain from which a night counts as wet. [mm, 0 or more]

    Returns
    -------
    float
        Exponent. [1]

    Raises
    ------
    ValueError
        If `depth` is below 0.

    Examples
    --------
    >>> night_rain_exponent(2.5)
    0.33
    """
    if not depth >= 0:
        raise ValueError(f"expected a depth of 0 mm or more, got {depth:g} mm")
    depths, exponents = np.array(NIGHT_RAIN_EXPONENTS).T
    if depth <= depths[-1]:
        return float(np.interp(np.log(max(depth, depths[0])), np.log(depths), exponents))
    fall = np.log(exponents[-1] / exponents[-2]) / np.log(depths[-1] / depths[-2])
    return float(exponents[-1] * (depth / depths[-1]) ** fall)


def snow_share(air_temperature: Values) -> Values:
    """
    Return the share of precipitation that falls as snow.

    Parameters
    ----------
    air_temperature : any shape
        Monthly mean temperature. [degC]

    Returns
    -------
    same shape
        Share. [1, 0 to 0.9]

    Notes
    -----
    The logistic curve that splits rain from snow in the embedded climatology: half at
    a monthly mean of -1.5 degC, and always a tenth liquid.

    Examples
    --------
    >>> round(float(snow_share(-1.5)), 2)
    0.5
    """
    return elementwise(
        lambda t: np.minimum(1.0 / (1.0 + np.exp((t + 1.5) / 4.5)), 0.9),
        air_temperature,
        units="1",
    )


def amounts(mean_wet_day: npt.ArrayLike) -> tuple[Floats, Floats]:
    """
    Return shape and scale of the gamma distribution of a wet day's rain.

    Parameters
    ----------
    mean_wet_day : any shape
        Mean rain of a wet day. [mm]

    Returns
    -------
    tuple of two arrays
        Shape [1] and scale [mm].

    Examples
    --------
    >>> shape, scale = amounts(10.0)
    >>> round(float(scale), 3), round(float(shape * scale), 2)
    (15.591, 9.7)
    """
    mean = np.maximum(_LEAST_MEAN, _MEAN_SHARE * np.asarray(mean_wet_day, dtype=float))
    scale = np.maximum(_SCALE_SLOPE * mean - _SCALE_OFFSET, _LEAST_SCALE * mean)
    return mean / scale, scale


def _heavy_day(rain: Floats, share: Floats, depth: float) -> Floats:
    if depth == 1.0:
        return _no_rain(rain, share, np.clip(share, 0.0, 1.0))
    tail = tail_at(heavy_tails(depth).astype(share.dtype), np.log(rain / share))
    return _no_rain(rain, share, share * tail)


def tail_at(tails: Floats, log_mean: Floats) -> Floats:
    """
    Return the chance of a heavy day by the mean rain of wet days.

    Parameters
    ----------
    tails : array
        From `heavy_tails`.
    log_mean : array
        Logarithm of the mean rain of a wet day in mm. [1]

    Returns
    -------
    array
        Given that the day is wet; missing where the mean is. [1]
    """
    place = np.clip((log_mean - FIRST_NODE) * (1 / NODE_STEP), 0.0, len(tails) - 1.0)
    # A missing mean is no valid node: "clip" takes any, and the place stays missing.
    node = place.astype(np.intp)
    low = tails.take(node, mode="clip")
    return low + (place - node.astype(place.dtype)) * (tails.take(node + 1, mode="clip") - low)


@lru_cache(maxsize=32)
def heavy_tails(depth: float) -> Floats:
    """
    Return the chance of a heavy day at each node of the mean rain of a wet day.

    Parameters
    ----------
    depth : float
        [mm]

    Returns
    -------
    array
        Given that the day is wet. [1] The nodes' means rise by equal ratios, from
        `FIRST_NODE` in steps of `NODE_STEP` of their logarithm.
    """
    # The gamma tail is a function of the mean alone once the depth is fixed, and the
    # incomplete gamma function costs a hundred times more than a look-up.
    from scipy.special import gammaincc

    shape, scale = amounts(np.exp(FIRST_NODE + NODE_STEP * np.arange(_NODES)))
    return gammaincc(shape, depth / scale)


def _rain_in_window(share: Floats, rain: Floats, exponent: float) -> Floats:
    # The power through exp and log, which numpy has in vector form.
    dry = np.exp(exponent * np.log(1.0 - np.clip(share, 0.0, 1.0)))
    return _no_rain(rain, share, 1.0 - dry)


def _no_rain(rain: Floats, share: Floats, probability: Floats) -> Floats:
    """Return the probability, 0 where there is no rain or no wet day, missing as the inputs."""
    dry = (rain <= 0.0) | (share <= 0.0)
    # Zero times a missing value is missing; times a number it is nothing.
    return np.where(dry, 0.0 * (rain + share), probability + 0.0 * rain)


def _wet_run(share: Floats, length: int, days: int) -> Floats:
    """Walk the chain whose states are the days of the present run; the last one is for good."""
    stays, begins = wet_after_wet(share), 0.75 * share
    if days < length:
        return 0.0 * share
    states = [1.0 - share, share] + [0.0 * share] * (length - 1)
    for _ in range(days - 1):
        dry, *runs, done = states
        going = sum(runs) if runs else 0.0 * share
        following = [dry * (1.0 - begins) + going * (1.0 - stays), dry * begins]
        following += [run * stays for run in runs]
        following[-1] = following[-1] + done
        states = following
    return states[-1]
