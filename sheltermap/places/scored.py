"""A place through the year: its nights in every kit, its hazards, its climate in figures.

In: the ground of a leg and the trip's inputs. Out: a Place for the report, with what the
planner and the remedies need beside it. Assumes that a camp is as likely in one part of
the ground as its weight says, so shares are weighted means.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import xarray as xr

from sheltermap.climate.calendar import by_day, by_month
from sheltermap.hazards.climatic import HEAVY_DAY_MM, computed_findings, computed_levels
from sheltermap.hazards.findings import binding_levels, findings, not_checked
from sheltermap.hazards.kinds import NET
from sheltermap.hazards.layers import HazardFinding, stated_finding
from sheltermap.hazards.spans import prolonged, span_days
from sheltermap.night.conditions import conditions
from sheltermap.night.daylight import SleepWindow
from sheltermap.night.rain import heavy_day
from sheltermap.places.cells import grade_shares, weighted_mean, weighted_quantile
from sheltermap.places.climate import place_climate
from sheltermap.places.errors import Doubts, doubts
from sheltermap.places.ground import Ground
from sheltermap.places.place import NightSeason, Place
from sheltermap.places.spread import several_climates
from sheltermap.places.weeks import weeks
from sheltermap.places.words import kit_words, snow_words
from sheltermap.shelters.kit import Kit
from sheltermap.suitability.grade import (
    close_call,
    grade,
    grade_probability,
    under_hazard,
)
from sheltermap.suitability.remedy import Candidate, candidates
from sheltermap.suitability.shut import (
    BY_DUST,
    BY_INSECTS,
    limiting_factor,
    score_with_shut,
)
from sheltermap.trip.inputs import Inputs
from sheltermap.trip.model import Leg, Trip
from sheltermap.vocabulary import DAYS_IN_MONTH, DAYS_IN_YEAR, FACTORS

_MEANS = (
    *FACTORS,
    "sound_share",
    "dangerous",
    "low_one_in_20",
    "cold_margin",
    "heat_margin",
    "dew_outside",
)
"""Of a kit's scores, those whose mean over a place is shown."""


@dataclass(frozen=True, eq=False)
class ScoredPlace:
    """A Place with what the later steps need beside it.

    Attributes
    ----------
    place : Place
    doubts : dict of str to Doubts
        By kit: how far its share can be trusted.
    remedies : tuple of Candidate
        For the chosen kit, along ``day``; empty before the choice.
    not_assessed : tuple of str
        Factors left out of every share.
    night : Dataset, dims day and cell
    weight : DataArray, dim cell
    month_share : dict of str to DataArray, dims month and cell
        By kit: share of sound nights in each camp.
    margin : dict of str to dict of str to array, shape (365,)
        By kit and ``cold`` or ``heat``: what a mean dry night leaves to spare; negative
        is beyond the limit. [K]
    dew : dict of str to array, shape (365,)
        By kit: probability that outside air alone wets it on a dry night. [0 to 1]
    """

    place: Place
    doubts: dict[str, Doubts]
    remedies: tuple[Candidate, ...]
    not_assessed: tuple[str, ...]
    night: xr.Dataset
    weight: xr.DataArray
    month_share: dict[str, xr.DataArray]
    margin: dict[str, dict[str, np.ndarray]]
    dew: dict[str, np.ndarray]


def protections(kit: Kit) -> tuple[str, ...]:
    """
    Return what a kit has that may shield from hazards.

    Parameters
    ----------
    kit : Kit

    Returns
    -------
    tuple of str
        Its exposure, and ``net`` where it keeps insects off the sleepers.

    Examples
    --------
    >>> from sheltermap.shelters.kit import load_kits
    >>> protections(load_kits()["ground-tent"])
    ('ground', 'net')
    """
    return (kit.exposure, NET) if kit.mesh else (kit.exposure,)


def nights_of(season: xr.Dataset, trip: Trip, site: str | None = None) -> xr.Dataset:
    """
    Return the nights of a season as a party meets them.

    Parameters
    ----------
    season : Dataset
        From ``calendar.by_day`` or ``by_month``.
    trip : Trip
        Its sleep window, and its settings about wind and valleys.
    site : str, optional
        One word for the lie of the camp.

    Returns
    -------
    Dataset
        As from ``conditions``.
    """
    settings = trip.settings
    return conditions(
        season,
        SleepWindow(trip.party.sleep_from, trip.party.sleep_to),
        site,
        valley_drop=settings.valley_drop,
        night_wind_share=settings.night_wind,
        open_land_wind=settings.open_land_wind,
    )


def scored_place(ground: Ground, inputs: Inputs, kits: Sequence[Kit]) -> ScoredPlace:
    """
    Return a place with its nights in every kit.

    Parameters
    ----------
    ground : Ground
    inputs : Inputs
    kits : sequence of Kit
        Those that fit.

    Returns
    -------
    ScoredPlace
        Without the weeks and remedies of a chosen kit, see `with_choice`.
    """
    trip, leg = inputs.trip, ground.leg
    weight = ground.climate["weight"]
    daily, monthly = by_day(ground.climate), by_month(ground.climate)
    night = nights_of(daily, trip, leg.site)
    night_of_month = nights_of(monthly, trip, leg.site)
    found = _findings(ground, inputs, monthly, night_of_month, weight)
    unchecked = not_checked(inputs.layers, ground.extent, found)
    night = night.assign(_shut_nights(found, trip.settings.dust_nights))
    doubted = doubts(night_of_month, kits, inputs, ground.climate, weight)
    seasons, month_share, margin, dew, not_assessed = {}, {}, {}, {}, ()
    for kit in kits:
        scores = score_with_shut(night, kit, inputs.sleepers, settings=trip.settings)
        not_assessed = tuple(scores.attrs["not_assessed"])
        mean = weighted_mean(scores[[*_MEANS]], weight)
        month_share[kit.id] = _by_month(scores["sound_share"])
        margin[kit.id] = {factor: mean[f"{factor}_margin"].values for factor in ("cold", "heat")}
        dew[kit.id] = mean["dew_outside"].values
        seasons[kit.id] = _season(
            mean,
            scores["sound_share"],
            month_share[kit.id],
            weight,
            doubted[kit.id].grade,
            *binding_levels(found, protections(kit)),
        )
    of_months = place_climate(monthly, night_of_month, weight, trip.party)
    camps = ground.extent.camps
    centre = ground.extent.area.representative_point() if camps is None else camps.geoms[0]
    correction = _correction(ground, weight)
    place = Place(
        id=ground.id,
        name=leg.name,
        note=leg.note,
        kind=ground.footprint.kind,
        geometry=ground.extent.area.__geo_interface__,
        latitude=float(centre.y),
        longitude=float(centre.x),
        elevation_m=ground.cell_elevation,
        camp_elevation_m=leg.camp_elevation_m,
        correction_k=correction[0],
        correction_spread_k=correction[1],
        dropped_share=ground.footprint.dropped_share,
        cautions=(
            *ground.cautions,
            *filter(None, [several_climates(ground.climate)]),
            *snow_words(of_months.temperature_mean, of_months.rain),
        ),
        climate=of_months,
        seasons=seasons,
        weeks=(),
        findings=found,
        not_checked=unchecked,
        region=_region_name(leg, inputs),
    )
    return ScoredPlace(
        place=place,
        doubts=doubted,
        remedies=(),
        not_assessed=not_assessed,
        night=night,
        weight=weight,
        month_share=month_share,
        margin=margin,
        dew=dew,
    )


def with_choice(
    scored: ScoredPlace, visits: Sequence[Ground], inputs: Inputs, kit: Kit
) -> ScoredPlace:
    """
    Return a scored place with the weeks and the remedies of the chosen kit.

    Parameters
    ----------
    scored : ScoredPlace
    visits : sequence of Ground
        Every leg in the place.
    inputs : Inputs
    kit : Kit

    Returns
    -------
    ScoredPlace
    """
    ground = visits[-1]
    trip, leg, weight = inputs.trip, ground.leg, scored.weight
    remedies = tuple(
        replace(
            candidate,
            sound_share=weighted_mean(candidate.sound_share, weight),
            gain=weighted_mean(candidate.gain, weight),
        )
        for candidate in candidates(
            scored.night,
            kit,
            inputs.sleepers,
            settings=trip.settings,
            addons=dict(inputs.addons),
            carries=trip.vehicle.carries,
            room_price=trip.money.room_price if leg.room_price is None else leg.room_price,
        )
    )
    place = scored.place
    found = weeks(
        place.seasons[kit.id],
        place.findings,
        place.not_checked,
        remedies,
        np.all([_closed_days(visit.leg) for visit in visits], axis=0),
    )
    cautions = (
        *place.cautions,
        *kit_words(
            kit,
            scored.month_share[kit.id],
            ground.climate.get("elevation", weight * np.nan),
            weight,
            {name: _month_means(margin) for name, margin in scored.margin[kit.id].items()},
            _month_means(scored.dew[kit.id]),
        ),
    )
    return replace(scored, place=replace(place, weeks=found, cautions=cautions), remedies=remedies)


def _findings(ground: Ground, inputs: Inputs, monthly, night, weight) -> tuple[HazardFinding, ...]:
    """Return what layers, the trip file and the climate say of a leg, in this order."""
    stated = [
        stated_finding(
            row.kind, row.level, row.first, row.last, row.margin_days, row.note, row.source
        )
        for row in inputs.trip.hazards
        if ground.leg.name in row.legs
    ]
    heavy = heavy_day(monthly["rain_per_day"], monthly["wet_share"], HEAVY_DAY_MM)
    computed = computed_findings(computed_levels(monthly, night, heavy), weight)
    return (*findings(inputs.layers, ground.extent), *stated, *computed)


def _shut_nights(found: Sequence[HazardFinding], dust_nights: float) -> dict[str, xr.DataArray]:
    """Return on which share of each day's nights insects or dust close an open kit.

    A season of biting insects has them every night; dust blows on some nights only. What
    was computed, or holds in a part that people can avoid, closes nothing.
    """
    shares = {BY_INSECTS: ("biting-insects", 1.0), BY_DUST: ("dust-storm", dust_nights)}
    result = {}
    for name, (kind, share) in shares.items():
        binding = [f.level_by_day for f in found if f.kind == kind and not (f.computed or f.part)]
        days = np.any(np.reshape(binding, (-1, DAYS_IN_YEAR)), axis=0)
        if days.any():
            result[name] = xr.DataArray(share * days, dims="day")
    return result


def _by_month(daily: xr.DataArray) -> xr.DataArray:
    """Return the means of the months of daily values."""
    month = xr.DataArray(np.repeat(np.arange(1, 13), DAYS_IN_MONTH), dims="day", name="month")
    return daily.groupby(month).mean()


def _month_means(daily: np.ndarray) -> np.ndarray:
    """Return the means of the months of 365 values."""
    return _by_month(xr.DataArray(daily, dims="day")).values


def _season(mean, share, month_share, weight, error, level, hazard) -> NightSeason:
    """Return one kit's nights at a place, reduced from its cells."""
    mean = {name: mean[name].values for name in _MEANS}
    climate_grade = grade(mean["sound_share"])
    return NightSeason(
        sound_share=mean["sound_share"],
        sound_share_median=weighted_quantile(share, weight, 0.5).values,
        sound_share_worst_tenth=weighted_quantile(share, weight, 0.1).values,
        **{name: mean[name] for name in FACTORS},
        dangerous=mean["dangerous"],
        low_one_in_20=mean["low_one_in_20"],
        limiting_factor=limiting_factor(
            np.stack([mean[name] for name in FACTORS]), mean["sound_share"]
        ),
        climate_grade=climate_grade,
        grade=under_hazard(climate_grade, level),
        grade_probability=grade_probability(mean["sound_share"], error),
        close=close_call(mean["sound_share"], error),
        hazard_level=level,
        hazard=hazard,
        grade_shares=grade_shares(month_share, weight).values,
    )


def _region_name(leg: Leg, inputs: Inputs) -> str:
    """Return the name of a leg's region; empty where it is none."""
    if leg.region is None:
        return ""
    regions = inputs.regions
    return str(regions.loc[regions["id"] == leg.region, "name"].iloc[0])


def _correction(ground: Ground, weight) -> tuple[float, float]:
    """Return the mean correction for height and its error. [K]"""
    names = ("temperature_correction", "temperature_correction_error")
    if names[0] not in ground.climate:
        return 0.0, 0.0
    correction, error = (float(weighted_mean(ground.climate[name], weight)) for name in names)
    return correction, error


def _closed_days(leg: Leg) -> np.ndarray:
    """Return the days on which the trip file closes a leg every year, and keeps it free after."""
    yearly = [span for span in leg.closed if isinstance(span.first, str)]
    days = np.zeros(DAYS_IN_YEAR, dtype=bool)
    for span in yearly:
        days |= prolonged(span_days(f"{span.first}..{span.last}"), span.margin_days)
    return days
