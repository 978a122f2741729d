"""What carries it all, as the trip file writes it.

In: raw values of the table ``[vehicle]``. Out: a checked Vehicle. Assumes kilograms and litres
as plates and scales show them.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from sheltermap.files import Record, Share
from sheltermap.trip.values import Name, NotNegative, Positive


class Vehicle(Record):
    """What carries it all. Without `weighed_kg` the mass margin reads unknown."""

    name: Name = Field("vehicle", description="as you call it")
    weighed_kg: Positive | None = Field(
        None, description="weighed ready to go: full tank, driver excluded, no kit, no water [kg]"
    )
    weighed_with_fuel_l: NotNegative | None = Field(
        None, description="fuel on board when weighed, else a full tank [L]"
    )
    rated_kg: Positive | None = Field(None, description="gross vehicle mass on the plate [kg]")
    roof_moving_kg: Positive | None = Field(None, description="roof rating when driving [kg]")
    roof_parked_kg: Positive | None = Field(None, description="roof rating when parked [kg]")
    front_axle_kg: Positive | None = Field(None, description="front axle rating [kg]")
    rear_axle_kg: Positive | None = Field(None, description="rear axle rating [kg]")
    rear_share: Share = Field(
        0.7,
        description="share of what is loaded after weighing that the rear axle takes (judgement)",
    )
    weighed_rear_kg: Positive | None = Field(
        None, description="on the rear axle at the same weighing [kg]"
    )
    carries: tuple[Literal["roof_rack", "load_bed", "bed_rack", "pop_roof"], ...] = Field(
        (), description="what kits may stand on or in"
    )
    bed_length_m: Positive | None = Field(None, description="flat length to sleep on inside [m]")
    space_litres: Positive | None = Field(None, description="space for kit, water and gear [L]")
    fuel: Literal["petrol", "diesel"] = Field("diesel", description="what it burns")
    tank_l: Positive = Field(80, description="fuel tank [L] (judgement)")
    consumption_l_100km: Positive = Field(
        11, description="on tarmac without the kit [L/100 km] (judgement)"
    )
    tyre_extra_l_100km: NotNegative = Field(0, description="what larger tyres add [L/100 km]")
    ground_factor: Positive = Field(
        1.2,
        description="consumption on your roads and tracks over that on tarmac (common practice)",
    )
    fuel_reserve: NotNegative = Field(
        0.2, description="carried on top of the need: 0.2 is a fifth more (common practice)"
    )
    speed_km_h: Positive = Field(
        80, description="usual speed, for the kit's drag [km/h] (judgement)"
    )
    water_tank_l: NotNegative = Field(
        40, description="fixed water tank [L], 0 without one; cans hold the rest (judgement)"
    )
