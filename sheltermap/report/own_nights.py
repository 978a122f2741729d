"""Own nights as the pages tell them: plain, frozen results.

In: nothing. Out: the types that `report.own_effect` fills. Text from users is kept as written:
whoever shows it escapes it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sheltermap.shelters.learned import Offset
from sheltermap.suitability.card import KitLimits


@dataclass(frozen=True)
class Teaching:
    """
    A leg whose nights would teach much of one sleeper.

    Attributes
    ----------
    leg : str
    arrive, leave : date
    margin : float
        What a mean dry night there gives the usual sleeper to spare. [K]
    spread, after : float
        Of the offset against cold, today and after one measured night there. [K]
    """

    leg: str
    arrive: date
    leave: date
    margin: float
    spread: float
    after: float


@dataclass(frozen=True)
class OwnSleeper:
    """
    What nights taught of one sleeper.

    Attributes
    ----------
    who : str
        Empty for the only one.
    nights, measured : int
    cold, heat : Offset
        In the bedding of the plan's kit, and in heat.
    slept_in : bool
        Whether that bedding was slept in; else what is the person's counts alone.
    moved : tuple of (int, float)
        Number of each row, and by how much it moves the offset against cold. [K]
    teaching : tuple of Teaching
        The legs ahead that would teach most, the best first.
    """

    who: str
    nights: int
    measured: int
    cold: Offset
    heat: Offset
    slept_in: bool
    moved: tuple[tuple[int, float], ...]
    teaching: tuple[Teaching, ...]


@dataclass(frozen=True)
class OwnNights:
    """
    What own nights did to a plan.

    Attributes
    ----------
    sleepers : tuple of OwnSleeper
    rough_nights, rough_low, rough_high : float
        Of the same dates for usual sleepers. [night]
    cards : dict of str to KitLimits
        For usual sleepers, by kit.
    """

    sleepers: tuple[OwnSleeper, ...]
    rough_nights: float
    rough_low: float
    rough_high: float
    cards: dict[str, KitLimits]
