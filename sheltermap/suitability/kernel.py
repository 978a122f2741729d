"""The kernel: the arithmetic of nights, the only place where it is written.

In: a block of nights, and kits and settings as plain numbers. Out: the risks of each kit on
each night. Assumes that every night stands alone. Which mode a kit
is in when, and why the factors combine so, stands in ``suitability.combination``.

A kit asks several questions of a night (is it colder than its sleepers bear, does its fabric
drip), many of them alike, and kits of one journey share people, bedding, fabrics and fans:
`Nights` answers each distinct question once, which halves the time.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import reduce, wraps

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr as normal

from sheltermap.air import saturated_temperature, saturation
from sheltermap.night.rain import heavy_tails, tail_at, wet_after_wet
from sheltermap.suitability.numbers import (
    ColdNumbers,
    DangerNumbers,
    FabricNumbers,
    HeatNumbers,
    KitNumbers,
    NightNumbers,
)
from sheltermap.vocabulary import FACTORS, MISSING_FACTOR, NO_FACTOR

Array = NDArray[np.floating]

CORE = (*FACTORS, "sound_share")
"""What a kit's score is made of, beside the limiting factor."""

PARTS = ("cold_dry", "cold_wet", "heat_dry", "heat_wet", "wet_on_wet_days")
"""What they are made of."""

DANGER = "dangerous"
"""The detail that many ask for alone."""

DETAILS = (
    DANGER,
    *PARTS,
    "dew_outside",
    "cold_margin",
    "heat_margin",
    "cold_danger_margin",
    "heat_danger_margin",
    "warmest_bedtime",
)
"""What explains them."""

LEAST_RISK = 1e-6
"""A night whose every risk is below this has no limiting factor."""

_LEAST_SPREAD = 0.01  # [K], keeps a night without spread a step, not a division by zero
_LEAST_VAPOUR = 1e-3  # [kPa], dewpoint -58 degC: any fabric stays dry
_LEAST_SHARE = 1e-9  # of wet days, one in three million years
_MOST_LOG = 1e4  # stands for -log(0): even the smallest exponent then gives certainty


def _once(question: Callable[..., Array]) -> Callable[..., Array]:
    """Return a method of `Nights` that works out each distinct answer only once."""

    @wraps(question)
    def answer(nights: Nights, *asked: object) -> Array:
        key = (question, *asked)
        if key not in nights.answers:
            nights.answers[key] = question(nights, *asked)
        return nights.answers[key]

    return answer


class Nights:
    """
    A block of nights, and the chances that kits ask of them.

    Answers are kept as long as the block is; do not write into them. ``dry`` asks of nights
    after a dry day: under a clear sky, and colder than others by a drop.

    Parameters
    ----------
    given : mapping of str to array, all of one shape
        Temperatures ``bedtime``, ``coldest`` (mean of the coldest hours) and ``ground``
        [degC]; ``dry_drop``, ``sky_cooling``, ``spread`` and ``low_error``, that of the mean
        low [K]; ``bedtime_vapour``,
        ``cold_vapour`` and by day ``vapour_deficit`` [kPa]; ``wet_share`` of days [0 to 1];
        ``rain`` of all days [mm day-1]; ``daylight`` [h]; ``wind`` at the camp [m s-1],
        absent where it is not assessed; ``cold_offset`` and ``heat_offset``, by how much
        warmer nights and cooler bedtimes must be than for usual sleepers [K], absent where
        everyone is usual. Double precision.
    numbers : NightNumbers

    Notes
    -----
    Calm air, and months in which every day is wet, make infinities on the way to a chance
    of 0 or 1: call within ``np.errstate(all="ignore")``.
    """

    def __init__(self, given: Mapping[str, Array], numbers: NightNumbers) -> None:
        self.answers: dict[tuple[object, ...], Array] = {}
        self.numbers = numbers
        self.coldest, self.ground = given["coldest"], given["ground"]
        self.drop = given["dry_drop"]
        self.sky = numbers.clear_sky * given["sky_cooling"]
        # Where they are not, the dry nights of a roofed bed are as its wet ones: no question
        # of its own. Missing values count as colder, so that they stay missing.
        self.colder_when_dry = bool(np.any(self.drop + 0.0 * self.sky))
        spread = np.maximum(given["spread"], _LEAST_SPREAD)
        self.per_spread = 1 / spread
        self.per_heat_spread = 1 / np.sqrt(spread * spread + numbers.heat_spread**2)
        self.doubt = spread * spread + given["low_error"] ** 2
        self.bedtime, self.bed_vapour = given["bedtime"], given["bedtime_vapour"]
        self.bed_saturation = saturation(self.bedtime)
        self.cold_vapour = np.maximum(given["cold_vapour"], _LEAST_VAPOUR)

        self.wet_share, rain = given["wet_share"], given["rain"]
        # 1 where it rains, 0 where it never does, missing where either is.
        rains = np.sign(np.maximum(np.minimum(self.wet_share, rain), 0.0))
        # Keeps quotients defined, of shares too small to divide by as well.
        some_share = np.where(rains == 0, 1.0, np.maximum(self.wet_share, _LEAST_SHARE))
        some_rain = np.where(rains == 0, 1.0, rain)
        self.per_wet = rains / some_share
        self.log_dry = np.maximum(np.log(1 - np.minimum(self.wet_share, 1.0)), -_MOST_LOG)
        tails = heavy_tails(numbers.heavy_day)
        self.heavy = rains * tail_at(tails, np.log(some_rain / some_share))
        self.intensity = np.maximum(some_rain / some_share / numbers.usual_wet_day, 1.0)
        self.wet_on = wet_after_wet(self.wet_share) ** 2
        self.drying = numbers.drying * given["vapour_deficit"] * given["daylight"]
        self.wind = given.get("wind")
        # Numbers, so that adding them costs nothing where everyone is as usual.
        self.cold_offset = given.get("cold_offset", 0.0)
        self.heat_offset = given.get("heat_offset", 0.0)

    def below_cold_limit(self, limits: Sequence[ColdNumbers], dry: bool) -> Array:
        """Return by how much the air is below the warmest limit of all sleepers. [K]"""
        drop, sky = (self.drop, self.sky) if dry else (0.0, 0.0)
        each = [
            limit.base
            + self.cold_offset
            + drop
            + limit.sky * sky
            - limit.ground * self.ground
            - self.coldest
            for limit in limits
        ]
        return reduce(np.maximum, each)

    def above_heat_limit(self, heat: HeatNumbers) -> Array:
        """Return by how much the air inside is above the lowest limit of all sleepers. [K]"""
        # What air cannot hold, the fabric takes as water.
        vapour = np.minimum(self.bed_vapour + heat.vapour, self.bed_saturation)
        each = [
            self.bedtime
            + (heat.heating + self.heat_offset)
            - np.minimum(limit.dry - limit.slope * vapour, limit.cap)
            for limit in heat.limits
        ]
        return reduce(np.maximum, each)

    @_once
    def cold(self, limits: Sequence[ColdNumbers], dry: bool) -> Array:
        """Return the chance that the air is colder than some sleeper bears."""
        if dry and not self.colder_when_dry and not any(limit.sky for limit in limits):
            return self.cold(limits, False)
        return normal(self.below_cold_limit(limits, dry) * self.per_spread)

    @_once
    def danger(self, limits: Sequence[DangerNumbers], dry: bool) -> Array:
        """Return the chance that the air is so cold that it endangers some sleeper.

        The night's own spread, the error of its low and the spread between people count.
        """
        each = [
            normal(
                (self.below_cold_limit([limit.cold], dry) + limit.offset)
                / np.sqrt(self.doubt + limit.offset_spread**2)
            )
            for limit in limits
        ]
        return reduce(np.maximum, each)

    @_once
    def heat(self, heat: HeatNumbers) -> Array:
        """Return the chance that the air inside is hotter than some sleeper bears."""
        return normal(self.above_heat_limit(heat) * self.per_heat_spread)

    @_once
    def dewpoint(self, vapour: float) -> Array:
        """Return the dewpoint in the coldest hours with more vapour inside. [degC]"""
        return saturated_temperature(self.cold_vapour + vapour)

    @_once
    def drips(self, fabric: FabricNumbers, dry: bool) -> Array:
        """Return the chance that the fabric's inner face is below the dewpoint inside."""
        if dry and not self.colder_when_dry and not fabric.face_sky:
            return self.drips(fabric, False)
        drop, sky = (self.drop, self.sky) if dry else (0.0, 0.0)
        dew = self.dewpoint(fabric.vapour)
        below = dew + (drop - fabric.face) + fabric.face_sky * sky - self.coldest
        return normal(below / self.numbers.condensation_spread)

    @_once
    def rain(self, exponent: float) -> Array:
        """Return the chance of rain in a window of a wet day's night."""
        return np.minimum((1 - np.exp(exponent * self.log_dry)) * self.per_wet, 1.0)

    @_once
    def still_wet(self, per_soaked: float) -> Array:
        """Return the chance that canvas did not dry since it rained."""
        return self.wet_on * (1 - np.minimum(self.drying * per_soaked, 1.0))

    @_once
    def gale(self, limit: float) -> Array:
        """Return the chance of more wind than a limit's square, by Rayleigh's distribution."""
        if self.wind is None:
            return np.full_like(self.coldest, np.nan)
        return np.exp(-np.pi / 4 * limit / (self.wind * self.wind))


def grown(chance: Array | float, intensity: Array) -> Array:
    """
    Return the chance that water gets in, where it rains harder than usual.

    Parameters
    ----------
    chance : float or array
        Where wet days bring the usual rain. [0 to 1]
    intensity : array
        Mean rain of a wet day over the usual. [1]

    Notes
    -----
    judgement: each millimetre gets in with the same small chance, and depths of rain are
    spread exponentially. A leak then has the chance x / (1 + x), x in proportion to the mean
    depth: its odds grow with the rain. The gamma of heavier tails would give a little less.
    """
    odds = chance * intensity
    return odds / (1 - chance + odds)


def mixed(first: Array, second: Array, share: Array) -> Array:
    """Return the mean of two chances, `share` being the weight of the second."""
    return first + share * (second - first)


def kit_risks(nights: Nights, kit: KitNumbers) -> dict[str, Array]:
    """
    Return the risks of a kit.

    Parameters
    ----------
    nights : Nights
    kit : KitNumbers

    Returns
    -------
    dict of arrays, shape (nights,)
        By the names of `CORE` and `PARTS`, and ``soaked``: water in the bed on wet days, which
        damp canvas over a dry bed is not. Missing where an input is; wind is missing
        throughout, and left out of the share, where it is not assessed.
    """
    dry, closed, wet = kit.dry, kit.closed, kit.wet
    cold_dry, cold_wet = nights.cold(closed.cold, True), nights.cold(closed.cold, False)
    heat_dry, heat_wet = nights.heat(dry.heat), nights.heat(wet.heat)
    # Sleepers close the kit when they are cold in it as it is.
    closes = nights.cold(dry.cold, True)
    drips_dry = mixed(nights.drips(dry.fabric, True), nights.drips(closed.fabric, True), closes)
    drips_wet = nights.drips(wet.fabric, False)
    leaks: Array | float = kit.leak
    leaks_in_danger: Array | float = kit.danger_leak
    if kit.awning_limit is not None and nights.wind is not None:
        # Wind takes the awning in; then the kit is shut, and leaks.
        down = nights.gale(kit.awning_limit)
        heat_wet = mixed(heat_wet, nights.heat(closed.heat), down)
        drips_wet = mixed(drips_wet, nights.drips(closed.fabric, False), down)
        leaks = kit.leak + kit.leak_in_wind * down
        leaks_in_danger = kit.danger_leak + kit.danger_leak_in_wind * down
    dried = 1 - kit.undried * nights.still_wet(kit.per_soaked)
    kept_dry = _unsoaked(nights, kit, leaks) * dried
    kept_from_danger = _unsoaked(nights, kit, leaks_in_danger)
    drips_dry, drips_wet = kit.weight * drips_dry, kit.weight * drips_wet
    sound_dry = (1 - np.minimum(cold_dry + heat_dry, 1.0)) * (1 - drips_dry)
    sound_wet = (1 - np.minimum(cold_wet + heat_wet, 1.0)) * (1 - drips_wet) * kept_dry
    share = nights.wet_share
    gale = nights.gale(kit.wind_limit)
    sound = mixed(sound_dry, sound_wet, share)
    return {
        "cold": mixed(cold_dry, cold_wet, share),
        "heat": mixed(heat_dry, heat_wet, share),
        "wet": share * (1 - kept_dry),
        "wind": gale,
        "condensation": mixed(drips_dry, drips_wet, share),
        "sound_share": sound if nights.wind is None else sound * (1 - gale),
        "cold_dry": cold_dry,
        "cold_wet": cold_wet,
        "heat_dry": heat_dry,
        "heat_wet": heat_wet,
        "wet_on_wet_days": 1 - kept_dry,
        "soaked": 1 - (kept_from_danger * dried if kit.damp_bed else kept_from_danger),
    }


def _unsoaked(nights: Nights, kit: KitNumbers, leaks: Array | float) -> Array:
    """Return the chance that no water comes in on a wet day, with such leaks of rain asleep."""
    return (
        (1 - grown(leaks, nights.intensity) * nights.rain(kit.asleep))
        * (1 - kit.pitching * nights.rain(kit.at_work))
        * (1 - grown(kit.ponding, nights.intensity) * nights.heavy)
    )


def kit_details(nights: Nights, kit: KitNumbers, risks: Mapping[str, Array]) -> dict[str, Array]:
    """
    Return what explains a kit's risks.

    Parameters
    ----------
    nights : Nights
    kit : KitNumbers
    risks : mapping of str to array
        From `kit_risks`.

    Returns
    -------
    dict of arrays, shape (nights,)
        By the names of `DETAILS`. Missing where any input is that the share needs.
    """
    unwarmed = FabricNumbers(vapour=0.0, face=0.0, face_sky=kit.dry.fabric.face_sky)
    heat_margin = -nights.above_heat_limit(kit.dry.heat)
    details = {
        **{part: risks[part] for part in PARTS},
        "dew_outside": nights.drips(unwarmed, True),
        "cold_margin": -nights.below_cold_limit(kit.closed.cold, True),
        "heat_margin": heat_margin,
        "cold_danger_margin": -nights.below_cold_limit([deep.cold for deep in kit.deep], True),
        "heat_danger_margin": -nights.above_heat_limit(kit.dry.concern),
        "warmest_bedtime": nights.bedtime + heat_margin,
    }
    # A night that misses an input has no explanation either.
    known = 0.0 * risks["sound_share"]
    explained = {name: values + known for name, values in details.items()}
    return {DANGER: kit_danger(nights, kit, risks), **explained}


def kit_danger(nights: Nights, kit: KitNumbers, risks: Mapping[str, Array]) -> Array:
    """
    Return how likely cold or heat endangers the sleepers of a kit.

    Parameters
    ----------
    nights, kit, risks
        As for `kit_details`, of which it is one.

    Returns
    -------
    array, shape (nights,)
        [0 to 1] Missing where any input is that the share needs.
    """
    strain_dry, strain_wet = nights.heat(kit.dry.concern), nights.heat(kit.wet.concern)
    if kit.awning_limit is not None and nights.wind is not None:
        down = nights.gale(kit.awning_limit)
        strain_wet = mixed(strain_wet, nights.heat(kit.closed.concern), down)
    danger_dry = np.minimum(nights.danger(kit.deep, True) + strain_dry, 1.0)
    danger_wet = np.minimum(nights.danger(kit.deep, False) + strain_wet, 1.0)
    soaked_and_cold = risks["soaked"] * nights.danger(kit.wet_bed, False)
    danger_wet = 1 - (1 - danger_wet) * (1 - soaked_and_cold)
    return mixed(danger_dry, danger_wet, nights.wet_share) + 0.0 * risks["sound_share"]


def limiting_factor(factors: Sequence[Array], share: Array) -> NDArray[np.int8]:
    """
    Return which factor spoils most nights.

    Parameters
    ----------
    factors : sequence of arrays
        Probabilities in the order of `FACTORS`; NaN throughout where not assessed.
    share : array
        Share of sound nights; NaN where an input is missing.

    Returns
    -------
    int8 array
        Position in `FACTORS`, `NO_FACTOR` or `MISSING_FACTOR`.

    Examples
    --------
    >>> limiting_factor([np.array([0.1, 0.0]), np.array([0.3, 0.0])], np.array([0.6, 1.0]))
    array([ 1, -1], dtype=int8)
    """
    largest = factors[0]
    which = np.zeros(share.shape, np.int8)
    for code, factor in enumerate(factors[1:], start=1):
        which[factor > largest] = code
        largest = np.fmax(largest, factor)
    which[largest < LEAST_RISK] = NO_FACTOR
    which[np.isnan(share)] = MISSING_FACTOR
    return which
