"""All signs of places, from their climate: by day, then in words.

In: the days and months of camps' climate and nights. Out: strengths by day and camp, and the
signs of a place. Assumes monthly means: a mild month has deadly days, so that no sign is no
safety. The levels behind the words are judgement where no source is named.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields
from typing import TypeVar

import numpy as np
import xarray as xr
from scipy.special import ndtr

from sheltermap.air import pressure_at
from sheltermap.dayside import heat_category, wbgt_in_shade, wbgt_in_sun, wind_chill
from sheltermap.hazards.fire import fire_strength
from sheltermap.hazards.pests import biting_evenings, dengue_suits, malaria_suits, tick_days
from sheltermap.hazards.rivers import high_water
from sheltermap.hazards.sign import Sign, Strength
from sheltermap.hazards.sign_kinds import SIGN_KINDS
from sheltermap.hazards.sign_words import altitude_words, sign_words, snow_words
from sheltermap.hazards.snow import CLOSING, DEEP, LYING, RAIN_FROM, snow_shares
from sheltermap.hazards.soil import evapotranspiration, wetness
from sheltermap.hazards.thaw import thaw_days
from sheltermap.spans import runs
from sheltermap.vocabulary import DAYS_IN_MONTH, DAYS_IN_YEAR, Floats, Levels

HEAVY_DAY_MM = 20.0
"""Rain of a day after which water stands. [mm] judgement"""

LEAST_SHARE = 0.10
"""Share of the camps that must have a sign for the place to have it. [1] judgement"""

_LEAST_KNOWN = 0.5  # judgement: share of the camps with data below which nothing is stated.
_HALF = 0.5  # Share of winters, and of the ground's store.
_FULL = 0.9  # Share of the ground's store. judgement
_SURPLUSES = (0.5, 2.0)  # [mm day-1] judgement: what a full store cannot take.
_WET_MONTHS = (130.0, 250.0)  # [mm] judgement: showers leave no time to dry.
_HEAVY_CHANCES = (0.05, 0.15)  # judgement: one day in 20, one day in 7.
_FLASH_CHANCES, _FLASH_RELIEF = (0.006, 0.02), 100.0  # judgement; [m]
_FLASH_SEASON = 1 / 3  # judgement: of the likeliest month's chance; less is the dry season.
_HEAT_CATEGORIES = (2, 4)  # judgement: rest at midday from 2; from 4 work stops.
_FROST_CHANCE = 0.10  # judgement: one night in ten.
_RAW = (-2.0, 8.0)  # [degC] judgement, between sleet and what walking keeps warm.
_RAW_WET_SHARES = (1 / 3, 1 / 2)
_CHILLS = (-28.0, -40.0)  # Environment Canada: frostbite within 30 and within 10 minutes.
_HEIGHTS = (2500.0, 3500.0)  # [m] common practice: high and very high altitude.
_MONTH_DAYS = DAYS_IN_YEAR / 12
_SHORT_BREAK = 21  # [day] judgement: no season ends for so long in the mean of many years.
_SHORTEST_SNOW = 21  # [day] judgement: the roads in the tests close for 46 and more.
_KEPT = ("latitude", "day_of_year")

Labelled = TypeVar("Labelled", xr.Dataset, xr.DataArray)


@dataclass(frozen=True, eq=False)
class ClimateOfCamps:
    """
    What signs are computed from, all along ``cell``.

    Attributes
    ----------
    days, months : Dataset
        The season along ``day`` and along ``month``.
    night : Dataset
        The nights of the days.
    heavy_day : DataArray, dims month and cell
        Chance of more than `HEAVY_DAY_MM` in a day. [1]
    relief : DataArray, dim cell
        Standard deviation of the heights around. [m]
    """

    days: xr.Dataset
    months: xr.Dataset
    night: xr.Dataset
    heavy_day: xr.DataArray
    relief: xr.DataArray


def strengths(climate: ClimateOfCamps) -> xr.Dataset:
    """
    Return how strong each sign is, for every day and camp.

    Parameters
    ----------
    climate : ClimateOfCamps

    Returns
    -------
    Dataset, dims day and cell
        A variable for each kind that could be computed, a `Strength` each, missing where an
        input is; for ``snow-on-the-road`` the shares of winters, with dim ``water``.
    """
    # Bookkeeping with labels would take most of the time, and nothing here goes by them.
    climate = ClimateOfCamps(
        *(_unlabelled(getattr(climate, field.name)) for field in fields(ClimateOfCamps))
    )
    days, months = climate.days, climate.months
    drying = evapotranspiration(days)
    wet = wetness(days, drying)
    found = {
        "snow-on-the-road": snow_shares(days),
        "thaw-mud": thaw_days(days, wet),
        "wet-tracks": _wet_tracks(days, wet, drying),
        "cloudbursts": _flash_floods(climate, wet),
        "heavy-days": _by_day(_steps(climate.heavy_day, *_HEAVY_CHANCES)),
        **{name: _by_day(each) for name, each in _heat(months).items()},
        "frost": _frost(climate.night),
        "cold-and-wet": _cold_and_wet(days),
        "biting-evenings": biting_evenings(climate.night, wet),
        "malaria-climate": _by_day(malaria_suits(months)),
        "dengue-climate": _by_day(dengue_suits(months)),
        "ticks": tick_days(days, drying),
        "fire-weather": _by_day(fire_strength(months)),
        "thin-air": _steps(climate.night["elevation"] + 0.0 * days["air_temperature"], *_HEIGHTS),
    }
    if "wind_speed" in days:
        found["wind-chill"] = _wind_chill(days)
    ordered = {name: found[name] for name in SIGN_KINDS if name in found}
    return xr.Dataset({name: each.reset_coords(drop=True) for name, each in ordered.items()})


def signs_of(found: xr.Dataset, weight: Floats, height: float) -> tuple[Sign, ...]:
    """
    Return the signs of one place.

    Parameters
    ----------
    found : Dataset, dims day and cell
        From `strengths`, of its camps.
    weight : array, shape (cells,)
        Share of the place that each stands for.
    height : float
        Of the camps, for words. [m]

    Returns
    -------
    tuple of Sign
        Of the kinds that hold on some day, in their order.
    """
    signs = []
    for name, each in found.items():
        kind = str(name)
        if kind == "snow-on-the-road":
            shares = each.transpose("water", "day", "cell").values @ weight
            signs += list(_snow_sign(kind, shares, f"at {height:,.0f} m"))
            continue
        strength = _without_gaps(_reached(each.transpose("day", "cell").values, weight))
        if strength.any():
            words = altitude_words(height) if kind == "thin-air" else sign_words(kind, strength)
            signs.append(_sign(kind, strength, words))
    return tuple(signs)


def pass_sign(shares: xr.DataArray, where: str) -> tuple[Sign, ...]:
    """
    Return the sign of snow on the highest point of a place, or none.

    Parameters
    ----------
    shares : DataArray, dims water and day
        From ``snow.snow_shares``.
    where : str
        Height and what it is the highest point of, in words.

    Returns
    -------
    tuple of Sign
    """
    return tuple(_snow_sign("snow-on-the-pass", shares.transpose("water", "day").values, where))


def river_sign(flow: Floats, where: str) -> tuple[Sign, ...]:
    """
    Return the sign of a large river near a place, or none where its flow hardly changes.

    Parameters
    ----------
    flow : array, shape (36,)
        By thirds of months, over its mean. [1]
    where : str
        How far off it runs, in words.

    Returns
    -------
    tuple of Sign
    """
    strength = high_water(flow)
    if not strength.any():
        return ()
    return (_sign("high-river", strength, sign_words("high-river", strength, where)),)


def in_order(signs: Iterable[Sign]) -> tuple[Sign, ...]:
    """Return signs in the order of their kinds."""
    kinds = list(SIGN_KINDS)
    return tuple(sorted(signs, key=lambda sign: kinds.index(sign.kind)))


def _unlabelled(values: Labelled) -> Labelled:
    """Return data without the coordinates that signs have no use for."""
    return values.drop_vars([name for name in values.coords if name not in _KEPT])


def _snow_sign(kind: str, shares: Floats, where: str) -> Iterator[Sign]:
    """Yield the sign of snow where it closes a road in half of the winters on some day."""
    rows = dict(zip((LYING, CLOSING, DEEP), shares, strict=True))
    closed = rows[CLOSING] >= _HALF
    if closed.sum() >= _SHORTEST_SNOW:
        strength = (closed * 1 + (closed & (rows[DEEP] >= _HALF))).astype(np.uint8)
        yield _sign(kind, strength, snow_words(kind, strength, rows[CLOSING], where))


def _sign(kind: str, strength: Levels, words: str) -> Sign:
    about = SIGN_KINDS[kind]
    return Sign(kind, about.title, strength, words, f"{about.basis}", about.caution)


def _reached(values: Floats, weight: Floats) -> Levels:
    """Return the highest strength that enough of the camps reach; none where most lack data."""
    result = np.zeros(len(values), dtype=np.uint8)
    for strength in (Strength.SIGN, Strength.STRONG):
        result[(values >= strength) @ weight >= LEAST_SHARE] = strength
    result[np.isfinite(values) @ weight < _LEAST_KNOWN] = Strength.NONE
    return result


def _without_gaps(strength: Levels) -> Levels:
    """Return strengths with short breaks in a season filled, round New Year."""
    filled = strength.copy()
    for level in (Strength.SIGN, Strength.STRONG):
        holds = strength >= level
        if not holds.any():
            continue
        for first, last in runs(~holds):
            length = (last - first) % DAYS_IN_YEAR + 1
            if length <= _SHORT_BREAK:
                days = np.arange(first, first + length) % DAYS_IN_YEAR
                filled[days] = np.maximum(filled[days], level)
    return filled


def _steps(value: xr.DataArray, sign: float, strong: float) -> xr.DataArray:
    """Return the strength of a value that is worse the higher it is; missing stays missing."""
    return ((value >= sign) * 1.0 + (value >= strong)).where(value.notnull())


def _by_day(monthly: xr.DataArray) -> xr.DataArray:
    """Return months as 365 days."""
    ordered = monthly.transpose("month", ...)
    values = np.repeat(ordered.values, DAYS_IN_MONTH, axis=0)
    return xr.DataArray(values, dims=("day", *ordered.dims[1:]))


def _wet_tracks(days: xr.Dataset, wet: xr.DataArray, drying: xr.DataArray) -> xr.DataArray:
    """Return wet and soaked tracks; frozen ones carry."""
    rain = days["rain_per_day"]
    surplus = (rain - drying).where(wet >= _FULL, -np.inf)
    by_surplus = _steps(surplus, *_SURPLUSES)
    by_rain = _steps(rain * _MONTH_DAYS, *_WET_MONTHS)
    strength = xr.where(by_surplus > by_rain, by_surplus, by_rain)
    return (strength * (days["air_temperature"] > 0.0)).where(wet.notnull() & rain.notnull())


def _flash_floods(climate: ClimateOfCamps, wet: xr.DataArray) -> xr.DataArray:
    likely = climate.heavy_day >= _FLASH_SEASON * climate.heavy_day.max("month")
    chance = _by_day(_steps(climate.heavy_day, *_FLASH_CHANCES) * likely)
    dry_and_steep = (wet < _HALF) & (climate.relief >= _FLASH_RELIEF)
    rains = climate.days["air_temperature"] >= RAIN_FROM
    return (chance * dry_and_steep * rains).where(chance.notnull() & wet.notnull())


def _heat(months: xr.Dataset) -> dict[str, xr.DataArray]:
    midday = (months["air_temperature_max"], months["vapour_pressure"])
    # Where the height is unknown, sea level errs to the safe side: 2 K of wet bulb at 2,500 m.
    shade = wbgt_in_shade(*midday, pressure_at(months["elevation"].fillna(0.0)))
    return {
        "heat-by-day": _steps(heat_category(wbgt_in_sun(*midday)), *_HEAT_CATEGORIES),
        "heat-in-shade": _steps(heat_category(shade), *_HEAT_CATEGORIES),
    }


def _frost(night: xr.Dataset) -> xr.DataArray:
    chance = xr.apply_ufunc(ndtr, -night["night_low"] / night["night_low_spread"])
    frost = chance >= _FROST_CHANCE
    return (frost * 1.0 + (frost & (night["air_temperature_max"] < 0.0))).where(chance.notnull())


def _cold_and_wet(days: xr.Dataset) -> xr.DataArray:
    mean, wet = days["air_temperature"], days["wet_share"]
    raw = (mean >= _RAW[0]) & (mean <= _RAW[1])
    return (_steps(wet, *_RAW_WET_SHARES) * raw).where(mean.notnull() & wet.notnull())


def _wind_chill(days: xr.Dataset) -> xr.DataArray:
    chill = wind_chill(days["air_temperature_min"], days["wind_speed"])
    known = days["air_temperature_min"].notnull() & days["wind_speed"].notnull()
    return _steps(-chill, *(-limit for limit in _CHILLS)).fillna(0.0).where(known)
