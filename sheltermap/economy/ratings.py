"""Ratings of a vehicle against what stands on them.

In: masses on board, a kit, the vehicle's ratings. Out: one Limit each, with its margin
or with what is missing. Assumes the load spreads over the axles by the vehicle's stated
share; a rating nobody gave is not a rating kept.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import overload

from sheltermap.economy.unknown import beyond, difference, product, total
from sheltermap.fuel import FUELS
from sheltermap.shelters.kit import Kit
from sheltermap.trip.party import Party
from sheltermap.trip.vehicle import Vehicle

FITS, OVER, UNKNOWN = "fits", "over", "unknown"


@dataclass(frozen=True)
class Limit:
    """One rating and what stands against it.

    Attributes
    ----------
    name : str
        "rated mass", "front axle", "rear axle", "roof, moving", "roof, parked", "space".
    load, rating, margin : float or None
        In `unit`; a negative margin is an excess, None is unknown.
    unit : {"kg", "L"}
    missing : str
        What would have to be known; empty when nothing is missing.
    """

    name: str
    load: float | None
    rating: float | None
    unit: str
    missing: str = ""

    @property
    def margin(self) -> float | None:
        """Return what is left under the rating."""
        if self.load is None or self.rating is None:
            return None
        return self.rating - self.load

    @property
    def exceeded(self) -> bool:
        """Return whether the rating is known to be exceeded."""
        return self.margin is not None and self.margin < 0


def missing_masses(vehicle: Vehicle) -> list[str]:
    """Return the keys of `[vehicle]` without which no margin under the rated mass is known."""
    return [key for key in ("weighed_kg", "rated_kg") if getattr(vehicle, key) is None]


def rated_mass(aboard: float | None, vehicle: Vehicle, supplies_missing: str) -> Limit:
    """Return the vehicle's rated mass against what is on board."""
    missing = [f"vehicle.{key}" for key in missing_masses(vehicle)]
    if supplies_missing:
        missing.append(supplies_missing)
    return Limit("rated mass", aboard, vehicle.rated_kg, "kg", " and ".join(missing))


def rating_doubts(vehicle: Vehicle) -> Iterator[str]:
    """Yield a sentence where nothing at all could be loaded under a vehicle's rated mass."""
    if vehicle.weighed_kg is None or vehicle.rated_kg is None:
        return
    if vehicle.weighed_kg >= vehicle.rated_kg:
        yield (
            f"{vehicle.name} was weighed at {vehicle.weighed_kg:,.0f} kg, without people, kit "
            f"and water, and its rated mass is {vehicle.rated_kg:,.0f} kg, so nothing can be "
            "loaded: are both in kilograms, and have they changed places?"
        )


def axles(aboard: float | None, vehicle: Vehicle) -> Iterator[Limit]:
    """Yield the axle ratings that are given, against their share of the load."""
    loaded = difference(aboard, vehicle.weighed_kg)
    rear = total((vehicle.weighed_rear_kg, product(vehicle.rear_share, loaded)))
    front = difference(aboard, rear)
    missing = "vehicle.weighed_rear_kg" if vehicle.weighed_rear_kg is None else ""
    if not missing and aboard is None:
        missing = "the mass on board"
    for name, mass, rating in (
        ("front axle", front, vehicle.front_axle_kg),
        ("rear axle", rear, vehicle.rear_axle_kg),
    ):
        if rating is not None:
            yield Limit(name, mass, rating, "kg", missing)


def space(kit: Kit, water: float | None, vehicle: Vehicle) -> Iterator[Limit]:
    """Yield the space inside, where given, against the packed kit and water cans."""
    if vehicle.space_litres is not None:
        cans = beyond(water, vehicle.water_tank_l)
        load = None if cans is None else kit.packed_litres + cans
        missing = "the water on board" if cans is None else ""
        yield Limit("space", load, vehicle.space_litres, "L", missing)


def roof_limits(kit: Kit, party: Party, vehicle: Vehicle) -> tuple[Limit, ...]:
    """Return roof ratings against the kit, moving, and with its sleepers, parked."""
    if not kit.roof_load_kg:
        return ()
    # Only who sleeps on the rack loads the roof: not under an awning, not over the load bed.
    on_the_rack = kit.exposure == "roof" and kit.needs == "roof_rack"
    sleepers = party.people * party.body_mass_kg if on_the_rack else 0.0
    rows = (
        ("roof, moving", kit.roof_load_kg, "roof_moving_kg"),
        ("roof, parked", kit.roof_load_kg + sleepers, "roof_parked_kg"),
    )
    return tuple(
        Limit(
            name,
            load,
            getattr(vehicle, key),
            "kg",
            f"vehicle.{key}" if getattr(vehicle, key) is None else "",
        )
        for name, load, key in rows
    )


def mend(
    aboard: float | None, fuel: float | None, fuel_need: float | None, vehicle: Vehicle
) -> str:
    """Return what would bring an overloaded start under the rated mass."""
    if aboard is None or vehicle.rated_kg is None or aboard <= vehicle.rated_kg:
        return ""
    excess = aboard - vehicle.rated_kg
    litre = FUELS[vehicle.fuel].mass_kg_l
    if fuel is not None and fuel_need is not None:
        at_most = math.floor(fuel - excess / litre)
        if at_most >= fuel_need:
            return (
                f"Start with at most {at_most} L of fuel: the longest gap needs "
                f"{math.ceil(fuel_need)} L, reserve included."
            )
    return (
        f"Leave {rounded_up(excess)} kg behind, or find water or fuel inside the gap. "
        "Do not cut the water."
    )


def verdict(limits: Iterable[Limit]) -> str:
    """Return the worst verdict of some limits: a known excess beats the unknown."""
    rated = list(limits)
    if any(limit.exceeded for limit in rated):
        return OVER
    return UNKNOWN if any(limit.margin is None for limit in rated) else FITS


@overload
def rounded_up(load: float) -> int: ...
@overload
def rounded_up(load: None) -> None: ...
def rounded_up(load: float | None) -> int | None:
    """
    Return a load or an excess in whole units, rounded up: an excess never reads as nothing.

    Examples
    --------
    >>> rounded_up(2958.4), rounded_up(0.2), rounded_up(None)
    (2959, 1, None)
    """
    return None if load is None else math.ceil(load - 1e-9)


@overload
def rounded_down(margin: float) -> int: ...
@overload
def rounded_down(margin: None) -> None: ...
def rounded_down(margin: float | None) -> int | None:
    """
    Return a margin in whole units, rounded down.

    A whole rating less the load rounded up is this margin, wherever the two stand together.

    Examples
    --------
    >>> rounded_down(3050 - 2958.4), rounded_down(-0.2), rounded_down(None)
    (91, -1, None)
    """
    return None if margin is None else math.floor(margin + 1e-9)
