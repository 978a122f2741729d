"""Drying of wet canvas and bedding by day.

In: temperature and vapour of the day. Out: the daytime vapour deficit, which dries.
Assumes wet cloth hangs in open shade with light wind; sun shortens it, and canvas rolled
up wet does not dry at all.

How long a kit needs stands in its file. judgement: 0.3 kg of water per square metre leave
both faces of hanging canvas at about 0.15 kg an hour for each kPa of deficit, so soaked
canvas takes 2 hours at 1 kPa: heat transfer 10 W m-2 K-1 by light wind, Lewis relation
16.5 K kPa-1, times the third that is left when the cloth is colder than air because it
has only air to heat it.
"""

from __future__ import annotations

import numpy as np

from sheltermap.air import saturation
from sheltermap.elementwise import elementwise
from sheltermap.vocabulary import Values

USABLE_SHARE = 0.5
"""Share of daylight in which canvas can hang: before striking, after pitching. judgement"""


def vapour_deficit(air_temperature: Values | float, vapour_pressure: Values | float) -> Values:
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
