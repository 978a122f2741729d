"""Drinking water: what one person needs in a day, at work and at rest.

In: midday heat and the kind of work, the day's maximum. Out: litres. Assumes that people
rest in shade when they don't work; cooking, washing and a reserve come on top.
"""

from __future__ import annotations

import numpy as np

from sheltermap.dayside import COOL_WATER_AN_HOUR, HEAT_ADVICE, Work, heat_category, known_work
from sheltermap.elementwise import elementwise
from sheltermap.vocabulary import Floats, Values

LEAST_WATER, COOL_REST = 3.0, 2.0
"""Least of a day, and rest of a cool day. [L] judgement: beside the 2.5 to 3 L for drinking and
food of the Sphere handbook."""

MOST_WATER_A_DAY = 11.4
"""More than this is dangerous: it thins the blood's salt. [L] US Army card."""

ACTIVE_HOURS = 6.0
"""Hours of work in a day of travel. [h] Common practice."""

REST_LOSSES = ((26.7, 0.95), (32.2, 1.18), (37.8, 2.23), (43.3, 4.73), (48.9, 7.57))
"""Day's maximum in shade [degC] and what a person resting there sweats out [L]: E. F. Adolph,
Physiology of Man in the Desert, 1947, its survival table as reprinted."""


def resting_water(daily_maximum: Values | float) -> Values:
    """
    Return the drinking water of a day without work, in shade.

    Parameters
    ----------
    daily_maximum : any shape
        Highest air temperature of the day. [degC]

    Returns
    -------
    same shape
        Water. [L] At most 11.4.

    Notes
    -----
    `COOL_REST` and the losses of `REST_LOSSES`, which are linear between and go on as they
    end beyond. Below the table they stay, which `LEAST_WATER` covers.

    Examples
    --------
    >>> round(float(resting_water(42.0)), 1)
    6.1
    """
    return elementwise(_resting, daily_maximum, units="L")


def drinking_water(
    wbgt: Values | float,
    daily_maximum: Values | float,
    work: Work = "easy",
    active_hours: Values | float = ACTIVE_HOURS,
    acclimatised: bool = True,
) -> Values:
    """
    Return the drinking water one person needs in a day, the larger of two needs.

    One is rest on a cool day and the litres an hour of work in this heat; the other is a day
    of rest in the shade in this heat.

    Parameters
    ----------
    wbgt : any shape
        Wet-bulb globe temperature at midday. [degC]
    daily_maximum : any shape that broadcasts
        Highest air temperature of the day. [degC]
    work : {"easy", "moderate", "hard"}
        Kind of work in the active hours.
    active_hours : any shape that broadcasts
        Hours of work. [h]
    acclimatised : bool
        As for `heat_category`.

    Returns
    -------
    broadcast shape
        Water, between 3 and 11.4. [L] Individual needs differ by 0.24 L an hour of work.

    Raises
    ------
    ValueError
        If the work is not one of the kinds.

    Examples
    --------
    >>> round(float(drinking_water(30.0, 33.0)), 1)
    6.3
    """
    hourly = [COOL_WATER_AN_HOUR, *(row.water for row in HEAT_ADVICE[known_work(work)])]
    category = heat_category(wbgt, acclimatised)
    rest = resting_water(daily_maximum)
    return elementwise(_drinking, category, active_hours, rest, units="L", hourly=tuple(hourly))


def _resting(maximum: Floats) -> Floats:
    degrees, losses = np.array(REST_LOSSES).T
    per_kelvin = (losses[-1] - losses[-2]) / (degrees[-1] - degrees[-2])
    beyond = per_kelvin * np.maximum(maximum - degrees[-1], 0.0)
    water = COOL_REST + np.interp(maximum, degrees, losses) + beyond
    return np.minimum(water, MOST_WATER_A_DAY).astype(maximum.dtype)


def _drinking(category: Floats, hours: Floats, rest: Floats, hourly: tuple[float, ...]) -> Floats:
    known = ~np.isnan(category)
    an_hour = np.asarray(hourly, dtype=category.dtype)[np.where(known, category, 0).astype(int)]
    needed = np.maximum(COOL_REST + an_hour * hours, rest)
    return np.where(known, np.clip(needed, LEAST_WATER, MOST_WATER_A_DAY), np.nan)
