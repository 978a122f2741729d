"""Numbers: a kit, its sleepers and the settings, as the kernel's arithmetic takes them.

In: nothing. Out: tuples of plain numbers, which compare by value, so that two kits that ask
the same of a night are known to. ``suitability.combination`` fills them in.
"""

from __future__ import annotations

from typing import NamedTuple


class ColdNumbers(NamedTuple):
    """A cold limit over the weight of the air: cold below base + sky s - ground g. [degC, 1]"""

    base: float
    ground: float
    sky: float


class DangerNumbers(NamedTuple):
    """Cold that endangers alike sleepers, and the most sensitive one's offset. [K]"""

    cold: ColdNumbers
    offset: float
    offset_spread: float


class HotNumbers(NamedTuple):
    """A heat limit, the lesser of dry - slope e and cap. [degC, K kPa-1, degC]"""

    dry: float
    slope: float
    cap: float


class HeatNumbers(NamedTuple):
    """Heat limits, one a sleeper, and air inside above air outside. [K], [kPa]"""

    limits: tuple[HotNumbers, ...]
    heating: float
    vapour: float


class FabricNumbers(NamedTuple):
    """Vapour inside above outside [kPa], the fabric's warmth over the air [K], its sky [1]."""

    vapour: float
    face: float
    face_sky: float


class ModeNumbers(NamedTuple):
    """A mode: cold limits, one a sleeper, heat that keeps awake and that endangers, fabric."""

    cold: tuple[ColdNumbers, ...]
    heat: HeatNumbers
    concern: HeatNumbers
    fabric: FabricNumbers


class KitNumbers(NamedTuple):
    """
    A kit, its sleepers and the settings, as the arithmetic uses them.

    Attributes
    ----------
    dry, closed, wet : ModeNumbers
        As in ``combination.KitModes``.
    deep, wet_bed : tuple of DangerNumbers
        Closed: cold that endangers, and the same in bedding that got wet.
    asleep, at_work : float
        Exponents of the dry share for rain while asleep, and while pitching or striking. [1]
    leak, leak_in_wind : float
        Chance that rain while asleep comes in; what wind adds that takes the awning in. [1]
    danger_leak, danger_leak_in_wind : float
        The same where the cold then endangers. [1]
    pitching, ponding, undried : float
        Chances that rain at work, a heavy day, and canvas still wet spoil the night. [1]
    damp_bed : bool
        Whether that canvas is the bed.
    per_soaked : float
        One over the drying power that dries the canvas. [h-1 kPa-1]
    wind_limit : float
        Square of the mean wind that the kit stands. [m2 s-2]
    awning_limit : float or None
        The same for its awning; None without one. [m2 s-2]
    weight : float
        Share of the nights with dripping fabric that it spoils. [1]
    """

    dry: ModeNumbers
    closed: ModeNumbers
    wet: ModeNumbers
    deep: tuple[DangerNumbers, ...]
    wet_bed: tuple[DangerNumbers, ...]
    asleep: float
    at_work: float
    leak: float
    leak_in_wind: float
    danger_leak: float
    danger_leak_in_wind: float
    pitching: float
    ponding: float
    undried: float
    damp_bed: bool
    per_soaked: float
    wind_limit: float
    awning_limit: float | None
    weight: float


class NightNumbers(NamedTuple):
    """
    What the settings say about nights, whatever the kit.

    Attributes
    ----------
    clear_sky : float
        Share of a clear sky's cooling on a dry night. [0 to 1]
    heat_spread : float
        Spread of the heat limit. [K]
    drying : float
        Share of daylight times vapour deficit that dries canvas on a wet day. [0 to 1]
    condensation_spread : float
        Spread of the fabric's temperature. [K]
    heavy_day : float
        Rain of a day after which water stands under the bed. [mm]
    usual_wet_day : float
        Mean rain of a wet day for which chances of water in the bed are stated. [mm]
    """

    clear_sky: float
    heat_spread: float
    drying: float
    condensation_spread: float
    heavy_day: float
    usual_wet_day: float
