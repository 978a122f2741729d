"""Places through the year: their nights in every kit, their hazards, their climate in figures.

In: where a trip sleeps, and its inputs. Out: a Place for each ground, and the nights of all
camps, which remedies and comparisons score again. Assumes that a camp is as likely in one
part of the ground as its weight says, so shares are weighted means. All camps of which the
same is known are scored in one dataset: bookkeeping, not arithmetic, takes the time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from sheltermap.climate.calendar import by_day, by_month
from sheltermap.dates import in_leap_springs
from sheltermap.hazards.findings import findings, not_checked
from sheltermap.hazards.layers import HazardFinding, stated_finding
from sheltermap.hazards.sign import Sign
from sheltermap.hazards.sign_kinds import unlayered
from sheltermap.night.conditions import conditions
from sheltermap.night.daylight import SleepWindow
from sheltermap.places.cells import weighted_mean
from sheltermap.places.climate import place_climates
from sheltermap.places.ground import Camps, Ground
from sheltermap.places.place import NightSeason, Place, PlaceClimate
from sheltermap.places.seasons import seasons_of
from sheltermap.places.signs import signs_of_places
from sheltermap.places.spread import several_climates
from sheltermap.places.words import snow_words
from sheltermap.remembered import remembered
from sheltermap.shelters.kit import Kit
from sheltermap.suitability.shut import BY_DUST, BY_INSECTS
from sheltermap.trip.inputs import Inputs
from sheltermap.trip.model import Leg, Trip
from sheltermap.vocabulary import DAYS_IN_YEAR

_MOST_SCORES = 2000
"""Cells times kits that are scored at once, a year each: bounds the memory of long trips."""

_conditions_of_camps = remembered(size=4)(conditions)
"""Days and months of the trip as it stands, and as it stood before an edit."""


@dataclass(frozen=True, eq=False)
class CampNights:
    """The nights of camps of which the same is known, place after place.

    Attributes
    ----------
    night : Dataset, dims day and cell
        From `nights_of`, with the shares of nights that hazards shut, and ``weight``.
    places : dict of str to slice
        The cells of each place, by its id.
    """

    night: xr.Dataset
    places: dict[str, slice]

    @property
    def weight(self) -> np.ndarray:
        """Return the share of its place that each cell stands for. [0 to 1]"""
        return self.night["weight"].values


def nights_of(
    season: xr.Dataset, trip: Trip, site: str | xr.DataArray | None = None
) -> xr.Dataset:
    """
    Return the nights of a season as a party meets them.

    Parameters
    ----------
    season : Dataset
        From ``calendar.by_day`` or ``by_month``.
    trip : Trip
        Its sleep window, and its settings about wind and valleys.
    site : str or DataArray of str, optional
        One word for the lie of the camp, or one for each camp.

    Returns
    -------
    Dataset
        As from ``conditions``.
    """
    return conditions(season, site=site, **_as_slept(trip))


def _as_slept(trip: Trip) -> dict[str, Any]:
    """Return what a trip tells `conditions` of its sleep, wind and valleys."""
    settings = trip.settings
    return {
        "window": SleepWindow(trip.party.sleep_from, trip.party.sleep_to),
        "valley_drop": settings.valley_drop,
        "night_wind_share": settings.night_wind,
        "open_land_wind": settings.open_land_wind,
    }


def scored_places(
    camps: Camps, inputs: Inputs, kits: Sequence[Kit]
) -> tuple[tuple[Place, ...], tuple[CampNights, ...]]:
    """
    Return every place of a trip with its nights in every kit.

    Parameters
    ----------
    camps : Camps
    inputs : Inputs
    kits : sequence of Kit
        Those that fit.

    Returns
    -------
    tuple of Place
        In the order of the grounds, without the weeks and remedies of a chosen kit, see
        `with_choice`.
    tuple of CampNights
        Each place in one of them.
    """
    places: dict[str, Place] = {}
    nights = []
    for alike in _alike(camps, _MOST_SCORES // len(kits)):
        found, night = _scored_alike(camps, alike, inputs, kits)
        places |= {place.id: place for place in found}
        nights.append(night)
    return tuple(places[ground.id] for ground in camps.grounds), tuple(nights)


def _alike(camps: Camps, most_cells: int) -> Iterator[list[Ground]]:
    """Yield grounds that can be scored together.

    Wind may be known at one camp alone. Joined to the others it would be missing there, and
    a missing value leaves a night unknown where an absent one does not.
    """
    groups: dict[tuple[bool, bool], list[Ground]] = {}
    for ground in camps.grounds:
        stated = ground.leg.wind_m_s is not None
        windy = stated or "wind_speed" in camps.climate or ground.leg.site is not None
        groups.setdefault((stated, windy), []).append(ground)
    for group in groups.values():
        batch: list[Ground] = []
        for ground in group:
            size = sum(one.footprint.weight.size for one in (*batch, ground))
            if batch and size > most_cells:
                yield batch
                batch = []
            batch.append(ground)
        yield batch


def _scored_alike(
    camps: Camps, grounds: Sequence[Ground], inputs: Inputs, kits: Sequence[Kit]
) -> tuple[list[Place], CampNights]:
    """Return the places of some grounds, and the nights of their camps."""
    trip = inputs.trip
    sizes = [ground.footprint.weight.size for ground in grounds]
    ends = np.cumsum(sizes).tolist()
    where = [slice(end - size, end) for size, end in zip(sizes, ends, strict=True)]
    climate = camps.climate.isel(cell=np.concatenate([np.r_[one.cells] for one in grounds]))
    words = np.repeat([ground.leg.site or "" for ground in grounds], sizes)
    site = xr.DataArray(words, dims="cell")
    stated = grounds[0].leg.wind_m_s is not None  # Then all of them state it, see `_alike`.
    if stated:
        climate = climate.assign(wind_speed=_stated_wind(grounds, sizes))
    daily, monthly = by_day(climate), by_month(climate)
    night, night_of_month = (
        _conditions_of_camps(season, site=site, wind_at_camp=stated, **_as_slept(trip))
        for season in (daily, monthly)
    )
    found = [_findings(ground, inputs) for ground in grounds]
    night = night.assign(_shut_nights(found, sizes, trip.settings.dust_nights))
    seasons = seasons_of(
        night, night_of_month, climate, kits, inputs.sleepers, trip.settings, found, where
    )
    climates = place_climates(monthly, night_of_month, trip.party, where)
    signs = signs_of_places(daily, monthly, night, grounds, where)
    not_assessed = () if "wind_speed" in night else ("wind",)
    places = [
        _place(
            ground,
            inputs,
            climate.isel(cell=cells),
            of_place,
            told,
            nights,
            of_months,
            not_assessed,
        )
        for ground, cells, of_place, told, nights, of_months in zip(
            grounds, where, found, signs, seasons, climates, strict=True
        )
    ]
    ids = [ground.id for ground in grounds]
    return places, CampNights(night, dict(zip(ids, where, strict=True)))


def _stated_wind(grounds: Sequence[Ground], sizes: Sequence[int]) -> xr.DataArray:
    """Return the wind that legs state, for each of their cells."""
    winds = np.transpose([ground.leg.wind_m_s for ground in grounds])
    return xr.DataArray(
        np.repeat(winds, sizes, axis=1), dims=("month", "cell"), attrs={"units": "m s-1"}
    )


def _place(
    ground: Ground,
    inputs: Inputs,
    climate: xr.Dataset,
    found: tuple[HazardFinding, ...],
    signs: tuple[Sign, ...],
    seasons: dict[str, NightSeason],
    of_months: PlaceClimate,
    not_assessed: tuple[str, ...],
) -> Place:
    """Return one place, reduced from its cells."""
    leg = ground.leg
    area, camps = ground.extent.area, ground.extent.camps
    centre = area.representative_point() if camps is None else camps.geoms[0]
    correction, spread = _correction(climate)
    computed, unchecked = unlayered(not_checked(inputs.layers, ground.extent, found))
    return Place(
        id=ground.id,
        name=leg.name,
        note=leg.note,
        kind=ground.footprint.kind,
        geometry=area.__geo_interface__,
        latitude=float(centre.y),
        longitude=float(centre.x),
        elevation_m=ground.cell_elevation,
        height=ground.height,
        correction_k=correction,
        correction_spread_k=spread,
        dropped_share=ground.footprint.dropped_share,
        cautions=(
            *ground.cautions,
            *filter(None, [several_climates(climate)]),
            *snow_words(of_months.temperature_mean, of_months.rain_per_month),
        ),
        climate=of_months,
        seasons=seasons,
        weeks=(),
        findings=found,
        not_checked=unchecked,
        not_assessed=not_assessed,
        region=_region_name(leg, inputs),
        signs=signs,
        computed=computed,
    )


def _findings(ground: Ground, inputs: Inputs) -> tuple[HazardFinding, ...]:
    """Return what layers and the trip file say of a place, in this order."""
    leap = in_leap_springs(inputs.trip.departure.earliest, inputs.trip.departure.finish_by)
    stated = [
        stated_finding(
            row.kind,
            row.level,
            row.first,
            row.last,
            row.margin_days,
            row.note,
            row.source,
            leap=leap,
        )
        for row in inputs.trip.hazards
        if ground.leg.name in row.legs
    ]
    return (*findings(inputs.layers, ground.extent, leap=leap), *stated)


def _shut_nights(
    found: Sequence[Sequence[HazardFinding]], sizes: Sequence[int], dust_nights: float
) -> dict[str, xr.DataArray]:
    """Return on which share of each day's nights insects or dust close an open kit.

    A season of biting insects has them every night; dust blows on some nights only. What
    holds in a part that people can avoid closes nothing, and neither do signs.
    """
    shares = {BY_INSECTS: ("biting-insects", 1.0), BY_DUST: ("dust-storm", dust_nights)}
    result = {}
    for name, (kind, share) in shares.items():
        days = np.zeros((DAYS_IN_YEAR, len(sizes)), dtype=bool)
        for place, of_place in enumerate(found):
            for finding in of_place:
                if finding.kind == kind and not finding.part:
                    days[:, place] |= finding.level_by_day > 0
        if days.any():
            by_cell = np.repeat(share * days, sizes, axis=1)
            result[name] = xr.DataArray(by_cell, dims=("day", "cell"))
    return result


def _region_name(leg: Leg, inputs: Inputs) -> str:
    """Return the name of a leg's region; empty where it is none."""
    if leg.region is None:
        return ""
    return str(inputs.region_of(leg)["name"])


def _correction(climate: xr.Dataset) -> tuple[float, float]:
    """Return a place's mean correction for height and its error; 0 where none was made. [K]"""
    weight = climate["weight"].values
    names = ("temperature_correction", "temperature_correction_error")
    if names[0] not in climate:
        return 0.0, 0.0
    correction, error = (
        float(np.nan_to_num(weighted_mean(climate[name].values, weight))) for name in names
    )
    return correction, error
