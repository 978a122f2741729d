"""Large rivers: the time of year in which they run high.

In: a river's flow through the year, as a multiple of its mean. Out: how strong a sign it is on
each day. Assumes rivers as nature made them; dams, irrigation, lakes and swamps change them.
"""

from __future__ import annotations

import numpy as np

from sheltermap.dates import FIRST_DAYS
from sheltermap.vocabulary import DAYS_IN_YEAR, Floats, Levels

HIGH, VERY_HIGH = 1.5, 2.5
"""Multiples of the mean flow from which a river runs high, and very high. [1] judgement: fords
and low banks go first; half of the large rivers exceed the second in their highest month."""

THIRDS = tuple(first + part for first in FIRST_DAYS for part in (0, 10, 20))
"""First days of the thirds of months. [0 to 364]"""


def high_water(flow: Floats) -> Levels:
    """
    Return how strong the sign of a river is on each day.

    Parameters
    ----------
    flow : array, shape (36,)
        Flow by thirds of months, over its mean. [1]

    Returns
    -------
    numpy.ndarray of uint8, shape (365,)
        A `sign.Strength` each: 1 from `HIGH`, 2 from `VERY_HIGH`.
    """
    strength = (flow >= HIGH).astype(np.uint8) + (flow >= VERY_HIGH)
    return np.repeat(strength, np.diff([*THIRDS, DAYS_IN_YEAR])).astype(np.uint8)
