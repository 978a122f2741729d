"""What the vehicle carries on each leg: water, fuel, and the mass they leave.

In: a planned journey and a kit. Out: litres, kilograms and money by leg, the margin under
every rating, and what breaks it. Assumes tanks are filled where fuel is sold, that people
drink as in the hottest of the months a stay touches, and that containers weigh nothing;
without a weighed vehicle the margin is unknown, never good.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sheltermap.air import air_density, pressure_at
from sheltermap.dates import MONTH_OF_DAY, days_of_year
from sheltermap.economy.journey import Journey
from sheltermap.economy.load import PARTS, LegLoad, LoadReport
from sheltermap.economy.load_words import (
    assumptions,
    excess_sentence,
    load_sentence,
    supplies_missing,
    unknowns,
)
from sheltermap.economy.ratings import (
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
from sheltermap.places.place import Place
from sheltermap.planner.problem import Stay
from sheltermap.shelters.kit import Kit
from sheltermap.trip.model import Leg, Trip, Vehicle
from sheltermap.trip.party import Party


def load_report(journey: Journey, kit: Kit) -> LoadReport:
    """
    Return what a journey loads on the vehicle with one kit.

    Parameters
    ----------
    journey : Journey
    kit : Kit
        With its add-ons merged in.

    Returns
    -------
    LoadReport

    Notes
    -----
    Ground factor multiplies rolling on tracks, so it takes the vehicle's own
    consumption, its tyres and the kit's mass, but not the kit's drag.
    """
    trip, loads = journey.trip, _leg_loads(journey, kit)
    roof = roof_limits(kit, trip.party, trip.vehicle)
    limits = [(load.name, limit) for load in loads for limit in load.limits]
    limits += [("", limit) for limit in roof]
    answer = verdict(limit for _, limit in limits)
    worst = _tightest(loads)
    breaks = tuple(excess_sentence(leg, limit) for leg, limit in limits if limit.exceeded)
    unknown = unknowns(loads, limits, journey.without_kilometres)
    assumed = assumptions(journey.legs, trip.vehicle)
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
        water_l=_sum(loads, "water_leg_l"),
        fuel_l=_sum(loads, "fuel_leg_l"),
        added_fuel_l=_sum(loads, "added_fuel_l"),
        fuel_money=_sum(loads, "fuel_money"),
        currency=trip.money.currency,
    )


def _sum(loads: Sequence[LegLoad], name: str) -> float | None:
    """Return a figure over all legs; unknown where a leg's is."""
    return total(getattr(load, name) for load in loads)


def _leg_loads(journey: Journey, kit: Kit) -> tuple[LegLoad, ...]:
    """Return the load of each leg, in travel order."""
    met = zip(journey.legs, journey.stays, journey.places_met, strict=True)
    return tuple(
        _leg_load(leg, stay, place, journey.kit_at(stay, kit), journey.trip)
        for leg, stay, place in met
    )


def _leg_load(leg: Leg, stay: Stay, place: Place, kit: Kit, trip: Trip) -> LegLoad:
    """Return the load of one leg."""
    party, vehicle = trip.party, trip.vehicle
    months = np.unique(MONTH_OF_DAY[days_of_year(stay.arrive, stay.nights)])
    hottest = months[np.argmax(place.climate.drinking_water_l[months])]
    drinking = known(place.climate.drinking_water_l[hottest])
    category = known(place.climate.heat_category[hottest])
    water_day = None if drinking is None else party.people * (drinking + party.other_water_l)
    with_reserve = 1 + party.water_reserve
    water_need = product(water_day, leg.water_gap_days, with_reserve)
    # Where the gap is unknown travellers leave with a full tank; so does the sum.
    water = vehicle.water_tank_l if leg.water_gap_days is None else water_need

    added = _added_consumption(kit, vehicle, _air_density(place, months))
    own = (vehicle.consumption_l_100km + vehicle.tyre_extra_l_100km) * vehicle.ground_factor
    consumption = None if added is None else own + added
    fuel_leg = product(leg.kilometres, consumption, 0.01)
    fuel_need = product(leg.fuel_gap_km, consumption, 0.01, 1 + vehicle.fuel_reserve)
    # A gap that is known but cannot be turned into litres may be more than the tank.
    gap_unsettled = fuel_need is None and leg.fuel_gap_km is not None
    fuel = None if gap_unsettled else max(vehicle.tank_l, fuel_need or 0.0)

    parts = _parts(kit, party, vehicle, water, fuel)
    aboard = total(parts.values())
    return LegLoad(
        name=leg.name,
        heat_category=None if category is None else int(category),
        drinking_l_person_day=drinking,
        water_l_day=water_day,
        water_leg_l=product(water_day, stay.nights),
        water_need_l=water_need,
        water_aboard_l=water,
        water_cans_l=beyond(water, vehicle.water_tank_l),
        water_tank_days=quotient(vehicle.water_tank_l, product(water_day, with_reserve)),
        consumption_l_100km=consumption,
        added_l_100km=added,
        fuel_leg_l=fuel_leg,
        added_fuel_l=product(leg.kilometres, added, 0.01),
        fuel_need_l=fuel_need,
        fuel_aboard_l=fuel,
        fuel_cans_l=beyond(fuel_need, vehicle.tank_l),
        range_km=quotient(vehicle.tank_l, product(consumption, 0.01, 1 + vehicle.fuel_reserve)),
        fuel_money=product(fuel_leg, trip.money.fuel_price),
        parts_kg=parts,
        aboard_kg=aboard,
        limits=(
            rated_mass(aboard, vehicle, supplies_missing(leg.name, water, fuel)),
            *axles(aboard, vehicle),
            *space(kit, water, vehicle),
        ),
        mend=mend(aboard, fuel, fuel_need, vehicle),
    )


def _air_density(place: Place, months: np.ndarray) -> float | None:
    """Return the density of the air driven in, at the camps' height. [kg m-3]"""
    temperature = known(place.climate.temperature_mean[months].mean())
    height = known(place.height.elevation_m)
    if temperature is None or height is None:
        return None
    return float(air_density(temperature, pressure_at(height)))


def _added_consumption(kit: Kit, vehicle: Vehicle, density: float | None) -> float | None:
    """Return what the kit adds in air of some density. [L per 100 km]"""
    rolling = added_mass_consumption(kit.mass_kg, vehicle.fuel) * vehicle.ground_factor
    if not kit.added_drag_area_m2:
        return rolling
    if density is None:
        return None
    drag = added_drag_consumption(
        kit.added_drag_area_m2, vehicle.speed_km_h, density, vehicle.fuel
    )
    return rolling + drag


def _parts(
    kit: Kit, party: Party, vehicle: Vehicle, water: float | None, fuel: float | None
) -> dict[str, float | None]:
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


def _tightest(loads: Sequence[LegLoad]) -> LegLoad | None:
    """Return the leg of least margin: of all if all are known, else only if one is over."""
    settled = [(load.margin_kg, load) for load in loads if load.margin_kg is not None]
    margin, least = min(settled, key=lambda pair: pair[0], default=(0.0, None))
    return None if len(settled) < len(loads) and margin >= 0 else least
