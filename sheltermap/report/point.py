"""Twelve months at one place, and the list of kits: answers that need no trip file.

In: a place, a kit, an elevation. Out: the values of the ``night`` command, as data and in
words. Assumes the nearest climate cell stands for the place.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import xarray as xr

from sheltermap.climate.altitude import at_elevation
from sheltermap.climate.calendar import by_month
from sheltermap.climate.error import error_of
from sheltermap.climate.grid import NEAREST_LIMIT, cells, point
from sheltermap.climate.heights import heights_at
from sheltermap.climate.own import own_climatology
from sheltermap.climate.world import world_climatology
from sheltermap.distance import great_circle
from sheltermap.night.conditions import conditions
from sheltermap.places.camp_height import CampHeight, basis_words, of_map
from sheltermap.places.relief import around, height_doubts
from sheltermap.shelters.kit import Kit, Sleeper, load_kits, read_kits
from sheltermap.spans import months_in_words
from sheltermap.suitability.band import share_changes, share_error, stated_errors
from sheltermap.suitability.candidates import Candidate, candidates, room
from sheltermap.suitability.card import kit_limits
from sheltermap.suitability.grade import close_call, grade, margin_words
from sheltermap.suitability.remedy import Stretch, advice
from sheltermap.suitability.score import score
from sheltermap.validation import did_you_mean, shown
from sheltermap.vocabulary import (
    DAYS_IN_MONTH,
    FACTORS,
    MONTHS,
    NO_FACTOR,
    Grade,
    InputError,
    Problem,
)

UNSURE_LOW = 2.0
"""Standard error of the mean low from which `night` says to carry warmer bedding. [K]
judgement: a word on a bag's label is 5 to 7 K wide, and two such errors are 4."""

_BOX_DEGREES = 1.5
_DIGITS = 6

CAUTION = (
    "Long-term averages of a cell tens of kilometres wide, not a forecast. Local warnings, "
    "authorities and guides come first."
)
"""Said with every answer."""


def twelve_months(
    latitude: float,
    longitude: float,
    kit_id: str,
    elevation: float | None = None,
    climate: Path | None = None,
    files: Sequence[Path] = (),
) -> dict:
    """
    Return what the nights of a year are like at one place.

    Parameters
    ----------
    latitude, longitude : float
        [degrees]
    kit_id : str
        A shipped kit, or one of `files`.
    elevation : float, optional
        Height of the camp; by default as read from the embedded map, else the cell's. [m]
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
    kit = _kit(kit_id, files)
    climatology, nearest = _country(latitude, longitude, climate)
    height = _camp_height(latitude, longitude, elevation, nearest)
    cell = nearest
    if height.basis != "cells":
        cell = at_elevation(nearest, height.elevation_m, height.error_m or 0.0)
    season = by_month(cell)
    night = conditions(season)
    sleepers = (Sleeper(),)
    scores = score(night, kit, sleepers)
    changes = share_changes(night, [kit], sleepers, **stated_errors(cell))
    error = share_error(changes).isel(kit=0, drop=True)
    found = [*candidates(night, kit, sleepers), _room(scores)]
    not_assessed = list(scores.attrs["not_assessed"])
    low_error, high_error = (
        xr.zeros_like(cell[name]) + error_of(cell, name)
        for name in ("air_temperature_min", "air_temperature_max")
    )
    doubted = cell.assign(low_error=low_error, high_error=high_error)
    return {
        "latitude": latitude,
        "longitude": longitude,
        "elevation_m": _number(height.elevation_m),
        "elevation_error_m": height.error_m,
        "elevation_basis": height.basis,
        "kit": kit.id,
        "climatology": {
            "source": climatology.attrs.get("source", ""),
            "period": climatology.attrs.get("period", ""),
            "estimated": [name for name in cell.data_vars if "estimated" in cell[name].attrs],
        },
        "cell": {
            "latitude": float(cell["latitude"]),
            "longitude": float(cell["longitude"]),
            "distance_km": round(float(cell["distance"]), 1),
            "temperature_correction_k": _number(cell.get("temperature_correction", 0.0)),
        },
        "not_assessed": not_assessed,
        "doubts": [] if elevation is None else _height_doubts(elevation, nearest, climatology),
        "cautions": _cautions(low_error),
        "caution": CAUTION,
        "months": [
            _month(number, doubted, night, scores, error, found, not_assessed)
            for number in range(1, 13)
        ],
    }


def _camp_height(
    latitude: float, longitude: float, stated: float | None, cell: xr.Dataset
) -> CampHeight:
    """Return how high a camp lies."""
    if stated is not None:
        return CampHeight(stated, None, "stated")
    found = heights_at(latitude, longitude)
    return of_map(found["camp_elevation"], found["camp_elevation_error"]) or CampHeight(
        float(cell["elevation"]), None, "cells"
    )


def _cautions(low_error: xr.DataArray) -> list[str]:
    """Return in which months estimated lows are least certain."""
    months = low_error.values >= UNSURE_LOW
    if not months.any():
        return []
    return [
        f"Lows are estimated here, and the mean low is uncertain by {UNSURE_LOW:g} to "
        f"{float(low_error.max()):.1f} K (one standard error) in {months_in_words(months)}: "
        "carry bedding for colder nights than shown."
    ]


def _country(
    latitude: float, longitude: float, climate: Path | None
) -> tuple[xr.Dataset, xr.Dataset]:
    """Return the climatology around a place, and its nearest cell."""
    box = (
        _wrapped(longitude - _BOX_DEGREES),
        max(latitude - _BOX_DEGREES, -90.0),
        _wrapped(longitude + _BOX_DEGREES),
        min(latitude + _BOX_DEGREES, 90.0),
    )
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
    land = cells(world_climatology())
    distance = great_circle(latitude, longitude, land["latitude"], land["longitude"]).values
    nearest = land.isel(cell=int(distance.argmin()))
    return (
        f"The nearest cell lies at {float(nearest['latitude']):g}, "
        f"{float(nearest['longitude']):g}, {distance.min():,.0f} km off."
    )


def _height_doubts(elevation: float, cell: xr.Dataset, climatology: xr.Dataset) -> list[str]:
    """Return what does not fit the country around a stated height, as of a trip's camps."""
    heights = around(
        climatology["elevation"],
        *(
            np.flatnonzero(climatology[axis].values == float(cell[axis]))
            for axis in ("latitude", "longitude")
        ),
    )
    return list(height_doubts(elevation, heights, "The camp lies", "--elevation"))


def in_words(result: dict) -> list[str]:
    """
    Return the lines that the ``night`` command prints.

    Parameters
    ----------
    result : dict
        From `twelve_months`.

    Returns
    -------
    list of str
    """
    lines = [
        f"{result['latitude']:g}, {result['longitude']:g}, {_height(result)}, "
        f"kit: {result['kit']}",
        "",
        "month      low  bedtime  rain  sound nights        limit         remedy",
        "          degC     degC    mm      %",
    ]
    for month in result["months"]:
        share = month["sound_share"]
        word = "no data" if share is None else month["grade"]
        close = ", close" if month["close"] else ""
        lines.append(
            f"{MONTHS[month['month'] - 1]:9}{_shown(month['night_low_c'], 0):>5}"
            f"{_shown(month['bedtime_temperature_c'], 0):>9}{_shown(month['rain_mm'], 0):>6}"
            f"{'-' if share is None else f'{100 * share:.0f}':>7}  {word + close:16}"
            f"{month['limiting_factor'] or '-':14}{month['remedy'] or '-'}"
        )
    lines += ["", *_severities(result["months"])]
    if result["not_assessed"]:
        lines += [f"Not assessed: {', '.join(result['not_assessed'])}."]
    estimated = ", ".join(result["climatology"]["estimated"])
    lines += [f"Estimated inputs: {estimated}." if estimated else "No input was estimated."]
    return [*lines, *result["cautions"], result["caution"]]


def _severities(months: Sequence[dict]) -> list[str]:
    """Return a line for each month whose mean night lies beyond a limit."""
    return [
        f"{MONTHS[month['month'] - 1]}: a mean dry night is {month['severity']}."
        for month in months
        if month["severity"] and not month["severity"].endswith("to spare")
    ]


def kit_table(files: Sequence[Path] = ()) -> list[str]:
    """
    Return the lines that the ``kits`` command prints.

    Parameters
    ----------
    files : sequence of path
        Users' kit files, listed after the shipped kits.

    Returns
    -------
    list of str

    Raises
    ------
    InputError
        If a file has problems.
    """
    kits = _known(files)
    lines = [
        f"{'kit':18}{'sleeps':>6}{'kg':>5}{'litres':>8}{'price':>7}"
        "   coldest low     hottest bedtime  with a fan",
        f"{'':44}   dry, humid      dry, humid       dry, humid  [degC]",
    ]
    for kit in kits.values():
        limits = kit_limits(kit, (Sleeper(),) * kit.places)
        lines.append(
            f"{kit.id:18}{kit.places:6}{kit.mass_kg:5.0f}"
            f"{kit.packed_litres:8.0f}{kit.price:7.0f}   "
            f"{_pair(limits.coldest):16}{_pair(limits.hottest):17}{_pair(limits.hottest_with_fan)}"
        )
    return [*lines, "", "Half of all sleepers are content at these limits; see the kit's page."]


def _known(files: Sequence[Path]) -> dict[str, Kit]:
    """Return the shipped kits and those of users' files."""
    kits = dict(load_kits())
    for file in files:
        kits |= read_kits(file)
    return kits


def _kit(kit_id: str, files: Sequence[Path]) -> Kit:
    """Return a kit by its id."""
    kits = _known(files)
    if kit_id not in kits:
        expected = "one of " + ", ".join(kits)
        mend = did_you_mean(kit_id, kits, "Choose one of these.")
        raise InputError([Problem("", "--kit", expected, shown(kit_id), mend)])
    return kits[kit_id]


def _month(
    number: int,
    cell: xr.Dataset,
    night: xr.Dataset,
    scores: xr.Dataset,
    error: xr.DataArray,
    found: Sequence[Candidate],
    not_assessed: Sequence[str],
) -> dict:
    """Return one month of the contract."""
    chosen = {"month": number}
    climate, conditions_, scored = cell.sel(chosen), night.sel(chosen), scores.sel(chosen)
    share = float(scored["sound_share"])
    code = int(grade(share))
    factor = int(scored["limiting_factor"])
    named = advice([_stretch(scored, found, number)]).remedy
    return {
        "month": number,
        "temperature_mean_c": _number(climate["air_temperature"]),
        "temperature_min_c": _number(climate["air_temperature_min"]),
        "temperature_max_c": _number(climate["air_temperature_max"]),
        "temperature_min_error_k": _number(climate["low_error"]),
        "temperature_max_error_k": _number(climate["high_error"]),
        "night_low_spread_k": _number(climate["night_low_spread"]),
        "dewpoint_c": _number(conditions_["dewpoint"]),
        "rain_mm": _number(climate["rainfall"]),
        "wet_days": _number(climate["wet_days"]),
        "bedtime_temperature_c": _number(conditions_["bedtime_temperature"]),
        "night_low_c": _number(conditions_["night_low"]),
        "rain_in_sleep_window": _number(conditions_["rain_in_window"]),
        **{name: None if name in not_assessed else _number(scored[name]) for name in FACTORS},
        "sound_share": _number(share),
        "limiting_factor": _factor(factor),
        "grade": Grade(code).word if code >= 0 else None,
        "close": bool(close_call(share, float(error.sel(chosen)))),
        "low_one_in_20_c": _number(scored["low_one_in_20"]),
        "dangerous": _number(scored["dangerous"]),
        "severity": _severity(scored, _factor(factor)),
        "remedy": named.id if named else None,
    }


def _room(scores: xr.Dataset) -> Candidate:
    """Return a room where danger remains; last of all choices, since nobody stated a price."""
    return room(scores["sound_share"].values, scores["dangerous"].values, np.inf, below=0.0)


def _stretch(scored: xr.Dataset, found: Sequence[Candidate], month: int) -> Stretch:
    """Return the nights of one month, with what may help on them."""
    return Stretch(
        scored["sound_share"].values,
        scored["dangerous"].values,
        [candidate.at(month - 1) for candidate in found],
        DAYS_IN_MONTH[month - 1],
    )


def _severity(scored: xr.Dataset, factor: str | None) -> str | None:
    """Return how far a mean dry night is from the limit that decides, in words."""
    if factor not in ("cold", "heat"):
        return None
    margins = (float(scored[f"{factor}_{name}"]) for name in ("margin", "danger_margin"))
    return margin_words(next(margins), factor, next(margins)) or None


def _factor(code: int) -> str | None:
    """Return a limiting factor as its word; "none" where nothing spoils the night."""
    if code == NO_FACTOR:
        return "none"
    return FACTORS[code] if code >= 0 else None


def _number(value: float | xr.DataArray) -> float | None:
    """Return a number for JSON; None for a missing one."""
    number = float(value)
    return None if np.isnan(number) else round(number, _DIGITS) + 0.0  # No minus nought.


def _height(result: dict) -> str:
    """Return the height of the camp and what it rests on."""
    height = f"{_shown(result['elevation_m'], 0)} m"
    basis = basis_words(result["elevation_basis"], result["elevation_error_m"])
    return f"{height} ({basis})" if basis else height


def _shown(value: float | None, digits: int) -> str:
    """Return a number for a table; a dash for a missing one."""
    return "-" if value is None else f"{value:.{digits}f}"


def _pair(values: tuple[float, float]) -> str:
    """Return two limits side by side."""
    return f"{values[0]:.0f}, {values[1]:.0f}"


def _wrapped(longitude: float) -> float:
    """Return a longitude between -180 and 180."""
    return (longitude + 180.0) % 360.0 - 180.0
