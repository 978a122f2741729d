"""Kit cards: the limits of a kit, to hold against tonight's local forecast.

In: a kit and its sleepers. Out: the coldest and the hottest night it stands, in dry and
humid air, with and without a fan, and its wind limit. Assumes the forecast's low and
bedtime temperature; half the sleepers are content at these limits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sheltermap.air import dewpoint, saturation_vapour_pressure
from sheltermap.night.daylight import SleepWindow
from sheltermap.night.humidity import FREE_BACK, sky_cooling
from sheltermap.shelters.kit import Fan, Kit, Sleeper
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.tolerance import ColdLimit
from sheltermap.suitability.combination import ModeLimits, kit_modes
from sheltermap.vocabulary import Floats

DRY, HUMID = 0.30, 0.80
"""Relative humidity at bedtime that a card calls dry and humid. [1] judgement: desert, tropics"""

GROUND_ABOVE_LOW = 5.0
"""Ground under a bed above the night's low, as half a usual daily range. [K] judgement"""

_AIR: Floats = np.linspace(-80.0, 60.0, 1401)
"""Air temperatures among which a limit is looked for. [degC]"""


@dataclass(frozen=True)
class KitLimits:
    """
    Limits of a kit.

    Attributes
    ----------
    coldest : tuple of float
        Night low under a clear, dry sky and under cloud or in humid air. [degC]
    hottest : tuple of float
        Bedtime temperature in dry and in humid air, the kit open. [degC]
    hottest_with_fan : tuple of float
        The same with a 12 V fan. [degC]
    hottest_closed : tuple of float
        The same with the kit closed for rain, without a fan of its own. [degC]
    dangerous_below : float
        Night low under a clear sky below which the cold endangers. [degC]
    wind_limit : float or None
        [m s-1]
    """

    coldest: tuple[float, float]
    hottest: tuple[float, float]
    hottest_with_fan: tuple[float, float]
    hottest_closed: tuple[float, float]
    dangerous_below: float
    wind_limit: float | None


def kit_limits(
    kit: Kit,
    sleepers: Sequence[Sleeper] = (Sleeper(),),
    settings: Settings | None = None,
    hours: float = SleepWindow().length,
) -> KitLimits:
    """
    Return the coldest and the hottest night that a kit stands.

    Parameters
    ----------
    kit : Kit
    sleepers : sequence of Sleeper
        The coldest and the most heat-sensitive decide.
    settings : Settings, optional
    hours : float
        Length of the sleep window, in which the cold works. [h]

    Returns
    -------
    KitLimits

    Examples
    --------
    >>> from sheltermap.shelters.kit import load_kits
    >>> limits = kit_limits(load_kits()["ground-tent"])
    >>> limits.hottest_closed[1] < limits.hottest[1] < limits.hottest_with_fan[1]
    True
    """
    settings = settings or Settings()
    usual = kit_modes(kit, sleepers, settings, hours)
    fan = kit.fan or Fan()
    with_fan = kit_modes(kit.model_copy(update={"fan": fan}), sleepers, settings, hours)
    return KitLimits(
        coldest=(
            _coldest(usual.closed.cold, DRY, settings),
            _coldest(usual.closed.cold, None, settings),
        ),
        hottest=(_hottest(usual.dry, DRY), _hottest(usual.dry, HUMID)),
        hottest_with_fan=(_hottest(with_fan.dry, DRY), _hottest(with_fan.dry, HUMID)),
        hottest_closed=(_hottest(usual.closed, DRY), _hottest(usual.closed, HUMID)),
        dangerous_below=_coldest(usual.closed.danger, DRY, settings),
        wind_limit=kit.wind_limit_m_s,
    )


def _coldest(limits: Sequence[ColdLimit], humidity: float | None, settings: Settings) -> float:
    """Return the air temperature at a limit; humidity None is an overcast sky."""
    cooling = np.zeros_like(_AIR)
    if humidity is not None:
        dew = dewpoint(humidity * saturation_vapour_pressure(_AIR))
        cooling = settings.clear_sky * sky_cooling(_AIR, dew, inner=FREE_BACK)
    margins = [
        limit.air_share * _AIR
        + limit.ground_share * (_AIR + GROUND_ABOVE_LOW)
        - limit.sky_share * cooling
        - limit.base
        + limit.air_share * limit.own
        for limit in limits
    ]
    return _crossing(np.min(margins, axis=0))


def _hottest(limits: ModeLimits, humidity: float) -> float:
    """Return the outside air temperature at the heat limit."""
    mode, saturated = limits.mode, saturation_vapour_pressure(_AIR)
    inside = np.minimum(humidity * saturated + mode.vapour_gain, saturated)
    warmest = np.min([limit.at(inside) for limit in limits.heat], axis=0)
    return _crossing(_AIR + mode.warming + mode.stored_heat - warmest)


def _crossing(margin: Floats) -> float:
    """Return the temperature at which a margin that rises with `_AIR` is zero, or the nearer end.

    A kit of extremes stands or fails in all weather.
    """
    # Margins of a tenth of a kelvin are straight to a thousandth, and an array costs as much as
    # a number; scipy.optimize takes a fifth of a second and 16 MB to import.
    return float(np.interp(0.0, margin, _AIR))
