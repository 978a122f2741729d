"""The temperature of a night, hour by hour, from its daily minimum and maximum.

In: hours of daylight and hours on the noon-to-noon axis (``night.daylight``). Out:
shares of the daily range above the mean minimum, which turn into temperatures by one
multiplication. The share depends on time of year and latitude alone, so it is worked
out on that small array and never cell by cell.

The curve is a sine by day and an exponential by night. It was refitted to 21 sites with
hourly observations, where it reproduces every hour within 0.71 K (RMSE, one site left out
at a time; the constants are full-sample fits). Its lowest point lies above the mean daily
minimum because the coldest hour is not the same one every day.

References
----------
.. [1] W. J. Parton and J. A. Logan, Agricultural Meteorology 23 (1981), 205-216.
"""

from __future__ import annotations

import numpy as np

from sheltermap.elementwise import elementwise
from sheltermap.night.daylight import DAWN_DELAY, SleepWindow, curve_day, night_edges
from sheltermap.vocabulary import Floats, Values

COLDEST_PERIOD = 4.0
"""Hours over which cold counts. [h] Common practice."""

_LOWEST_SHARE, _SHARE_SPAN = 0.10, 0.82  # [1] of the refit above
_DAY_LAG, _NIGHT_DECAY = 3.5, 2.17  # [h], [1] of the same
_PRECISION = 1e-5


def share_at(hour: Values | float, daylight: Values | float) -> Values:
    """
    Return how far the temperature at an hour stands above the daily minimum.

    Parameters
    ----------
    hour : any shape
        Hour on the noon-to-noon axis. [h, 12 to 36]
    daylight : any shape that broadcasts
        Hours of daylight. [h, 0 to 24]

    Returns
    -------
    broadcast shape
        Share of the daily range. [1, 0.10 to 0.92] Missing outside noon to noon.

    Examples
    --------
    >>> round(float(share_at(22.0, 12.0)), 3)
    0.352
    """
    return elementwise(_share_at, hour, daylight, units="1")


def mean_share(start: Values | float, end: Values | float, daylight: Values | float) -> Values:
    """
    Return the mean share of the daily range between two hours, integrated exactly.

    Parameters
    ----------
    start, end : any shape
        Hours on the noon-to-noon axis, start before end. [h, 12 to 36]
    daylight : any shape that broadcasts
        Hours of daylight. [h]

    Returns
    -------
    broadcast shape
        Share of the daily range. [1]

    Examples
    --------
    >>> round(float(mean_share(21.0, 30.0, 12.0)), 2)
    0.22
    """
    return elementwise(_mean_share, start, end, daylight, units="1")


def coldest_share(window: SleepWindow, daylight: Values, period: float = COLDEST_PERIOD) -> Values:
    """
    Return the mean share of the coldest hours inside the sleep window.

    Parameters
    ----------
    window : SleepWindow
        Hours of sleep.
    daylight : any shape
        Hours of daylight. [h]
    period : float
        Hours over which cold counts; a shorter window counts as a whole. [h]

    Returns
    -------
    same shape
        Share of the daily range, the smallest over all positions of the period. [1]

    Examples
    --------
    >>> from sheltermap.night.daylight import SleepWindow
    >>> round(float(coldest_share(SleepWindow(), 12.0)), 2)
    0.14
    """
    begin, finish = window.bounds
    return elementwise(
        _coldest_share,
        daylight,
        units="1",
        begin=begin,
        finish=finish,
        period=min(period, window.length),
    )


def daytime_share(daylight: Values) -> Values:
    """
    Return the mean share of the daily range between sunrise and sunset.

    Parameters
    ----------
    daylight : any shape
        Hours of daylight. [h]

    Returns
    -------
    same shape
        Share of the daily range. [1]

    Examples
    --------
    >>> round(float(daytime_share(12.0)), 2)
    0.67
    """
    return elementwise(_daytime_share, daylight, units="1")


def temperature_at(
    share: Values | float, air_temperature_min: Values | float, air_temperature_max: Values | float
) -> Values:
    """
    Return the temperature that stands a share of the daily range above the minimum.

    Parameters
    ----------
    share : any shape
        Share of the daily range. [1]
    air_temperature_min, air_temperature_max : any shape that broadcasts
        Mean daily minimum and maximum. [degC]

    Returns
    -------
    broadcast shape
        Temperature. [degC]

    Examples
    --------
    >>> temperature_at(0.2, 10.0, 25.0)
    np.float64(13.0)
    """
    return elementwise(
        lambda share, low, high: low + share * (high - low),
        share,
        air_temperature_min,
        air_temperature_max,
        units="degC",
    )


def cooler_from(
    limit: Values | float,
    air_temperature_min: Values | float,
    air_temperature_max: Values | float,
    daylight: Values | float,
) -> Values:
    """
    Return the hour from which the air is no warmer than a limit.

    With the warmest temperature in which one falls asleep, this is how late the
    night becomes cool enough.

    Parameters
    ----------
    limit : any shape
        Temperature. [degC]
    air_temperature_min, air_temperature_max : any shape that broadcasts
        Mean daily minimum and maximum. [degC]
    daylight : any shape that broadcasts
        Hours of daylight. [h]

    Returns
    -------
    broadcast shape
        Hour on the noon-to-noon axis: 12 where it is never warmer, infinite where it
        stays warmer until dawn. [h]

    Examples
    --------
    >>> round(float(cooler_from(15.28, 10.0, 25.0, 12.0)), 1)
    22.0
    """
    return elementwise(
        _cooler_from, limit, air_temperature_min, air_temperature_max, daylight, units="h"
    )


def _share_at(hour: Floats, daylight: Floats) -> Floats:
    share = _LOWEST_SHARE + _SHARE_SPAN * _course(hour, daylight)
    return np.where((hour >= 12.0) & (hour <= 36.0), share, np.nan)


def _course(hour: Floats, daylight: Floats) -> Floats:
    """Return the curve between 0 at dawn and 1 in the afternoon."""
    dusk, dawn = night_edges(daylight)
    # After dawn the next day's sine rises; its hours are those of today plus 24.
    today = np.where(hour > dawn, hour - 24.0, hour)
    by_day = _sine(today, daylight)
    top, decay, floor = _night_branch(daylight)
    by_night = top * (np.exp(-decay * (hour - dusk)) - floor) / (1.0 - floor)
    return np.where((hour > dusk) & (hour <= dawn), by_night, by_day)


def _sine(hour: Floats, daylight: Floats) -> Floats:
    length = curve_day(daylight)
    return np.sin(np.pi * (hour - _sunrise_low(length)) / (length + _DAY_LAG))


def _sunrise_low(length: Floats) -> Floats:
    return 12.0 - length / 2.0 + DAWN_DELAY


def _night_branch(daylight: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the value at dusk, the decay rate [h-1] and what would remain at dawn."""
    dusk, dawn = night_edges(daylight)
    decay = _NIGHT_DECAY / (24.0 - curve_day(daylight))
    return _sine(dusk, daylight), decay, np.exp(-decay * (dawn - dusk))


def _integral(hour: Floats | float, daylight: Floats) -> Floats:
    """Return the integral of the curve from noon to an hour, piece by piece."""
    dusk, dawn = night_edges(daylight)
    length = curve_day(daylight)
    top, decay, floor = _night_branch(daylight)

    def sine_integral(begin: Floats | float, end: Floats) -> Floats:
        pace, low = np.pi / (length + _DAY_LAG), _sunrise_low(length)
        return (np.cos(pace * (begin - low)) - np.cos(pace * (end - low))) / pace

    evening = sine_integral(12.0, np.minimum(hour, dusk))
    asleep = np.minimum(np.maximum(hour, dusk), dawn) - dusk
    night = top * ((1.0 - np.exp(-decay * asleep)) / decay - floor * asleep) / (1.0 - floor)
    morning = sine_integral(dawn - 24.0, np.maximum(hour, dawn) - 24.0)
    return evening + night + morning


def _mean_share(start: Floats, end: Floats, daylight: Floats) -> Floats:
    mean = (_integral(end, daylight) - _integral(start, daylight)) / (end - start)
    inside = (start >= 12.0) & (end <= 36.0) & (start < end)
    return np.where(inside, _LOWEST_SHARE + _SHARE_SPAN * mean, np.nan)


def _coldest_share(daylight: Floats, begin: float, finish: float, period: float) -> Floats:
    # From mid-afternoon on the curve falls to dawn and then rises. The mean of a period is
    # least where the curve is as high at its end as at its start, which happens once, with
    # dawn inside the period; short of that point the window's edge is best.
    dawn = night_edges(daylight)[1]
    early, late = dawn - period, dawn
    while np.any(late - early > _PRECISION):
        middle = (early + late) / 2.0
        falling = _course(middle + period, daylight) < _course(middle, daylight)
        early, late = np.where(falling, middle, early), np.where(falling, late, middle)
    position = np.clip((early + late) / 2.0, begin, finish - period)
    return _mean_share(position, position + period, daylight)


def _daytime_share(daylight: Floats) -> Floats:
    half = curve_day(daylight) / 2.0
    dusk = 12.0 + half
    # The morning part belongs to the axis of the night before, 24 hours on.
    morning = _integral(36.0, daylight) - _integral(36.0 - half, daylight)
    afternoon = _integral(dusk, daylight)
    return _LOWEST_SHARE + _SHARE_SPAN * (morning + afternoon) / (2.0 * half)


def _cooler_from(limit: Floats, low: Floats, high: Floats, daylight: Floats) -> Floats:
    course = ((limit - low) / (high - low) - _LOWEST_SHARE) / _SHARE_SPAN
    dusk, _ = night_edges(daylight)
    length = curve_day(daylight)
    top, decay, floor = _night_branch(daylight)
    by_day = _sunrise_low(length) + (length + _DAY_LAG) * (
        1.0 - np.arcsin(np.clip(course, 0.0, 1.0)) / np.pi
    )
    by_night = dusk - np.log(np.clip(course, 0.0, 1.0) / top * (1.0 - floor) + floor) / decay
    hour = np.where(course > top, by_day, by_night)
    hour = np.where(course >= 1.0, 12.0, np.where(course < 0.0, np.inf, hour))
    return np.where(np.isfinite(course), hour, np.nan)
