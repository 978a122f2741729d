"""Drying of wet canvas and bedding by day.

In: the daytime vapour deficit and hours of daylight. Out: the hours soaked canvas
needs, and whether one day is enough. Assumes it hangs in open shade with light wind;
sun shortens it, and canvas rolled up wet does not dry at all.
"""

from __future__ import annotations

import numpy as np

from sheltermap.air import saturation
from sheltermap.elementwise import elementwise

SOAKED_CANVAS = 2.0
"""
Vapour deficit times hours that dry soaked canvas. [kPa h]

judgement: 0.3 kg of water per square metre leave both faces of hanging canvas at about
0.15 kg an hour for each kPa of deficit: heat transfer 10 W m-2 K-1 by light wind, Lewis
relation 16.5 K kPa-1, times the third that is left when the cloth is colder than air
because it has only air to heat it.
"""

USABLE_SHARE = 0.5
"""Share of daylight in which canvas can hang: before striking, after pitching. judgement"""


def vapour_deficit(air_temperature, vapour_pressure):
    """
    Return how much more vapour the air could hold.

    Parameters
    ----------
    air_temperature : any shape
        Air temperature. [degC]
    vapour_pressure : any shape that broadcasts
        Vapour pressure. [kPa]

    Returns
    -------
    broadcast shape
        Saturation less actual vapour pressure, 0 or more. [kPa]

    Examples
    --------
    >>> round(float(vapour_deficit(20.0, 1.338)), 3)
    1.0
    """
    return elementwise(
        lambda t, e: np.maximum(saturation(t) - e, 0.0),
        air_temperature,
        vapour_pressure,
        units="kPa",
    )


def drying_hours(daytime_vapour_deficit, soaked=SOAKED_CANVAS):
    """
    Return the hours of daylight in which soaked canvas dries.

    Parameters
    ----------
    daytime_vapour_deficit : any shape
        Mean vapour deficit between sunrise and sunset. [kPa]
    soaked : float
        Deficit times hours that dry it; a kit's own figure for other cloth. [kPa h]

    Returns
    -------
    same shape
        Hours; infinite in saturated air. [h]

    Examples
    --------
    >>> drying_hours(0.5)
    np.float64(4.0)
    """
    return elementwise(
        lambda deficit: soaked / np.where(deficit < 0.0, np.nan, deficit),
        daytime_vapour_deficit,
        units="h",
    )


def dried_share(daytime_vapour_deficit, daylight_hours, soaked=SOAKED_CANVAS, usable=USABLE_SHARE):
    """
    Return how much of its water soaked canvas loses in one day.

    Parameters
    ----------
    daytime_vapour_deficit : any shape
        Mean vapour deficit between sunrise and sunset. [kPa]
    daylight_hours : any shape that broadcasts
        Hours of daylight. [h]
    soaked : float
        Deficit times hours that dry it. [kPa h]
    usable : float
        Share of the daylight in which it hangs. [1]

    Returns
    -------
    broadcast shape
        Share of the water, 0 to 1; at 1 one day dries it. [1]

    Examples
    --------
    >>> dried_share(0.25, 12.0)
    np.float64(0.75)
    """
    return elementwise(
        lambda deficit, hours: np.clip(deficit * hours * usable / soaked, 0.0, 1.0),
        daytime_vapour_deficit,
        daylight_hours,
        units="1",
    )
