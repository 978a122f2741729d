"""Twelve months of nights at a leg of a trip: the ``night`` contract from what the site shows.

In: a scored place, its camps, a kit. Out: the contract's dict. Assumes that a place's seasons
are those of the site, so that both say the same of every month.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import xarray as xr

from sheltermap.climate.error import error_of
from sheltermap.places.cells import weighted_mean
from sheltermap.places.ground import Camps
from sheltermap.places.months import KitMonth, kit_months, month_days
from sheltermap.places.place import Place
from sheltermap.places.remedies import stretch
from sheltermap.places.scored import CampNights
from sheltermap.places.seasons import means_of_months
from sheltermap.report.night_months import (
    CAUTION,
    NightMonths,
    estimated,
    months,
    night_cautions,
    number,
)
from sheltermap.suitability.remedy import advice
from sheltermap.vocabulary import FACTORS, Floats


def leg_answer(
    leg: str,
    place: Place,
    kit: str,
    camps: Camps,
    nights: Sequence[CampNights],
    climatology: Mapping[str, str],
) -> dict:
    """
    Return what the nights of a year are like at a leg of a trip.

    Parameters
    ----------
    leg : str
        Its name.
    place : Place
        Where it sleeps, with what may help in the kit.
    kit : str
        Its id.
    camps : Camps
    nights : sequence of CampNights
    climatology : mapping of str to str
        ``source`` and ``period``.

    Returns
    -------
    dict
        As DEVELOPERS.md lists it for ``night``; `cell` is None, since a leg may have many.
    """
    found = next(group for group in nights if place.id in group.places)
    climate = camps.climate.isel(cell=_cells(camps, place))
    told = _night_months(place, kit, climate, found)
    return {
        "latitude": place.latitude,
        "longitude": place.longitude,
        "leg": leg,
        "place": None,
        "elevation_m": number(place.height.elevation_m),
        "elevation_error_m": place.height.error_m,
        "elevation_basis": place.height.basis,
        "other_heights": [],
        "kit": kit,
        "climatology": {
            "source": climatology.get("source", ""),
            "period": climatology.get("period", ""),
            "estimated": list(estimated(climate)),
        },
        "cell": None,
        "not_assessed": list(place.not_assessed),
        "signs": [sign.record for sign in place.signs],
        "computed": list(place.computed),
        "not_checked": list(place.not_checked),
        "doubts": [],
        "cautions": [*place.cautions, *night_cautions(told)],
        "caution": CAUTION,
        "months": months(told),
    }


def _cells(camps: Camps, place: Place) -> slice:
    """Return the cells of a place among those of all camps."""
    return next(ground.cells for ground in camps.grounds if ground.id == place.id)


def _night_months(place: Place, kit: str, climate: xr.Dataset, found: CampNights) -> NightMonths:
    """Return a place's months in one kit as arrays."""
    season, year = place.seasons[kit], place.climate
    kept = kit_months(season)
    inside = found.night.isel(cell=found.places[place.id])

    def of_nights(name: str) -> Floats:
        daily = inside[name].transpose("day", "cell").to_numpy()
        return means_of_months(weighted_mean(daily, inside["weight"].to_numpy()))

    low_error, high_error = (
        _mean_error(climate, name) for name in ("air_temperature_min", "air_temperature_max")
    )
    return NightMonths(
        figures={
            "temperature_mean_c": year.temperature_mean,
            "temperature_min_c": year.temperature_min,
            "temperature_max_c": year.temperature_max,
            "temperature_min_error_k": low_error,
            "temperature_max_error_k": high_error,
            "night_low_spread_k": year.night_low_spread,
            "dewpoint_c": year.dewpoint,
            "rain_mm": year.rain_per_month,
            "wet_days": year.wet_days,
            "bedtime_temperature_c": year.bedtime_temperature,
            "night_low_c": of_nights("night_low"),
            "low_one_in_20_c": means_of_months(season.low_one_in_20),
            "rain_in_sleep_window": of_nights("rain_in_window"),
            "hot_from_h": year.hot_from,
            "hot_to_h": year.hot_to,
        },
        risks={
            name: means_of_months(getattr(season, name))
            for name in FACTORS
            if name not in place.not_assessed
        },
        sound_share=_column(kept, "sound_share"),
        dangerous=_column(kept, "dangerous"),
        heat_category=np.asarray(year.heat_category, float),
        limiting_factor=_column(kept, "limiting_factor"),
        grade=_column(kept, "grade"),
        close=_column(kept, "close"),
        margins={
            factor: (
                means_of_months(getattr(season, f"{factor}_margin")),
                means_of_months(getattr(season, f"{factor}_danger_margin")),
            )
            for factor in ("cold", "heat")
        },
        remedy=[_remedy(place, kit, month) for month in range(12)],
    )


def _column(kept: Sequence[KitMonth], name: str) -> np.ndarray:
    """Return one figure of twelve months."""
    return np.array([getattr(month, name) for month in kept])


def _mean_error(climate: xr.Dataset, name: str) -> Floats:
    """Return the standard error of a variable by month, mean over a place's cells. [K]"""
    error = xr.zeros_like(climate[name]) + error_of(climate, name)
    values = error.transpose("month", "cell").to_numpy()
    return weighted_mean(values, climate["weight"].to_numpy())


def _remedy(place: Place, kit: str, month: int) -> str | None:
    """Return the id of what helps in one month, 0 to 11."""
    named = advice([stretch(place.seasons[kit], place.remedies, month_days(month))]).remedy
    return named.id if named else None
