"""Snow on the ground through mild and severe winters, from monthly climate alone.

In: the days of a long-term year, with the spread of their temperatures. Out: for each day the
share of winters in which at least so much snow lies. Assumes that a degree of warmth melts as
much everywhere, that a day's precipitation does not depend on its temperature, and that wind,
shade and avalanches, which pile snow on one bend and strip the next, even out.

A mean day cannot tell: where it is just below freezing, warm spells clear thin snow and cold
ones let it last. So winters are run day by day, all places under the same weather, which is
drawn once and for all: days about the mean follow one another as strongly as months differ
between years.

References
----------
.. [1] K. S. Jennings, T. S. Winchell, B. Livneh and N. P. Molotch, Nature Communications 9
   (2018), 1148: rain and snow are as frequent at 1.0 degC, averaged over 6883 stations of the
   northern hemisphere (-0.4 to 2.4 for 95 % of them).
.. [2] Melt factors at 4736 stations of the northern hemisphere, 1950 to 2023: 3 to 5 mm a
   degree and day for deep snow, and 0 degC starts 76 % of the days that melt (record 21915 of
   the Institute of Science and Technology Austria, read 2026-11-25).
"""

from __future__ import annotations

import math
import random
from functools import cache

import numpy as np
import xarray as xr
from scipy.special import ndtri

from sheltermap.vocabulary import DAYS_IN_YEAR, YEARLY_SHARE, Floats

MELT_FACTOR = 4.0
"""Water that a day melts for each degree above freezing. [mm K-1 day-1] The middle of [2]."""

RAIN_FROM, SNOW_TO = 2.0, 0.0
"""Temperatures above which all falls as rain, below which all as snow. [degC] Half at the 1.0 of
[1]; the width is judgement."""

LYING, CLOSING, DEEP = 5.0, 20.0, 100.0
"""Water of the snow [mm] that whitens the ground; that stops a car where nobody clears (20 cm
of fresh snow); that takes machines to clear (40 cm of settled snow). judgement: from 10 to 50 mm
the roads in the tests miss by 15 to 17 days."""

_WINTERS = 20
"""How many winters are run. judgement: the least that shows what comes once in ten years."""

_WARM_UP = 30
"""Days after which the weather no longer knows how it began. [day]"""

_SMOOTHED = 15
"""Days that share a figure, which evens out what single drawn spells do. [day] judgement"""

_MONTH_DAYS = 30.4

_PERSISTENCE = (_MONTH_DAYS * YEARLY_SHARE**2 - 1) / (_MONTH_DAYS * YEARLY_SHARE**2 + 1)
"""Correlation of a day with the next, 0.72. [1] The mean of n days of a chain with correlation
r varies by sqrt((1 + r) / ((1 - r) n)) of what days do, which between years is
``vocabulary.YEARLY_SHARE``."""


def snow_shares(season: xr.Dataset) -> xr.DataArray:
    """
    Return in which share of winters snow lies on each day.

    Parameters
    ----------
    season : xarray.Dataset, dim ``day`` and any others
        air_temperature [degC], rain_per_day [mm day-1], night_low_spread [K].

    Returns
    -------
    xarray.DataArray, dims ``water``, ``day`` and the others
        Share of winters with at least so much ``water`` in the snow on the ground: `LYING`,
        `CLOSING`, `DEEP`. [1, 0 to 1] Missing where an input is on any day.
    """
    mean = season["air_temperature"]
    order = ("day", *(dim for dim in mean.dims if dim != "day"))
    mean, rain, spread = (
        season[name].transpose(*order)
        for name in ("air_temperature", "rain_per_day", "night_low_spread")
    )
    shares = _shares(*(each.values for each in (mean, rain, spread)))
    coordinates = {name: each for name, each in mean.coords.items() if each.dims}
    return xr.DataArray(
        shares,
        coordinates | {"water": [LYING, CLOSING, DEEP]},
        ("water", *order),
        attrs={"units": "1", "long_name": "share of winters with snow on the ground"},
    )


def _shares(mean: Floats, rain: Floats, spread: Floats) -> Floats:
    """Return the shares, shape (3, day, ...), of arrays (day, ...)."""
    weather = _weather().reshape(-1, _WINTERS, *[1] * (mean.ndim - 1))
    lying = np.zeros((_WINTERS, *mean.shape[1:]))
    waters = np.reshape((LYING, CLOSING, DEEP), (3, *[1] * lying.ndim))
    shares = np.empty((3, *mean.shape))
    # Snow that outlasts its summer only grows, so the second year shows where it stays.
    for number, departure in enumerate(weather):
        day = number % DAYS_IN_YEAR
        temperature = mean[day] + spread[day] * departure
        fallen = rain[day] * np.clip((RAIN_FROM - temperature) / (RAIN_FROM - SNOW_TO), 0.0, 1.0)
        lying = np.maximum(lying + fallen - MELT_FACTOR * np.maximum(temperature, 0.0), 0.0)
        if number >= DAYS_IN_YEAR:
            shares[:, day] = (lying >= waters).mean(axis=1)
    shares[:, :, np.isnan(lying).any(axis=0)] = np.nan
    return _smoothed(shares)


@cache
def _weather() -> Floats:
    """Return how far the days of two years lie from their mean, (730, winter). [spreads]

    From Python's own generator, whose numbers no version changes; each day's winters have mean
    0 and spread 1, so that no place is warmed.
    """
    draw = random.Random(1).random
    days = _WARM_UP + 2 * DAYS_IN_YEAR
    drawn = ndtri(np.array([[draw() for _ in range(_WINTERS)] for _ in range(days)]))
    fresh = math.sqrt(1.0 - _PERSISTENCE**2)
    for day in range(1, days):
        drawn[day] = _PERSISTENCE * drawn[day - 1] + fresh * drawn[day]
    drawn = drawn[_WARM_UP:]
    middle, width = drawn.mean(axis=1, keepdims=True), drawn.std(axis=1, keepdims=True)
    return (drawn - middle) / width


def _smoothed(shares: Floats) -> Floats:
    """Return running means along the days, axis 1, round New Year."""
    half = _SMOOTHED // 2
    around = np.concatenate([shares[:, -half:], shares, shares[:, :half]], axis=1)
    sums = np.cumsum(around, axis=1)
    sums = np.concatenate([np.zeros_like(sums[:, :1]), sums], axis=1)
    return (sums[:, _SMOOTHED:] - sums[:, :-_SMOOTHED]) / _SMOOTHED
