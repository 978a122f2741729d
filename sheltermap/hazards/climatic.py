"""Hazards worked out from the climatology: hints beside the observed ones, never among them.

In: a season, its nights and, if known, the chance of heavy days. Out: levels by time and
cell, and findings marked computed. Assumes monthly means: what they call mild can be
deadly on a given day, so none of this binds a plan or counts as having looked.
The levels behind the words are judgement where no source is named.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np
import xarray as xr
from scipy.special import ndtr

from sheltermap.air import pressure_at, relative_humidity
from sheltermap.dayside import heat_category, wbgt_in_shade, wbgt_in_sun
from sheltermap.hazards.kinds import COMPUTED_KINDS, hazard_kind
from sheltermap.hazards.layers import HazardFinding
from sheltermap.hazards.malaria import fuzzy_suitability
from sheltermap.vocabulary import DAYS_IN_MONTH, DAYS_IN_YEAR, Floats, Level

# As floats, beside which NaN is missing.
_ADVISORY, _SERIOUS = float(Level.ADVISORY), float(Level.SERIOUS)

HEAVY_DAY_MM = 20.0
"""Rain of a day after which water stands. [mm] judgement"""

LEAST_SHARE = 0.10
"""Share of the camps that must reach a level for a finding to state it. [1] judgement"""

DAYS_A_MONTH = DAYS_IN_YEAR / 12

_LEAST_KNOWN = 0.5  # judgement: share of the camps with data below which nothing is stated.
_HEAT_CATEGORIES = (2, 4)  # judgement: rest at midday from 2; from 4 work stops.
_FROST_CHANCES = 0.10  # judgement: one night in ten.
_SNOW_WATER = 0.5  # [mm day-1] judgement: 15 mm a month cover the ground.
_MALARIA_SUITABLE = 0.5  # The middle of the fuzzy scale.
_BITING_FROM = 8.0  # [degC] common practice: northern mosquitoes bite from 8 to 10.
_BITING_WIND = 2.0  # [m s-1] at 1 m; flight tops out at 1.4 to 1.8 (Gillies and Wilkes 1981).
_WIND_1M_FROM_2M = np.log(67.8 - 5.42) / np.log(2 * 67.8 - 5.42)  # FAO-56 eq. 47.
_HEAVY_CHANCES = (0.05, 0.15)  # judgement: one day in 20, one day in 7.
_FIRE_INDEX = (2.5, 2.0)  # Printed bands: favourable, very likely.
_DRY_MONTH = 60.0  # [mm month-1] judgement: Köppen's driest wet month; damp fuel burns badly.
_HEIGHTS = (2500.0, 3500.0)  # [m] common practice: high and very high altitude.

_METHODS: Mapping[str, str] = MappingProxyType(
    {
        "computed-heat": "heat category of the mean daily maximum in full sun (US Army card)",
        "computed-shade-heat": (
            "heat category of the mean daily maximum in shade, the wet-bulb globe temperature "
            "being 0.7 of the wet bulb and 0.3 of the air (US Army card)"
        ),
        "computed-frost": "chance of a night below 0 °C; snow where the mean day stays below",
        "computed-malaria-climate": "fuzzy suitability of Craig et al. 1999; not risk",
        "computed-insects": "air of 8 °C or more at bedtime, and wind where it is known",
        "computed-ponding": f"chance of more than {HEAVY_DAY_MM:.0f} mm in a day",
        "computed-fire-weather": (
            f"Angström index of the mean daily maximum in months below {_DRY_MONTH:.0f} mm; "
            "knows no wind, fuel or drought"
        ),
        "computed-altitude": "height of the camps: high from 2,500 m, very high from 3,500 m",
    }
)


def computed_levels(
    season: xr.Dataset, night: xr.Dataset, heavy_day: xr.DataArray | None = None
) -> xr.Dataset:
    """
    Return what the climate hints at, for every time and place.

    Parameters
    ----------
    season : xarray.Dataset
        Rates along ``month`` or ``day``: air_temperature, air_temperature_min,
        air_temperature_max [degC], vapour_pressure [kPa], rain_per_day [mm day-1].
    night : xarray.Dataset
        Same dims: night_low, bedtime_temperature [degC], night_low_spread [K],
        elevation [m], optional wind_speed at 2 m [m s-1].
    heavy_day : xarray.DataArray, optional
        Chance that a day brings more than ``HEAVY_DAY_MM``. [1]

    Returns
    -------
    xarray.Dataset
        One variable for each computed kind that could be assessed: 0 none, 1 advisory,
        2 serious; NaN where an input is missing.
    """
    mean, rain = season["air_temperature"], season["rain_per_day"]
    midday = (season["air_temperature_max"], season["vapour_pressure"])
    # Where the height is unknown, sea level errs to the safe side: 2 K of wet bulb at 2,500 m.
    shade = wbgt_in_shade(*midday, pressure_at(night["elevation"].fillna(0.0)))
    levels = {
        "computed-heat": _steps(heat_category(wbgt_in_sun(*midday)), *_HEAT_CATEGORIES),
        "computed-shade-heat": _steps(heat_category(shade), *_HEAT_CATEGORIES),
        "computed-frost": _frost(mean, rain, night),
        "computed-malaria-climate": _malaria(season),
        "computed-insects": _insects(night),
        "computed-fire-weather": _fire_weather(season),
        "computed-altitude": _steps(night["elevation"] + 0.0 * mean, *_HEIGHTS),
    }
    if heavy_day is not None:
        levels["computed-ponding"] = _steps(heavy_day, *_HEAVY_CHANCES)
    ordered = {kind: levels[kind] for kind in COMPUTED_KINDS if kind in levels}
    result = xr.Dataset(
        {
            kind: level.assign_attrs(long_name=hazard_kind(kind).title, units="1")
            for kind, level in ordered.items()
        }
    )
    return result.transpose(*mean.dims)


def computed_findings(levels: xr.Dataset, weight: xr.DataArray) -> tuple[HazardFinding, ...]:
    """
    Return computed levels as findings for a leg.

    Parameters
    ----------
    levels : xarray.Dataset
        From `computed_levels`, along ``month`` or ``day`` and ``cell``.
    weight : xarray.DataArray, dim cell
        Share of the leg in each cell.

    Returns
    -------
    tuple of HazardFinding
        Kinds with a level on some day; ``computed`` is set. A level counts from a tenth
        of the camps on. Days without data have none, and the note says so.
    """
    result = []
    for name, level in levels.items():
        kind = str(name)
        values = level.transpose(..., "cell").values
        share = float(((values > 0) @ weight.values).max())
        by_day = _by_day(_reached(values, weight.values))
        missing = np.isnan(by_day)
        stated = np.nan_to_num(by_day).astype(np.uint8)
        if not stated.any():
            continue
        note = "Some days have no data." if missing.any() else ""
        result.append(
            HazardFinding(
                kind=kind,
                title=hazard_kind(kind).title,
                level_by_day=stated,
                share=min(share, 1.0),
                note=note,
                source=f"computed from the climatology: {_METHODS[kind]}",
                computed=True,
            )
        )
    return tuple(result)


def angstrom_index(season: xr.Dataset) -> xr.DataArray:
    """
    Return the Angström fire index of the mean day's warmest hour.

    It takes temperature and humidity alone: no wind, fuel, drought or slope. Bare desert
    reads as fire weather without anything to burn.

    Parameters
    ----------
    season : xarray.Dataset
        air_temperature_max [degC] stands for 13:00, with vapour_pressure [kPa].

    Returns
    -------
    xarray.DataArray
        Above 4 fire is unlikely, from 2.5 down conditions favour it, below 2 it is very
        likely.

    References
    ----------
    .. [1] C. Chandler et al., Fire in Forestry, 1983, as printed by the WSL fire wiki,
       "Angström index", read 2026-11-25.
    """
    warmest = season["air_temperature_max"]
    humidity = relative_humidity(warmest, season["vapour_pressure"])
    return humidity / 20.0 + (27.0 - warmest) / 10.0


def _steps(value: xr.DataArray, advisory: float, serious: float) -> xr.DataArray:
    """Return the level of a value that is worse the higher it is; missing stays missing."""
    level = (value >= advisory) * _ADVISORY + (value >= serious) * (_SERIOUS - _ADVISORY)
    return level.where(value.notnull())


def _frost(mean: xr.DataArray, rain: xr.DataArray, night: xr.Dataset) -> xr.DataArray:
    """Return frost as an advisory, snow that lies as serious."""
    chance = xr.apply_ufunc(ndtr, -night["night_low"] / night["night_low_spread"])
    snow = (mean <= 0.0) & (rain >= _SNOW_WATER)
    level = xr.where(snow, _SERIOUS, (chance >= _FROST_CHANCES) * _ADVISORY)
    return level.where(chance.notnull() & mean.notnull() & rain.notnull())


def _fire_weather(season: xr.Dataset) -> xr.DataArray:
    """Return the fire index as levels, in months dry enough for fuel to burn."""
    rain = season["rain_per_day"]
    level = _steps(-angstrom_index(season), *(-index for index in _FIRE_INDEX))
    return xr.where(rain * DAYS_A_MONTH < _DRY_MONTH, level, 0.0 * level).where(rain.notnull())


def _malaria(season: xr.Dataset) -> xr.DataArray:
    """Return climate that suits malaria as an advisory; it is never more."""
    time = next(dim for dim in ("month", "day") if dim in season["air_temperature"].dims)
    suitability = fuzzy_suitability(
        season["air_temperature"],
        season["rain_per_day"] * DAYS_A_MONTH,
        season["air_temperature_min"].min(time, skipna=False),
    )
    level = (suitability >= _MALARIA_SUITABLE) * _ADVISORY
    return level.where(suitability.notnull())


def _insects(night: xr.Dataset) -> xr.DataArray:
    """Return evenings fit for biting insects as an advisory; unknown wind counts as calm."""
    bedtime = night["bedtime_temperature"]
    biting = bedtime >= _BITING_FROM
    if "wind_speed" in night:
        low_wind = night["wind_speed"] * _WIND_1M_FROM_2M <= _BITING_WIND
        biting = biting & (low_wind | night["wind_speed"].isnull())
    return (biting * _ADVISORY).where(bedtime.notnull())


def _reached(level: Floats, weight: Floats) -> Floats:
    """Return the highest level that enough of the camps reach; NaN where most lack data."""
    result = np.zeros(level.shape[:-1])
    for code in (_ADVISORY, _SERIOUS):
        result[(level >= code) @ weight >= LEAST_SHARE] = code
    result[np.isfinite(level) @ weight < _LEAST_KNOWN] = np.nan
    return result


def _by_day(level: Floats) -> Floats:
    """Return levels along months or days as 365 days."""
    return level if len(level) == DAYS_IN_YEAR else np.repeat(level, DAYS_IN_MONTH)
