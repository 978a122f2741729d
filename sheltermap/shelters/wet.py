"""The wet side: what rain a kit lets in, where water stands, and whether canvas dries.

In: rain chances of a wet day and the kit's own numbers. Out: shares of wet days.
Assumes rain falls as a first-order chain of wet days with gamma amounts; snow counts as
rain, which is cautious in frost.
"""

from __future__ import annotations

import numpy as np
from scipy import special

from sheltermap.elementwise import elementwise

_KAPPA_RAIN = (0.25, 0.5, 1.0, 2.5, 5.0)  # [mm]
_KAPPA = (0.66, 0.55, 0.46, 0.33, 0.23)
_SMALLEST_MEAN = 1.2  # [mm], below it the gamma's scale has no meaning
_STANDARD_DEFICIT = 1.0  # [kPa] at which a kit's drying hours are stated


def night_exponent(threshold):
    """
    Return the exponent that turns the chance of a wet day into that of a wet night.

    Parameters
    ----------
    threshold : float
        Rain of a nine-hour night that counts. [mm]

    Returns
    -------
    float
        kappa in ``1 - (1 - f)**kappa``; interpolated in the logarithm of rain. [1]

    References
    ----------
    .. [1] Fitted on hourly records of five stations; elsewhere 0.49 to 0.66 at 0.5 mm.

    Examples
    --------
    >>> night_exponent(1.0)
    0.46
    """
    return float(np.interp(np.log(threshold), np.log(_KAPPA_RAIN), _KAPPA))


def rain_that_counts(rain_in_window, wet_share, threshold):
    """
    Return the chance that a wet day brings more rain into the night than a kit shrugs off.

    Parameters
    ----------
    rain_in_window : float or array
        Chance of at least 1 mm in the sleep window. [0 to 1]
    wet_share : float or array
        Share of days with at least 1 mm. [0 to 1]
    threshold : float
        Rain the kit shrugs off. [mm, 0.25 to 5; others are moved to the nearer end]

    Returns
    -------
    float or array
        Given that the day is wet; 0 where no day is. [0 to 1]

    Examples
    --------
    >>> round(float(rain_that_counts(0.1, 0.4, 1.0)), 6)
    0.25
    """
    exponent = night_exponent(threshold)
    return elementwise(_rain_that_counts, rain_in_window, wet_share, units="1", exponent=exponent)


def heavy_share(rain_per_day, wet_share, amount):
    """
    Return the share of wet days that bring more than a given amount.

    Parameters
    ----------
    rain_per_day : float or array
        Mean over all days. [mm]
    wet_share : float or array
        Share of days with at least 1 mm. [0 to 1]
    amount : float
        [mm, at least 5]

    Returns
    -------
    float or array
        Given that the day is wet; 0 where it never rains. [0 to 1]

    References
    ----------
    .. [1] S. Geng et al., Agricultural and Forest Meteorology 36, 1986: gamma amounts,
       scale from the mean of wet days.

    Examples
    --------
    >>> float(heavy_share(0.0, 0.0, 25.0))
    0.0
    """
    return elementwise(_heavy_share, rain_per_day, wet_share, units="1", amount=amount)


def undried_share(wet_share, daylight_hours, vapour_deficit, dry_hours, wet_day_drying=0.5):
    """
    Return the share of wet days on which canvas is still damp at bedtime.

    Canvas dries when the days before were dry. After two wet days it depends on the
    drying power of the day: hours of daylight times vapour deficit.

    Parameters
    ----------
    wet_share : float or array
        Share of days with at least 1 mm. [0 to 1]
    daylight_hours : float or array
        [h]
    vapour_deficit : float or array
        Mean of the daytime. [kPa]
    dry_hours : float
        What soaked canvas needs at a deficit of 1 kPa; 0 for fabric that sheds water. [h]
    wet_day_drying : float
        Drying power of a wet day against the mean day. [0 to 1]

    Returns
    -------
    float or array
        Given that the day is wet. [0 to 1]

    References
    ----------
    .. [1] S. Geng et al., 1986: P(wet | wet) = 0.25 + 0.75 f.

    Examples
    --------
    >>> round(float(undried_share(0.4, 12.0, 0.0, 6.0)), 4)
    0.3025
    """
    return elementwise(
        _undried_share,
        wet_share,
        daylight_hours,
        vapour_deficit,
        units="1",
        dry_hours=dry_hours,
        wet_day_drying=wet_day_drying,
    )


def _rain_that_counts(rain_in_window, wet_share, exponent):
    """Return P(rain above the threshold in the window | wet day) for arrays."""
    dry = np.log1p(-np.minimum(wet_share, 1.0))
    scale = np.expm1(exponent * dry) / np.expm1(night_exponent(1.0) * dry)
    scale = np.where(np.equal(wet_share, 1.0), 1.0, scale)
    share = np.minimum(np.divide(rain_in_window * scale, wet_share), 1.0)
    return np.where(np.less_equal(wet_share, 0.0), 0.0 * rain_in_window, share)


def _heavy_share(rain_per_day, wet_share, amount):
    """Return P(day above the amount | wet day) for arrays."""
    mean = np.maximum(_SMALLEST_MEAN, np.divide(0.97 * rain_per_day, wet_share))
    scale = np.maximum(1.83 * mean - 2.16, 0.3 * mean)
    share = special.gammaincc(mean / scale, amount / scale)
    never = np.less_equal(wet_share, 0.0) | np.less_equal(rain_per_day, 0.0)
    return np.where(never, 0.0 * (wet_share + rain_per_day), share)


def _undried_share(wet_share, daylight_hours, vapour_deficit, dry_hours, wet_day_drying):
    """Return P(canvas damp at bedtime | wet day) for arrays."""
    if dry_hours <= 0:
        return 0.0 * (wet_share + daylight_hours + vapour_deficit)
    power = wet_day_drying * daylight_hours * vapour_deficit / _STANDARD_DEFICIT
    damp = np.clip(1 - power / dry_hours, 0.0, 1.0)
    return damp * (0.25 + 0.75 * wet_share) ** 2
