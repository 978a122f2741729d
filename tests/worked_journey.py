"""Two people, five legs: the journey that the load and cost tests work out by hand."""

from datetime import date, timedelta
from itertools import accumulate, pairwise
from typing import NamedTuple

import numpy as np
from flat_place import flat_place

from sheltermap.economy.journey import Journey
from sheltermap.economy.rows import KitNights
from sheltermap.planner.problem import Stay
from sheltermap.shelters.kit import load_kits
from sheltermap.trip.model import Money, Trip, Vehicle
from sheltermap.trip.party import Party

PARTY = Party(people=2, body_mass_kg=80, personal_gear_kg=20, other_water_l=3, water_reserve=0.5)

VEHICLE = Vehicle(
    weighed_kg=2400,
    weighed_with_fuel_l=80,
    rated_kg=2800,
    roof_moving_kg=75,
    roof_parked_kg=300,
    front_axle_kg=1300,
    rear_axle_kg=1750,
    weighed_rear_kg=1250,
    rear_share=0.7,
    carries=("roof_rack",),
    space_litres=400,
    fuel="diesel",
    tank_l=80,
    consumption_l_100km=10,
    tyre_extra_l_100km=1,
    ground_factor=1.2,
    fuel_reserve=0.2,
    speed_km_h=90,
    water_tank_l=40,
)

MONEY = Money(
    currency="EUR",
    fuel_price=1.5,
    room_price=30,
    rough_night_price=40,
    freight_per_kg=2,
    duty_share=0.1,
)


class Visit(NamedTuple):
    """A leg, how long it is stayed in, and the climate there."""

    name: str
    nights: int
    kilometres: float | None
    drinking_water_l: float
    air_temperature: float
    elevation_m: float
    heat_category: int = 0
    fuel_gap_km: float | None = None
    water_gap_days: float | None = None


VISITS = (
    Visit("Coast", 4, 400, 3.5, 25, 0, 0, 100, 1),
    Visit("Hills", 6, 600, 3.5, 15, 1800, 0, 250, 2),
    Visit("Desert", 5, 900, 7.7, 35, 0, 5, 700, 4),
    Visit("Delta", 3, 200, 6.3, 25, 0, 3),
    Visit("Return", 2, 500, 4.8, 25, 0, 1, 300, 1),
)


def journey(*visits, party=PARTY, vehicle=VEHICLE, money=MONEY):
    """Return visits one after the other as a planned journey, 200 km a driving day."""
    trip = Trip.model_validate(
        {
            "title": "Worked journey",
            "departure": {
                "earliest": date(2027, 3, 1),
                "latest": date(2027, 3, 1),
                "finish_by": date(2027, 12, 31),
                "daily_km": 200,
            },
            "shelter": {"kits": ["roof-tent"]},
            "legs": [
                {
                    "name": visit.name,
                    "place": [0, 0],
                    "nights": visit.nights,
                    "kilometres": visit.kilometres,
                    "fuel_gap_km": visit.fuel_gap_km,
                    "water_gap_days": visit.water_gap_days,
                }
                for visit in visits
            ],
        }
    ).model_copy(update={"party": party, "vehicle": vehicle, "money": money})
    days = accumulate((timedelta(visit.nights) for visit in visits), initial=date(2027, 3, 1))
    stays = tuple(
        Stay(number, arrive, leave, (leave - arrive).days, 0.0)
        for number, (arrive, leave) in enumerate(pairwise(days))
    )
    places = tuple(
        flat_place(
            visit.name,
            air_temperature=visit.air_temperature,
            drinking_water_l=visit.drinking_water_l,
            heat_category=visit.heat_category,
            elevation_m=visit.elevation_m,
        )
        for visit in visits
    )
    return Journey(trip, stays, places)


JOURNEY = journey(*VISITS)

# Masses, drag and prices are set here, so that the shipped kits may be corrected freely.
ROOF_TENT = load_kits()["roof-tent"].model_copy(
    update={
        "mass_kg": 64.0,
        "added_drag_area_m2": 0.5,
        "roof_load_kg": 60.0,
        "packed_litres": 20.0,
        "price": 2200.0,
        "freight_kg": None,
        "pitch_minutes": 8.0,
        "strike_minutes": 12.0,
    }
)
BEDROLL = load_kits()["bedroll"].model_copy(
    update={
        "mass_kg": 16.0,
        "added_drag_area_m2": 0.0,
        "roof_load_kg": 0.0,
        "packed_litres": 140.0,
        "price": 500.0,
        "freight_kg": None,
        "pitch_minutes": 4.0,
        "strike_minutes": 6.0,
    }
)


def nights(*rows, worst=(0.0,)):
    """
    Return nights by stay, all spoilt by heat; wind was not assessed.

    Each row: rough, dangerous. `worst` is the chance of danger of their worst nights.
    """
    rough, dangerous = np.array(rows, float).T
    causes = {"cold": 0 * rough, "heat": rough, "wet": 0 * rough, "condensation": 0 * rough}
    return KitNights(rough, dangerous, np.broadcast_to(worst, rough.shape), causes)


TENT_NIGHTS = nights((0.4, 0.0), (0.9, 0.1), (2.5, 0.4), (1.2, 0.1), (0.8, 0.0))
BEDROLL_NIGHTS = nights((0.6, 0.0), (1.8, 0.2), (3.0, 0.4), (1.5, 0.1), (1.0, 0.0))
