"""What each kit gives and takes against the barest one, over the whole journey.

In: kits compared and their rows. Out: one record a kit, the barest first, each figure with
its difference to the barest. Assumes the barest is the lightest, then the cheapest; what is
unknown stays so, with the key that would tell it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sheltermap.economy.ratings import missing_masses
from sheltermap.economy.rows import ComparedKit, KitRow
from sheltermap.economy.unknown import difference, quotient
from sheltermap.shelters.kit import AddOn, Kit
from sheltermap.suitability.card import KitLimits
from sheltermap.trip.model import Money, Trip
from sheltermap.vocabulary import listed

_LANDING_KEYS = ("freight_per_kg", "duty_share")
"""Keys of ``[money]`` without which nobody knows what a kit costs at the start."""


@dataclass(frozen=True)
class Traded:
    """One kit of the trade-off; None is "not known".

    Attributes
    ----------
    number : int
        Position of the kit among those compared.
    row : KitRow
    kit : Kit
    added : tuple of AddOn
        What a variant adds to the choice.
    limits : KitLimits or None
        For the trip's sleepers.
    figures : dict of str to float or None
        By `FIGURES`.
    apart : dict of str to float or None
        The same less the barest kit's; empty for that one itself.
    """

    number: int
    row: KitRow
    kit: Kit
    added: tuple[AddOn, ...]
    limits: KitLimits | None
    figures: dict[str, float | None]
    apart: dict[str, float | None]


FIGURES = (
    "rough_nights",
    "dangerous_nights",
    "landed",
    "journeys_of_fuel",
    "added_fuel_l",
    "margin_kg",
    "packed_litres",
    "pitch_hours",
    "coldest",
    "hottest_dry",
    "hottest_humid",
)
"""What is counted of each kit. Landed is bought with freight and duty as far as they are
known; `journeys_of_fuel` is that over all fuel of the journey with the barest kit."""


def traded(compared: Sequence[ComparedKit], rows: Sequence[KitRow]) -> tuple[Traded, ...]:
    """
    Return every kit compared, the barest first.

    Parameters
    ----------
    compared, rows : sequence of ComparedKit, sequence of KitRow
        The same kits in the same order, at least one.

    Returns
    -------
    tuple of Traded
    """
    order = sorted(range(len(rows)), key=lambda n: (rows[n].mass_kg, rows[n].purchase, n))
    fuel = rows[order[0]].load.fuel_money
    figures = [_figures(compared[number], rows[number], fuel) for number in order]
    barest = figures[0]
    return tuple(
        Traded(
            number=number,
            row=rows[number],
            kit=compared[number].named_kit,
            added=compared[number].added,
            limits=compared[number].limits,
            figures=one,
            apart={}
            if one is barest
            else {name: difference(one[name], barest[name]) for name in FIGURES},
        )
        for number, one in zip(order, figures, strict=True)
    )


def _figures(one: ComparedKit, row: KitRow, fuel: float | None) -> dict[str, float | None]:
    """Return what is counted of one kit."""
    landed = row.purchase + row.freight + row.duty
    limits = one.limits
    return {
        "rough_nights": row.rough_nights,
        "dangerous_nights": row.dangerous_nights,
        "landed": landed,
        "journeys_of_fuel": quotient(landed, fuel),
        "added_fuel_l": row.added_fuel_l,
        "margin_kg": row.load.margin_kg,
        "packed_litres": row.packed_litres,
        "pitch_hours": row.pitch_hours,
        "coldest": None if limits is None else limits.coldest[0],
        "hottest_dry": None if limits is None else limits.hottest[0],
        "hottest_humid": None if limits is None else limits.hottest[1],
    }


def landing_known(money: Money) -> bool:
    """Return whether freight and duty are stated, be they nothing."""
    return money.model_fields_set.issuperset(_LANDING_KEYS)


def open_questions(trip: Trip, rows: Sequence[Traded]) -> Iterator[str]:
    """
    Yield what is unknown in the trade-off, each with the key that would tell it.

    Parameters
    ----------
    trip : Trip
    rows : sequence of Traded

    Yields
    ------
    str
    """
    money = [key for key in _LANDING_KEYS if key not in trip.money.model_fields_set]
    if money:
        yield f"What a kit costs landed {_keys(money)} under [money]."
    vehicle = missing_masses(trip.vehicle)
    if vehicle:
        yield f"The mass margin {_keys(vehicle)} under [vehicle]."
    driven = [leg.name for leg in trip.legs if leg.kilometres is None]
    if driven and any(one.row.pitch_hours is None for one in rows):
        yield f"Fuel and hours {_keys(['kilometres'])} of {listed(driven)}."
    for words, key in (("Room to stand", "standing_room"), ("A lock", "lockable")):
        kits = dict.fromkeys(one.kit.title for one in rows if getattr(one.kit, key) is None)
        if kits:
            yield f"{words} {_keys([key])} in the kit file of {listed(kits)}."


def _keys(names: Sequence[str]) -> str:
    """Return the keys that would tell something."""
    return f"needs {listed(names)}"
