"""The hours of a day in which the sun is too hot to work as usual.

In: mean minimum and maximum, vapour pressure, daylight. Out: from when to when a heat category
is reached. Assumes a clear sky, and that what the sun adds to the heat in shade follows its
height: nothing at sunrise, all at noon (judgement).
"""

from __future__ import annotations

import numpy as np

from sheltermap.dayside import CATEGORY_FLOORS, wbgt_in_shade, wbgt_in_sun
from sheltermap.night.temperature import share_at
from sheltermap.vocabulary import Floats

WORK_CHANGES = 2
"""Heat category from which any work but easy needs rest. [1] US Army card."""

_STEP = 0.25  # [h]


def hot_hours(
    low: Floats, high: Floats, vapour_pressure: Floats, daylight: Floats
) -> tuple[Floats, Floats]:
    """
    Return from when to when the sun brings heat category 2 or more.

    Parameters
    ----------
    low, high : array
        Mean daily minimum and maximum. [degC]
    vapour_pressure : array, same shape
        [kPa]
    daylight : array, same shape
        Hours of daylight. [h]

    Returns
    -------
    start, end : array, same shape
        Local solar time, to a quarter of an hour. [h] Missing where it is never reached, or an
        input is missing.

    Examples
    --------
    A humid day of 24 to 33 degrees:

    >>> from_, to = hot_hours(
    ...     np.array([24.0]), np.array([33.0]), np.array([2.8]), np.array([12.0])
    ... )
    >>> float(from_[0]), float(to[0])
    (8.25, 17.25)
    """
    hours = np.arange(0.0, 24.0, _STEP)
    # The curve of a day runs from noon to noon.
    on_curve = np.where(hours < 12.0, hours + 24.0, hours)
    course = [
        np.atleast_1d(each)[..., np.newaxis] for each in (low, high, vapour_pressure, daylight)
    ]
    least, most, vapour, light = course
    temperature = least + share_at(on_curve, light) * (most - least)
    shade, sun = wbgt_in_shade(temperature, vapour), wbgt_in_sun(temperature, vapour)
    height = np.cos(np.pi * (hours - 12.0) / np.maximum(light, _STEP))
    by_day = np.abs(hours - 12.0) <= light / 2.0
    felt = shade + np.where(by_day, height, 0.0) * (sun - shade)
    hot = felt >= CATEGORY_FLOORS[WORK_CHANGES - 1]
    start = hours[hot.argmax(axis=-1)]
    end = hours[-1] - hours[hot[..., ::-1].argmax(axis=-1)]
    reached = hot.any(axis=-1)
    return np.where(reached, start, np.nan), np.where(reached, end, np.nan)
