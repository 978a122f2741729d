"""The combination: which mode a kit is in when, and how the factors make one share.

In: a kit, its sleepers, the settings. Out: the numbers that ``suitability.kernel`` works
with. Assumes normal spread from night to night.

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

from collections.abc import Sequence
from dataclasses import dataclass

from sheltermap.night.drying import USABLE_SHARE
from sheltermap.night.rain import REFERENCE_NIGHT, night_rain_exponent
from sheltermap.shelters import cold
from sheltermap.shelters.heat import HeatLimit
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.people import most_sensitive
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.tolerance import (
    ColdLimit,
    Mode,
    cold_limits,
    danger_limits,
    heat_limits,
    modes,
)
from sheltermap.shelters.wet import wet_ways
from sheltermap.suitability.numbers import (
    ColdNumbers,
    DangerNumbers,
    FabricNumbers,
    HeatNumbers,
    HotNumbers,
    KitNumbers,
    ModeNumbers,
    NightNumbers,
)

_MINUTES = 60.0
_NO_LIMIT = 1e12  # [m2 s-2], the square of a wind that never blows


@dataclass(frozen=True)
class ModeLimits:
    """One mode with the limits of everyone who sleeps in it: cold, heat, danger, wet bed."""

    mode: Mode
    cold: tuple[ColdLimit, ...]
    heat: tuple[HeatLimit, ...]
    heat_concern: tuple[HeatLimit, ...]
    danger: tuple[ColdLimit, ...]
    wet_bed: tuple[ColdLimit, ...]


@dataclass(frozen=True)
class KitModes:
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
    hours : float
        Length of the sleep window. [h]
    """

    dry: ModeLimits
    closed: ModeLimits
    wet: ModeLimits
    kit: Kit
    settings: Settings
    hours: float


def kit_modes(kit: Kit, sleepers: Sequence[Sleeper], settings: Settings, hours: float) -> KitModes:
    """
    Return the modes that count, with everyone's limits.

    Parameters
    ----------
    kit : Kit
    sleepers : sequence of Sleeper
        At least one.
    settings : Settings
    hours : float
        Length of the sleep window, in which the cold works. [h]

    Returns
    -------
    KitModes
    """

    def limits(mode: Mode) -> ModeLimits:
        return ModeLimits(
            mode=mode,
            cold=cold_limits(kit, sleepers, mode, settings),
            heat=heat_limits(sleepers, mode, settings),
            heat_concern=heat_limits(sleepers, mode, settings, concern=True),
            danger=danger_limits(kit, sleepers, mode, settings, hours),
            wet_bed=cold_limits(
                kit,
                sleepers,
                mode,
                settings,
                insulation_kept=settings.wet_bedding,
                intercept=cold.MINIMAL,
                in_danger=True,
            ),
        )

    opened, closed, awning = modes(kit, sleepers, settings)
    shut = always_shut(kit, settings)
    return KitModes(
        dry=limits(closed if shut else opened),
        closed=limits(closed),
        wet=limits(closed if shut or awning is None else awning),
        kit=kit,
        settings=settings,
        hours=hours,
    )


def always_shut(kit: Kit, settings: Settings) -> bool:
    """Return whether dust, or insects in a kit without mesh, keep it closed on every night."""
    return settings.dust or (settings.insects and not kit.mesh)


def numbers_of(slept: KitModes) -> KitNumbers:
    """
    Return a kit in its modes as the kernel takes it.

    Parameters
    ----------
    slept : KitModes

    Returns
    -------
    KitNumbers
    """
    kit, ways = slept.kit, wet_ways(slept.kit, slept.settings)
    exponent = _night_exponent(kit.rain_threshold_mm, slept.hours)
    at_work = (kit.pitch_minutes + kit.strike_minutes) / _MINUTES
    return KitNumbers(
        dry=_mode_numbers(slept.dry),
        closed=_mode_numbers(slept.closed),
        wet=_mode_numbers(slept.wet),
        deep=_danger_numbers(slept.closed.danger, slept.settings),
        wet_bed=_danger_numbers(slept.closed.wet_bed, slept.settings),
        asleep=min(exponent * slept.settings.night_rain, 1.0),
        at_work=_night_exponent(1.0, at_work),
        leak=ways.leak_under_awning,
        leak_in_wind=ways.leak - ways.leak_under_awning,
        danger_leak=ways.danger_leak_under_awning,
        danger_leak_in_wind=ways.danger_leak - ways.danger_leak_under_awning,
        pitching=ways.pitching,
        ponding=ways.ponding,
        undried=ways.undried,
        damp_bed=ways.damp_bed,
        per_soaked=1 / kit.dry_hours if kit.dry_hours > 0 else 0.0,
        wind_limit=_squared(kit.wind_limit_m_s, slept.settings),
        awning_limit=(
            None if kit.awning is None else _squared(kit.awning.wind_limit_m_s, slept.settings)
        ),
        weight=kit.condensation_weight,
    )


def night_numbers_of(settings: Settings) -> NightNumbers:
    """Return what the settings say about nights as the kernel takes it."""
    return NightNumbers(
        clear_sky=settings.clear_sky,
        heat_spread=settings.heat_spread,
        drying=settings.wet_day_drying * USABLE_SHARE,
        condensation_spread=settings.condensation_spread,
        heavy_day=settings.heavy_day,
        usual_wet_day=settings.usual_wet_day,
    )


def _mode_numbers(limits: ModeLimits) -> ModeNumbers:
    """Return one mode as the kernel takes it."""
    mode = limits.mode
    return ModeNumbers(
        cold=_cold_numbers(limits.cold),
        heat=_heat_numbers(mode, limits.heat),
        concern=_heat_numbers(mode, limits.heat_concern),
        fabric=FabricNumbers(mode.vapour_gain, mode.face_warming, mode.face_sees_sky),
    )


def _cold_numbers(limits: Sequence[ColdLimit]) -> tuple[ColdNumbers, ...]:
    """Return cold limits without those that never decide."""
    warmest: dict[tuple[float, float], ColdNumbers] = {}
    for limit in limits:
        one = _over_air(limit)
        one = one._replace(base=one.base - limit.own)
        weights = one.ground, one.sky
        warmest[weights] = max(one, warmest.get(weights, one))
    return tuple(warmest.values())


def _danger_numbers(limits: Sequence[ColdLimit], settings: Settings) -> tuple[DangerNumbers, ...]:
    """Return limits of danger, each with the offset of the coldest of the alike sleepers."""
    between = settings.person_spread
    alike: dict[ColdNumbers, list[float]] = {}
    for limit in limits:
        alike.setdefault(_over_air(limit), []).append(limit.own)
    # What was learned of one of them counts for all: nobody is safer for it.
    return tuple(
        DangerNumbers(one, between * offset.mean - min(own), between * offset.spread)
        for one, own in alike.items()
        for offset in [most_sensitive(len(own))]
    )


def _over_air(limit: ColdLimit) -> ColdNumbers:
    """Return the usual sleeper's cold limit over the weight of the air."""
    return ColdNumbers(
        limit.base / limit.air_share,
        limit.ground_share / limit.air_share,
        limit.sky_share / limit.air_share,
    )


def _heat_numbers(mode: Mode, limits: Sequence[HeatLimit]) -> HeatNumbers:
    """Return heat limits in a mode, without those that are there already."""
    each = (
        HotNumbers(limit.dry - limit.margin, limit.slope, limit.cap - limit.margin)
        for limit in limits
    )
    return HeatNumbers(
        tuple(dict.fromkeys(each)), mode.warming + mode.stored_heat, mode.vapour_gain
    )


def _squared(limit: float | None, settings: Settings) -> float:
    """Return the square of the mean wind whose gusts reach a limit. [m2 s-2]"""
    return _NO_LIMIT if limit is None else (limit / settings.gusts) ** 2


def _night_exponent(depth: float, hours: float) -> float:
    """Return the exponent of the dry share for a window, as ``night.rain`` has it."""
    return min(night_rain_exponent(depth) * hours / REFERENCE_NIGHT, 1.0)
