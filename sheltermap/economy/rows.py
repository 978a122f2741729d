"""What each kit costs over a journey: nights, kilograms, money and chores.

In: candidates (a kit and its nights by leg), facts of the legs, the trip's settings.
Out: one row for each candidate. Assumes prices are in one currency and that a night in
a room is neither rough nor dangerous; a missing figure leaves what rests on it unknown.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sheltermap.economy.load import LegFacts, LoadReport, load_report
from sheltermap.economy.unknown import known, product, total
from sheltermap.shelters.fitting import misfit
from sheltermap.shelters.kit import AddOn, Kit
from sheltermap.suitability.titles import in_sentence
from sheltermap.trip.model import Money, Party, Vehicle
from sheltermap.vocabulary import FACTORS, listed

_MINUTES_IN_HOUR = 60


@dataclass(frozen=True)
class LegNights:
    """The nights of one leg with one kit; None is "not assessed".

    Attributes
    ----------
    nights : int
    rough_nights, dangerous_nights : float or None
        Expected, over all nights of the leg.
    nights_by_factor : dict of str to float or None
        Expected nights each factor spoils, by `vocabulary.FACTORS`.
    room_nights : int or None
        Nights whose share of sound nights calls for a room.
    rough_in_rooms, dangerous_in_rooms : float or None
        The part of the expected nights that those rooms replace.
    """

    nights: int
    rough_nights: float | None
    dangerous_nights: float | None
    nights_by_factor: dict[str, float | None]
    room_nights: int | None
    rough_in_rooms: float | None
    dangerous_in_rooms: float | None


@dataclass(frozen=True)
class Candidate:
    """A kit to compare.

    Attributes
    ----------
    kit : Kit
        With its add-ons merged in.
    legs : tuple of LegNights
        In the order of the legs; empty when its nights were not assessed.
    added : tuple of AddOn
        What was merged into the kit as it is listed; tells variants apart.
    remedy : bool
        Whether it is a variant that the night model proposes, not one the user named.
    """

    kit: Kit
    legs: tuple[LegNights, ...]
    added: tuple[AddOn, ...] = ()
    remedy: bool = False

    def _title(self) -> str:
        """Return the kit's title with what is added to it."""
        added = [in_sentence(addon.title) for addon in self.added]
        return f"{self.kit.title} with {listed(added)}" if added else self.kit.title

    @property
    def named_kit(self) -> Kit:
        """Return the kit under an id and a title of this variant's own."""
        return self.kit.model_copy(
            update={
                "id": "+".join([self.kit.id, *(addon.id for addon in self.added)]),
                "title": self._title(),
            }
        )


@dataclass(frozen=True)
class KitRow:
    """One candidate over the whole journey; None is "not known".

    Attributes
    ----------
    kit, title : str
        Of the candidate: ids of add-ons follow the kit's after "+".
    remedy : bool
        Whether it is a variant that the night model proposes.
    nights : int
    rough_nights, dangerous_nights : float or None
        Expected over all nights, as the plan counts them.
    nights_by_factor : dict of str to float or None
    room_nights : int or None
        Nights in rooms by the user's rule.
    rough_left, dangerous_left : float or None
        Expected outdoors, after those rooms.
    mass_kg, packed_litres : float
        Of the kit.
    added_fuel_l : float or None
        Fuel that the kit's drag and mass cost. [L]
    fuel_l : float or None
        All fuel of the journey. [L]
    freight_kg : float
        Mass that freight is paid for. [kg]
    purchase, freight, duty : float
    added_fuel_money, room_money : float or None
        In the trip's currency.
    money : float or None
        Their sum: what the kit costs over the journey.
    journey_money : float or None
        The same with all fuel instead of the added part: what a budget must cover.
    over_budget : bool or None
    cost : float or None
        `money` plus each rough night left at its price to the user: the criterion.
    pitch_hours : float or None
        Time spent pitching and striking. [h]
    refused : tuple of str
        Why the kit cannot be taken at all, load and budget apart.
    load : LoadReport
    """

    kit: str
    title: str
    remedy: bool
    nights: int
    rough_nights: float | None
    dangerous_nights: float | None
    nights_by_factor: dict[str, float | None]
    room_nights: int | None
    rough_left: float | None
    dangerous_left: float | None
    mass_kg: float
    packed_litres: float
    added_fuel_l: float | None
    fuel_l: float | None
    freight_kg: float
    purchase: float
    freight: float
    duty: float
    added_fuel_money: float | None
    room_money: float | None
    money: float | None
    journey_money: float | None
    over_budget: bool | None
    cost: float | None
    pitch_hours: float | None
    refused: tuple[str, ...]
    load: LoadReport


def leg_nights(
    sound_share: np.ndarray,
    dangerous: np.ndarray,
    factors: Mapping[str, np.ndarray],
    room_below: float,
) -> LegNights:
    """
    Return the nights of one leg from the shares of each of them.

    Parameters
    ----------
    sound_share : array, shape (nights,)
        Probability that each night is sound. [0 to 1]
    dangerous : array, shape (nights,)
        Probability that each night is dangerous. [0 to 1]
    factors : mapping of str to array, shape (nights,)
        Probability that each factor spoils each night; a factor left out was not
        assessed. [0 to 1]
    room_below : float
        A room is taken where `sound_share` is below this. [0 to 1]

    Returns
    -------
    LegNights
        One missing night leaves the sums it belongs to unknown.

    Examples
    --------
    >>> nights = leg_nights(np.array([0.9, 0.4]), np.array([0.0, 0.1]), {}, 0.5)
    >>> round(nights.rough_nights, 6), nights.room_nights, round(nights.rough_in_rooms, 6)
    (0.7, 1, 0.6)
    """
    sound_share, dangerous = np.asarray(sound_share, float), np.asarray(dangerous, float)
    in_room = sound_share < room_below
    assessed = not np.isnan(sound_share).any()
    return LegNights(
        nights=sound_share.size,
        rough_nights=known(np.sum(1 - sound_share)),
        dangerous_nights=known(np.sum(dangerous)),
        nights_by_factor={
            name: known(np.sum(factors[name])) if name in factors else None for name in FACTORS
        },
        room_nights=int(in_room.sum()) if assessed else None,
        rough_in_rooms=known(np.sum((1 - sound_share)[in_room])) if assessed else None,
        dangerous_in_rooms=known(np.sum(dangerous[in_room])) if assessed else None,
    )


def camps_pitched(nights: int, kilometres: float, daily_km: float) -> int:
    """
    Return how often camp is pitched in a leg.

    Parameters
    ----------
    nights : int
        Nights outdoors.
    kilometres : float
        Driven in the leg. [km]
    daily_km : float
        Driven on a driving day. [km]

    Returns
    -------
    int
        judgement: one camp for each driving day, at least one, never more than nights.

    Examples
    --------
    >>> camps_pitched(10, 900, 200), camps_pitched(3, 900, 200), camps_pitched(5, 0, 200)
    (5, 3, 1)
    """
    return min(nights, max(1, math.ceil(kilometres / daily_km)))


def rough_night_price(money: Money) -> float:
    """Return what one rough night less is worth: the user's figure, else a room's price."""
    return money.room_price if money.rough_night_price is None else money.rough_night_price


def kit_row(
    candidate: Candidate,
    legs: Sequence[LegFacts],
    party: Party,
    vehicle: Vehicle,
    money: Money,
    daily_km: float,
) -> KitRow:
    """
    Return one candidate over the whole journey.

    Parameters
    ----------
    candidate : Candidate
    legs : sequence of LegFacts
        In travel order, at least one.
    party, vehicle, money
        As the trip states them.
    daily_km : float
        Driven on a driving day. [km]

    Returns
    -------
    KitRow

    Raises
    ------
    ValueError
        If the candidate's nights are neither empty nor one entry a leg.
    """
    kit, nights = candidate.named_kit, candidate.legs
    if nights and len(nights) != len(legs):
        raise ValueError(f"expected nights of {len(legs)} legs for {kit.id}, got {len(nights)}")
    rooms = [leg.room_nights for leg in nights] if nights else [None] * len(legs)
    load = load_report(legs, kit, party, vehicle, money, rooms)

    def summed(name):
        return total(getattr(leg, name) for leg in nights) if nights else None

    rough_nights, dangerous_nights = summed("rough_nights"), summed("dangerous_nights")
    rough_left = _difference(rough_nights, summed("rough_in_rooms"))
    purchase = kit.price
    freight_kg = kit.mass_kg if kit.freight_kg is None else kit.freight_kg
    freight = money.freight_per_kg * freight_kg
    duty = purchase * money.duty_share
    added_fuel_money = product(load.added_fuel_l, money.fuel_price)
    kit_money = total((purchase, freight, duty, load.room_money, added_fuel_money))
    journey_money = total((purchase, freight, duty, load.room_money, load.fuel_money))
    return KitRow(
        kit=kit.id,
        title=kit.title,
        remedy=candidate.remedy,
        nights=sum(leg.nights for leg in legs),
        rough_nights=rough_nights,
        dangerous_nights=dangerous_nights,
        nights_by_factor={
            name: total(leg.nights_by_factor.get(name) for leg in nights) if nights else None
            for name in FACTORS
        },
        room_nights=summed("room_nights") if nights else None,
        rough_left=rough_left,
        dangerous_left=_difference(dangerous_nights, summed("dangerous_in_rooms")),
        mass_kg=kit.mass_kg,
        packed_litres=kit.packed_litres,
        added_fuel_l=load.added_fuel_l,
        fuel_l=load.fuel_l,
        freight_kg=freight_kg,
        purchase=purchase,
        freight=freight,
        duty=duty,
        added_fuel_money=added_fuel_money,
        room_money=load.room_money,
        money=kit_money,
        journey_money=journey_money,
        over_budget=_over_budget(journey_money, money),
        cost=total((kit_money, product(rough_left, rough_night_price(money)))),
        pitch_hours=_pitch_hours(kit, legs, rooms, daily_km),
        refused=tuple(
            misfit(
                kit,
                people=party.people,
                longest_m=max([party.length_m, *_own_lengths(party)]),
                carries=vehicle.carries,
                bed_length_m=vehicle.bed_length_m,
            )
        ),
        load=load,
    )


def _own_lengths(party: Party) -> list[float]:
    """Return the lengths of sleepers who differ from the party. [m]"""
    return [person.length_m for person in party.sleepers if person.length_m is not None]


def _difference(value: float | None, part: float | None) -> float | None:
    """Return what is left of a value; unknown if a term is."""
    return None if value is None or part is None else value - part


def _over_budget(journey_money: float | None, money: Money) -> bool | None:
    """Return whether the journey costs more than the budget; unknown without its cost."""
    if money.budget is None:
        return False
    return None if journey_money is None else journey_money > money.budget


def _pitch_hours(kit, legs, rooms, daily_km) -> float | None:
    """Return the time spent pitching and striking. [h]"""
    hours = (kit.pitch_minutes + kit.strike_minutes) / _MINUTES_IN_HOUR
    camps = [
        None
        if in_rooms is None or known(leg.kilometres) is None
        else camps_pitched(leg.nights - in_rooms, leg.kilometres, daily_km)
        for leg, in_rooms in zip(legs, rooms, strict=True)
    ]
    return product(total(camps), hours)
