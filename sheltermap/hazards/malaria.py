"""Whether the climate suits malaria: a published rule, which is no risk.

In: mean temperature and rain of months, and the coldest month's minimum. Out: suitability.
Assumes rain makes the breeding water, so rivers, lakes and irrigation break it; places
without the parasite can be as suitable as can be. Ask a travel clinic.
"""

from __future__ import annotations

import numpy as np

from sheltermap.elementwise import elementwise
from sheltermap.vocabulary import Floats, Numbers, Values

# Craig et al. 1999.
_WARM_ENOUGH = (18.0, 22.0)  # [degC]
_TOO_HOT = (32.0, 40.0)  # [degC]
_WET_ENOUGH = (0.0, 80.0)  # [mm month-1]
_MILD_WINTER = (4.0, 6.0)  # [degC] mean minimum of the coldest month


def fuzzy_suitability(
    mean_temperature: Values | float, monthly_rain: Values | float, winter_minimum: Values | float
) -> Values:
    """
    Return how well the climate of a month suits malaria.

    Parameters
    ----------
    mean_temperature : any shape
        Mean of the month. [degC]
    monthly_rain : any shape that broadcasts
        Sum of the month. [mm]
    winter_minimum : any shape that broadcasts
        Mean daily minimum of the year's coldest month. [degC]

    Returns
    -------
    broadcast shape
        The least of the three memberships, 0 to 1. [1] Missing in, missing out.

    References
    ----------
    .. [1] M. H. Craig, R. W. Snow and D. le Sueur, Parasitology Today 15 (1999), 105-111;
       shape of the membership from memory.

    Examples
    --------
    >>> float(fuzzy_suitability(20.0, 80.0, 10.0).round(3))
    0.5
    """
    return elementwise(_suitability, mean_temperature, monthly_rain, winter_minimum, units="1")


def rising(value: Numbers, low: float, high: float) -> Numbers:
    """
    Return a membership that rises from 0 at `low` to 1 at `high` as a squared sine.

    For numpy values.

    Parameters
    ----------
    value : float or array
    low, high : float
        In the units of `value`, low below high.

    Returns
    -------
    same shape
        [1, 0 to 1] Missing in, missing out.

    Examples
    --------
    >>> float(rising(19.0, 18.0, 22.0).round(3))
    0.146
    """
    share = np.clip((value - low) / (high - low), 0.0, 1.0)
    return np.sin(0.5 * np.pi * share) ** 2


def _suitability(mean: Floats, rain: Floats, winter: Floats) -> Floats:
    warm = rising(mean, *_WARM_ENOUGH)
    cool = 1.0 - rising(mean, *_TOO_HOT)
    wet, mild = rising(rain, *_WET_ENOUGH), rising(winter, *_MILD_WINTER)
    return np.minimum(np.minimum(warm, cool), np.minimum(wet, mild))
