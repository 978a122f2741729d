"""People: how far the coldest of several sleepers is from the usual one.

In: how many are alike. Out: mean and spread of the most sensitive one's offset. Assumes that
offsets between people are normal and that nobody shares another's.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np


class Offset(NamedTuple):
    """Mean and spread of an offset, in spreads between people. [1]"""

    mean: float
    spread: float


@cache
def most_sensitive(people: int) -> Offset:
    """
    Return by how much the most sensitive of alike people exceeds the usual one.

    Parameters
    ----------
    people : int
        1 or more.

    Returns
    -------
    Offset
        Of the largest of so many independent standard normal numbers.

    Examples
    --------
    >>> pair = most_sensitive(2)
    >>> round(2 * pair.mean, 2), round(2 * pair.spread, 2)
    (1.13, 1.65)
    """
    from scipy.special import ndtr

    x, step = np.linspace(-9.0, 9.0, 3601, retstep=True)
    density = people * ndtr(x) ** (people - 1) * np.exp(-(x**2) / 2) / np.sqrt(2 * np.pi)
    mean = float(np.sum(x * density) * step)
    variance = float(np.sum((x - mean) ** 2 * density) * step)
    return Offset(mean, variance**0.5)
