"""The cold side: how much a bed insulates and the lowest temperature it holds.

In: plain numbers or arrays that describe bedding, mat, enclosure and wind. Out: total
insulation, the surroundings' weights, and the limit. Assumes steady heat balance of a
person at rest; insulation always includes the outer air layer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sheltermap.vocabulary import Numbers

CLO = 0.155
"""One clo, by definition. [m2 K W-1]"""

NEUTRAL = 34.6
"""Intercept of the limit at which a sleeper feels neither warm nor cold. [degC] Linear fit to
the balance of ISO 11079:2007 with its neutral skin, at 2 to 10 clo."""

MINIMAL = 32.0
"""Intercept of the limit at which a curled-up sleeper just holds body heat. [degC] The same fit
with the standard's minimal skin."""

HEAT_DEBT = 40.0
"""Heat that a sleeper may lose in a night before the cold endangers. [W h m-2] ISO 11079:2007's
allowed debt, on which its duration-limited exposure rests."""

_SLOPE = 0.134  # [K per clo and W m-2] of both fits
_COMPRESSED_BEDDING = 0.10  # [m2 K W-1] under the body, common practice
_UNDERSIDE = 0.10  # [m2 K W-1] cloth and air film under a raised bed, common practice
_RATED_MAT = 0.85  # [m2 K W-1] mat of the manikin of ISO 23537, from memory
COMFORT_METABOLISM, LIMIT_METABOLISM = 46.5, 54.2
"""Heat of the sleeper whom a comfort and a limit label promise a night without feeling cold, as
`NEUTRAL` has it. [W m-2] judgement: the usual sleeper stands for the first; the second is fitted
here to labels that state both, see the tests: three found in print, the others from memory."""

_STILL_AIR = 0.4  # [m s-1] the lowest air speed of ISO 11079:2007
_AIR_HEAT = 0.34  # [W h m-3 K-1] 1.2 kg m-3 of air at 1005 J kg-1 K-1, over 3600 s
_SURFACE_RESISTANCE = 0.13 + 0.04  # [m2 K W-1] inside and outside, ISO 6946 from memory
_INSULATED_U = 2.0  # [W m-2 K-1] padded or sandwich shell, common practice
FABRIC_U = {"single": 1 / _SURFACE_RESISTANCE, "insulated": _INSULATED_U}
"""Heat loss through a shelter's wall by kind of fabric. [W m-2 K-1]"""


@dataclass(frozen=True)
class Bed:
    """
    A sleeper's bed as the heat balance sees it.

    Attributes
    ----------
    insulation : float
        Total, air layer included. [clo]
    ground_share : float
        Weight of the temperature under the bed in the surroundings. [1]
    """

    insulation: float
    ground_share: float

    @property
    def air_share(self) -> float:
        """Return the weight of the air's temperature in the surroundings. [1]"""
        return 1.0 - self.ground_share


def lowest_temperature(
    insulation: Numbers, metabolism: float = 46.5, intercept: float = NEUTRAL
) -> Numbers:
    """
    Return the temperature of the surroundings below which a sleeper is cold.

    Parameters
    ----------
    insulation : float or array
        Total insulation, air layer included. [clo, 2 to 10]
    metabolism : float
        Heat the sleeper gives off. [W m-2]
    intercept : float
        `NEUTRAL` for comfort, `MINIMAL` for the limit. [degC]

    Returns
    -------
    float or array
        Limit. [degC]

    References
    ----------
    .. [1] Linear fit to the balance of ISO 11079:2007, annex A, at rest. That standard
       starts at 58 W m-2, so sleep extrapolates it.

    Examples
    --------
    >>> round(lowest_temperature(5.53), 1)
    0.1
    """
    return intercept - _SLOPE * metabolism * insulation


def bed(
    top_resistance: float,
    mat_resistance: float,
    *,
    raised: bool = False,
    contact_share: float = 0.25,
) -> Bed:
    """
    Return the bed that cover and mat make together, as parallel paths of heat.

    Parameters
    ----------
    top_resistance : float
        Cover with its air layer. [m2 K W-1, > 0]
    mat_resistance : float
        Mat or mattress. [m2 K W-1, >= 0]
    raised : bool
        Whether air, not ground, is below; cloth and an air film then add to the mat.
    contact_share : float
        Share of the body on the mat. [0 to 1] The default is common practice.

    Returns
    -------
    Bed

    Examples
    --------
    >>> round(bed(0.775, 0.1761).insulation, 2)
    3.44
    """
    below = mat_resistance + _COMPRESSED_BEDDING + (_UNDERSIDE if raised else 0.0)
    to_ground = contact_share / below
    conductance = (1 - contact_share) / top_resistance + to_ground
    return Bed(1 / (CLO * conductance), to_ground / conductance)


def rated_top_resistance(
    rating: float, metabolism: float = COMFORT_METABOLISM, contact_share: float = 0.25
) -> float:
    """
    Return what cover a label temperature promises.

    The label was found on a mat; taking the mat's path out leaves the cover, which
    then goes on the mat that is really carried.

    Parameters
    ----------
    rating : float
        Label temperature. [degC]
    metabolism : float
        `COMFORT_METABOLISM` for a comfort label, `LIMIT_METABOLISM` for a limit label. [W m-2]
    contact_share : float
        Share of the body on the mat. [0 to 1]

    Returns
    -------
    float
        Cover with its air layer. [m2 K W-1, above 0]

    Raises
    ------
    ValueError
        If no cover gives such a label: it asks for no insulation at all, or more heat leaves
        through the mat alone than the label allows.

    Examples
    --------
    >>> round(rated_top_resistance(0.0), 3)
    0.835
    """
    insulation = (NEUTRAL - rating) / (_SLOPE * metabolism)
    if insulation <= 0:
        raise ValueError("a label temperature below 30 degC | Give the bag's comfort label.")
    through_top = 1 / (CLO * insulation) - contact_share / (_RATED_MAT + _COMPRESSED_BEDDING)
    if through_top <= 0:
        raise ValueError(
            f"a warmer label than {rating:g} degC | With {contact_share:g} of the body on the mat "
            "no cover holds it."
        )
    return (1 - contact_share) / through_top


def wind_factor(air_speed: float, permeability: float = 8.0) -> float:
    """
    Return what wind leaves of an open bed's insulation.

    Parameters
    ----------
    air_speed : float
        At the bed. [m s-1]
    permeability : float
        Air that the cover's cloth lets through. [L m-2 s-1] The default is judgement: dense
        canvas; 50 is loose cloth.

    Returns
    -------
    float
        Share that stays; 1 up to 0.4 m/s. [0 to 1]

    References
    ----------
    .. [1] ISO 11079:2007, annex A, scaled by its own value at 0.4 m/s.

    Examples
    --------
    >>> round(wind_factor(5.0), 3)
    0.694
    """

    def left(speed: float) -> float:
        decay = 0.54 * math.exp(-0.15 * speed)
        return decay * permeability**0.075 - 0.06 * math.log(permeability) + 0.5

    return left(max(air_speed, _STILL_AIR)) / left(_STILL_AIR)


def enclosure_warming(
    heat: float, fabric: str, area: float, volume: float, air_changes: float
) -> float:
    """
    Return how much warmer than outside the sleepers keep the air of a shelter.

    Parameters
    ----------
    heat : float
        All sleepers together. [W]
    fabric : {"none", "single", "insulated"}
        Wall.
    area : float
        Wall and roof. [m2]
    volume : float
        Air inside. [m3]
    air_changes : float
        Exchanges with the outside. [h-1]

    Returns
    -------
    float
        Warming; 0 without walls. [K]

    References
    ----------
    .. [1] Steady balance of loss through walls and air; surface resistances of
       ISO 6946 from memory.

    Examples
    --------
    >>> round(enclosure_warming(150, "single", 10, 4, 5), 1)
    2.3
    """
    if fabric == "none":
        return 0.0
    return heat / (FABRIC_U[fabric] * area + _AIR_HEAT * air_changes * volume)
