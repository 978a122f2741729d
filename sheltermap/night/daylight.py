"""The hours of a night: the sleep window, dusk and dawn.

In: latitude, day of year and the hours a traveller sleeps. Out: hours. A night runs
on one axis from noon (12) over midnight (24) to the next noon (36), in true solar time.
Assumes that people lie down between mid-afternoon and morning and are up by noon.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sheltermap.elementwise import elementwise
from sheltermap.sun import day_length
from sheltermap.vocabulary import Numbers, Values

SHORTEST_CURVE_DAY, LONGEST_CURVE_DAY = 7.0, 17.5
"""Day lengths between which the temperature curve was fitted. [h]"""

DAWN_DELAY = 0.49
"""Time from sunrise to the coldest minute, as fitted. [h]"""

MIDNIGHT = 24.0
"""Midnight on the noon-to-noon axis. [h]"""

_EARLIEST_START, _LATEST_END = 15.0, 36.0  # [h] judgement: who sleeps by day meets the sun
_SHORTEST_WINDOW = 1.0  # [h] judgement


@dataclass(frozen=True)
class SleepWindow:
    """
    The hours between lying down and getting up.

    Parameters
    ----------
    start, end : float
        True solar hours of day, 0 to 24; the window may cross midnight. The
        default is common practice. [h]

    Raises
    ------
    ValueError
        If the hours do not make a night: start at 15:00 or later (or after
        midnight), end at 12:00 or earlier, at least one hour.

    Examples
    --------
    >>> SleepWindow(21.5, 5).length
    7.5
    >>> SleepWindow(1, 8).bounds
    (25.0, 32.0)
    """

    start: float = 22.0
    end: float = 6.0

    def __post_init__(self) -> None:
        for hour in (self.start, self.end):
            if not isinstance(hour, (int, float)) or not 0 <= hour <= 24:
                raise ValueError("hours of day from 0 to 24 | Write 22 for ten at night.")
        begin, finish = self.bounds
        if begin < _EARLIEST_START or finish > _LATEST_END or self.length < _SHORTEST_WINDOW:
            raise ValueError(
                "a night of at least 1 h that starts at 15 or later and ends by 12 | "
                "Give the hours of lying down and getting up, for example 22 and 6."
            )

    @property
    def bounds(self) -> tuple[float, float]:
        """Return start and end on the noon-to-noon axis. [h, 12 to 36]"""
        start, end = (float(h if h > 12 else h + MIDNIGHT) for h in (self.start, self.end))
        return start, end

    @property
    def length(self) -> float:
        """Return the hours in the window. [h]"""
        begin, finish = self.bounds
        return finish - begin


def daylight_hours(latitude: Values | float, day_of_year: Values | float) -> Values:
    """
    Return the hours of daylight, 0 in polar night and 24 under the midnight sun.

    Parameters
    ----------
    latitude : any shape
        Latitude. [degrees]
    day_of_year : any shape that broadcasts
        Day of the year. [1 to 366]

    Returns
    -------
    broadcast shape
        Time from sunrise to sunset, without refraction. [h]

    Examples
    --------
    >>> round(float(daylight_hours(60.0, 162)), 1)
    18.3
    """
    return day_length(latitude, day_of_year)


def dusk(daylight: Values) -> Values:
    """
    Return the hour at which the temperature curve turns to its night branch.

    Parameters
    ----------
    daylight : any shape
        Hours of daylight; held within the fitted 7 to 17.5. [h]

    Returns
    -------
    same shape
        Hour on the noon-to-noon axis. [h]

    Examples
    --------
    >>> float(dusk(12.0))
    18.0
    """
    return elementwise(lambda d: night_edges(d)[0], daylight, units="h")


def dawn(daylight: Values) -> Values:
    """
    Return the hour of the coldest minute, shortly after sunrise.

    Parameters
    ----------
    daylight : any shape
        Hours of daylight; held within the fitted 7 to 17.5. [h]

    Returns
    -------
    same shape
        Hour on the noon-to-noon axis. [h]

    Examples
    --------
    >>> float(dawn(12.0))
    30.49
    """
    return elementwise(lambda d: night_edges(d)[1], daylight, units="h")


def curve_day(daylight: Numbers) -> Numbers:
    """
    Return day length held within what the curve was fitted for, for numpy values.

    Parameters
    ----------
    daylight : float or array
        Hours of daylight. [h, 0 to 24]

    Returns
    -------
    same shape
        [h, 7 to 17.5]
    """
    return np.clip(daylight, SHORTEST_CURVE_DAY, LONGEST_CURVE_DAY)


def night_edges(daylight: Numbers) -> tuple[Numbers, Numbers]:
    """
    Return dusk and dawn of the temperature curve, for numpy values.

    Parameters
    ----------
    daylight : float or array
        Hours of daylight. [h, 0 to 24]

    Returns
    -------
    tuple of two, same shape
        Hours on the noon-to-noon axis. [h]
    """
    half = curve_day(daylight) / 2.0
    return 12.0 + half, 36.0 - half + DAWN_DELAY
