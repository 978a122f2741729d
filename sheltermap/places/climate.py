"""The monthly climate of a place in figures a traveller reads.

In: a monthly season and its nights along cells, with weights. Out: PlaceClimate, the mean
over the place's camps. Assumes the mean daily maximum stands for midday. Sunset and hours
of light are what is seen, with refraction and the sun's rim; the curve of temperature rests
on the flat horizon without them, for which it was fitted.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import xarray as xr

from sheltermap.air import dewpoint, relative_humidity
from sheltermap.dayside import (
    heat_category,
    heat_index,
    wbgt_in_sun,
    wind_chill,
)
from sheltermap.night.daylight import dawn
from sheltermap.night.rain import wet_run
from sheltermap.night.temperature import cooler_from, share_at, temperature_at
from sheltermap.places.cells import weighted_mean
from sheltermap.places.hot_hours import hot_hours
from sheltermap.places.place import PlaceClimate
from sheltermap.remembered import remembered
from sheltermap.sun import APPARENT_HORIZON, day_length, sunset
from sheltermap.trip.party import Party
from sheltermap.vocabulary import DAYS_IN_MONTH
from sheltermap.water import drinking_water

COOL_ENOUGH = 26.0
"""Lower end of the criteria for bedrooms: 26 to 29 degC (Lomas and Li 2023). [degC]"""

_SPELL_DAYS, _WEEK_DAYS = 3, 7


@remembered(size=2)
def place_climates(
    season: xr.Dataset, night: xr.Dataset, party: Party, where: Sequence[slice]
) -> tuple[PlaceClimate, ...]:
    """
    Return the monthly climate of places.

    Parameters
    ----------
    season, night : Dataset, dims month and cell
        From ``calendar.by_month`` and ``conditions``; ``weight`` along ``cell``.
    party : Party
        Whose work and hours decide the drinking water.
    where : sequence of slice
        The cells of each place.

    Returns
    -------
    tuple of PlaceClimate
    """
    heat = wbgt_in_sun(season["air_temperature_max"], season["vapour_pressure"])
    humidity = relative_humidity(season["air_temperature_max"], season["vapour_pressure"])
    light = night["daylight_hours"]
    seen = (season["latitude"], season["day_of_year"], APPARENT_HORIZON)
    dawn_temperature = temperature_at(
        share_at(dawn(light), light), season["air_temperature_min"], season["air_temperature_max"]
    )
    camps = {
        "temperature_mean": season["air_temperature"],
        "temperature_min": season["air_temperature_min"],
        "temperature_max": season["air_temperature_max"],
        "night_low_spread": season["night_low_spread"],
        "vapour_pressure": season["vapour_pressure"],
        "rain_per_day": season["rain_per_day"],
        "wet_share": season["wet_share"],
        "bedtime_temperature": night["bedtime_temperature"],
        "dawn_temperature": dawn_temperature,
        "sunset_hour": sunset(*seen),
        "light": light,
        "daylight_hours": day_length(*seen),
        "heat": heat,
        "heat_index": heat_index(season["air_temperature_max"], humidity),
        "drinking_water_l": drinking_water(
            heat,
            season["air_temperature_max"],
            party.activity,
            party.active_hours,
            party.acclimatised,
        ),
        "wet_spell": wet_run(season["wet_share"], _SPELL_DAYS, _WEEK_DAYS),
    }
    if "wind_speed" in season:
        camps["wind_chill"] = wind_chill(dawn_temperature, season["wind_speed"])
    whole = season["air_temperature"]
    values = {
        name: camp.broadcast_like(whole).transpose("month", "cell").values
        for name, camp in camps.items()
    }
    weight = season["weight"].values
    return tuple(
        _place_climate(
            {name: weighted_mean(camp[:, cells], weight[cells]) for name, camp in values.items()},
            party,
        )
        for cells in where
    )


def _place_climate(mean: dict[str, np.ndarray], party: Party) -> PlaceClimate:
    """Return a place's climate from the means over its camps."""
    days = np.asarray(DAYS_IN_MONTH)
    low, high = mean["temperature_min"], mean["temperature_max"]
    hot_from, hot_to = hot_hours(low, high, mean["vapour_pressure"], mean["light"])
    return PlaceClimate(
        temperature_mean=mean["temperature_mean"],
        temperature_min=low,
        temperature_max=high,
        night_low_spread=mean["night_low_spread"],
        dewpoint=dewpoint(mean["vapour_pressure"]),
        rain_per_month=mean["rain_per_day"] * days,
        wet_days=mean["wet_share"] * days,
        bedtime_temperature=mean["bedtime_temperature"],
        dawn_temperature=mean["dawn_temperature"],
        sunset_hour=mean["sunset_hour"],
        daylight_hours=mean["daylight_hours"],
        # The category of the mean midday, since a mean of categories is no category.
        heat_category=np.asarray(heat_category(mean["heat"], party.acclimatised)),
        hot_from=hot_from,
        hot_to=hot_to,
        heat_index=mean["heat_index"],
        drinking_water_l=mean["drinking_water_l"],
        cool_hour=np.asarray(cooler_from(COOL_ENOUGH, low, high, mean["light"])),
        wet_spell=mean["wet_spell"],
        wind_chill=mean.get("wind_chill", np.full(len(days), np.nan)),
    )
