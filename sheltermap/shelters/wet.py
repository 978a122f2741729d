"""The wet side: which share of wet days wets the sleepers of a kit.

In: a kit's own numbers and the settings. Out: how likely rain while asleep, rain while
pitching, a heavy day, and canvas that did not dry spoil the night, once they happen.
Assumes the four ways are independent; snow counts as rain, which is cautious.
"""

from __future__ import annotations

from dataclasses import dataclass

from sheltermap.shelters.kit import Kit
from sheltermap.shelters.settings import Settings


@dataclass(frozen=True)
class WetWays:
    """
    How likely each way of getting wet spoils the night, once it happens.

    Attributes
    ----------
    leak, leak_under_awning : float
        Rain while asleep: the closed kit, and with its awning standing. [0 to 1]
    danger_leak, danger_leak_under_awning : float
        The same as danger counts them, never less than the kit states. [0 to 1]
    pitching : float
        Rain while pitching or striking. [0 to 1]
    ponding : float
        A heavy day; 0 off the ground. [0 to 1]
    undried : float
        Canvas damp from the days before; 0 where cloth sheds water. [0 to 1]
    damp_bed : bool
        Whether that canvas is the bed, and not a roof over a dry one.
    """

    leak: float
    leak_under_awning: float
    danger_leak: float
    danger_leak_under_awning: float
    pitching: float
    ponding: float
    undried: float
    damp_bed: bool


def wet_ways(kit: Kit, settings: Settings) -> WetWays:
    """
    Return how likely each way of getting wet spoils a night in a kit.

    Parameters
    ----------
    kit : Kit
    settings : Settings

    Returns
    -------
    WetWays

    Examples
    --------
    >>> from sheltermap.shelters.kit import load_kits
    >>> wet_ways(load_kits()["roof-tent"], Settings()).ponding
    0.0
    """
    leak_in_danger, leak_in_danger_under_awning = kit.leaks_in_danger
    return WetWays(
        leak=kit.leak,
        leak_under_awning=kit.leak_under_awning if kit.awning is not None else kit.leak,
        danger_leak=leak_in_danger,
        danger_leak_under_awning=(
            leak_in_danger_under_awning if kit.awning is not None else leak_in_danger
        ),
        pitching=settings.wet_pitching if kit.wet_packing_matters else 0.0,
        ponding=settings.ponding if kit.exposure == "ground" else 0.0,
        undried=settings.undried_spoils if kit.canvas else 0.0,
        damp_bed=kit.canvas and not kit.enclosure.headroom,
    )
