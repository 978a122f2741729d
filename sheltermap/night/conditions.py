"""Night conditions: what a sleeper meets between dusk and dawn.

In: a season (the climatology as rates along one time dimension), the sleep window and,
if known, the word for the camp's site. Out: one dataset with the temperatures,
humidity, rain and wind of the night, and the drying of the day after. Assumes long-term
means over open ground: a night of a given date is colder or warmer by the spread.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.air import pressure_at
from sheltermap.night.daylight import SleepWindow, daylight_hours
from sheltermap.night.drying import vapour_deficit
from sheltermap.night.humidity import (
    FREE_BACK,
    night_dewpoint,
    night_vapour_pressure,
    sky_cooling,
)
from sheltermap.night.measured import measured_shares
from sheltermap.night.rain import rain_in_window
from sheltermap.night.temperature import (
    coldest_share,
    daytime_share,
    mean_share,
    share_at,
    temperature_at,
)
from sheltermap.night.wind import NIGHT_SHARE, OPEN_LAND_WIND, known_site, night_wind

VALLEY_DROP = 2.0
"""How much colder a valley floor is on dry nights. [K] Common practice."""

NEEDED = {
    "air_temperature": "degC",
    "air_temperature_min": "degC",
    "air_temperature_max": "degC",
    "night_low_spread": "K",
    "vapour_pressure": "kPa",
    "wet_share": "1",
    "rain_per_day": "mm day-1",
    "elevation": "m",
}
"""Variables a season must have, with their units."""

_CARRIED = tuple(name for name in NEEDED if name != "vapour_pressure")
_ERRORS = {
    "air_temperature_min_error": "low_error",
    "temperature_correction_error": "temperature_correction_error",
}

_LONG_NAMES = {
    "bedtime_temperature": "air temperature when lying down",
    "night_low": "mean daily minimum of the air temperature at 2 m",
    "coldest_hours_temperature": "mean air temperature of the coldest hours of sleep",
    "night_mean_temperature": "mean air temperature of the hours of sleep",
    "ground_temperature": "temperature of the ground under a bed, taken as the air's mean",
    "vapour_pressure": "vapour pressure in the coldest hours of sleep",
    "bedtime_vapour_pressure": "vapour pressure when lying down",
    "dewpoint": "dewpoint in the coldest hours of sleep",
    "fabric_sky_cooling": "cooling of single fabric under a clear sky below the air",
    "dry_night_drop": "how much colder the site is on dry nights",
    "rain_in_window": "probability of at least 1 mm of rain while asleep",
    "daylight_hours": "hours from sunrise to sunset",
    "daytime_vapour_deficit": "vapour deficit between sunrise and sunset",
    "wind_speed": "mean wind speed at 2 m by night",
    "low_error": "standard error of the mean daily minimum",
}


def conditions(
    season: xr.Dataset,
    window: SleepWindow | None = None,
    site: str | xr.DataArray | None = None,
    *,
    valley_drop: float = VALLEY_DROP,
    night_wind_share: float = NIGHT_SHARE,
    open_land_wind: float = OPEN_LAND_WIND,
    wind_at_camp: bool = False,
) -> xr.Dataset:
    """
    Return what a night is like, for every time and place of a season.

    Parameters
    ----------
    season : Dataset
        The variables of `NEEDED`, optionally ``wind_speed`` at 10 m and the measured
        ``hourly_share`` of the daily range by ``solar_hour``; one time dimension
        with the coordinate ``day_of_year``, a coordinate ``latitude``, any other
        dimensions. Temperatures in degC, pressure in kPa, rain in mm day-1.
    window : SleepWindow, optional
        Hours of sleep; 22 to 6 by default.
    site : str or DataArray of str, optional
        One word for the lie of the camp, or one for each camp, empty where none is known.
    valley_drop : float
        How much colder a valley floor is on dry nights. [K]
    night_wind_share : float
        Wind by night over wind of the whole day. [1]
    open_land_wind : float
        Mean wind 10 m over open land, where only a site word is known. [m s-1]
    wind_at_camp : bool
        Whether the season's wind is that of the camp, so that the site word changes it not.

    Returns
    -------
    Dataset, same dimensions
        ``bedtime_temperature``, ``night_low``, ``coldest_hours_temperature``,
        ``night_mean_temperature``, ``ground_temperature`` [degC]; ``vapour_pressure``,
        ``bedtime_vapour_pressure`` [kPa]; ``dewpoint`` [degC]; ``fabric_sky_cooling``,
        ``dry_night_drop`` [K]; ``rain_in_window`` [1];
        ``daylight_hours`` [h], without the dimensions it does not depend on;
        ``daytime_vapour_deficit`` [kPa]; the season's temperatures, spread, wet share,
        rain and elevation unchanged; ``wind_speed`` [m s-1] where data or the site
        word give it; ``low_error`` and ``temperature_correction_error`` [K] where the season
        has ``air_temperature_min_error`` and the latter. Attributes ``sleep_start`` and
        ``sleep_end`` say for whom.

    Raises
    ------
    ValueError
        If a variable or coordinate is missing or in other units, or the site word is
        not known.

    Examples
    --------
    >>> import xarray as xr
    >>> point = {"air_temperature": 17.5, "air_temperature_min": 10.0}
    >>> point |= {"air_temperature_max": 25.0, "night_low_spread": 3.0}
    >>> point |= {"vapour_pressure": 1.2, "wet_share": 0.4, "rain_per_day": 4.0}
    >>> season = xr.Dataset({name: ("month", [value]) for name, value in point.items()})
    >>> season["elevation"] = 100.0
    >>> season = season.assign_coords(day_of_year=("month", [80]), latitude=0.0)
    >>> night = conditions(season)
    >>> float(night.bedtime_temperature[0].round(1))
    15.3
    """
    window = window or SleepWindow()
    _require(season)
    for word in np.unique(site if site is not None else []).tolist():
        if word:
            known_site(word)

    low, high = season["air_temperature_min"], season["air_temperature_max"]
    vapour = season["vapour_pressure"]
    course = _course(season, window)

    def at(share: str) -> xr.DataArray:
        return temperature_at(course[share], low, high)

    bedtime, coldest = at("bedtime"), at("coldest")
    dewpoint = night_dewpoint(vapour, coldest)
    # Where the height is unknown, the sky is taken as warm as at sea level.
    pressure = pressure_at(season["elevation"].fillna(0.0))
    night = {
        "bedtime_temperature": bedtime,
        "night_low": low,
        "coldest_hours_temperature": coldest,
        "night_mean_temperature": at("asleep"),
        "ground_temperature": season["air_temperature"],
        "vapour_pressure": night_vapour_pressure(vapour, coldest),
        "bedtime_vapour_pressure": night_vapour_pressure(vapour, bedtime),
        "dewpoint": dewpoint,
        "fabric_sky_cooling": sky_cooling(coldest, dewpoint, pressure, inner=FREE_BACK),
        "dry_night_drop": xr.where(
            xr.DataArray(site == "valley" if site is not None else False), valley_drop, 0.0
        )
        .astype(low.dtype)
        .assign_attrs(units="K"),
        "rain_in_window": rain_in_window(
            season["wet_share"], season["rain_per_day"], window.length
        ),
        "daylight_hours": course["daylight"],
        "daytime_vapour_deficit": vapour_deficit(at("daytime"), vapour),
    }
    wind_site = None if wind_at_camp else site
    wind = _wind(season, wind_site, night_wind_share, open_land_wind)
    if wind is not None:
        night["wind_speed"] = wind
    night |= {name: season[name] for name in _CARRIED}
    night |= {name: season[error] for error, name in _ERRORS.items() if error in season}

    result = xr.Dataset(
        {name: _named(name, values) for name, values in night.items()},
        attrs=dict(
            season.attrs,
            sleep_start=window.start,
            sleep_end=window.end,
            site=site if isinstance(site, str) else "",
        ),
    )
    return result.transpose(*season["air_temperature"].dims, ..., missing_dims="ignore")


def _course(season: xr.Dataset, window: SleepWindow) -> dict[str, xr.DataArray]:
    """Return hours of daylight and shares of the daily range, by time and latitude."""
    # Worked out once for each latitude there is, however many cells share it.
    latitude = season["latitude"]
    distinct, row = np.unique(latitude.values, return_inverse=True)
    rows = xr.DataArray(distinct, dims="distinct_latitude")
    daylight = daylight_hours(rows, season["day_of_year"])
    begin, finish = window.bounds
    course = {
        "daylight": daylight,
        "bedtime": share_at(begin, daylight),
        "coldest": coldest_share(window, daylight),
        "asleep": mean_share(begin, finish, daylight),
        "daytime": daytime_share(daylight),
    }
    place = xr.DataArray(row.reshape(latitude.shape), latitude.coords, latitude.dims)
    kind = season["air_temperature"].dtype
    course = {
        name: values.astype(kind).isel(distinct_latitude=place) for name, values in course.items()
    }
    if "hourly_share" in season:
        course |= measured_shares(season["hourly_share"], window, course["daylight"])
    return course


def _named(name: str, values: xr.DataArray) -> xr.DataArray:
    """Return a variable with its long name, and units where the season left them out."""
    names = {"long_name": _LONG_NAMES[name]} if name in _LONG_NAMES else {}
    return values.assign_attrs({"units": NEEDED.get(name, "degC")} | values.attrs | names)


def _require(season: xr.Dataset) -> None:
    """Raise ValueError with everything a season lacks or has in other units."""
    problems = [f"a variable '{name}'" for name in NEEDED if name not in season.data_vars]
    problems += [
        f"a coordinate '{name}'"
        for name in ("day_of_year", "latitude")
        if name not in season.coords
    ]
    # Units that are not said are taken as the contract's; other ones are a mistake.
    problems += [
        f"'{name}' in {units}, not in {season[name].attrs['units']}"
        for name, units in (NEEDED | {"wind_speed": "m s-1"}).items()
        if name in season and season[name].attrs.get("units", units) != units
    ]
    if problems:
        raise ValueError(f"season: expected {'; '.join(problems)}")


def _wind(
    season: xr.Dataset,
    site: str | xr.DataArray | None,
    share: float,
    open_land_wind: float,
) -> xr.DataArray | None:
    """Return the night's wind, or None where neither data nor a site word give one."""
    if "wind_speed" in season:
        return night_wind(season["wind_speed"], site, night_share=share).assign_attrs(
            season["wind_speed"].attrs, units="m s-1"
        )
    if site is None or not np.all(np.asarray(site) != ""):
        return None
    # Built on the temperature so that a missing place has missing wind; its error is not ours.
    guess = (season["air_temperature"] * 0.0 + open_land_wind).drop_attrs()
    return night_wind(guess, site, night_share=share).assign_attrs(
        estimated=f"from the camp's site word alone, {open_land_wind:g} m/s on open land",
        uncertainty="not known (common practice)",
    )
