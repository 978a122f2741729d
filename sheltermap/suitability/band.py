"""How far a share moves with the inputs' errors, the person and the year.

In: the same night, kits and sleepers as a score. Out: what each of them, either way, does to
the share of sound nights. Assumes that they are independent of each other, and that each
moves all nights of a place together. Who bears less cold need not bear less heat.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TypedDict

import numpy as np
import xarray as xr

from sheltermap.air import saturation_vapour_pressure
from sheltermap.climate.error import error_of, stated_error
from sheltermap.night.years import (
    spread_within_year,
    wet_days_of_wet_year,
    yearly_rain_spread,
    yearly_spread,
)
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.people import most_sensitive
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.score import TEMPERATURE_ERROR, scores

DAYS_A_MONTH = 30.4
"""Length of a mean month, for errors stated in days a month. [day]"""

DEWPOINT_ERROR = 2.0
"""Error of its dewpoint. [K] 49 sites, left out in turn."""

WET_SHARE_ERROR = 2.0 / DAYS_A_MONTH
"""Error of its share of wet days. [1] 2.0 days a month, eleven stations."""

CLIMATE = ("temperature", "dewpoint", "wet_days")
"""Errors of the climate data, each one for all nights of a place."""

PERSON = ("cold_sleeper", "heat_sleeper")
"""How people differ, each one for a whole journey."""

YEARS = ("warm_year", "wet_year")
"""How years differ."""

BAD_SIDE = 1.2816
"""Standard deviations beyond which one year in ten lies on one side. [1] Normal."""

SOURCE, SIDE = "source", "side"
"""Dimensions of changes: what moves the share, up and down."""

_SIDES = (1, -1)
_VAPOUR_PER_KELVIN = 0.065  # [K-1] relative change of saturation pressure at 10 to 20 degC
_MOVE = "move"  # dimension along which the night is moved by one error after another
_TEMPERATURES = (
    "bedtime_temperature",
    "coldest_hours_temperature",
    "night_low",
    "ground_temperature",
)


class StatedErrors(TypedDict, total=False):
    """Errors of a climate by the names under which `share_changes` takes them."""

    temperature_error: float | xr.DataArray
    dewpoint_error: float | xr.DataArray
    wet_share_error: float


def share_changes(
    night: xr.Dataset,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper] = (Sleeper(),),
    *,
    settings: Settings | None = None,
    temperature_error: float | xr.DataArray = TEMPERATURE_ERROR,
    dewpoint_error: float | xr.DataArray = DEWPOINT_ERROR,
    wet_share_error: float = WET_SHARE_ERROR,
) -> xr.DataArray:
    """
    Return what one standard error of each kind does to the share of sound nights.

    Parameters
    ----------
    night : Dataset
        From ``night.conditions``.
    kits : sequence of Kit
        At least one.
    sleepers : sequence of Sleeper
    settings : Settings, optional
        Its `person_spread` is how far people differ.
    temperature_error : float or DataArray
        [K] Larger where a camp's altitude was corrected.
    dewpoint_error : float or DataArray
        [K]
    wet_share_error : float
        [1]

    Returns
    -------
    DataArray, first dimensions source, side and kit
        For each of `CLIMATE` and `PERSON`: change of the share with the error up (a
        warmer, moister, wetter climate; people who need it warmer, or cooler) and down. [1]
    """
    settings = settings or Settings()
    errors: StatedErrors = {
        "temperature_error": temperature_error,
        "dewpoint_error": dewpoint_error,
        "wet_share_error": wet_share_error,
    }
    apart = [_off_the_usual(kit, sleepers, settings) for kit in kits]
    found: list[xr.DataArray] = []
    rows: list[int] = []
    # What was learned in one bedding leaves kits with another more open.
    for offsets in dict.fromkeys(apart):
        alike = [row for row, own in enumerate(apart) if own == offsets]
        asked = night, [kits[row] for row in alike], sleepers, settings
        found.append(_changes_of_alike(*asked, offsets, errors))
        rows += alike
    if len(found) == 1:
        return found[0]
    return xr.concat(found, "kit").isel(kit=np.argsort(rows))


def _changes_of_alike(
    night: xr.Dataset,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper],
    settings: Settings,
    offsets: tuple[float, float],
    errors: StatedErrors,
) -> xr.DataArray:
    """Return what `share_changes` does, for kits in which people differ by the same offsets."""
    temperature_error, wet_share_error = errors["temperature_error"], errors["wet_share_error"]
    growth = _VAPOUR_PER_KELVIN * errors["dewpoint_error"]
    moves: list[Mapping[str, xr.DataArray]] = [
        *(_warmer(night, side * temperature_error) for side in _SIDES),
        *(_moister(night, side * growth) for side in _SIDES),
        *(_wetter(night, side * wet_share_error) for side in _SIDES),
    ]
    moves += [
        {name: xr.DataArray(side * apart)}
        for name, apart in zip(("cold_offset", "heat_offset"), offsets, strict=True)
        for side in _SIDES
    ]
    return _changes(night, moves, (*CLIMATE, *PERSON), kits, sleepers, settings)


def year_changes(
    night: xr.Dataset,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper] = (Sleeper(),),
    *,
    settings: Settings | None = None,
    between_years: xr.DataArray | None = None,
) -> xr.DataArray:
    """
    Return what the worst year of ten on either side does to the share of sound nights.

    Parameters
    ----------
    night, kits, sleepers, settings
        As for `share_changes`; nights of months.
    between_years : DataArray, optional
        Standard deviation of a month's mean temperature between years; by default a part of
        the spread of all nights. [K]

    Returns
    -------
    DataArray, first dimensions source, side and kit
        For each of `YEARS`: change of the share in a year `BAD_SIDE` standard deviations
        warmer, or wetter, than the mean, and in one as far below it. [1] A month's warmth
        and its rain depart from their means apart from each other.
    """
    settings = settings or Settings()
    all_nights = night["night_low_spread"]
    if between_years is None:
        between_years, within = yearly_spread(all_nights), spread_within_year(all_nights)
    else:
        within = (all_nights**2 - between_years**2).clip(min=0.0) ** 0.5
    moves: list[Mapping[str, xr.DataArray]] = [
        {**_warmer(night, side * BAD_SIDE * between_years), "night_low_spread": within}
        for side in _SIDES
    ]
    moves += [_rainier(night, side * BAD_SIDE) for side in _SIDES]
    return _changes(night, moves, YEARS, kits, sleepers, settings)


def signed(changes: xr.DataArray, names: Sequence[str], sides: float = 1.0) -> xr.DataArray:
    """
    Return the changes for one standard error up, half the way from one side to the other.

    Parameters
    ----------
    changes : DataArray
        From `share_changes` or `year_changes`.
    names : sequence of str
        Those wanted.
    sides : float
        Standard errors that a side is off the middle. [1]

    Returns
    -------
    DataArray, first dimension source
        [1]
    """
    each = changes.sel({SOURCE: list(names)})
    return (each.isel({SIDE: 0}, drop=True) - each.isel({SIDE: 1}, drop=True)) / (2 * sides)


def share_error(changes: xr.DataArray) -> xr.DataArray:
    """
    Return the standard error of the share of sound nights.

    Parameters
    ----------
    changes : DataArray
        From `share_changes`.

    Returns
    -------
    DataArray, first dimension kit
        What each error, up and down, does to the share, in quadrature. [0 to 1]
    """
    square = (changes**2).sum([SOURCE, SIDE], skipna=False)
    return ((square / 2) ** 0.5).assign_attrs(
        units="1", long_name="standard error of the share of sound nights"
    )


def stated_errors(climate: xr.Dataset) -> StatedErrors:
    """
    Return the errors that a climate states about itself, as `share_changes` takes them.

    Parameters
    ----------
    climate : Dataset
        A climatology with any dimensions, corrected for height or not.

    Returns
    -------
    StatedErrors
        ``temperature_error`` [K] with the error of the correction, ``dewpoint_error`` [K]
        and ``wet_share_error`` [1].
    """
    return {
        "temperature_error": error_of(climate, "air_temperature_min"),
        "dewpoint_error": error_of(climate, "vapour_pressure"),
        "wet_share_error": stated_error(climate["wet_days"]) / DAYS_A_MONTH,
    }


def _off_the_usual(
    kit: Kit, sleepers: Sequence[Sleeper], settings: Settings
) -> tuple[float, float]:
    """
    Return how far the one who decides is from what a share counts, in cold and in heat. [K]

    Root mean square. Of alike sleepers of whom nothing was learned each has an offset of their
    own and the most sensitive decides: one spread between people for one and for two, 1.13 for
    three. Of whom nights taught something, that much is left open; the least known decides.
    """
    alike = Counter(
        (one.preset, one.sleeps_cold, one.bedding) for one in sleepers if one.own is None
    )
    unknown = [
        settings.person_spread * math.hypot(*most_sensitive(count)) for count in alike.values()
    ]
    known = [
        (own.cold(kit.bedding_of(one).label).spread, own.heat.spread)
        for one in sleepers
        if (own := one.own) is not None
    ]
    cold, heat = ([spreads[side] for spreads in known] for side in (0, 1))
    return max(unknown + cold), max(unknown + heat)


def _changes(
    night: xr.Dataset,
    moves: Sequence[Mapping[str, xr.DataArray]],
    names: Sequence[str],
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper],
    settings: Settings,
) -> xr.DataArray:
    """Return what moves of the night change, by name, of which each has two."""
    # Offsets, which nights do not have, are nought where nothing moves them.
    unmoved = {name: night.get(name, xr.DataArray(0.0)) for move in moves for name in move}
    sizes = dict(night["coldest_hours_temperature"].sizes)

    def all_moves(name: str, value: xr.DataArray) -> np.ndarray:
        each = (move.get(name, value).variable.set_dims(sizes) for move in ({}, *moves))
        return np.stack([one.values for one in each])

    # One pass over all of them, stacked by numpy: xarray takes longer to hand nights over, and
    # to put them together, than they to score.
    moved = night.assign(
        {name: ((_MOVE, *sizes), all_moves(name, value)) for name, value in unmoved.items()}
    )
    scored = scores(moved, kits, sleepers, settings=settings, details=False, keep=["sound_share"])
    share = scored.sound_share.transpose(_MOVE, "kit", ...)
    change = share.values[1:] - share.values[0]
    return xr.DataArray(
        change.reshape(len(names), len(_SIDES), *share.shape[1:]),
        {**share.coords, SOURCE: list(names)},
        (SOURCE, SIDE, *share.dims[1:]),
    )


def _warmer(night: xr.Dataset, shift: float | xr.DataArray) -> dict[str, xr.DataArray]:
    """Return the night's temperatures moved together."""
    return {name: night[name] + shift for name in _TEMPERATURES}


def _moister(night: xr.Dataset, growth: float | xr.DataArray) -> dict[str, xr.DataArray]:
    """Return the night's vapour pressures grown, still at most saturation."""
    factor = np.exp(growth)
    return {
        name: (night[name] * factor).clip(max=saturation_vapour_pressure(night[temperature]))
        for name, temperature in (
            ("vapour_pressure", "coldest_hours_temperature"),
            ("bedtime_vapour_pressure", "bedtime_temperature"),
        )
    }


def _wetter(night: xr.Dataset, shift: float | xr.DataArray) -> dict[str, xr.DataArray]:
    """Return the share of wet days moved, still a share, and none where it never rains."""
    wet = night["wet_share"]
    return {"wet_share": xr.where(wet > 0, np.clip(wet + shift, 0.0, 1.0), wet)}


def _rainier(night: xr.Dataset, spreads: float) -> dict[str, xr.DataArray]:
    """Return rain and wet days of a year whose months have more or less rain than the mean."""
    rain, wet_days = (DAYS_A_MONTH * night[name] for name in ("rain_per_day", "wet_share"))
    between = yearly_rain_spread(rain, wet_days, DAYS_A_MONTH)
    more_days = wet_days_of_wet_year(rain, wet_days, DAYS_A_MONTH)
    moved = (rain + spreads * between).clip(min=0.0) / DAYS_A_MONTH
    return {"rain_per_day": moved, **_wetter(night, spreads * more_days / DAYS_A_MONTH)}
