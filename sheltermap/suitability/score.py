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

from sheltermap.night.daylight import SleepWindow
from sheltermap.night.drying import USABLE_SHARE
from sheltermap.night.rain import heavy_tails
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.blocks import walked
from sheltermap.suitability.combination import DETAILS, explained_by, numbers_of, plan_of
from sheltermap.suitability.kernel import CORE, INPUTS
from sheltermap.suitability.questions import NightNumbers

ONE_IN_20 = 1.645
"""Spreads below the mean that one night in 20 exceeds. [1]"""

VARIABLES = {
    "bedtime": "bedtime_temperature",
    "coldest": "coldest_hours_temperature",
    "ground": "ground_temperature",
    "dry_drop": "dry_night_drop",
    "sky_cooling": "fabric_sky_cooling",
    "bedtime_vapour": "bedtime_vapour_pressure",
    "cold_vapour": "vapour_pressure",
    "spread": "night_low_spread",
    "wet_share": "wet_share",
    "rain": "rain_per_day",
    "vapour_deficit": "daytime_vapour_deficit",
    "daylight": "daylight_hours",
    "wind": "wind_speed",
}
"""Which variable of a night each input of the kernel is; only wind may be absent."""

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
    compared = scores(night, [kit], sleepers, settings=settings, details=details)
    return compared.isel(kit=0, drop=True).assign_attrs(kit=kit.id)


def scores(
    night: xr.Dataset,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper] = (Sleeper(),),
    *,
    settings: Settings | None = None,
    details: bool = True,
    keep: Sequence[str] = CORE,
    engine: str = "auto",
) -> xr.Dataset:
    """
    Return the scores of several kits, which is faster than one after the other.

    Parameters
    ----------
    night : Dataset
        As for `score`.
    kits : sequence of Kit
        At least one.
    sleepers : sequence of Sleeper
    settings : Settings, optional
    details : bool
    keep : sequence of str
        Probabilities to return, out of the five factors and ``sound_share``; a continent
        in many kits needs the memory.
    engine : {"auto", "numpy", "numba"}
        The same to 1e-6; "auto" takes numba, where installed, for large grids in single
        precision without details.

    Returns
    -------
    Dataset
        As from `score`, with a first dimension ``kit`` whose labels are the kits' ids.

    Raises
    ------
    ValueError
        As from `score`.
    """
    settings = settings or Settings()
    _require(night, kits, sleepers)
    values = {name: night[variable] for name, variable in VARIABLES.items() if variable in night}
    hours = SleepWindow(night.attrs.get("sleep_start", 22), night.attrs.get("sleep_end", 6)).length
    plans = [plan_of(kit, sleepers, settings) for kit in kits]
    names = (*keep, "limiting_factor", *(DETAILS if details else ()))
    given = [name for name in INPUTS if name in values]
    kind = np.result_type(*(values[name].dtype for name in ("bedtime", "coldest", "spread")))
    lazy = any(value.chunks is not None for value in values.values())
    results = xr.apply_ufunc(
        partial(
            _walked,
            tuple(given),
            kits=[numbers_of(plan, hours) for plan in plans],
            numbers=NightNumbers(
                clear_sky=settings.clear_sky,
                heat_variance=settings.heat_spread**2,
                drying=settings.wet_day_drying * USABLE_SHARE,
                per_condensation=1 / settings.condensation_spread,
            ),
            tails=heavy_tails(settings.heavy_day),
            keep=tuple(keep),
            explain=[explained_by(plan) for plan in plans] if details else [],
            explained=len(DETAILS) if details else 0,
            engine=engine,
            workers=1 if lazy else None,  # dask has threads of its own
        ),
        *(values[name].astype(kind, copy=False) for name in given),
        output_core_dims=[["kit"]] * len(names),
        join="exact",
        dask="parallelized",
        dask_gufunc_kwargs={"output_sizes": {"kit": len(kits)}},
        output_dtypes=[np.int8 if name == "limiting_factor" else kind for name in names],
    )
    scored = dict(zip(names, results, strict=True))
    low = night["night_low"] - ONE_IN_20 * night["night_low_spread"]
    scored["low_one_in_20"] = low.expand_dims(kit=len(kits))
    return xr.Dataset(
        {
            name: value.assign_attrs(
                {"long_name": _LONG_NAMES[name], "units": _UNITS.get(name, "1")}
            )
            for name, value in scored.items()
        },
        coords={"kit": [kit.id for kit in kits]},
        attrs={"not_assessed": [] if "wind" in values else ["wind"]},
    ).transpose("kit", *night["bedtime_temperature"].dims, ...)


def _walked(names, *arrays, **more):
    """Return the kernel's results for one block, with the kits as the last dimension."""
    night = dict(zip(names, arrays, strict=True))
    results = walked([night.get(name) for name in INPUTS], **more)
    return tuple(np.moveaxis(values, 0, -1) for values in results)


def _require(night, kits, sleepers):
    """Raise ValueError with everything that lacks."""
    needed = [name for name in (*VARIABLES.values(), "night_low") if name != "wind_speed"]
    lacking = [name for name in needed if name not in night]
    if lacking:
        raise ValueError(f"night: expected {', '.join(lacking)}, got {', '.join(night.data_vars)}")
    if not kits or not sleepers:
        raise ValueError("kits and sleepers: expected at least one of each, got none")
