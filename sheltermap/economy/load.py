"""What the vehicle carries on each leg: water, fuel, and the mass they leave.

In: plain facts of each planned leg, a kit, the party, the vehicle and prices.
Out: litres, kilograms and money by leg, the margin under every rating, and what breaks
it. Assumes tanks are filled where fuel is sold, and that containers weigh nothing;
without a weighed vehicle the margin is unknown, never good.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sheltermap.air import air_density, pressure_at
from sheltermap.economy.load_words import (
    assumptions,
    excess_sentence,
    load_sentence,
    supplies_missing,
    unknowns,
)
from sheltermap.economy.ratings import (
    Limit,
    axles,
    mend,
    rated_mass,
    roof_limits,
    space,
    verdict,
)
from sheltermap.economy.unknown import beyond, known, largest, product, quotient, smallest, total
from sheltermap.fuel import (
    FUELS,
    added_drag_consumption,
    added_mass_consumption,
    fuel_when_weighed,
)
from sheltermap.shelters.kit import Kit
from sheltermap.trip.model import Money, Party, Vehicle

PARTS = ("vehicle", "people", "gear", "kit", "water", "fuel")
"""What the mass on board is made of, in the order a stacked bar shows it."""


@dataclass(frozen=True)
class LegFacts:
    """What one planned leg asks of the vehicle; None is "not known".

    Attributes
    ----------
    name : str
        As the trip names it.
    nights : int
        Nights in the leg.
    days : float
        Days that water is drunk on.
    kilometres : float or None
        Distance driven. [km]
    drinking_water_l : float or None
        What a person drinks on the leg's hottest planned day. [L]
    air_temperature : float or None
        Mean air temperature. [degC]
    elevation_m : float or None
        Mean height driven at. [m]
    heat_category : int or None
        Midday heat category, 0 to 5.
    fuel_gap_km : float or None
        Longest way between fuel stops. [km]
    water_gap_days : float or None
        Longest time between water points. [days]
    room_price : float or None
        A night in a room here; else the trip's.
    """

    name: str
    nights: int
    days: float
    kilometres: float | None
    drinking_water_l: float | None
    air_temperature: float | None
    elevation_m: float | None
    heat_category: int | None = None
    fuel_gap_km: float | None = None
    water_gap_days: float | None = None
    room_price: float | None = None


@dataclass(frozen=True)
class LegLoad:
    """Water, fuel, mass and money of one leg; None is "not known".

    Attributes
    ----------
    name : str
    heat_category : int or None
        Midday heat category, 0 to 5.
    drinking_l_person_day : float or None
        Drinking alone. [L]
    water_l_day : float or None
        Drinking, cooking and hygiene of the whole party. [L]
    water_leg_l : float or None
        All water used in the leg. [L]
    water_need_l : float or None
        Water that must be on board for the longest gap, with reserve. [L]
    water_aboard_l : float or None
        Water counted at the start: the need, or the full tank where the gap is unknown. [L]
    water_cans_l : float or None
        Part of it that the tank does not hold. [L]
    water_tank_days : float or None
        How long a full tank lasts, with reserve. [days]
    consumption_l_100km : float or None
        With this kit, on this leg's ground and in its air. [L per 100 km]
    added_l_100km : float or None
        Part of it that the kit's drag and mass add. [L per 100 km]
    fuel_leg_l, added_fuel_l : float or None
        Fuel for the whole leg, and the kit's part of it. [L]
    fuel_need_l : float or None
        Fuel that must be on board for the longest gap, with reserve. [L]
    fuel_aboard_l : float or None
        Fuel counted at the start: a full tank, or the need where that is more. [L]
    fuel_cans_l : float or None
        Part of it that the tank does not hold. [L]
    range_km : float or None
        How far a full tank goes, with reserve. [km]
    fuel_money, room_money : float or None
        In the trip's currency.
    parts_kg : dict of str to float or None
        Mass by `PARTS`. [kg]
    aboard_kg : float or None
        Mass on board at the start of the leg. [kg]
    limits : tuple of Limit
        Every rating that changes from leg to leg.
    mend : str
        What would bring an overloaded start under its rating; else empty.
    """

    name: str
    heat_category: int | None
    drinking_l_person_day: float | None
    water_l_day: float | None
    water_leg_l: float | None
    water_need_l: float | None
    water_aboard_l: float | None
    water_cans_l: float | None
    water_tank_days: float | None
    consumption_l_100km: float | None
    added_l_100km: float | None
    fuel_leg_l: float | None
    added_fuel_l: float | None
    fuel_need_l: float | None
    fuel_aboard_l: float | None
    fuel_cans_l: float | None
    range_km: float | None
    fuel_money: float | None
    room_money: float | None
    parts_kg: dict[str, float | None]
    aboard_kg: float | None
    limits: tuple[Limit, ...]
    mend: str

    @property
    def margin_kg(self) -> float | None:
        """Return what is left under the rated mass; None is unknown."""
        return self.limits[0].margin

    @property
    def status(self) -> str:
        """Return "over", "unknown" or "fits"."""
        return verdict(self.limits)


@dataclass(frozen=True)
class LoadReport:
    """The load of a whole journey with one kit.

    Attributes
    ----------
    kit, kit_title : str
    sentence : str
        The answer, for the top of a page. User text in it is as written.
    status : {"fits", "over", "unknown"}
    legs : tuple of LegLoad
        In travel order.
    roof : tuple of Limit
        Roof ratings moving and parked, where the kit loads the roof.
    tightest : str
        Name of the leg with the least margin; empty when unknown and none is over.
    margin_kg : float or None
        Least margin under the rated mass over all legs. [kg]
    needed_rating_kg : float or None
        Mass on board at the heaviest start: the least rated mass that would do. [kg]
    breaks : tuple of str
        Every rating that is exceeded, as a sentence each.
    unknown : tuple of str
        What is not known, and the trip keys that would settle it.
    assumed : tuple of str
        What was assumed for want of a figure.
    water_l, fuel_l, added_fuel_l : float or None
        Over the journey. [L]
    fuel_money, room_money : float or None
        Over the journey, in `currency`.
    currency : str
        A label.
    """

    kit: str
    kit_title: str
    sentence: str
    status: str
    legs: tuple[LegLoad, ...]
    roof: tuple[Limit, ...]
    tightest: str
    margin_kg: float | None
    needed_rating_kg: float | None
    breaks: tuple[str, ...]
    unknown: tuple[str, ...]
    assumed: tuple[str, ...]
    water_l: float | None
    fuel_l: float | None
    added_fuel_l: float | None
    fuel_money: float | None
    room_money: float | None
    currency: str

    def exceeds_other_than(self, name: str) -> bool:
        """Return whether a rating other than the named one is exceeded."""
        limits = [limit for leg in self.legs for limit in leg.limits] + list(self.roof)
        return any(limit.exceeded for limit in limits if limit.name != name)


CAUTIONS = (
    "Water points dry up, and people drink far more than planned after a breakdown: "
    "ask locally before each stretch, and never cut the water to save mass.",
    "Ratings are those of the plate and the manufacturer, tyres and springs included: "
    "weigh the loaded vehicle on a public scale before you leave.",
    "Fuel cans belong outside the cabin, upright and tied down, away from where you sleep.",
)
"""Usual cautions, to stand beside the load."""


def load_report(
    legs: Sequence[LegFacts],
    kit: Kit,
    party: Party,
    vehicle: Vehicle,
    money: Money,
    room_nights: Sequence[int | None] | None = None,
) -> LoadReport:
    """
    Return what a journey loads on the vehicle with one kit.

    Parameters
    ----------
    legs : sequence of LegFacts
        In travel order, at least one.
    kit : Kit
        With its add-ons merged in.
    party, vehicle, money
        As the trip states them.
    room_nights : sequence of int or None, optional
        Nights in rooms on each leg; not assessed where None, none at all when left out.

    Returns
    -------
    LoadReport

    Raises
    ------
    ValueError
        If there is no leg, or `room_nights` does not match the legs.

    Notes
    -----
    Ground factor multiplies rolling on tracks, so it takes the vehicle's own
    consumption, its tyres and the kit's mass, but not the kit's drag.
    """
    if not legs:
        raise ValueError("expected at least one leg, got none")
    rooms = [0] * len(legs) if room_nights is None else list(room_nights)
    if len(rooms) != len(legs):
        raise ValueError(f"expected room nights of {len(legs)} legs, got {len(rooms)}")
    loads = tuple(
        _leg_load(leg, kit, party, vehicle, money, nights)
        for leg, nights in zip(legs, rooms, strict=True)
    )
    roof = roof_limits(kit, party, vehicle)
    limits = [(load.name, limit) for load in loads for limit in load.limits]
    limits += [("", limit) for limit in roof]
    answer = verdict(limit for _, limit in limits)
    worst = _tightest(loads)
    breaks = tuple(excess_sentence(place, limit) for place, limit in limits if limit.exceeded)
    unknown, assumed = unknowns(loads, limits), assumptions(legs, vehicle)
    return LoadReport(
        kit=kit.id,
        kit_title=kit.title,
        sentence=load_sentence(answer, kit, loads, worst, limits, unknown, assumed),
        status=answer,
        legs=loads,
        roof=roof,
        tightest=worst.name if worst else "",
        margin_kg=smallest(load.margin_kg for load in loads),
        needed_rating_kg=largest(load.aboard_kg for load in loads),
        breaks=breaks,
        unknown=unknown,
        assumed=assumed,
        water_l=total(load.water_leg_l for load in loads),
        fuel_l=total(load.fuel_leg_l for load in loads),
        added_fuel_l=total(load.added_fuel_l for load in loads),
        fuel_money=total(load.fuel_money for load in loads),
        room_money=total(load.room_money for load in loads),
        currency=money.currency,
    )


def _leg_load(leg, kit, party, vehicle, money, room_nights) -> LegLoad:
    """Return the load of one leg."""
    drinking = known(leg.drinking_water_l)
    water_day = None if drinking is None else party.people * (drinking + party.other_water_l)
    water_gap = known(leg.water_gap_days)
    with_reserve = 1 + party.water_reserve
    water_need = product(water_day, water_gap, with_reserve)
    # Where the gap is unknown travellers leave with a full tank; so does the sum.
    water = vehicle.water_tank_l if water_gap is None else water_need

    added = _added_consumption(leg, kit, vehicle)
    own = (vehicle.consumption_l_100km + vehicle.tyre_extra_l_100km) * vehicle.ground_factor
    consumption = None if added is None else own + added
    fuel_leg = product(known(leg.kilometres), consumption, 0.01)
    fuel_need = product(known(leg.fuel_gap_km), consumption, 0.01, 1 + vehicle.fuel_reserve)
    # A gap that is known but cannot be turned into litres may be more than the tank.
    gap_unsettled = fuel_need is None and known(leg.fuel_gap_km) is not None
    fuel = None if gap_unsettled else max(vehicle.tank_l, fuel_need or 0.0)

    parts = _parts(kit, party, vehicle, water, fuel)
    aboard = total(parts.values())
    room_price = money.room_price if leg.room_price is None else leg.room_price
    return LegLoad(
        name=leg.name,
        heat_category=leg.heat_category,
        drinking_l_person_day=drinking,
        water_l_day=water_day,
        water_leg_l=product(water_day, leg.days),
        water_need_l=water_need,
        water_aboard_l=water,
        water_cans_l=beyond(water, vehicle.water_tank_l),
        water_tank_days=quotient(vehicle.water_tank_l, product(water_day, with_reserve)),
        consumption_l_100km=consumption,
        added_l_100km=added,
        fuel_leg_l=fuel_leg,
        added_fuel_l=product(known(leg.kilometres), added, 0.01),
        fuel_need_l=fuel_need,
        fuel_aboard_l=fuel,
        fuel_cans_l=beyond(fuel_need, vehicle.tank_l),
        range_km=quotient(vehicle.tank_l, product(consumption, 0.01, 1 + vehicle.fuel_reserve)),
        fuel_money=product(fuel_leg, money.fuel_price),
        room_money=product(known(room_nights), room_price),
        parts_kg=parts,
        aboard_kg=aboard,
        limits=(
            rated_mass(aboard, vehicle, supplies_missing(leg, water, fuel)),
            *axles(aboard, vehicle),
            *space(kit, water, vehicle),
        ),
        mend=mend(aboard, fuel, fuel_need, vehicle),
    )


def _added_consumption(leg, kit, vehicle) -> float | None:
    """Return what the kit adds on a leg. [L per 100 km]"""
    rolling = added_mass_consumption(kit.mass_kg, vehicle.fuel) * vehicle.ground_factor
    if not kit.added_drag_area_m2:
        return rolling
    temperature, elevation = known(leg.air_temperature), known(leg.elevation_m)
    if temperature is None or elevation is None:
        return None
    density = float(air_density(temperature, pressure_at(elevation)))
    drag = added_drag_consumption(
        kit.added_drag_area_m2, vehicle.speed_km_h, density, vehicle.fuel
    )
    return rolling + drag


def _parts(kit, party, vehicle, water, fuel) -> dict[str, float | None]:
    """Return the mass of each of `PARTS`. [kg] A litre of water is a kilogram."""
    litre = FUELS[vehicle.fuel].mass_kg_l
    bare = vehicle.weighed_kg
    if bare is not None:
        bare -= fuel_when_weighed(vehicle)
    masses = (
        bare,
        party.people * party.body_mass_kg,
        party.people * party.personal_gear_kg,
        kit.mass_kg,
        water,
        product(fuel, litre),
    )
    return dict(zip(PARTS, masses, strict=True))


def _tightest(loads) -> LegLoad | None:
    """Return the leg of least margin: of all if all are known, else only if one is over."""
    settled = [load for load in loads if load.margin_kg is not None]
    least = min(settled, key=lambda load: load.margin_kg, default=None)
    if least is None or (len(settled) < len(loads) and least.margin_kg >= 0):
        return None
    return least
