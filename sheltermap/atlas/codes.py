"""Scores as bytes: what tiles, pictures and tables of the atlas are made of.

In: shares, dangers and limiting factors. Out: the same in one byte each. Assumes that half a
percent is fine enough to read, as fine as a page's month can show.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from sheltermap.vocabulary import (
    FACTORS,
    GRADE_FLOORS,
    MISSING_FACTOR,
    NO_FACTOR,
    Floats,
    Grade,
)
from sheltermap.website.overlays import HALF_PERCENTS, MISSING_CODE

Bytes = npt.NDArray[np.uint8]

NO_FACTOR_CODE: Final = len(FACTORS)
"""Stored factor of a night that nothing spoils."""

LAYERS: Final = ("share", "danger", "factor")
"""What is stored of every kit, month and cell: the share of sound nights and the chance of a
dangerous one in 1/200, and the limiting factor's position in `vocabulary.FACTORS`."""


def share_codes(shares: Floats) -> Bytes:
    """
    Return shares in steps of half a percent.

    Parameters
    ----------
    shares : float array
        [0 to 1]

    Returns
    -------
    uint8 array, same shape
        At most 1/400 off; `overlays.MISSING_CODE` where missing.

    Examples
    --------
    >>> share_codes(np.array([0.0, 0.9, np.nan])).tolist()
    [0, 180, 255]
    """
    known = np.nan_to_num(shares) * HALF_PERCENTS
    return np.where(np.isnan(shares), MISSING_CODE, np.rint(known)).astype(np.uint8)


def factor_codes(factors: npt.NDArray[np.int8]) -> Bytes:
    """
    Return limiting factors as they are stored.

    Parameters
    ----------
    factors : int8 array
        As from ``suitability.score``.

    Returns
    -------
    uint8 array, same shape

    Examples
    --------
    >>> factor_codes(np.array([0, 4, -1, -9], np.int8)).tolist()
    [0, 4, 5, 255]
    """
    codes = np.where(factors == NO_FACTOR, NO_FACTOR_CODE, factors)
    return np.where(factors == MISSING_FACTOR, MISSING_CODE, codes).astype(np.uint8)


def code_of(share: float) -> int:
    """Return a share in 1/200, of one that is a whole number of them such as a grade's floor."""
    return round(share * HALF_PERCENTS)


SOUND, WORKABLE = (code_of(dict(GRADE_FLOORS)[one]) for one in (Grade.SOUND, Grade.WORKABLE))
"""Shares from which nights are sound, and workable or better, as stored."""
