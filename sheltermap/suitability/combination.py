"""The combination: one kit's limits and many nights' numbers in, probabilities out.

In: a ``Plan`` (everything about kit, sleepers and settings, as plain numbers) and arrays
of one shape. Out: arrays of that shape. Assumes normal spread from night to night.

Which mode a kit is in decides most of it:

* **Dry nights.** Open to its mesh, unless insects (without mesh) or dust keep it closed.
  For heat the cooler mode that is allowed counts. For cold the warmer one, which is
  always the closed one: sleepers close up when they are cold. Condensation mixes both
  by the probability that cold closes the kit.
* **Wet nights.** Closed, or open under the awning where there is one and wind lets it
  stand. No clear sky cools anything.

``sound = (1 - V) * sum over dry, wet of share * (1 - min(1, C + H)) * (1 - W) * (1 - weight * D)``

Cold and heat exclude each other, so they add; the other causes are independent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from sheltermap.air import saturated_temperature, saturation
from sheltermap.shelters import cold
from sheltermap.shelters.heat import HeatLimit
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.tolerance import ColdLimit, Mode, cold_limits, heat_limits, modes
from sheltermap.shelters.wet import WetWays, wet_share, wet_ways
from sheltermap.vocabulary import FACTORS, MISSING_FACTOR, NO_FACTOR

LEAST_RISK = 1e-6
"""A night whose every risk is below this has no limiting factor."""

_LEAST_SPREAD = 0.01  # [K], keeps a night without spread a step, not a division by zero
_LEAST_VAPOUR = 1e-3  # [kPa], dewpoint -58 degC: any fabric stays dry

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
    "rain_pitching",
    "heavy",
    "undried",
    "wind",
    "awning_down",
)
"""What the combination takes for every night, in this order.

Temperatures [degC]; drop, cooling and spread [K]; vapour [kPa]; the rest chances [0 to 1]:
of a wet day; given one, of rain while asleep, rain while pitching, a heavy day and damp
canvas; of wind above the kit's limit and above its awning's.
"""

CORE = (*FACTORS, "sound_share", "limiting_factor")
"""Results every caller needs."""

DETAILS = (
    "dangerous",
    "cold_dry",
    "cold_wet",
    "heat_dry",
    "heat_wet",
    "wet_on_wet_days",
    "dew_outside",
    "cold_margin",
    "heat_margin",
    "warmest_bedtime",
)
"""Results that explain the others."""


@dataclass(frozen=True)
class ModeLimits:
    """One mode with the limits of everyone who sleeps in it."""

    mode: Mode
    cold: tuple[ColdLimit, ...]
    heat: tuple[HeatLimit, ...]
    heat_concern: tuple[HeatLimit, ...]
    wet_bed: tuple[ColdLimit, ...]


@dataclass(frozen=True)
class Plan:
    """
    A kit, its sleepers and the settings, as the combination uses them.

    Attributes
    ----------
    dry : ModeLimits
        The mode that counts against heat on dry nights.
    closed : ModeLimits
        The mode that counts against cold.
    wet : ModeLimits
        The mode that counts against heat on wet nights while an awning stands.
    ways : WetWays
    condensation_weight, heat_spread, condensation_spread, danger_margin, clear_sky : float
        As in `Kit` and `Settings`.
    """

    dry: ModeLimits
    closed: ModeLimits
    wet: ModeLimits
    ways: WetWays
    condensation_weight: float
    heat_spread: float
    condensation_spread: float
    danger_margin: float
    clear_sky: float


def plan_of(kit: Kit, sleepers: Sequence[Sleeper], settings: Settings) -> Plan:
    """
    Return what the combination needs to know of a kit.

    Parameters
    ----------
    kit : Kit
    sleepers : sequence of Sleeper
        At least one.
    settings : Settings

    Returns
    -------
    Plan
    """

    def limits(mode):
        return ModeLimits(
            mode=mode,
            cold=cold_limits(kit, sleepers, mode, settings),
            heat=heat_limits(sleepers, mode, settings),
            heat_concern=heat_limits(sleepers, mode, settings, concern=True),
            wet_bed=cold_limits(
                kit,
                sleepers,
                mode,
                settings,
                insulation_kept=settings.wet_bedding,
                intercept=cold.MINIMAL,
            ),
        )

    opened, closed, awning = modes(kit, sleepers, settings)
    shut = settings.dust or (settings.insects and not kit.mesh)
    return Plan(
        dry=limits(closed if shut else opened),
        closed=limits(closed),
        wet=limits(closed if shut or awning is None else awning),
        ways=wet_ways(kit, settings),
        condensation_weight=kit.condensation_weight,
        heat_spread=settings.heat_spread,
        condensation_spread=settings.condensation_spread,
        danger_margin=settings.danger_margin,
        clear_sky=settings.clear_sky,
    )


def combined(plan: Plan, *values, details: bool) -> tuple[np.ndarray, ...]:
    """
    Return the probabilities of many nights.

    Parameters
    ----------
    plan : Plan
    *values : arrays of one shape, or that broadcast
        As `INPUTS` lists them; `wind` is None where it is not assessed.
    details : bool
        Whether `DETAILS` follow `CORE`.

    Returns
    -------
    tuple of arrays
        As `CORE` lists them: factors and share [0 to 1], position of the limiting
        factor (int8), then the details. NaN where an input is missing.
    """
    night = dict(zip(INPUTS, values, strict=True))
    dry_air = night["coldest"] - night["dry_drop"]
    sky = plan.clear_sky * night["sky_cooling"]
    spread = np.maximum(night["spread"], _LEAST_SPREAD)
    heat_spread = np.sqrt(spread * spread + plan.heat_spread * plan.heat_spread)
    f, weight = night["wet_share"], plan.condensation_weight
    no_wind = night["wind"] is None
    down = 0.0 if no_wind else night["awning_down"]

    def chance_of_cold(limits, air, sky, deeper=0.0):
        return ndtr(-_cold_margin(limits, air, night["ground"], sky, spread, deeper))

    def chance_of_heat(mode, limits):
        return ndtr(-_heat_margin(mode, limits, night)[0] / heat_spread)

    cold_dry = chance_of_cold(plan.closed.cold, dry_air, sky)
    cold_wet = chance_of_cold(plan.closed.cold, night["coldest"], 0.0)
    heat_dry = chance_of_heat(plan.dry.mode, plan.dry.heat)
    heat_closed = chance_of_heat(plan.closed.mode, plan.closed.heat)
    heat_wet = _mixed(chance_of_heat(plan.wet.mode, plan.wet.heat), heat_closed, down)
    wet = wet_share(
        plan.ways,
        night["rain"],
        night["rain_pitching"],
        night["heavy"],
        night["undried"],
        down,
    )

    closes = chance_of_cold(plan.dry.cold, dry_air, sky)
    drips_dry = _mixed(
        _drips(plan, plan.dry.mode, night, dry_air, sky),
        _drips(plan, plan.closed.mode, night, dry_air, sky),
        closes,
    )
    drips_wet = _mixed(
        _drips(plan, plan.wet.mode, night, night["coldest"], 0.0),
        _drips(plan, plan.closed.mode, night, night["coldest"], 0.0),
        down,
    )

    sound_dry = (1 - np.minimum(cold_dry + heat_dry, 1)) * (1 - weight * drips_dry)
    sound_wet = (1 - np.minimum(cold_wet + heat_wet, 1)) * (1 - weight * drips_wet) * (1 - wet)
    share = (1 - f) * sound_dry + f * sound_wet
    if not no_wind:
        share = share * (1 - night["wind"])
    factors = (
        _mixed(cold_dry, cold_wet, f),
        _mixed(heat_dry, heat_wet, f),
        f * wet,
        np.full_like(share, np.nan) if no_wind else night["wind"] + 0.0 * share,
        weight * _mixed(drips_dry, drips_wet, f),
    )
    results = (*factors, share, limiting_factor(factors, share))
    if not details:
        return results

    deep = plan.danger_margin
    strain_dry = chance_of_heat(plan.dry.mode, plan.dry.heat_concern)
    strain_wet = _mixed(
        chance_of_heat(plan.wet.mode, plan.wet.heat_concern),
        chance_of_heat(plan.closed.mode, plan.closed.heat_concern),
        down,
    )
    danger_dry = chance_of_cold(plan.closed.cold, dry_air, sky, deep) + strain_dry
    danger_wet = chance_of_cold(plan.closed.cold, night["coldest"], 0.0, deep) + strain_wet
    wet_cold = wet * chance_of_cold(plan.closed.wet_bed, night["coldest"], 0.0)
    dangerous = (1 - f) * np.minimum(danger_dry, 1) + f * (
        1 - (1 - np.minimum(danger_wet, 1)) * (1 - wet_cold)
    )
    dew = ndtr(
        (_dewpoint(night["cold_vapour"]) - (dry_air - plan.dry.mode.face_sees_sky * sky))
        / plan.condensation_spread
    )
    one_kelvin = np.ones_like(spread)
    cold_margin = _cold_margin(plan.closed.cold, dry_air, night["ground"], sky, one_kelvin, 0.0)
    heat_margin, warmest = _heat_margin(plan.dry.mode, plan.dry.heat, night)
    explained = (
        dangerous,
        cold_dry,
        cold_wet,
        heat_dry,
        heat_wet,
        wet,
        dew,
        cold_margin,
        heat_margin,
        warmest,
    )
    return results + tuple(value + 0.0 * share for value in explained)


def limiting_factor(factors: Sequence[np.ndarray], share: np.ndarray) -> np.ndarray:
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
    largest = np.full(np.shape(share), LEAST_RISK, np.result_type(share))
    which = np.full(np.shape(share), NO_FACTOR, np.int8)
    for position, risk in enumerate(factors):
        larger = risk > largest
        largest = np.where(larger, risk, largest)
        which = np.where(larger, np.int8(position), which)
    return np.where(np.isnan(share), np.int8(MISSING_FACTOR), which)


def _mixed(usual, other, share):
    """Return the mean of two values of which the second counts for `share`."""
    return usual + share * (other - usual)


def _cold_margin(limits, air, ground, sky, spread, deeper):
    """Return how far the coldest sleeper is above the limit, in spreads."""
    margins = []
    for limit in limits:
        around = limit.air_share * air + limit.ground_share * ground - limit.sky_share * sky
        margins.append((around - limit.base + deeper) / (limit.air_share * spread))
    return _least(margins)


def _heat_margin(mode, limits, night):
    """Return how far the most sensitive sleeper is below the limit, and bedtime air at it."""
    # What the fabric cannot hold as vapour it takes as water: it is as cold as outside.
    inside = night["bedtime_vapour"] + mode.vapour_gain
    inside = np.minimum(inside, saturation(night["bedtime"]))
    warmest = _least([limit.at(inside) for limit in limits]) - (mode.warming + mode.stored_heat)
    return warmest - night["bedtime"], warmest


def _drips(plan, mode, night, air, sky):
    """Return the chance that the fabric's inner face is below the dewpoint inside."""
    inside = _dewpoint(night["cold_vapour"] + mode.vapour_gain)
    face = air + mode.face_warming - mode.face_sees_sky * sky
    return ndtr((inside - face) / plan.condensation_spread)


def _dewpoint(vapour):
    """Return the dewpoint of any vapour pressure, very low where there is none."""
    return saturated_temperature(np.maximum(vapour, _LEAST_VAPOUR))


def _least(arrays):
    """Return the elementwise least of one or more arrays; missing stays missing."""
    least = arrays[0]
    for other in arrays[1:]:
        least = np.minimum(least, other)
    return least
