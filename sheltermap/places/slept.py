"""Nights slept, as the model sees them: the margin that it gives the sleeper of each row.

In: a trip's ``[[slept]]`` rows, the climate of its legs. Out: one `SleptNights` a row. Assumes
that a party slept as it travels now: as many people in a kit, in the same hours.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from typing import TypedDict

import numpy as np
import xarray as xr

from sheltermap.climate.calendar import by_day
from sheltermap.climate.error import error_of
from sheltermap.dates import days_of_year
from sheltermap.places.country import country
from sheltermap.places.ground import Camps, camps, extents, journey_box
from sheltermap.places.scored import nights_of
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.learned import MEASURED_SPREAD, SleptStay
from sheltermap.shelters.tolerance import modes
from sheltermap.suitability.score import scores
from sheltermap.trip.inputs import Inputs
from sheltermap.trip.log import SleptRow
from sheltermap.trip.log_checks import first_night
from sheltermap.trip.model import Leg
from sheltermap.vocabulary import InputError, Problem

_MARGINS = ("cold_margin", "heat_margin", "condensation")


class _Known(TypedDict):
    """What a stay knows of its margins, as `SleptStay` takes it."""

    margins: tuple[float, ...]
    spread: float
    shared_error: float
    measured: bool
    nights: int


@dataclass(frozen=True, eq=False)
class SleptNights:
    """
    A row with a mean night of its stay, over the camps of its place.

    Attributes
    ----------
    number : int
        Of the row, from 1.
    row : SleptRow
    kit : Kit
        As the trip carries it, where it does.
    sleeper : Sleeper
        As a usual one of that kind, in the bedding of those nights.
    cold, cold_in_rain, heat : float
        Margins of the sleeper. [K] Measured nights have none of the clear sky's drop.
    low, bedtime : float
        [degC]
    spread, error, apart : float
        From night to night, of the climate's mean low, and of the margin between camps. [K]
    drips : float
        Chance that the fabric drips. [0 to 1]
    warming_in_cold, warming_in_heat : float
        Of the air inside a thermometer stood in; 0 outside. [K]
    """

    number: int
    row: SleptRow
    kit: Kit
    sleeper: Sleeper
    cold: float
    cold_in_rain: float
    heat: float
    low: float
    bedtime: float
    spread: float
    error: float
    apart: float
    drips: float
    warming_in_cold: float
    warming_in_heat: float

    def in_cold(self) -> SleptStay:
        """Return the stay as cold was felt."""
        row = self.row
        rain = row.rain / row.nights
        margin = self.cold + rain * (self.cold_in_rain - self.cold)
        measured = tuple(margin + low - self.warming_in_cold - self.low for low in row.low_c or ())
        # Which nights were those of rain is not told.
        mixed = (rain * (1 - rain)) ** 0.5 * (self.cold_in_rain - self.cold)
        return SleptStay(
            **self._known(margin, measured, mixed),
            failed=row.cold,
            nearly=row.cool,
            bedding=self.kit.bedding_of(self.sleeper).label,
        )

    def in_heat(self) -> SleptStay:
        """Return the stay as heat was felt."""
        measured = tuple(
            self.heat - (bedtime - self.warming_in_heat - self.bedtime)
            for bedtime in self.row.bedtime_c or ()
        )
        known = self._known(self.heat, measured, 0.0)
        return SleptStay(**known, failed=self.row.hot, nearly=self.row.warm)

    def _known(self, margin: float, measured: tuple[float, ...], mixed: float) -> _Known:
        """Return what is known of the margins: by a thermometer, else by the climate."""
        nights = self.row.nights
        # One number for several nights says nothing of how they differ.
        anew = MEASURED_SPREAD if len(measured) == nights else self.spread
        return {
            "margins": measured or (margin,),
            "spread": float(np.hypot(anew, mixed)),
            "shared_error": 0.0 if measured else float(np.hypot(self.error, self.apart)),
            "measured": bool(measured),
            "nights": nights,
        }


def slept_nights(
    inputs: Inputs, camps_of_trip: Camps, climate: Path | None = None
) -> tuple[SleptNights, ...]:
    """
    Return what the model makes of the nights of each row.

    Parameters
    ----------
    inputs : Inputs
    camps_of_trip : Camps
    climate : path, optional
        A climatology in our form, for places outside the trip; the embedded one by default.

    Returns
    -------
    tuple of SleptNights

    Raises
    ------
    InputError
        If a place has no climate.
    """
    return tuple(
        _slept(inputs, number, row, *_where(inputs, number, row, camps_of_trip, climate))
        for number, row in enumerate(inputs.trip.slept, 1)
    )


def _slept(
    inputs: Inputs, number: int, row: SleptRow, months: xr.Dataset, site: str | None
) -> SleptNights:
    """Return a row with its mean night, from the climate of its camps."""
    trip, kit, sleeper = inputs.trip, _kit_of(inputs, row), sleeper_of(inputs, row)
    party = [sleeper] * trip.party.people
    first = first_night(trip, row)
    assert first is not None  # As `log_checks` made sure.
    middle = days_of_year(first + timedelta(days=row.nights // 2), 1)
    night = nights_of(by_day(months), trip, site).isel(day=middle)
    nought = 0.0 * night["dry_night_drop"]
    rainy = night.assign(dry_night_drop=nought, fabric_sky_cooling=nought)
    if row.low_c is not None:
        night = night.assign(dry_night_drop=nought)  # A measured low has it in it.
    # Where every drop counts, condensation is the chance that the fabric drips.
    dripping = kit.model_copy(update={"condensation_weight": 1.0})
    dry, wet = (
        scores(each, [dripping], party, settings=trip.settings, keep=_MARGINS).isel(kit=0)
        for each in (night, rainy)
    )
    weight = months["weight"].values

    def mean(values: xr.DataArray) -> float:
        return float(np.sum(weight * np.broadcast_to(values.squeeze().values, weight.shape)))

    error = xr.zeros_like(months["air_temperature_min"]) + error_of(months, "air_temperature_min")
    cold = mean(dry["cold_margin"])
    opened, closed, _ = modes(kit, party, trip.settings)
    inside = row.measured == "inside"
    return SleptNights(
        number=number,
        row=row,
        kit=kit,
        sleeper=sleeper,
        cold=cold,
        cold_in_rain=mean(wet["cold_margin"]),
        heat=mean(dry["heat_margin"]),
        low=mean(night["night_low"]),
        bedtime=mean(night["bedtime_temperature"]),
        spread=mean(night["night_low_spread"]),
        error=mean(error.sel(month=first.month)),
        apart=mean((dry["cold_margin"] - cold) ** 2) ** 0.5,
        drips=mean(dry["condensation"]),
        warming_in_cold=closed.warming if inside else 0.0,
        warming_in_heat=opened.warming if inside else 0.0,
    )


def _kit_of(inputs: Inputs, row: SleptRow) -> Kit:
    """Return the kit of nights slept, as the trip carries it where it does."""
    done = next((done for done in inputs.trip.done if done.leg == row.leg), None)
    name = row.kit or (done.kit if done else None) or inputs.kits[0].id
    return next((kit for kit in inputs.kits if kit.id == name), None) or inputs.known[name]


def sleeper_of(inputs: Inputs, row: SleptRow) -> Sleeper:
    """Return who slept, in the bedding of those nights."""
    names = [one.name for one in inputs.trip.party.sleepers]
    sleeper = inputs.sleepers[names.index(row.who) if row.who in names else 0]
    return sleeper.model_copy(update={"bedding": row.bedding or sleeper.bedding})


def _where(
    inputs: Inputs, number: int, row: SleptRow, camps_of_trip: Camps, climate: Path | None
) -> tuple[xr.Dataset, str | None]:
    """Return the climate of a row's camps at their height, and the word for their lie."""
    if row.leg is not None:
        ground = camps_of_trip.ground([leg.name for leg in inputs.trip.legs].index(row.leg))
        return camps_of_trip.climate.isel(cell=ground.cells), ground.leg.site
    leg = Leg.model_validate(
        {
            "name": "elsewhere",
            "place": row.place,
            "camp_elevation_m": row.elevation_m,
            "nights": row.nights,
        }
    )
    alone = inputs.trip.model_copy(update={"legs": (leg,), "hazards": ()})
    elsewhere = replace(inputs, trip=alone, route=None)
    where = extents(elsewhere)
    try:
        return camps(elsewhere, where, country(journey_box(where), climate)).climate, None
    except InputError:
        problem = Problem(
            str(inputs.path),
            f"slept[{number}].place",
            "a place that the climatology holds",
            str(list(row.place or ())),
            "Latitude comes first. Name a place on land, or leave the row out.",
        )
        raise InputError([problem]) from None
