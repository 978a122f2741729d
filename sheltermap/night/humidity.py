"""Humidity through the night, and how far a surface under the open sky cools.

In: monthly vapour pressure and temperatures of the night. Out: vapour pressure and
dewpoint of the night, emissivity of a clear sky, and the cooling of bedding or fabric
that faces it. Assumes that vapour pressure, not relative humidity, stays the same from
dusk to dawn, and never exceeds saturation.
"""

from __future__ import annotations

import numpy as np

from sheltermap.air import (
    SEA_LEVEL_PRESSURE,
    ZERO_CELSIUS,
    saturated_temperature,
    saturation,
)
from sheltermap.elementwise import elementwise
from sheltermap.vocabulary import Floats, Numbers, Values

STEFAN_BOLTZMANN = 5.670374e-8
"""[W m-2 K-4]"""

CALM, LIGHT_AIR, BREEZE = 5.0, 10.0, 15.0
"""Heat transfer between air and the upper face of a surface. [W m-2 K-1] judgement"""

FREE_BACK, INSULATED_BACK = 8.0, 0.0
"""Heat transfer to the lower face: fabric with air below it, and bedding. [W m-2 K-1]
judgement"""

_SURFACE_EMISSIVITY = 0.9  # common practice: cloth and paint
_MIDNIGHT_TERM = 0.013  # Berdahl and Martin 1984: the daily wave at 0 h
_PER_PRESSURE, _USUAL_PRESSURE = 0.0012, 100.0  # [kPa-1], [kPa] the same: thin air radiates less
_USUAL_RADIATION = 4.0
"""Where the iteration starts. [W m-2 K-1]"""

_ROUNDS = 2


def night_vapour_pressure(
    vapour_pressure: Values | float, air_temperature: Values | float
) -> Values:
    """
    Return the vapour pressure that air of a night's temperature still holds.

    Parameters
    ----------
    vapour_pressure : any shape
        Monthly mean vapour pressure. [kPa]
    air_temperature : any shape that broadcasts
        Temperature of the hour in question. [degC]

    Returns
    -------
    broadcast shape
        Vapour pressure, at most saturation. [kPa]

    Examples
    --------
    >>> round(float(night_vapour_pressure(2.0, 10.0)), 3)
    1.228
    """
    return elementwise(
        lambda e, t: np.minimum(e, saturation(t)), vapour_pressure, air_temperature, units="kPa"
    )


def clear_sky_emissivity(
    dewpoint: Numbers | float, pressure: Numbers | float = SEA_LEVEL_PRESSURE
) -> Numbers:
    """
    Return the emissivity of a cloudless sky at midnight, for numpy values.

    Parameters
    ----------
    dewpoint : float or array
        Dewpoint near the ground. [degC]
    pressure : float or array
        Air pressure. [kPa]

    Returns
    -------
    same shape
        Emissivity, at most 1. [1]

    References
    ----------
    .. [1] P. Berdahl and M. Martin, Solar Energy 32 (1984), 663-664, with the terms of midnight
       and of pressure, 0.00012 for each hPa above 1000, as coded in public, not seen in print.

    Examples
    --------
    >>> [round(float(clear_sky_emissivity(5.0, pressure)), 3) for pressure in (100.0, 60.0)]
    [0.754, 0.706]
    """
    # Drier than its lowest point the parabola would turn up again; the sky does not.
    x = np.maximum(dewpoint / 100.0, -0.38)
    thickness = _PER_PRESSURE * (pressure - _USUAL_PRESSURE)
    return np.minimum(0.711 + x * (0.56 + 0.73 * x) + (_MIDNIGHT_TERM + thickness), 1.0)


def sky_temperature(
    air_temperature: Numbers | float,
    dewpoint: Numbers | float,
    pressure: Numbers | float = SEA_LEVEL_PRESSURE,
) -> Numbers:
    """
    Return the temperature as which a clear night sky radiates, for numpy values.

    Parameters
    ----------
    air_temperature, dewpoint : float or array
        Air temperature and dewpoint near the ground. [degC]
    pressure : float or array
        Air pressure. [kPa]

    Returns
    -------
    broadcast shape
        Temperature of the sky. [degC]

    Examples
    --------
    >>> round(float(sky_temperature(20.0, 5.0)), 1)
    0.1
    """
    share = np.sqrt(np.sqrt(clear_sky_emissivity(dewpoint, pressure)))
    return share * (air_temperature + ZERO_CELSIUS) - ZERO_CELSIUS


def sky_cooling(
    air_temperature: Values | float,
    dewpoint: Values | float,
    pressure: Values | float = SEA_LEVEL_PRESSURE,
    *,
    outer: float = LIGHT_AIR,
    inner: float = INSULATED_BACK,
) -> Values:
    """
    Return how much colder than the air a surface gets under a clear night sky.

    Parameters
    ----------
    air_temperature, dewpoint : any shape
        Air temperature and dewpoint near the ground. [degC]
    pressure : any shape that broadcasts
        Air pressure: the sky above high camps is colder. [kPa]
    outer : float
        Heat transfer at the upper face: `CALM`, `LIGHT_AIR` or `BREEZE`. [W m-2 K-1]
    inner : float
        Heat transfer at the lower face: `INSULATED_BACK` for bedding, `FREE_BACK`
        for a single fabric. [W m-2 K-1]

    Returns
    -------
    broadcast shape
        Temperature below the air's. [K, 0 or more] Cloud, trees or an awning take
        most of it away.

    Notes
    -----
    Radiation is linear about the mean of fabric and sky temperature, which depends on
    the answer. Each round of the iteration shrinks the error about thirtyfold, so two
    rounds from a usual value leave less than 0.01 K.

    Examples
    --------
    >>> round(float(sky_cooling(10.0, 5.0, 100.0, outer=CALM, inner=FREE_BACK)), 1)
    4.6
    """
    return elementwise(
        _cooling, air_temperature, dewpoint, pressure, units="K", outer=outer, inner=inner
    )


def night_dewpoint(vapour_pressure: Values | float, air_temperature: Values | float) -> Values:
    """
    Return the dewpoint of the night: the day's, or the air temperature if that is lower.

    Parameters
    ----------
    vapour_pressure : any shape
        Monthly mean vapour pressure. [kPa]
    air_temperature : any shape that broadcasts
        Temperature of the hour in question. [degC]

    Returns
    -------
    broadcast shape
        Dewpoint. [degC]

    Examples
    --------
    >>> round(float(night_dewpoint(2.0, 10.0)), 3)
    10.0
    """
    return elementwise(
        lambda e, t: np.minimum(saturated_temperature(e), t),
        vapour_pressure,
        air_temperature,
        units="degC",
    )


def _cooling(
    air: Floats, dewpoint: Floats, pressure: Floats, outer: float, inner: float
) -> Floats:
    gap = np.maximum(air - sky_temperature(air, dewpoint, pressure), 0.0)
    # Mean of sky and fabric is the air temperature less half of the gap and of the cooling.
    middle = air + ZERO_CELSIUS - gap / 2.0
    strength = 4.0 * _SURFACE_EMISSIVITY * STEFAN_BOLTZMANN
    cooling = gap * (_USUAL_RADIATION / (_USUAL_RADIATION + outer + inner))
    for _ in range(_ROUNDS):
        mean = middle - 0.5 * cooling
        radiative = strength * (mean * mean * mean)
        cooling = radiative * gap / (radiative + outer + inner)
    return cooling
