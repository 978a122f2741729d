"""Score: how likely a night is sound, and what spoils it otherwise.

In: the night dataset of ``night.conditions``, a kit, its sleepers. Out: probabilities of
each factor, the share of sound nights, the limiting factor and what explains them, for
every time and place. Assumes nothing about dimensions: one point, a region or a
continent, in memory or on dask, months or days. Which mode the kit is in when, and how
the factors combine, stands in ``suitability.combination``.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import partial
from typing import Any, overload

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from sheltermap.climate.error import stated_error
from sheltermap.night.daylight import SleepWindow
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.blocks import walked
from sheltermap.suitability.combination import night_numbers_of
from sheltermap.suitability.kernel import CORE, DETAILS, Nights, limiting_factor
from sheltermap.suitability.numbers import NightNumbers
from sheltermap.suitability.shut import BY_DUST, BY_INSECTS, ShutKit, kit_scores, shut_kit
from sheltermap.vocabulary import FACTORS

TEMPERATURE_ERROR = 1.9
"""Error of a night temperature of the embedded climatology. [K] Eleven stations."""

ONE_IN_20 = 1.645
"""Spreads below the mean that one night in 20 exceeds. [1]"""

INPUTS = {
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
    "cold_offset": "cold_offset",
    "heat_offset": "heat_offset",
}
"""Which variable of a night each input of ``kernel.Nights`` is.

The error of the low comes from `low_error`."""

OPTIONAL = ("wind_speed", "cold_offset", "heat_offset")
"""Those of them that may be absent: wind is then not assessed, sleepers are as usual."""

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
    "cold_danger_margin": "warmth to spare on a mean dry night before the cold endangers",
    "heat_danger_margin": "coolness to spare at a mean dry bedtime before heat endangers",
    "warmest_bedtime": "outside air temperature below which half fall asleep",
    "low_one_in_20": "night low that one night in 20 goes below",
}
_UNITS = {
    "cold_margin": "K",
    "heat_margin": "K",
    "cold_danger_margin": "K",
    "heat_danger_margin": "K",
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
        From ``night.conditions``; any dimensions, numpy or dask. With the shares of
        ``suitability.shut`` where hazards close kits on some nights.
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

    Examples
    --------
    Around the coldest inhabited valleys, a night of January in a tent:

    >>> import sheltermap
    >>> climatology = sheltermap.world_climatology((142.0, 63.0, 143.0, 64.0))
    >>> january = sheltermap.conditions(sheltermap.by_month(climatology)).sel(month=1)
    >>> scored = score(january, sheltermap.load_kits()["ground-tent"], [Sleeper()])
    >>> scored.sound_share.dims, {FACTORS[factor] for factor in scored.limiting_factor.values.flat}
    (('latitude', 'longitude'), {'cold'})
    """
    compared = scores(night, [kit], sleepers, settings=settings, details=details)
    return compared.isel(kit=0, drop=True).assign_attrs(kit=kit.id)


def scores(
    night: xr.Dataset,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper] | Sequence[Sequence[Sleeper]] = (Sleeper(),),
    *,
    settings: Settings | None = None,
    details: bool = True,
    keep: Sequence[str] | None = None,
) -> xr.Dataset:
    """
    Return the scores of several kits, which is faster than one after the other.

    Parameters
    ----------
    night : Dataset
        As for `score`.
    kits : sequence of Kit
        At least one.
    sleepers : sequence of Sleeper, or one such sequence for each kit
        Everyone who sleeps in it; the same for all kits, or each kit's own.
    settings : Settings, optional
    details : bool
    keep : sequence of str, optional
        What to return, out of ``kernel.CORE`` and ``kernel.DETAILS``, instead of all that
        `details` asks for; a continent in many kits needs the memory.

    Returns
    -------
    Dataset
        As from `score`, with a first dimension ``kit`` whose labels are the kits' ids.

    Raises
    ------
    ValueError
        As from `score`.

    Examples
    --------
    >>> import sheltermap
    >>> climatology = sheltermap.world_climatology((28.0, 40.0, 29.0, 41.0))
    >>> night = sheltermap.conditions(sheltermap.by_month(climatology))
    >>> kits = sheltermap.load_kits()
    >>> compared = scores(night, [kits["bedroll"], kits["roof-tent"]], details=False)
    >>> compared.sound_share.dims, compared.kit.values.tolist()
    (('kit', 'month', 'latitude', 'longitude'), ['bedroll', 'roof-tent'])
    """
    settings = settings or Settings()
    _require(night, kits, sleepers)
    given = _given(night)
    names = keep or (*CORE, *(DETAILS if details else ()))
    results = _kinds(given, names)
    lazy = any(value.chunks is not None for value in given.values())
    found = xr.apply_ufunc(
        partial(
            _walked,
            tuple(given),
            kits=_shut_kits(kits, sleepers, settings, night),
            numbers=night_numbers_of(settings),
            details=[name for name in names if name in DETAILS],
            results=results,
            workers=1 if lazy else None,  # dask has threads of its own
        ),
        *given.values(),
        output_core_dims=[["kit"]] * len(results),
        join="exact",
        dask="parallelized",
        dask_gufunc_kwargs={"output_sizes": {"kit": len(kits)}},
        output_dtypes=list(results.values()),
    )
    low = night["night_low"] - ONE_IN_20 * night["night_low_spread"]
    scored = dict(zip(results, found, strict=True))
    scored["low_one_in_20"] = low.expand_dims(kit=len(kits))
    labelled = xr.Dataset(
        {name: _labelled(name, value) for name, value in scored.items()},
        coords={"kit": [kit.id for kit in kits]},
        attrs={"not_assessed": [] if "wind" in given else ["wind"]},
    )
    return labelled.transpose("kit", *night["bedtime_temperature"].dims, ...)


def _given(night: xr.Dataset) -> dict[str, xr.DataArray]:
    """Return what there is of a night, by the names that its arithmetic has for it."""
    given = {name: night[variable] for name, variable in INPUTS.items() if variable in night}
    given["low_error"] = low_error(night)
    return given | {name: night[name] for name in _shares(night)}


def _shares(night: xr.Dataset) -> list[str]:
    """Return the shares of nights by which hazards shut a kit, those there are."""
    return [name for name in (BY_INSECTS, BY_DUST) if name in night]


def _shut_kits(
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper] | Sequence[Sequence[Sleeper]],
    settings: Settings,
    night: xr.Dataset,
) -> list[ShutKit]:
    """Return kits with who sleeps in each, open and shut."""
    hours = SleepWindow(night.attrs.get("sleep_start", 22), night.attrs.get("sleep_end", 6)).length
    return [
        shut_kit(kit, party, settings, hours, _shares(night))
        for kit, party in zip(kits, parties(kits, sleepers), strict=True)
    ]


def parties(
    kits: Sequence[Kit], sleepers: Sequence[Sleeper] | Sequence[Sequence[Sleeper]]
) -> list[Sequence[Sleeper]]:
    """Return who sleeps in each kit, as `scores` takes its sleepers."""
    own = [party for party in sleepers if not isinstance(party, Sleeper)]
    if own:
        return own
    return [[one for one in sleepers if isinstance(one, Sleeper)]] * len(kits)


def _kinds(given: Mapping[str, xr.DataArray], names: Sequence[str]) -> dict[str, np.dtype]:
    """Return results to find with their types: as the nights come, though worked out in double."""
    kind = np.result_type(*(given[name].dtype for name in ("bedtime", "coldest", "spread")))
    return {**dict.fromkeys(names, kind), "limiting_factor": np.dtype(np.int8)}


def _labelled(name: str, value: xr.DataArray) -> xr.DataArray:
    """Return a result that says what it is."""
    return value.assign_attrs(long_name=_LONG_NAMES[name], units=_UNITS.get(name, "1"))


def low_error(night: xr.Dataset) -> xr.DataArray:
    """
    Return the standard error of a night's mean low.

    Parameters
    ----------
    night : Dataset
        As for `score`; ``low_error`` and ``temperature_correction_error`` [K] where known.

    Returns
    -------
    DataArray
        [K] The first, else what the low's ``uncertainty`` states, with the second.
    """
    stated = stated_error(night["night_low"])
    error = night.get("low_error", xr.DataArray(TEMPERATURE_ERROR if np.isnan(stated) else stated))
    of_height = night.get("temperature_correction_error", xr.DataArray(0.0))
    return in_quadrature(error, of_height.fillna(0.0))


@overload
def in_quadrature(one: float, other: float) -> float: ...
@overload
def in_quadrature(one: xr.DataArray | float, other: xr.DataArray) -> xr.DataArray: ...
def in_quadrature(one: Any, other: Any) -> Any:
    """Return the error that two independent errors make together, in their units."""
    return xr.apply_ufunc(np.hypot, one, other, dask="allowed", keep_attrs=True)


def _walked(
    names: Sequence[str],
    *arrays: NDArray,
    kits: Sequence[ShutKit],
    numbers: NightNumbers,
    details: Collection[str],
    results: Mapping[str, np.dtype],
    workers: int | None,
) -> tuple[NDArray, ...]:
    """Return the kits' results, in the order of `results`, with the kits as last dimension."""

    def scored(block: Mapping[str, NDArray]) -> Iterator[dict[str, NDArray]]:
        nights = Nights(block, numbers)
        for kit in kits:
            found = kit_scores(nights, block, kit, details)
            factor = limiting_factor([found[name] for name in FACTORS], found["sound_share"])
            yield {**found, "limiting_factor": factor}

    given = dict(zip(names, arrays, strict=True))
    found = walked(scored, given, len(kits), results, workers)
    return tuple(np.moveaxis(values, 0, -1) for values in found.values())


def _require(
    night: xr.Dataset,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper] | Sequence[Sequence[Sleeper]],
) -> None:
    """Raise ValueError with everything that lacks."""
    needed = [name for name in (*INPUTS.values(), "night_low") if name not in OPTIONAL]
    lacking = [name for name in needed if name not in night]
    if lacking:
        got = ", ".join(map(str, night.data_vars))
        raise ValueError(f"night: expected {', '.join(lacking)}, got {got}")
    if not kits or not sleepers:
        raise ValueError("kits and sleepers: expected at least one of each, got none")
