"""The combination: which mode a kit is in when, and how the factors make one share.

In: a kit, its sleepers, the settings. Out: the numbers that ``suitability.kernel`` works
with, and what explains its results. Assumes normal spread from night to night.

* **Dry nights.** Open to its mesh, unless insects (without mesh) or dust keep it closed.
  For heat the cooler mode that is allowed counts. For cold the warmer one, which is
  always the closed one: sleepers close up when they are cold. Condensation mixes both
  by the probability that cold closes the kit.
* **Wet nights.** Closed, or open under the awning where there is one and wind lets it
  stand. No clear sky cools anything.

``sound = (1 - V) * sum over dry, wet of share * (1 - min(1, C + H)) * (1 - W) * (1 - weight * D)``

Cold and heat exclude each other, so they add; the other causes are independent. W is 0 on
dry nights. What a result reports for a factor is the mean of dry and wet nights, after leak
and weight.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from sheltermap.air import saturated_temperature as dewpoint
from sheltermap.night.rain import REFERENCE_NIGHT, night_rain_exponent
from sheltermap.shelters import cold
from sheltermap.shelters.heat import HeatLimit
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.tolerance import ColdLimit, Mode, cold_limits, heat_limits, modes
from sheltermap.shelters.wet import wet_ways
from sheltermap.suitability.kernel import PARTS, Terms, normal
from sheltermap.suitability.questions import (
    ColdNumbers,
    HotNumbers,
    KitNumbers,
    ModeNumbers,
)

DETAILS = (
    "dangerous",
    *PARTS,
    "dew_outside",
    "cold_margin",
    "heat_margin",
    "warmest_bedtime",
)
"""Results that explain the others."""

_MINUTES = 60.0
_NO_LIMIT = 1e12  # [m2 s-2], the square of a wind that never blows


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
    A kit with its sleepers in the modes that count.

    Attributes
    ----------
    dry : ModeLimits
        Against heat on dry nights.
    closed : ModeLimits
        Against cold.
    wet : ModeLimits
        Against heat on wet nights, as long as an awning stands.
    kit : Kit
    settings : Settings
    """

    dry: ModeLimits
    closed: ModeLimits
    wet: ModeLimits
    kit: Kit
    settings: Settings


def plan_of(kit: Kit, sleepers: Sequence[Sleeper], settings: Settings) -> Plan:
    """
    Return the modes that count, with everyone's limits.

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
        kit=kit,
        settings=settings,
    )


def numbers_of(plan: Plan, hours: float) -> KitNumbers:
    """
    Return a plan as the kernel takes it.

    Parameters
    ----------
    plan : Plan
    hours : float
        Length of the sleep window. [h]

    Returns
    -------
    KitNumbers
    """
    kit, ways = plan.kit, wet_ways(plan.kit, plan.settings)
    at_work = (kit.pitch_minutes + kit.strike_minutes) / _MINUTES
    closed = _mode_numbers(plan.closed)
    dry = closed if plan.dry.mode is plan.closed.mode else _mode_numbers(plan.dry)
    wet = closed if plan.wet.mode is plan.closed.mode else _mode_numbers(plan.wet)
    return KitNumbers(
        dry=dry,
        closed=closed,
        wet=wet,
        asleep=min(_night_exponent(kit.rain_threshold_mm, hours) * plan.settings.night_rain, 1.0),
        at_work=_night_exponent(1.0, at_work),
        leak=ways.leak_under_awning,
        leak_in_wind=ways.leak - ways.leak_under_awning,
        pitching=ways.pitching,
        ponding=ways.ponding,
        undried=ways.undried,
        per_soaked=1 / kit.dry_hours if kit.dry_hours > 0 else 0.0,
        wind_limit=_squared(kit.wind_limit_m_s, plan.settings),
        awning_limit=_squared(kit.awning and kit.awning.wind_limit_m_s, plan.settings),
        weight=kit.condensation_weight,
    )


def explained_by(plan: Plan) -> Callable:
    """
    Return a function that explains a block's results.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    callable
        Takes `Terms` and the arrays of `PARTS`; returns the arrays of `DETAILS`.
    """

    def explained(terms: Terms, parts: Sequence[np.ndarray]) -> tuple[np.ndarray, ...]:
        soaked, f = parts[-1], terms.wet_share
        air_dry = terms.coldest - terms.drop
        down = 0.0
        if terms.wind is not None and plan.kit.awning is not None:
            down = np.exp(terms.wind * _squared(plan.kit.awning.wind_limit_m_s, plan.settings))

        def cold_below(limits, air, sky, depth):
            margin = _cold_margin(limits, air, terms.ground, sky, depth)
            return normal(-margin * terms.per_spread)

        def strain(limits):
            margin, _ = _heat_margin(limits.mode, limits.heat_concern, terms)
            return normal(-margin * terms.per_heat_spread)

        deep = plan.settings.danger_margin
        danger_dry = cold_below(plan.closed.cold, air_dry, terms.sky, deep)
        danger_dry = np.minimum(danger_dry + strain(plan.dry), 1)
        strain_wet = strain(plan.wet)
        strain_wet = strain_wet + down * (strain(plan.closed) - strain_wet)
        danger_wet = cold_below(plan.closed.cold, terms.coldest, 0.0, deep) + strain_wet
        soaked_cold = soaked * cold_below(plan.closed.wet_bed, terms.coldest, 0.0, 0.0)
        danger_wet = 1 - (1 - np.minimum(danger_wet, 1)) * (1 - soaked_cold)
        outer_face = air_dry - plan.dry.mode.face_sees_sky * terms.sky
        dew = (dewpoint(terms.cold_vapour) - outer_face) / plan.settings.condensation_spread
        margin, warmest = _heat_margin(plan.dry.mode, plan.dry.heat, terms)
        return (
            danger_dry + f * (danger_wet - danger_dry),
            *parts,
            normal(dew),
            _cold_margin(plan.closed.cold, air_dry, terms.ground, terms.sky, 0.0),
            margin,
            warmest,
        )

    return explained


def _mode_numbers(limits: ModeLimits) -> ModeNumbers:
    """Return one mode as the kernel takes it."""
    mode = limits.mode
    return ModeNumbers(
        cold=tuple(
            dict.fromkeys(
                ColdNumbers(
                    limit.base / limit.air_share,
                    limit.ground_share / limit.air_share,
                    limit.sky_share / limit.air_share,
                )
                for limit in _without_milder(limits.cold)
            )
        ),
        hot=tuple(
            HotNumbers(limit.dry - limit.margin, limit.slope, limit.cap - limit.margin)
            for limit in limits.heat
        ),
        heating=mode.warming + mode.stored_heat,
        vapour=mode.vapour_gain,
        face=mode.face_warming,
        face_sky=mode.face_sees_sky,
    )


def _without_milder(limits: Sequence[ColdLimit]) -> list[ColdLimit]:
    """Return the limits without those that another of the same weights always exceeds."""
    return [
        limit
        for limit in limits
        if not any(
            other.base > limit.base
            and (other.air_share, other.ground_share, other.sky_share)
            == (limit.air_share, limit.ground_share, limit.sky_share)
            for other in limits
        )
    ]


def _squared(limit: float | None, settings: Settings) -> float:
    """Return the square of the mean wind whose gusts reach a limit. [m2 s-2]"""
    return _NO_LIMIT if limit is None else (limit / settings.gusts) ** 2


def _night_exponent(depth: float, hours: float) -> float:
    """Return the exponent of the dry share for a window, as ``night.rain`` has it."""
    return min(night_rain_exponent(depth) * hours / REFERENCE_NIGHT, 1.0)


def _cold_margin(limits, air, ground, sky, depth):
    """Return how much colder the air may get before the coldest sleeper is at the limit."""
    margins = [
        air
        + (limit.ground_share * ground - limit.sky_share * sky - limit.base + depth)
        / limit.air_share
        for limit in limits
    ]
    return np.minimum.reduce(margins)


def _heat_margin(mode, limits, terms):
    """Return how far the most sensitive sleeper is below the limit, and bedtime air at it."""
    inside = np.minimum(terms.bed_vapour + mode.vapour_gain, terms.bed_saturation)
    limit = np.minimum.reduce([limit.at(inside) for limit in limits])
    warmest = limit - (mode.warming + mode.stored_heat)
    return warmest - terms.bedtime, warmest
