"""The monthly climate of a place in figures a traveller reads.

In: a monthly season and its nights along cells, with weights. Out: PlaceClimate, the mean
over the place's camps. Assumes the mean daily maximum stands for midday. Sunset and hours
of light are what is seen, with refraction and the sun's rim; the curve of temperature rests
on the flat horizon without them, for which it was fitted.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.air import dewpoint, relative_humidity
from sheltermap.dayside import (
    drinking_water,
    heat_category,
    heat_index,
    wbgt_in_sun,
    wind_chill,
)
from sheltermap.night.daylight import dawn
from sheltermap.night.rain import wet_run
from sheltermap.night.temperature import cooler_from, share_at, temperature_at
from sheltermap.places.cells import weighted_mean
from sheltermap.places.place import PlaceClimate
from sheltermap.sun import APPARENT_HORIZON, day_length, sunset
from sheltermap.trip.model import Party
from sheltermap.vocabulary import DAYS_IN_MONTH

COOL_ENOUGH = 26.0
"""Lower end of the criteria for bedrooms: 26 to 29 degC (Lomas and Li 2023). [degC]"""

_SPELL_DAYS, _WEEK_DAYS = 3, 7


def place_climate(
    season: xr.Dataset, night: xr.Dataset, weight: xr.DataArray, party: Party
) -> PlaceClimate:
    """
    Return the monthly climate of a place.

    Parameters
    ----------
    season, night : Dataset, dims month and cell
        From ``calendar.by_month`` and ``conditions``.
    weight : DataArray, dim cell
    party : Party
        Whose work and hours decide the drinking water.

    Returns
    -------
    PlaceClimate
    """
    days = np.asarray(DAYS_IN_MONTH)
    heat = wbgt_in_sun(season["air_temperature_max"], season["vapour_pressure"])
    water = drinking_water(heat, party.activity, party.active_hours, party.acclimatised)
    # The category of the mean midday, since a mean of categories is no category.
    category = heat_category(weighted_mean(heat, weight), party.acclimatised)
    humidity = relative_humidity(season["air_temperature_max"], season["vapour_pressure"])
    light = night["daylight_hours"]
    seen = (season["latitude"], season["day_of_year"], APPARENT_HORIZON)
    dawn_temperature = temperature_at(
        share_at(dawn(light), light), season["air_temperature_min"], season["air_temperature_max"]
    )

    def mean(values) -> np.ndarray:
        if "cell" not in values.dims:
            return values.values
        return weighted_mean(values, weight).transpose("month").values

    return PlaceClimate(
        temperature_mean=mean(season["air_temperature"]),
        temperature_min=mean(season["air_temperature_min"]),
        temperature_max=mean(season["air_temperature_max"]),
        night_low_spread=mean(season["night_low_spread"]),
        dewpoint=dewpoint(mean(season["vapour_pressure"])),
        rain=mean(season["rain_per_day"]) * days,
        wet_days=mean(season["wet_share"]) * days,
        bedtime_temperature=mean(night["bedtime_temperature"]),
        dawn_temperature=mean(dawn_temperature),
        sunset_hour=mean(sunset(*seen)),
        daylight_hours=mean(day_length(*seen)),
        heat_category=np.asarray(category),
        heat_index=mean(heat_index(season["air_temperature_max"], humidity)),
        drinking_water_l=mean(water),
        cool_hour=_cool_hour(season, light, weight),
        wet_spell=mean(wet_run(season["wet_share"], _SPELL_DAYS, _WEEK_DAYS)),
        wind_chill=(
            mean(wind_chill(dawn_temperature, season["wind_speed"]))
            if "wind_speed" in season
            else np.full(len(days), np.nan)
        ),
    )


def _cool_hour(season: xr.Dataset, light: xr.DataArray, weight: xr.DataArray) -> np.ndarray:
    """Return the hour at which the place's mean night is cool enough to sleep."""
    low, high = (weighted_mean(season[f"air_temperature_{end}"], weight) for end in ("min", "max"))
    if "cell" in light.dims:
        light = weighted_mean(light, weight)
    return cooler_from(COOL_ENOUGH, low, high, light).transpose("month").values
