"""What each kit costs over a journey: nights, kilograms, money and chores.

In: kits with their nights, a planned journey. Out: one row for each kit. Assumes prices
are in one currency and that every night is spent in the kit: a room is a remedy with a price
of its own. A missing figure leaves what rests on it unknown.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sheltermap.economy.journey import Journey
from sheltermap.economy.load import LoadReport
from sheltermap.economy.loading import load_report
from sheltermap.economy.unknown import known, product, total
from sheltermap.shelters.fitting import misfit
from sheltermap.shelters.kit import AddOn, Kit
from sheltermap.suitability.card import KitLimits
from sheltermap.suitability.titles import in_sentence
from sheltermap.trip.model import Money, Trip
from sheltermap.trip.party import Party
from sheltermap.vocabulary import FACTORS, listed

_MINUTES_IN_HOUR = 60


@dataclass(frozen=True, eq=False)
class KitNights:
    """Nights with one kit, stay by stay in travel order; NaN is "not assessed".

    Attributes
    ----------
    rough, dangerous : float array, shape (stays,)
        Expected, over all nights of a stay. [night]
    worst : float array, shape (stays,)
        Chance of danger on the most dangerous night of a stay, of those that are known. [0 to 1]
    by_factor : dict of str to float array, shape (stays,)
        Expected nights each factor spoils; a factor left out was assessed nowhere. [night]
    """

    rough: np.ndarray
    dangerous: np.ndarray
    worst: np.ndarray
    by_factor: dict[str, np.ndarray]


@dataclass(frozen=True)
class ComparedKit:
    """A kit to compare.

    Attributes
    ----------
    kit : Kit
        With its add-ons merged in.
    nights : KitNights or None
        None when they were not assessed.
    added : tuple of AddOn
        What was merged into the kit as it is listed; tells variants apart.
    remedy : bool
        Whether it is a variant that the night model proposes, not one the user named.
    limits : KitLimits or None
        For the trip's sleepers; None where nobody asked.
    """

    kit: Kit
    nights: KitNights | None
    added: tuple[AddOn, ...] = ()
    remedy: bool = False
    limits: KitLimits | None = None

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
    """One kit over the whole journey; None is "not known".

    Attributes
    ----------
    kit, title : str
        Of the kit compared: ids of add-ons follow the kit's after "+".
    remedy : bool
        Whether it is a variant that the night model proposes.
    nights : int
    rough_nights, dangerous_nights : float or None
        Expected over all nights, as the plan counts them.
    nights_by_factor : dict of str to float or None
    mass_kg, packed_litres : float
        Of the kit.
    added_fuel_l : float or None
        Fuel that the kit's drag and mass cost. [L]
    fuel_l : float or None
        All fuel of the journey. [L]
    freight_kg : float
        Mass that freight is paid for. [kg]
    purchase, freight, duty : float
    added_fuel_money : float or None
        In the trip's currency.
    money : float or None
        Their sum: what the kit costs over the journey.
    journey_money : float or None
        The same with all fuel instead of the added part: what a budget must cover.
    over_budget : bool or None
    cost : float or None
        `money` plus each rough night at its price to the user: the criterion. Where a leg's
        kilometres are not known, added fuel is left out of it, for every kit alike.
    pitch_hours : float or None
        Time spent pitching and striking. [h]
    refused : tuple of str
        Why the kit cannot be taken, load and budget apart: it does not fit, or the trip bars
        nights of these dates in it as too dangerous.
    load : LoadReport
    """

    kit: str
    title: str
    remedy: bool
    nights: int
    rough_nights: float | None
    dangerous_nights: float | None
    nights_by_factor: dict[str, float | None]
    mass_kg: float
    packed_litres: float
    added_fuel_l: float | None
    fuel_l: float | None
    freight_kg: float
    purchase: float
    freight: float
    duty: float
    added_fuel_money: float | None
    money: float | None
    journey_money: float | None
    over_budget: bool | None
    cost: float | None
    pitch_hours: float | None
    refused: tuple[str, ...]
    load: LoadReport


def kit_nights(
    sound_share: np.ndarray,
    dangerous: np.ndarray,
    factors: Mapping[str, np.ndarray],
    stays: Sequence[int],
) -> KitNights:
    """
    Return the nights of each stay from the shares of each of them.

    Parameters
    ----------
    sound_share : array, shape (nights,)
        Probability that each night is sound. [0 to 1]
    dangerous : array, shape (nights,)
        Probability that each night is dangerous. [0 to 1]
    factors : mapping of str to array, shape (nights,)
        Probability that each factor spoils each night; a factor left out was not
        assessed. [0 to 1]
    stays : sequence of int
        Nights of each stay, in the order of the arrays.

    Returns
    -------
    KitNights
        One missing night leaves the sums of its stay unknown.

    Examples
    --------
    >>> nights = kit_nights(np.array([0.9, 0.4]), np.array([0.0, 0.1]), {}, [2])
    >>> nights.rough.round(6), nights.dangerous
    (array([0.7]), array([0.1]))
    """
    ends = np.cumsum(stays)[:-1]

    def by_stay(values: np.ndarray) -> np.ndarray:
        return np.array([np.sum(part) for part in np.split(values, ends)])

    return KitNights(
        rough=by_stay(1 - sound_share),
        dangerous=by_stay(dangerous),
        worst=np.array([np.fmax.reduce(part) for part in np.split(dangerous, ends)]),
        by_factor={name: by_stay(values) for name, values in factors.items()},
    )


def camps_pitched(nights: float, kilometres: float, daily_km: float) -> float:
    """
    Return how often camp is pitched in a leg.

    Parameters
    ----------
    nights : float
        Of the stay, a whole number.
    kilometres : float
        Driven in the leg. [km]
    daily_km : float
        Driven on a driving day. [km]

    Returns
    -------
    float
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


def kit_row(compared: ComparedKit, journey: Journey) -> KitRow:
    """
    Return one kit over the whole journey.

    Parameters
    ----------
    compared : ComparedKit
    journey : Journey

    Returns
    -------
    KitRow

    Raises
    ------
    ValueError
        If the kit's nights are not one entry a stay.
    """
    kit, nights, trip = compared.named_kit, compared.nights, journey.trip
    money, stays = trip.money, journey.stays
    if nights is not None and nights.rough.size != len(stays):
        raise ValueError(
            f"expected nights of {len(stays)} legs for {kit.id}, got {nights.rough.size}"
        )
    load = load_report(journey, kit)
    rough_nights = _summed(nights, "rough")
    freight_kg = kit.mass_kg if kit.freight_kg is None else kit.freight_kg
    freight, duty = money.freight_per_kg * freight_kg, kit.price * money.duty_share
    added_fuel_money = product(load.added_fuel_l, money.fuel_price)
    before_fuel = total((kit.price, freight, duty))
    kit_money = total((before_fuel, added_fuel_money))
    journey_money = total((kit.price, freight, duty, load.fuel_money))
    return KitRow(
        kit=kit.id,
        title=kit.title,
        remedy=compared.remedy,
        nights=sum(stay.nights for stay in stays),
        rough_nights=rough_nights,
        dangerous_nights=_summed(nights, "dangerous"),
        nights_by_factor={name: _spoilt(nights, name) for name in FACTORS},
        mass_kg=kit.mass_kg,
        packed_litres=kit.packed_litres,
        added_fuel_l=load.added_fuel_l,
        fuel_l=load.fuel_l,
        freight_kg=freight_kg,
        purchase=kit.price,
        freight=freight,
        duty=duty,
        added_fuel_money=added_fuel_money,
        money=kit_money,
        journey_money=journey_money,
        over_budget=_over_budget(journey_money, money),
        cost=total(
            (
                before_fuel if journey.without_kilometres else kit_money,
                product(rough_nights, rough_night_price(money)),
            )
        ),
        pitch_hours=_pitch_hours(kit, journey),
        refused=(*_misfit(kit, trip), *_too_dangerous(nights, journey)),
        load=load,
    )


def _summed(nights: KitNights | None, name: str) -> float | None:
    """Return a sum over all stays; unknown where a stay's is."""
    return None if nights is None else known(math.fsum(getattr(nights, name)))


def _spoilt(nights: KitNights | None, factor: str) -> float | None:
    """Return how many nights a factor spoils; unknown where it was not assessed."""
    if nights is None or factor not in nights.by_factor:
        return None
    return known(math.fsum(nights.by_factor[factor]))


def _misfit(kit: Kit, trip: Trip) -> tuple[str, ...]:
    """Return why a kit does not fit the sleepers or the vehicle."""
    return tuple(
        misfit(
            kit,
            people=trip.party.people,
            longest_m=max([trip.party.length_m, *_own_lengths(trip.party)]),
            carries=trip.vehicle.carries,
            bed_length_m=trip.vehicle.bed_length_m,
        )
    )


def _too_dangerous(nights: KitNights | None, journey: Journey) -> Iterator[str]:
    """Yield which nights ahead the trip bars in a kit, as the planner bars them, where it does."""
    if nights is None:
        return
    barred = {
        leg.name: float(worst)
        for stay, leg, worst in zip(journey.stays, journey.legs, nights.worst, strict=True)
        if not stay.kit and worst >= journey.trip.danger_barred_from(leg)
    }
    if barred:
        most = journey.trip.departure.most_danger
        yield (
            "On these dates a night in it has a chance of danger of up to "
            f"{100 * max(barred.values()):.0f} % on {listed(barred)}; the trip plans none of "
            f"{100 * most:g} % or more (most_danger)."
        )


def _own_lengths(party: Party) -> list[float]:
    """Return the lengths of sleepers who differ from the party. [m]"""
    return [person.length_m for person in party.sleepers if person.length_m is not None]


def _over_budget(journey_money: float | None, money: Money) -> bool | None:
    """Return whether the journey costs more than the budget; unknown without its cost."""
    if money.budget is None:
        return False
    return None if journey_money is None else journey_money > money.budget


def _pitch_hours(kit: Kit, journey: Journey) -> float | None:
    """Return the time spent pitching and striking. [h]"""
    hours = (kit.pitch_minutes + kit.strike_minutes) / _MINUTES_IN_HOUR
    camps = [
        None
        if leg.kilometres is None
        else camps_pitched(stay.nights, leg.kilometres, journey.trip.departure.daily_km)
        for stay, leg in zip(journey.stays, journey.legs, strict=True)
    ]
    return product(total(camps), hours)
