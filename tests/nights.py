"""Made-up nights for the tests of scores, grades and remedies."""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.air import dewpoint, saturation_vapour_pressure
from sheltermap.night.humidity import FREE_BACK, sky_cooling

USUAL = {
    "bedtime_temperature": 15.0,
    "coldest_hours_temperature": 10.0,
    "night_low": 9.5,
    "ground_temperature": 14.0,
    "dry_night_drop": 0.0,
    "vapour_pressure": 1.0,
    "bedtime_vapour_pressure": 1.0,
    "night_low_spread": 2.5,
    "wet_share": 0.3,
    "rain_per_day": 2.4,
    "daylight_hours": 12.0,
    "daytime_vapour_deficit": 0.8,
}


def one_night(**changes):
    """Return one night, or one of each value of arrays: mild but for changes, vapour held to
    saturation."""
    values = USUAL | changes
    for vapour, air in (
        ("vapour_pressure", "coldest_hours_temperature"),
        ("bedtime_vapour_pressure", "bedtime_temperature"),
    ):
        values[vapour] = np.minimum(values[vapour], saturation_vapour_pressure(values[air]))
    cold = values["coldest_hours_temperature"]
    values.setdefault(
        "fabric_sky_cooling",
        sky_cooling(cold, dewpoint(np.maximum(values["vapour_pressure"], 1e-3)), inner=FREE_BACK),
    )
    dims = ("night",)
    return xr.Dataset(
        {
            name: value
            if isinstance(value, xr.DataArray)
            else xr.DataArray(value, dims=dims[: np.ndim(value)])
            for name, value in values.items()
        }
    )


def many_nights(count, seed=7, wind=True, dtype=float):
    """Return nights of every climate, drawn from a seed, with some that have no rain."""
    draw = np.random.default_rng(seed)
    cold = draw.uniform(-25, 28, count)
    bedtime = cold + draw.uniform(0, 10, count)
    wet = np.where(draw.random(count) < 0.1, 0.0, draw.uniform(0, 1, count))
    values = {
        "bedtime_temperature": bedtime,
        "coldest_hours_temperature": cold,
        "night_low": cold - 0.5,
        "ground_temperature": cold + draw.uniform(0, 8, count),
        "dry_night_drop": np.where(draw.random(count) < 0.2, 2.0, 0.0),
        "night_low_spread": draw.uniform(1, 9, count),
        "wet_share": wet,
        "rain_per_day": wet * draw.uniform(2, 25, count),
        "daylight_hours": draw.uniform(7, 17, count),
        "daytime_vapour_deficit": draw.uniform(0, 3, count),
    }
    humidity = draw.uniform(0.1, 1, count)
    values["bedtime_vapour_pressure"] = humidity * saturation_vapour_pressure(bedtime)
    values["vapour_pressure"] = np.minimum(
        values["bedtime_vapour_pressure"], saturation_vapour_pressure(cold)
    )
    values["fabric_sky_cooling"] = sky_cooling(
        cold, dewpoint(values["vapour_pressure"]), inner=FREE_BACK
    )
    if wind:
        values["wind_speed"] = np.where(draw.random(count) < 0.05, 0.0, draw.uniform(0, 9, count))
    return xr.Dataset(
        {name: ("night", np.asarray(value, dtype)) for name, value in values.items()}
    )
