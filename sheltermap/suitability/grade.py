"""Grades: shares of sound nights in, the word for a month out.

In: sound shares and their error. Out: grade codes, the probability that the grade is right,
and words for how far a night is from the limit. Assumes the error of a share is normal.
"""

from __future__ import annotations

import math
from typing import Any, overload

import numpy as np
import xarray as xr
from scipy.special import ndtr

from sheltermap.elementwise import elementwise
from sheltermap.vocabulary import (
    CLOSE_BELOW,
    GRADE_FLOORS,
    MISSING_GRADE,
    Codes,
    Flags,
    Floats,
    Values,
)

_FLOORS = np.array([floor for _, floor in GRADE_FLOORS])
_LEAST_ERROR = 1e-9
_AT_LIMIT, _UNCOMFORTABLE, _SEVERE = 0.5, 3.0, 6.0  # [K], judgement


@overload
def grade(sound_share: float) -> np.int8: ...
@overload
def grade(sound_share: Floats) -> Codes: ...
@overload
def grade(sound_share: xr.DataArray) -> xr.DataArray: ...
def grade(sound_share: Any) -> Any:
    """
    Return the grade of a share of sound nights.

    Parameters
    ----------
    sound_share : float, array or DataArray
        [0 to 1]

    Returns
    -------
    int8, same shape
        A `vocabulary.Grade`, or `MISSING_GRADE`.

    Examples
    --------
    >>> grade([0.95, 0.75, 0.5, 0.1, float("nan")])
    array([ 0,  1,  2,  3, -1], dtype=int8)
    """
    return elementwise(_grade, sound_share, units="1", dtype=np.int8)


def grade_probability(sound_share: Values, error: Values | float) -> Values:
    """
    Return the probability that the grade of a share is right.

    Parameters
    ----------
    sound_share : float, array or DataArray
        [0 to 1]
    error : float, array or DataArray
        Standard error of the share, from ``band.share_error``. [0 to 1]

    Returns
    -------
    same shape
        [0 to 1]; missing where the share or its error is.

    Examples
    --------
    >>> round(float(grade_probability(0.90, 0.01)), 2)
    0.5
    """
    return elementwise(_grade_probability, sound_share, error, units="1")


@overload
def close_call(sound_share: float, error: float) -> np.bool_: ...
@overload
def close_call(sound_share: Floats, error: Floats | float) -> Flags: ...
def close_call(sound_share: Any, error: Any) -> Any:
    """
    Return whether a grade might as well be another one.

    Parameters
    ----------
    sound_share, error : float or array
        As in `grade_probability`.

    Returns
    -------
    bool array
        False where the share is missing.

    Examples
    --------
    >>> bool(close_call(0.91, 0.10)), bool(close_call(0.98, 0.02))
    (True, False)
    """
    return grade_probability(sound_share, error) < CLOSE_BELOW


STILL_SOUND = "would still be sound"
"""How the words on a night begin that leaves something to spare."""


def margin_words(margin: float, factor: str, danger_margin: float) -> str:
    """
    Return what "an average dry night" does, from how far it is from what kit and sleepers hold.

    Parameters
    ----------
    margin : float
        ``cold_margin`` or ``heat_margin`` of a score; negative is beyond the limit. [K]
    factor : {"cold", "heat"}
    danger_margin : float
        ``cold_danger_margin`` or ``heat_danger_margin``; negative endangers. [K]

    Returns
    -------
    str
        Empty for a missing margin.

    Examples
    --------
    >>> margin_words(-1.2, "cold", 4.6)
    'is about 1 °C colder than the bedding holds: chilly'
    >>> margin_words(-15.0, "cold", -9.2)
    'is about 15 °C colder than the bedding holds: dangerous'
    >>> margin_words(3.2, "cold", 9.0)
    'would still be sound about 3 °C colder'
    """
    if math.isnan(margin):
        return ""
    side, holds, limit = {
        "cold": ("colder", "the bedding holds", "the bedding"),
        "heat": ("hotter", "people fall asleep in", "sleep"),
    }[factor]
    if abs(margin) < _AT_LIMIT:
        return f"is right at the limit of {limit}"
    if margin > 0:
        return f"{STILL_SOUND} about {margin:.0f} °C {side}"
    depth = -margin
    mild, strong = {"cold": ("chilly", "bitterly cold"), "heat": ("warm", "oppressive")}[factor]
    word = mild
    if danger_margin < 0:
        word = "dangerous"
    elif depth > _SEVERE:
        word = strong
    elif depth > _UNCOMFORTABLE:
        word = {"cold": "cold", "heat": "hot"}[factor]
    return f"is about {depth:.0f} °C {side} than {holds}: {word}"


def _grade(share: Floats) -> Codes:
    """Return grade codes of an array of shares."""
    codes = (share[..., np.newaxis] < _FLOORS).sum(axis=-1).astype(np.int8)
    return np.where(np.isnan(share), np.int8(MISSING_GRADE), codes)


def _grade_probability(share: Floats, error: Floats) -> Floats:
    """Return the normal probability between the borders around a share."""
    share, error = np.broadcast_arrays(share, np.maximum(error, _LEAST_ERROR))
    borders = np.concatenate(([np.inf], _FLOORS, [-np.inf]))
    codes = (share[..., np.newaxis] < _FLOORS).sum(axis=-1)
    above = ndtr((borders[codes] - share) / error)
    below = ndtr((borders[codes + 1] - share) / error)
    return np.where(np.isnan(share), np.nan, above - below)
