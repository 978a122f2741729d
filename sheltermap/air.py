"""Moist air: vapour pressure, dewpoint, relative humidity, wet bulb, pressure, density.

In: temperatures, vapour pressures and heights, as numbers, arrays or DataArrays.
Out: the same shape, with units. Assumes one saturation formula, over liquid water,
for everything in the project, so that dewpoint and humidity always agree with it.
"""

from __future__ import annotations

import numpy as np

from sheltermap.elementwise import elementwise
from sheltermap.vocabulary import Floats, Numbers, Values

ZERO_CELSIUS = 273.15
"""[K]"""

SEA_LEVEL_PRESSURE = 101.3
"""Pressure at sea level. [kPa] FAO-56 eq 7."""

SATURATION_AT_ZERO, SATURATION_SLOPE, SATURATION_OFFSET = 0.6108, 17.27, 237.3
"""Constants of FAO-56 eq. 11. [kPa, 1, K]"""

_PSYCHROMETER = 0.000662
"""Coefficient of a ventilated psychrometer. [K-1] FAO-56, below eq 15."""


def saturation_vapour_pressure(air_temperature: Values) -> Values:
    """
    Return the vapour pressure of air that can hold no more water.

    Compared with the actual pressure, it shows where dew will form.

    Parameters
    ----------
    air_temperature : any shape
        Air temperature. [degC, -80 to 60; within 0.32 % of other formulas from 0 to 40]

    Returns
    -------
    same shape
        Pressure over liquid water. [kPa]

    References
    ----------
    .. [1] R. G. Allen et al., FAO Irrigation and Drainage Paper 56, 1998, eq. 11.

    Examples
    --------
    >>> round(float(saturation_vapour_pressure(20.0)), 3)
    2.338
    """
    return elementwise(saturation, air_temperature, units="kPa")


def dewpoint(vapour_pressure: Values) -> Values:
    """
    Return the temperature at which air of this vapour pressure is saturated.

    Parameters
    ----------
    vapour_pressure : any shape
        Vapour pressure. [kPa, above 0]

    Returns
    -------
    same shape
        Dewpoint. [degC] Missing where there is no vapour.

    References
    ----------
    .. [1] FAO-56 eq. 11, solved for temperature.

    Examples
    --------
    >>> round(float(dewpoint(saturation_vapour_pressure(12.5))), 6)
    12.5
    """
    return elementwise(saturated_temperature, vapour_pressure, units="degC")


def relative_humidity(air_temperature: Values | float, vapour_pressure: Values | float) -> Values:
    """
    Return the vapour pressure as a percentage of saturation.

    Parameters
    ----------
    air_temperature : any shape
        Air temperature. [degC]
    vapour_pressure : any shape that broadcasts
        Vapour pressure. [kPa]

    Returns
    -------
    broadcast shape
        Relative humidity over water, at most 100. [%]

    Examples
    --------
    >>> round(float(relative_humidity(20.0, 1.169)), 1)
    50.0
    """
    return elementwise(
        lambda t, e: np.minimum(100.0 * e / saturation(t), 100.0),
        air_temperature,
        vapour_pressure,
        units="%",
    )


def vapour_density(air_temperature: Values | float, vapour_pressure: Values | float) -> Values:
    """
    Return the mass of water vapour in a volume of air.

    Parameters
    ----------
    air_temperature : any shape
        Air temperature. [degC]
    vapour_pressure : any shape that broadcasts
        Vapour pressure. [kPa]

    Returns
    -------
    broadcast shape
        Vapour density. [g m-3]

    References
    ----------
    .. [1] Ideal gas law for water vapour, gas constant 461.5 J kg-1 K-1.

    Examples
    --------
    >>> round(float(vapour_density(20.0, 2.338)), 1)
    17.3
    """
    return elementwise(
        lambda t, e: 2166.8 * e / (t + ZERO_CELSIUS),
        air_temperature,
        vapour_pressure,
        units="g m-3",
    )


def wet_bulb_temperature(
    air_temperature: Values | float,
    vapour_pressure: Values | float,
    pressure: Values | float = SEA_LEVEL_PRESSURE,
) -> Values:
    """
    Return the temperature of a ventilated wet surface in the shade.

    Parameters
    ----------
    air_temperature : any shape
        Air temperature. [degC, -60 to 55]
    vapour_pressure : any shape that broadcasts
        Vapour pressure, taken as saturated where it is more. [kPa]
    pressure : any shape that broadcasts
        Air pressure; `pressure_at` gives it for a height. [kPa]

    Returns
    -------
    broadcast shape
        Wet-bulb temperature. [degC]

    Notes
    -----
    Solves the psychrometer equation by Newton's method from the dry bulb. The
    equation rises and bends upwards, so the steps come down without overshooting.

    References
    ----------
    .. [1] FAO-56 eqs. 15 and 16.

    Examples
    --------
    >>> round(float(wet_bulb_temperature(30.0, 2.12)), 0)
    22.0
    """
    return elementwise(_wet_bulb, air_temperature, vapour_pressure, pressure, units="degC")


def pressure_at(elevation: Values) -> Values:
    """
    Return the mean air pressure at a height above sea level.

    Parameters
    ----------
    elevation : any shape
        Height above sea level. [m, -500 to 9000]

    Returns
    -------
    same shape
        Pressure. [kPa]

    References
    ----------
    .. [1] FAO-56 eq. 7.

    Examples
    --------
    >>> round(float(pressure_at(1800.0)), 1)
    81.8
    """
    return elementwise(
        lambda z: SEA_LEVEL_PRESSURE * ((293.0 - 0.0065 * z) / 293.0) ** 5.26,
        elevation,
        units="kPa",
    )


def air_density(
    air_temperature: Values | float, pressure: Values | float = SEA_LEVEL_PRESSURE
) -> Values:
    """
    Return the density of dry air.

    Parameters
    ----------
    air_temperature : any shape
        Air temperature. [degC]
    pressure : any shape that broadcasts
        Air pressure. [kPa]

    Returns
    -------
    broadcast shape
        Density. [kg m-3] Moist air is up to 2 % lighter.

    References
    ----------
    .. [1] Ideal gas law for dry air, gas constant 287.05 J kg-1 K-1.

    Examples
    --------
    >>> round(float(air_density(25.0)), 2)
    1.18
    """
    return elementwise(
        lambda t, p: 1000.0 * p / (287.05 * (t + ZERO_CELSIUS)),
        air_temperature,
        pressure,
        units="kg m-3",
    )


def saturation(t: Numbers) -> Numbers:
    """
    Return the vapour pressure of saturated air, for numpy values.

    The formula that other numpy formulas build on; `saturation_vapour_pressure` takes
    DataArrays too.

    Parameters
    ----------
    t : float or array
        Air temperature. [degC]

    Returns
    -------
    same shape
        Pressure over liquid water. [kPa]

    References
    ----------
    .. [1] FAO-56 eq. 11.
    """
    return SATURATION_AT_ZERO * np.exp(SATURATION_SLOPE * t / (t + SATURATION_OFFSET))


def saturated_temperature(e: Floats) -> Floats:
    """
    Return the dewpoint, for numpy values; `dewpoint` takes DataArrays too.

    Parameters
    ----------
    e : array
        Vapour pressure. [kPa]

    Returns
    -------
    same shape
        Dewpoint. [degC] Missing where there is no vapour.

    References
    ----------
    .. [1] FAO-56 eq. 11, solved for temperature.
    """
    g = np.log(np.where(e > 0, e, np.nan) / SATURATION_AT_ZERO)
    return SATURATION_OFFSET * g / (SATURATION_SLOPE - g)


def _wet_bulb(t: Floats, e: Floats, p: Floats) -> Floats:
    """Return the root of ``saturation(w) - A p (t - w) - e`` in w."""
    e = np.minimum(e, saturation(t))
    coefficient = _PSYCHROMETER * p
    wet = t + 0.0 * e
    for _ in range(6):
        held = saturation(wet)
        slope = held * SATURATION_SLOPE * SATURATION_OFFSET / (wet + SATURATION_OFFSET) ** 2
        wet = wet - (held - coefficient * (t - wet) - e) / (slope + coefficient)
    return wet
