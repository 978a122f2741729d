"""Score: how likely a night is sound, and what spoils it otherwise.

In: the night dataset of ``night.conditions``, a kit, its sleepers. Out: probabilities of
each factor, the share of sound nights, the limiting factor and what explains them, for
every time and place. Assumes nothing about dimensions: one point, a region or a
continent, in memory or on dask, months or days. Which mode the kit is in when, and how
the factors combine, stands in ``suitability.combination``.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np
import xarray as xr

from sheltermap.elementwise import elementwise
from sheltermap.night.daylight import SleepWindow
from sheltermap.night.drying import dried_share
from sheltermap.night.rain import heavy_day, rain_in_window, wet_after_wet
from sheltermap.night.wind import windier_than
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.combination import CORE, DETAILS, INPUTS, combined, plan_of

ONE_IN_20 = 1.645
"""Spreads below the mean that one night in 20 exceeds. [1]"""

NEEDED = (
    "bedtime_temperature",
    "coldest_hours_temperature",
    "night_low",
    "ground_temperature",
    "dry_night_drop",
    "fabric_sky_cooling",
    "vapour_pressure",
    "bedtime_vapour_pressure",
    "night_low_spread",
    "wet_share",
    "rain_per_day",
    "daylight_hours",
    "daytime_vapour_deficit",
)
"""Variables a night dataset must have; ``wind_speed`` [m s-1, at the camp] is optional."""

_MINUTES = 60.0
_LONG_NAMES = {
    "cold": "probability that cold spoils the night",
    "heat": "probability that heat spoils the night",
    "wet": "probability that rain or standing water spoils the night",
    "wind": "probability of more wind than the kit stands",
    "condensation": "probability that dripping fabric spoils the night",
    "sound_share": "probability that nothing spoils the night",
    "limiting_factor": "largest cause: position among the factors, -1 none, -9 missing",
    "dangerous": "probability of cold or heat that endangers, not only annoys",
    "cold_dry": "probability of cold on a dry night",
    "cold_wet": "probability of cold on a wet night",
    "heat_dry": "probability of heat on a dry night",
    "heat_wet": "probability of heat on a wet night",
    "wet_on_wet_days": "probability that water spoils the night of a wet day",
    "dew_outside": "probability of dew from outside air alone on a dry night",
    "cold_margin": "warmth to spare on a mean dry night; negative is too cold",
    "heat_margin": "coolness to spare at a mean dry bedtime; negative is too hot",
    "warmest_bedtime": "outside air temperature below which half fall asleep",
    "low_one_in_20": "night low that one night in 20 goes below",
}
_UNITS = {
    "cold_margin": "K",
    "heat_margin": "K",
    "warmest_bedtime": "degC",
    "low_one_in_20": "degC",
}


def score(
    night: xr.Dataset,
    kit: Kit,
    sleepers: Sequence[Sleeper] = (Sleeper(),),
    *,
    settings: Settings | None = None,
    details: bool = True,
) -> xr.Dataset:
    """
    Return how likely nights are sound in a kit, and what spoils the others.

    Parameters
    ----------
    night : Dataset
        From ``night.conditions``; any dimensions, numpy or dask.
    kit : Kit
        With its add-ons.
    sleepers : sequence of Sleeper
        Everyone who sleeps in it; the coldest and the most heat-sensitive decide.
    settings : Settings, optional
    details : bool
        Whether to add what explains the result (slower on a continent).

    Returns
    -------
    Dataset, same dimensions
        ``cold``, ``heat``, ``wet``, ``wind``, ``condensation``, ``sound_share``
        [0 to 1], ``limiting_factor`` (int8; -1 none, -9 missing), ``low_one_in_20``
        [degC]; with details ``dangerous`` and the values of dry and wet nights. A factor
        whose input is absent is NaN, left out of the share, and listed in the attribute
        ``not_assessed``. A missing input gives a missing result.

    Raises
    ------
    ValueError
        If the night lacks a variable, or nobody sleeps.

    Notes
    -----
    The share states what the weather does from night to night. How much persons differ
    belongs to the band of the result, see ``suitability.band``.
    """
    settings = settings or Settings()
    _require(night, sleepers)
    values, not_assessed = night_values(night, kit, settings)
    names = CORE + DETAILS if details else CORE
    kind = np.result_type(*(values[name].dtype for name in ("bedtime", "coldest", "spread")))
    results = xr.apply_ufunc(
        partial(_quiet, plan_of(kit, sleepers, settings), tuple(values), details),
        *(value.astype(kind, copy=False) for value in values.values()),
        output_core_dims=[()] * len(names),
        join="exact",
        dask="parallelized",
        output_dtypes=[np.int8 if name == "limiting_factor" else kind for name in names],
    )
    scores = dict(zip(names, results, strict=True))
    scores["low_one_in_20"] = night["night_low"] - ONE_IN_20 * night["night_low_spread"]
    return xr.Dataset(
        {
            name: value.assign_attrs(
                {"long_name": _LONG_NAMES[name], "units": _UNITS.get(name, "1")}
            )
            for name, value in scores.items()
        },
        attrs={"kit": kit.id, "not_assessed": not_assessed},
    ).transpose(*night.dims, missing_dims="ignore")


def night_values(night: xr.Dataset, kit: Kit, settings: Settings):
    """
    Return what the combination takes, from a night dataset and a kit.

    Parameters
    ----------
    night : Dataset
        The variables of `NEEDED`.
    kit : Kit
    settings : Settings

    Returns
    -------
    dict of str to DataArray
        By the names of ``combination.INPUTS``, without those that are not assessed.
    list of str
        Factors that are not assessed.
    """
    wet, rain = night["wet_share"], night["rain_per_day"]
    hours = SleepWindow(night.attrs.get("sleep_start", 22), night.attrs.get("sleep_end", 6)).length
    at_work = (kit.pitch_minutes + kit.strike_minutes) / _MINUTES

    def on_wet_days(chance):
        return elementwise(_given, chance, wet, units="1")

    values = {
        "bedtime": night["bedtime_temperature"],
        "coldest": night["coldest_hours_temperature"],
        "ground": night["ground_temperature"],
        "dry_drop": night["dry_night_drop"],
        "sky_cooling": night["fabric_sky_cooling"],
        "bedtime_vapour": night["bedtime_vapour_pressure"],
        "cold_vapour": night["vapour_pressure"],
        "spread": night["night_low_spread"],
        "wet_share": wet,
        "rain": on_wet_days(rain_in_window(wet, rain, hours, kit.rain_threshold_mm)),
        "rain_pitching": on_wet_days(rain_in_window(wet, rain, at_work)),
        "heavy": on_wet_days(heavy_day(rain, wet, settings.heavy_day)),
        "undried": _undried(night, kit, settings),
    }
    if "wind_speed" not in night:
        return values, ["wind"]
    wind = night["wind_speed"]
    limit, awning = kit.wind_limit_m_s, kit.awning
    values["wind"] = 0.0 * wind if limit is None else windier_than(limit, wind)
    values["awning_down"] = (
        0.0 * wind if awning is None else windier_than(awning.wind_limit_m_s, wind)
    )
    return values, []


def _undried(night, kit, settings):
    """Return the chance on a wet day that canvas is still damp: the third wet day on end."""
    run = wet_after_wet(night["wet_share"]) ** 2
    if not kit.canvas:
        return 0.0 * run
    deficit = night["daytime_vapour_deficit"] * settings.wet_day_drying
    return run * (1 - dried_share(deficit, night["daylight_hours"], kit.dry_hours))


def _given(chance, wet):
    """Return a chance given that the day is wet, 0 where no day is."""
    return np.where(wet <= 0, 0.0 * chance, np.minimum(chance / wet, 1.0))


def _quiet(plan, names, details, *arrays):
    """Return the combination of one block; numpy's warnings say nothing that NaN does not."""
    night = dict(zip(names, arrays, strict=True))
    values = (night.get(name) for name in INPUTS)
    with np.errstate(all="ignore"):
        return combined(plan, *values, details=details)


def _require(night, sleepers):
    """Raise ValueError with everything that lacks."""
    lacking = [name for name in NEEDED if name not in night]
    if lacking:
        raise ValueError(f"night: expected {', '.join(lacking)}, got {', '.join(night.data_vars)}")
    if not sleepers:
        raise ValueError("sleepers: expected at least one, got none")
