"""Shares of the daily range where the course of the day was measured.

In: a season's share of the daily range at each hour of true solar time. Out: the same
shares of the night that `night.temperature` gives for its fitted curve. Assumes straight
lines between the hours, round the clock.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.night.daylight import SleepWindow
from sheltermap.night.temperature import COLDEST_PERIOD
from sheltermap.vocabulary import Floats

HOUR = "solar_hour"
"""Dimension of a measured course, 0 to 23. [h]"""

_STEP = 0.1  # hours between the points that a mean is taken over


def measured_shares(
    hourly_share: xr.DataArray, window: SleepWindow, daylight: xr.DataArray
) -> dict[str, xr.DataArray]:
    """
    Return the shares of the daily range that a night's temperatures follow from.

    Parameters
    ----------
    hourly_share : DataArray, along ``solar_hour`` and any other dimensions
        Share of the daily range above the mean minimum. [1]
    window : SleepWindow
        Hours of sleep.
    daylight : DataArray
        Hours of daylight, broadcast by name. [h]

    Returns
    -------
    dict of str to DataArray
        ``bedtime``, ``asleep``, ``coldest`` (the coldest hours inside the window) and
        ``daytime``. [1] Missing where an hour is.
    """
    begin, finish = window.bounds
    period = min(COLDEST_PERIOD, window.length)
    starts = np.arange(begin, finish - period + _STEP / 2, _STEP)
    periods = np.stack([_mean_weights(start, start + period) for start in starts])
    return {
        "bedtime": _weighted(hourly_share, _hour_weights(np.array([begin]))[0]),
        "asleep": _weighted(hourly_share, _mean_weights(begin, finish)),
        "coldest": xr.dot(hourly_share, xr.DataArray(periods, dims=("start", HOUR)), dim=HOUR).min(
            "start", skipna=False
        ),
        "daytime": _daytime(hourly_share, daylight),
    }


def _weighted(hourly_share: xr.DataArray, weights: Floats) -> xr.DataArray:
    """Return a weighted sum over the hours."""
    return xr.dot(hourly_share, xr.DataArray(weights, dims=HOUR), dim=HOUR)


def _hour_weights(hours: Floats) -> Floats:
    """Return the weight of each whole hour at moments on any axis of hours."""
    below = np.floor(hours).astype(int)
    part = hours - below
    weights = np.zeros((hours.size, 24))
    weights[np.arange(hours.size), below % 24] = 1 - part
    weights[np.arange(hours.size), (below + 1) % 24] += part
    return weights


def _mean_weights(begin: float, finish: float) -> Floats:
    """Return the weight of each whole hour in the mean between two moments."""
    count = max(round((finish - begin) / _STEP), 1)
    middles = begin + (np.arange(count) + 0.5) * (finish - begin) / count
    return _hour_weights(middles).mean(axis=0)


def _daytime(hourly_share: xr.DataArray, daylight: xr.DataArray) -> xr.DataArray:
    """Return the mean between sunrise and sunset, each hour standing for itself."""
    hour = xr.DataArray(np.arange(24), dims=HOUR)
    half = daylight / 2
    light = np.minimum(hour + 0.5, 12 + half) - np.maximum(hour - 0.5, 12 - half)
    # A polar night has no daytime; its noon stands for it.
    light = xr.where(daylight > 1, light.clip(min=0.0), (hour == 12).astype(float))
    return xr.dot(hourly_share, light.astype(hourly_share.dtype), dim=HOUR) / light.sum(HOUR)
