"""Two people, five legs: the journey that the load and cost tests work out by hand."""

from sheltermap.economy.load import LegFacts
from sheltermap.economy.rows import LegNights
from sheltermap.shelters.kit import load_kits
from sheltermap.trip.model import Money, Party, Vehicle

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

# name, nights, days, km, drinking, temperature, height, heat, fuel gap, water gap, room price
LEGS = (
    LegFacts("Coast", 4, 4, 400, 3.5, 25, 0, 0, 100, 1),
    LegFacts("Hills", 6, 6, 600, 3.5, 15, 1800, 0, 250, 2),
    LegFacts("Desert", 5, 5, 900, 7.7, 35, 0, 5, 700, 4),
    LegFacts("Delta", 3, 3, 200, 6.3, 25, 0, 3, None, None),
    LegFacts("Return", 2, 2, 500, 4.8, 25, 0, 1, 300, 1, 45),
)

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


def nights(*rows):
    """
    Return nights by leg, all spoilt by heat.

    Each row: nights, rough, dangerous, in rooms, rough in rooms, dangerous in rooms.
    """
    return tuple(
        LegNights(
            count,
            rough,
            dangerous,
            {"cold": 0.0, "heat": rough, "wet": 0.0, "wind": None, "condensation": 0.0},
            rooms,
            rough_in_rooms,
            dangerous_in_rooms,
        )
        for count, rough, dangerous, rooms, rough_in_rooms, dangerous_in_rooms in rows
    )


TENT_NIGHTS = nights(
    (4, 0.4, 0.0, 0, 0.0, 0.0),
    (6, 0.9, 0.1, 0, 0.0, 0.0),
    (5, 2.5, 0.4, 2, 1.3, 0.3),
    (3, 1.2, 0.1, 1, 0.7, 0.1),
    (2, 0.8, 0.0, 1, 0.6, 0.0),
)
BEDROLL_NIGHTS = nights(
    (4, 0.6, 0.0, 0, 0.0, 0.0),
    (6, 1.8, 0.2, 0, 0.0, 0.0),
    (5, 3.0, 0.4, 3, 2.0, 0.4),
    (3, 1.5, 0.1, 1, 0.8, 0.1),
    (2, 1.0, 0.0, 1, 0.7, 0.0),
)
