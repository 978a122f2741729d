"""A place whose climate is one figure the whole year: for what reads a few figures of a Place."""

import numpy as np

from sheltermap.places.camp_height import CampHeight
from sheltermap.places.place import Place, PlaceClimate


def flat_place(
    name="Place",
    *,
    air_temperature=18.0,
    drinking_water_l=3.5,
    heat_category=0.0,
    elevation_m=0.0,
    latitude=40.0,
    longitude=30.0,
    region="",
):
    """Return a place of the same climate in every month, without nights or hazards."""
    figures = dict.fromkeys(PlaceClimate.__dataclass_fields__, np.full(12, np.nan))
    told = {
        "temperature_mean": air_temperature,
        "drinking_water_l": drinking_water_l,
        "heat_category": heat_category,
    }
    figures |= {key: np.full(12, float(value)) for key, value in told.items()}
    return Place(
        id=name.lower(),
        name=name,
        note="",
        kind="place",
        geometry={"type": "Point", "coordinates": [longitude, latitude]},
        latitude=latitude,
        longitude=longitude,
        elevation_m=(elevation_m,) * 3,
        height=CampHeight(elevation_m, None, "cells"),
        correction_k=0.0,
        correction_spread_k=0.0,
        dropped_share=0.0,
        cautions=(),
        climate=PlaceClimate(**figures),
        seasons={},
        weeks=(),
        findings=(),
        not_checked=(),
        region=region,
    )
