"""The kernel: the arithmetic of a night, stated once for numpy and for numba.

In: nights as `INPUTS` lists them, and the numbers of ``suitability.questions``. Out: what
answers the questions, and a kit's risks from its answers. Assumes that every argument is a
number, or an array that broadcasts with the others: no choice depends on a night, and
functions are looked up by name, so that ``suitability.compiled`` can put its own in their
place. Which mode a kit is in, and why the factors combine so, stands in
``suitability.combination``.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import exp, log, minimum, sqrt
from scipy.special import ndtr

from sheltermap.air import saturation
from sheltermap.vocabulary import FACTORS

LEAST_RISK = 1e-6
"""A night whose every risk is below this has no limiting factor."""

FURTHEST = 5.3
"""Spreads beyond which the normal function is level: 6e-8 from the end. [1]"""

NORMAL = tuple(
    np.array(coefficient, np.float32)
    for coefficient in (
        1.0,
        -0.09973637,
        -0.034806571,
        -0.00076853847,
        0.0016946547,
        -5.4894799e-06,
        -4.7564675e-05,
        4.2962642e-06,
    )
)
"""Eighth root of erfc(z / root 2), z from 0 to `FURTHEST`, as a polynomial, constant first;
fitted here to an error of 9e-8, rounded 2.8e-7."""

INPUTS = (
    "bedtime",
    "coldest",
    "ground",
    "dry_drop",
    "sky_cooling",
    "bedtime_vapour",
    "cold_vapour",
    "spread",
    "wet_share",
    "rain",
    "vapour_deficit",
    "daylight",
    "wind",
)
"""What the kernel takes for every night, in this order.

Temperatures [degC]; drop, cooling and spread [K]; vapour [kPa]; share of wet days [0 to 1];
rain of all days [mm day-1]; vapour deficit by day [kPa]; daylight [h]; wind at the camp
[m s-1], None where it is not assessed.
"""

CORE = (*FACTORS, "sound_share")
"""What a kit's score is made of, beside the limiting factor."""

PARTS = ("cold_dry", "cold_wet", "heat_dry", "heat_wet", "wet_on_wet_days")
"""What explains them."""

# Numpy is faster with an array of no dimensions than with a number.
ZERO, HALF, ONE = (np.array(number, np.float32) for number in (0, 0.5, 1))
LEAST_SPREAD = 0.01  # [K], keeps a night without spread a step, not a division by zero
LEAST_VAPOUR = 1e-3  # [kPa], dewpoint -58 degC: any fabric stays dry
MOST_LOG = 1e4  # stands for -log(0): even the smallest exponent then gives certainty
FEW, MANY = 1e-9, 1e9  # of wet days or mm: none, and enough to tell some from none
THREE, SIXTEEN = 3.0, 16.0  # P(wet | wet) is (1 + 3 f) / 4, twice over
SIGN = np.array(-(2**31), np.int32)  # the bit that makes a single-precision number negative
MINUS_QUARTER_PI = -np.pi / 4  # in the exponent of Rayleigh's distribution


class Terms(NamedTuple):
    """What questions need of a night, the same for every kit."""

    coldest: np.ndarray
    drop: np.ndarray
    ground: np.ndarray
    sky: np.ndarray
    per_spread: np.ndarray
    per_heat_spread: np.ndarray
    bedtime: np.ndarray
    bed_vapour: np.ndarray
    bed_saturation: np.ndarray
    cold_vapour: np.ndarray
    wet_share: np.ndarray
    per_wet: np.ndarray
    log_dry: np.ndarray
    heavy: np.ndarray
    run: np.ndarray
    drying: np.ndarray
    wind: np.ndarray | None


def night_terms(
    bedtime,
    coldest,
    ground,
    dry_drop,
    sky_cooling,
    bedtime_vapour,
    cold_vapour,
    spread,
    wet_share,
    rain,
    vapour_deficit,
    daylight,
    wind,
    heavy,
    numbers,
):
    """Return the fields of `Terms` from `INPUTS`, P(heavy day | wet) and `NightNumbers`."""
    spread = at_least(spread, LEAST_SPREAD)
    rains = at_most(at_least(minimum(wet_share, rain), ZERO) * MANY, ONE)
    # Multiplying by zero keeps missing values missing where there is no rain.
    per_wet = rains / at_least(wet_share, FEW) + (rain - rain)
    run = ONE + THREE * wet_share
    return (
        coldest,
        dry_drop,
        ground,
        numbers.clear_sky * sky_cooling,
        ONE / spread,
        ONE / sqrt(spread * spread + numbers.heat_variance),
        bedtime,
        bedtime_vapour,
        saturation(bedtime),
        at_least(cold_vapour, LEAST_VAPOUR),
        wet_share,
        per_wet,
        at_least(log(ONE - at_most(wet_share, ONE)), -MOST_LOG),
        rains * heavy,
        run * run / SIXTEEN,
        numbers.drying * vapour_deficit * daylight,
        None if wind is None else MINUS_QUARTER_PI / (wind * wind),
    )


def log_mean(wet_share, rain):
    """Return the logarithm of a wet day's mean rain in mm; anything where it never rains."""
    return log(at_least(rain, FEW) / at_least(wet_share, FEW))


def normal(deviations: np.ndarray, out: np.ndarray | None = None) -> np.ndarray:
    """
    Return the normal distribution function.

    Parameters
    ----------
    deviations : float array
        [1]
    out : array, optional
        Where to put the result; may be the deviations.

    Returns
    -------
    same shape and type
        Exact in double precision; in single precision within 4e-7.

    Examples
    --------
    >>> float(normal(np.array([0.0]))[0])
    0.5
    """
    if deviations.dtype != np.float32:
        return ndtr(deviations, out=out)
    tail = np.abs(deviations)
    np.clip(tail, 0.0, FURTHEST, out=tail)
    power = NORMAL[-1] * tail
    for coefficient in NORMAL[-2:0:-1]:
        power += coefficient
        power *= tail
    power += NORMAL[0]
    for _ in range(3):
        power *= power
    # Half of it lies beyond, on the side of the deviation's sign; bits are copied faster
    # than numpy copies signs.
    power *= -HALF
    power += HALF
    sign = np.bitwise_and(deviations.view(np.int32), SIGN, out=tail.view(np.int32))
    power.view(np.int32)[...] |= sign
    return np.add(power, HALF, out=out)


def at_least(values, limit):
    """Return values, or the limit where they are below it; missing stays missing."""
    return np.clip(values, limit, np.inf)  # several times as fast as np.maximum with a number


def at_most(values, limit):
    """Return values, or the limit where they are above it; missing stays missing."""
    return np.clip(values, -np.inf, limit)


def too_cold(base, ground_share, sky_share, drop_share, coldest, drop, ground, sky):
    """Return by how much the air is below one sleeper's limit. [K]"""
    return base + drop_share * drop + sky_share * sky - ground_share * ground - coldest


def vapour_inside(gain, vapour, saturated):
    """Return the vapour inside: what air cannot hold the fabric takes as water. [kPa]"""
    return minimum(vapour + gain, saturated)


def too_hot(dry, slope, cap, heating, inside, bedtime):
    """Return by how much the air inside is above one sleeper's limit. [K]"""
    return bedtime + heating - at_most(dry - slope * inside, cap)


def too_dewy(face, face_sky, drop_share, dew, coldest, drop, sky):
    """Return by how much the fabric's inner face is below the dewpoint inside. [K]"""
    return dew + (drop_share * drop - face) + face_sky * sky - coldest


def rainy(exponent, log_dry, per_wet):
    """Return the chance of rain in a window of a wet day's night."""
    return at_most((ONE - exp(exponent * log_dry)) * per_wet, ONE)


def unponded(ponding, heavy):
    """Return the chance that no water stands under the bed, or does no harm."""
    return ONE - ponding * heavy


def dried(per_soaked, undried, drying, run):
    """Return the chance that canvas dried since it rained, or that damp does no harm."""
    return ONE - undried * (run * (ONE - at_most(drying * per_soaked, ONE)))


def too_windy(limit, wind):
    """Return the chance of more wind than a limit's square, by Rayleigh's distribution."""
    return exp(limit * wind)


def mixed(first, second, share):
    """Return the mean of two chances, `share` being the weight of the second."""
    return first + share * (second - first)


def kept_dry(leaks, pitching, at_work, unponded, dried):
    """
    Return the chance that water does not spoil a wet day's night.

    Parameters
    ----------
    leaks, at_work, unponded, dried
        Rain while asleep that the kit lets in, and answers as ``questions.ROWS`` has them.
    pitching
        Chance that rain at work spoils the night.
    """
    return (ONE - leaks) * (ONE - pitching * at_work) * (unponded * dried)


def kit_risks(
    cold_dry, cold_wet, heat_dry, heat_wet, drips_dry, drips_wet, kept, gale, wet_share, weight
):
    """
    Return the risks of a kit, in the order of `CORE`.

    Parameters
    ----------
    cold_dry, cold_wet, heat_dry, heat_wet, drips_dry, drips_wet
        Chances on dry and on wet nights, each in the modes that the kit is then in.
    kept
        From `kept_dry`.
    gale
        Chance of more wind than the kit stands.
    wet_share
        Share of wet days.
    weight
        Share of the nights with dripping fabric that it spoils.
    """
    drips_dry, drips_wet = weight * drips_dry, weight * drips_wet
    sound_dry = (ONE - at_most(cold_dry + heat_dry, ONE)) * (ONE - drips_dry)
    sound_wet = (ONE - at_most(cold_wet + heat_wet, ONE)) * (ONE - drips_wet) * kept
    return (
        mixed(cold_dry, cold_wet, wet_share),
        mixed(heat_dry, heat_wet, wet_share),
        wet_share * (ONE - kept),
        gale,
        mixed(drips_dry, drips_wet, wet_share),
        mixed(sound_dry, sound_wet, wet_share) * (ONE - gale),
    )
