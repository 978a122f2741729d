"""Twelve months of nights at one place: an answer that needs no trip file.

In: a place, a kit, who sleeps in it, a height. Out: the ``night`` contract. Assumes the nearest
climate cell stands for the place.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import xarray as xr
from pydantic import ValidationError

from sheltermap.climate.altitude import at_elevation
from sheltermap.climate.calendar import by_month
from sheltermap.climate.error import error_of
from sheltermap.climate.grid import NEAREST_LIMIT, box_around, cells, point
from sheltermap.climate.heights import heights_at
from sheltermap.climate.own import own_climatology
from sheltermap.climate.world import embedded, world_climatology
from sheltermap.dayside import heat_category, wbgt_in_sun
from sheltermap.distance import great_circle
from sheltermap.hazards.kinds import HAZARD_KINDS
from sheltermap.hazards.sign import Sign
from sheltermap.hazards.sign_kinds import unlayered
from sheltermap.night.conditions import conditions
from sheltermap.places.camp_height import CampHeight, of_map
from sheltermap.places.hot_hours import hot_hours
from sheltermap.places.relief import around, height_doubts
from sheltermap.places.rivers import river_near
from sheltermap.places.signs import signs_at
from sheltermap.report.kit_list import known_kit
from sheltermap.report.night_months import (
    CAUTION,
    NightMonths,
    estimated,
    months,
    night_cautions,
    number,
)
from sheltermap.report.other_height import OtherHeight, height_cautions, other_heights
from sheltermap.shelters.kit import BEDDING_WORDS, Kit, Sleeper
from sheltermap.suitability.band import share_changes, share_error, stated_errors
from sheltermap.suitability.candidates import Candidate, candidates, room
from sheltermap.suitability.grade import close_call, grade
from sheltermap.suitability.remedy import Stretch, advice
from sheltermap.suitability.score import score
from sheltermap.validation import did_you_mean, shown
from sheltermap.vocabulary import DAYS_IN_MONTH, FACTORS, Floats, InputError, Problem

_BOX_DEGREES = 1.5


@dataclass(frozen=True)
class Camp:
    """
    Where and how somebody sleeps.

    Attributes
    ----------
    latitude, longitude : float
        [degrees]
    elevation_m : float or None
        As stated; None is read from the embedded map, else the cell's. [m]
    site : str or None
        One of `vocabulary.SITES`.
    sleeper : Sleeper
    name : str or None
        As the list of places has it.
    doubt : str
        Which other places are called so; empty where none is.
    """

    latitude: float
    longitude: float
    elevation_m: float | None = None
    site: str | None = None
    sleeper: Sleeper = field(default_factory=Sleeper)
    name: str | None = None
    doubt: str = ""


def sleeper(bedding: str | None, *, cold: bool) -> Sleeper:
    """
    Return who sleeps, as options say it.

    Parameters
    ----------
    bedding : str or None
        A word of ``shelters.kit.BEDDING_WORDS`` or a comfort temperature [degC]; None leaves
        the kit's own.
    cold : bool
        Whether they sleep colder than most.

    Returns
    -------
    Sleeper

    Raises
    ------
    InputError
        If the bedding is neither a word nor a temperature that bedding is tested to.

    Examples
    --------
    >>> sleeper("-5", cold=False).bedding.comfort_c
    -5.0
    """
    try:
        stated: str | float | None = float(bedding) if bedding is not None else None
    except ValueError:
        stated = bedding
    try:
        return Sleeper.model_validate({"bedding": stated, "cold_sleeper": cold})
    except ValidationError:
        expected = f"{', '.join(BEDDING_WORDS)} or a comfort temperature, -60 to 25 [degC]"
        mend = did_you_mean(str(bedding), BEDDING_WORDS, "Look at the bedding's label.")
        raise InputError([Problem("", "--bedding", expected, shown(bedding), mend)]) from None


@dataclass(frozen=True, eq=False)
class _Scored:
    """A camp's climate, nights and scores by month, along ``height`` where one is known."""

    climate: xr.Dataset
    season: xr.Dataset
    night: xr.Dataset
    scores: xr.Dataset

    def at(self, height: int) -> _Scored:
        """Return the same at one of the heights."""
        parts = (self.climate, self.season, self.night, self.scores)
        return _Scored(*(part.isel(height=height, missing_dims="ignore") for part in parts))


def twelve_months(
    camp: Camp, kit_id: str, climate: Path | None = None, files: Sequence[Path] = ()
) -> dict:
    """
    Return what the nights of a year are like at one place.

    Parameters
    ----------
    camp : Camp
    kit_id : str
        A shipped kit, or one of `files`.
    climate : path, optional
        A climatology in our form; the embedded one by default.
    files : sequence of path
        Users' kit files.

    Returns
    -------
    dict
        As DEVELOPERS.md lists it: numbers, strings, None where an input is missing.

    Raises
    ------
    InputError
        If the kit is unknown or no climate cell lies near.
    """
    kit = known_kit(kit_id, files)
    # What belongs to one place has the same months throughout: they are compared, not matched.
    with xr.set_options(arithmetic_join="exact"):
        return _answer(camp, kit, climate)


def _answer(camp: Camp, kit: Kit, climate: Path | None) -> dict:
    """Return what `twelve_months` does, of a kit."""
    climatology, nearest = _country(camp.latitude, camp.longitude, climate)
    ground = heights_at(camp.latitude, camp.longitude)
    mapped = of_map(ground["camp_elevation"], ground["camp_elevation_error"])
    height = _camp_height(camp, mapped, nearest)
    others = list(other_heights(height, mapped))
    at_heights = _scored(camp, kit, [height, *others], nearest)
    scored = at_heights.at(0)
    cell, nights = scored.climate, _night_months(camp, kit, scored)
    computed, unchecked = unlayered(HAZARD_KINDS)
    elsewhere = [_elsewhere(other, at_heights.at(row)) for row, other in enumerate(others, 1)]
    return {
        "latitude": camp.latitude,
        "longitude": camp.longitude,
        "leg": None,
        "place": camp.name,
        "elevation_m": number(height.elevation_m),
        "elevation_error_m": height.error_m,
        "elevation_basis": height.basis,
        "other_heights": [other.as_data for other in elsewhere],
        "kit": kit.id,
        "climatology": {
            "source": climatology.attrs.get("source", ""),
            "period": climatology.attrs.get("period", ""),
            "estimated": list(estimated(cell)),
        },
        "cell": {
            "latitude": float(cell["latitude"]),
            "longitude": float(cell["longitude"]),
            "distance_km": round(float(cell["distance"]), 1),
            "temperature_correction_k": number(cell.get("temperature_correction", 0.0)),
        },
        "not_assessed": list(scored.scores.attrs["not_assessed"]),
        "signs": [sign.record for sign in _signs(camp, cell, ground)],
        "computed": list(computed),
        "not_checked": list(unchecked),
        "doubts": [*filter(None, [camp.doubt]), *_height_doubts(camp, nearest, climatology)],
        "cautions": [*night_cautions(nights), *height_cautions(height, mapped, nights, elsewhere)],
        "caution": CAUTION,
        "months": months(nights),
    }


def _scored(camp: Camp, kit: Kit, heights: Sequence[CampHeight], nearest: xr.Dataset) -> _Scored:
    """Return a camp's nights at its height, and at others of the same ground."""
    cell = nearest
    if heights[0].basis != "cells":
        elevation = xr.DataArray([each.elevation_m for each in heights], dims="height")
        error = xr.DataArray([each.error_m or 0.0 for each in heights], dims="height")
        cell = at_elevation(nearest, elevation, error)
    season = by_month(cell)
    night = conditions(season, site=camp.site)
    return _Scored(cell, season, night, score(night, kit, (camp.sleeper,)))


def _elsewhere(height: CampHeight, scored: _Scored) -> OtherHeight:
    """Return what is told of the camp at another height."""
    return OtherHeight(
        height.elevation_m,
        scored.night["night_low"].values,
        scored.scores["sound_share"].values,
    )


def _night_months(camp: Camp, kit: Kit, scored: _Scored) -> NightMonths:
    """Return a camp's months as arrays."""
    cell, night, scores = scored.climate, scored.night, scored.scores
    share = scores["sound_share"]
    changes = share_changes(night, [kit], (camp.sleeper,), **stated_errors(cell))
    error = share_error(changes).isel(kit=0, drop=True)
    found = [*candidates(night, kit, (camp.sleeper,)), _room(scores)]
    midday = wbgt_in_sun(scored.season["air_temperature_max"], scored.season["vapour_pressure"])
    hot_from, hot_to = hot_hours(
        cell["air_temperature_min"].values,
        cell["air_temperature_max"].values,
        scored.season["vapour_pressure"].values,
        night["daylight_hours"].values,
    )
    assessed = [name for name in FACTORS if name not in scores.attrs["not_assessed"]]
    low_error, high_error = (
        (xr.zeros_like(cell[name]) + error_of(cell, name)).values
        for name in ("air_temperature_min", "air_temperature_max")
    )
    return NightMonths(
        figures={
            "temperature_mean_c": cell["air_temperature"].values,
            "temperature_min_c": cell["air_temperature_min"].values,
            "temperature_max_c": cell["air_temperature_max"].values,
            "temperature_min_error_k": low_error,
            "temperature_max_error_k": high_error,
            "night_low_spread_k": cell["night_low_spread"].values,
            "dewpoint_c": night["dewpoint"].values,
            "rain_mm": cell["rainfall"].values,
            "wet_days": cell["wet_days"].values,
            "bedtime_temperature_c": night["bedtime_temperature"].values,
            "night_low_c": night["night_low"].values,
            "low_one_in_20_c": scores["low_one_in_20"].values,
            "rain_in_sleep_window": night["rain_in_window"].values,
            "hot_from_h": hot_from,
            "hot_to_h": hot_to,
        },
        risks={name: scores[name].values for name in assessed},
        sound_share=share.values,
        dangerous=scores["dangerous"].values,
        heat_category=heat_category(midday).values,
        limiting_factor=scores["limiting_factor"].values,
        grade=grade(share).values,
        close=close_call(share.values, error.values),
        margins={
            factor: (scores[f"{factor}_margin"].values, scores[f"{factor}_danger_margin"].values)
            for factor in ("cold", "heat")
        },
        remedy=_remedies(share.values, scores["dangerous"].values, found),
    )


def _remedies(
    sound_share: Floats, dangerous: Floats, found: Sequence[Candidate]
) -> list[str | None]:
    """Return the id of what helps in each month."""
    helping = (
        advice([Stretch(share, danger, [each.at(month) for each in found], days)]).remedy
        for month, (share, danger, days) in enumerate(
            zip(sound_share, dangerous, DAYS_IN_MONTH, strict=True)
        )
    )
    return [remedy.id if remedy else None for remedy in helping]


def _room(scores: xr.Dataset) -> Candidate:
    """Return a room where danger remains; last of all choices, since nobody stated a price."""
    return room(scores["sound_share"].values, scores["dangerous"].values, np.inf, below=0.0)


def _signs(camp: Camp, cell: xr.Dataset, ground: xr.Dataset) -> tuple[Sign, ...]:
    """Return the signs of a camp; the ground is level where the map knows no relief."""
    relief = float(ground["relief"].fillna(0.0))
    return signs_at(cell, relief, river_near(camp.latitude, camp.longitude))


def _camp_height(camp: Camp, mapped: CampHeight | None, cell: xr.Dataset) -> CampHeight:
    """Return how high a camp lies."""
    if camp.elevation_m is not None:
        return CampHeight(camp.elevation_m, None, "stated")
    return mapped or CampHeight(float(cell["elevation"]), None, "cells")


def _country(
    latitude: float, longitude: float, climate: Path | None
) -> tuple[xr.Dataset, xr.Dataset]:
    """Return the climatology around a place, and its nearest cell."""
    box = box_around(latitude, longitude, _BOX_DEGREES)
    try:
        climatology = world_climatology(box) if climate is None else own_climatology(climate, box)
        return climatology, point(climatology, latitude, longitude)
    except InputError as error:
        # The box is ours: who named a place is told of the place.
        if not {problem.key for problem in error.problems} <= {"box", "place"}:
            raise
    expected = f"a place within {NEAREST_LIMIT:g} km of a climate cell on land"
    mend = "Import a larger box, or leave out --climate."
    if climate is None:
        mend = f"{_nearest_land(latitude, longitude)} Name a place near one, or bring --climate."
    file, got = "" if climate is None else str(climate), f"{latitude:g}, {longitude:g}"
    raise InputError([Problem(file, "LAT LON", expected, got, f"Latitude comes first. {mend}")])


def _nearest_land(latitude: float, longitude: float) -> str:
    """Return where the nearest cell of the embedded climatology lies, in words."""
    land = cells(embedded()[["air_temperature"]])
    distance = great_circle(latitude, longitude, land["latitude"], land["longitude"]).values
    nearest = land.isel(cell=int(distance.argmin()))
    return (
        f"The nearest cell lies at {float(nearest['latitude']):g}, "
        f"{float(nearest['longitude']):g}, {distance.min():,.0f} km off."
    )


def _height_doubts(camp: Camp, cell: xr.Dataset, climatology: xr.Dataset) -> Iterator[str]:
    """Yield what does not fit the country around a stated height, as of a trip's camps."""
    if camp.elevation_m is None:
        return
    heights = around(
        climatology["elevation"],
        *(
            np.flatnonzero(climatology[axis].values == float(cell[axis]))
            for axis in ("latitude", "longitude")
        ),
    )
    yield from height_doubts(camp.elevation_m, heights, "The camp lies", "--elevation")
