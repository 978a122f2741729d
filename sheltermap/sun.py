"""The sun: declination, day length, sunset, noon on the clock, radiation above the air.

In: latitude, day of year and, for clock times, longitude and time zone. Out: angles,
hours and radiation, broadcast by name. Assumes a flat horizon and a 365-day year;
hours without refraction unless asked otherwise.
"""

from __future__ import annotations

import math

import numpy as np

from sheltermap.elementwise import elementwise
from sheltermap.vocabulary import Floats, Numbers, Values

GEOMETRIC_HORIZON = 0.0
"""Height of the sun's centre at sunrise and sunset without refraction. [degrees]"""

APPARENT_HORIZON = -0.833
"""The same when the upper rim is seen through ordinary air. [degrees]"""

_SOLAR_CONSTANT = 0.0820
"""[MJ m-2 min-1] FAO-56 eq. 21."""


def declination(day_of_year: Numbers | float) -> Numbers:
    """
    Return the height of the noon sun over the equator, for numpy values.

    Parameters
    ----------
    day_of_year : float or array
        Day of the year, 1 January is 1. [1 to 366]

    Returns
    -------
    same shape
        Solar declination. [rad]

    References
    ----------
    .. [1] FAO-56 eq. 24.

    Examples
    --------
    >>> round(float(declination(246)), 3)
    0.12
    """
    return 0.409 * np.sin(2.0 * np.pi * day_of_year / 365.0 - 1.39)


def sunset_hour_angle(
    latitude: Numbers | float, day_of_year: Numbers | float, horizon: float = GEOMETRIC_HORIZON
) -> Numbers:
    """
    Return half the sun's path above the horizon, as an angle, for numpy values.

    Parameters
    ----------
    latitude : float or array
        Latitude, north positive. [degrees]
    day_of_year : float or array that broadcasts
        Day of the year. [1 to 366]
    horizon : float
        Height of the sun that counts as sunset. [degrees]

    Returns
    -------
    broadcast shape
        Hour angle: 0 where the sun stays down, pi where it stays up. [rad]

    References
    ----------
    .. [1] FAO-56 eq. 25, with its argument held within -1 and 1.

    Examples
    --------
    >>> round(float(sunset_hour_angle(-20.0, 246)), 3)
    1.527
    """
    phi, delta = np.radians(latitude), declination(day_of_year)
    # At a pole the cosine is 0: held at a tiny value, the sign still tells day from night.
    steepness = np.maximum(np.cos(phi) * np.cos(delta), 1e-12)
    cosine = (math.sin(math.radians(horizon)) - np.sin(phi) * np.sin(delta)) / steepness
    return np.arccos(np.clip(cosine, -1.0, 1.0))


def day_length(
    latitude: Values | float, day_of_year: Values | float, horizon: float = GEOMETRIC_HORIZON
) -> Values:
    """
    Return the hours from sunrise to sunset.

    Parameters
    ----------
    latitude : any shape
        Latitude, north positive. [degrees]
    day_of_year : any shape that broadcasts
        Day of the year. [1 to 366]
    horizon : float
        Height of the sun that counts as sunset. [degrees]

    Returns
    -------
    broadcast shape
        Day length. [h, 0 to 24]

    References
    ----------
    .. [1] FAO-56 eq. 34.

    Examples
    --------
    >>> round(float(day_length(-20.0, 246)), 1)
    11.7
    """
    return elementwise(
        lambda latitude, day: 24.0 / np.pi * sunset_hour_angle(latitude, day, horizon),
        latitude,
        day_of_year,
        units="h",
    )


def sunset(
    latitude: Values | float, day_of_year: Values | float, horizon: float = GEOMETRIC_HORIZON
) -> Values:
    """
    Return the solar hour of sunset.

    Parameters
    ----------
    latitude, day_of_year, horizon
        As for `day_length`.

    Returns
    -------
    broadcast shape
        Hour of true solar time. [h] Missing where the sun does not rise or set that day.

    Examples
    --------
    >>> float(sunset(0.0, 80).round(2))
    18.0
    """
    return elementwise(
        lambda latitude, day: 12.0 + _half_day(latitude, day, horizon),
        latitude,
        day_of_year,
        units="h",
    )


def clock_noon(
    longitude: Values | float, day_of_year: Values | float, utc_offset: Values | float
) -> Values:
    """
    Return the clock time at which the sun stands highest.

    Add it to a solar hour and take off 12 to have that hour on the clock.

    Parameters
    ----------
    longitude : any shape
        Longitude, east positive. [degrees]
    day_of_year : any shape that broadcasts
        Day of the year. [1 to 366]
    utc_offset : any shape that broadcasts
        Hours the clock is ahead of UTC. [h]

    Returns
    -------
    broadcast shape
        Clock time of solar noon. [h]

    References
    ----------
    .. [1] FAO-56 eqs. 31 to 33.

    Examples
    --------
    >>> round(float(clock_noon(31.05, 172, 2)), 2)
    11.96
    """
    return elementwise(_clock_noon, longitude, day_of_year, utc_offset, units="h")


def extraterrestrial_radiation(latitude: Values | float, day_of_year: Values | float) -> Values:
    """
    Return the sun's energy on a level surface above the air, over a day.

    Parameters
    ----------
    latitude : any shape
        Latitude, north positive. [degrees]
    day_of_year : any shape that broadcasts
        Day of the year. [1 to 366]

    Returns
    -------
    broadcast shape
        Daily radiation. [MJ m-2 day-1]

    References
    ----------
    .. [1] FAO-56 eqs. 21 to 25.

    Examples
    --------
    >>> round(float(extraterrestrial_radiation(-20.0, 246)), 1)
    32.2
    """
    return elementwise(_radiation, latitude, day_of_year, units="MJ m-2 day-1")


def _half_day(latitude: Floats, day: Floats, horizon: float) -> Floats:
    half = 12.0 / np.pi * sunset_hour_angle(latitude, day, horizon)
    return np.where((half > 0.0) & (half < 12.0), half, np.nan)


def _clock_noon(longitude: Floats, day: Floats, utc_offset: Floats) -> Floats:
    b = 2.0 * np.pi * (day - 81.0) / 364.0
    correction = 0.1645 * np.sin(2.0 * b) - 0.1255 * np.cos(b) - 0.025 * np.sin(b)
    return 12.0 + utc_offset - longitude / 15.0 - correction


def _radiation(latitude: Floats, day: Floats) -> Floats:
    phi, delta = np.radians(latitude), declination(day)
    angle = sunset_hour_angle(latitude, day)
    nearness = 1.0 + 0.033 * np.cos(2.0 * np.pi * day / 365.0)
    sun = angle * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(angle)
    return 24.0 * 60.0 / np.pi * _SOLAR_CONSTANT * nearness * sun
