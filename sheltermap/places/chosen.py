"""Places once the kit is chosen: their weeks, their remedies, words on the kit.

In: scored places, the nights of their camps, a kit. Out: the same places, complete.
Assumes the kit is one that they were scored with.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from sheltermap.places.cells import weighted_mean
from sheltermap.places.ground import Camps, Ground
from sheltermap.places.place import Place
from sheltermap.places.scored import CampNights
from sheltermap.places.seasons import means_of_months
from sheltermap.places.weeks import weeks
from sheltermap.places.words import kit_words
from sheltermap.shelters.kit import Kit
from sheltermap.spans import prolonged
from sheltermap.suitability.remedy import Candidate, candidates, room
from sheltermap.trip.inputs import Inputs
from sheltermap.trip.model import Leg
from sheltermap.vocabulary import DAYS_IN_YEAR


def with_choice(
    places: Sequence[Place],
    camps: Camps,
    nights: Sequence[CampNights],
    inputs: Inputs,
    kit: Kit,
) -> tuple[Place, ...]:
    """
    Return scored places with the weeks and the remedies of the chosen kit.

    Parameters
    ----------
    places : sequence of Place
    camps : Camps
    nights : sequence of CampNights
        All three from one trip.
    inputs : Inputs
    kit : Kit

    Returns
    -------
    tuple of Place
    """
    trip = inputs.trip
    journey = (trip.departure.earliest, trip.departure.finish_by)
    by_id = {ground.id: ground for ground in camps.grounds}
    chosen = {place.id: place for place in places}
    for group in nights:
        helping = candidates(
            group.night,
            kit,
            inputs.sleepers,
            settings=trip.settings,
            addons=dict(inputs.addons),
            carries=trip.vehicle.carries,
        )
        for name, cells in group.places.items():
            ground, place, weight = by_id[name], chosen[name], group.weight[cells]
            remedies = [
                replace(
                    candidate,
                    sound_share=weighted_mean(candidate.sound_share[:, cells], weight),
                    gain=weighted_mean(candidate.gain[:, cells], weight),
                    dangerous=weighted_mean(candidate.dangerous[:, cells], weight),
                )
                for candidate in helping
            ]
            price = ground.leg.room_price
            price = trip.money.room_price if price is None else price
            remedies.append(room(place.seasons[kit.id].sound_share, price))
            chosen[name] = _with_remedies(place, camps, ground, kit, tuple(remedies), journey)
    return tuple(chosen[place.id] for place in places)


def _with_remedies(
    place: Place,
    camps: Camps,
    ground: Ground,
    kit: Kit,
    remedies: tuple[Candidate, ...],
    journey: tuple[date, date],
) -> Place:
    """Return a place with its remedies, the weeks they belong to, and words on its kit."""
    season = place.seasons[kit.id]
    closed = np.all([_closed_days(leg, journey) for leg in camps.visits(ground)], axis=0)
    climate = camps.climate.isel(cell=ground.cells)
    cautions = kit_words(
        kit,
        season.camp_shares,
        climate.get("elevation", climate["weight"] * np.nan),
        climate["weight"],
        {"cold": means_of_months(season.cold_margin), "heat": means_of_months(season.heat_margin)},
        {
            "cold": means_of_months(season.cold_danger_margin),
            "heat": means_of_months(season.heat_danger_margin),
        },
        means_of_months(season.dew_outside),
    )
    return replace(
        place,
        weeks=weeks(season, place.findings, place.not_checked, remedies, closed),
        cautions=(*place.cautions, *cautions),
        remedies=remedies,
    )


def _closed_days(leg: Leg, journey: tuple[date, date]) -> np.ndarray:
    """Return the days on which the trip file closes a leg, and keeps it free after.

    What is closed once counts if it touches the journey.
    """
    days = np.zeros(DAYS_IN_YEAR, dtype=bool)
    for span in leg.closed:
        once = span.dates
        if once is None or (once[0] <= journey[1] and once[1] >= journey[0]):
            days |= prolonged(span.days(), span.margin_days)
    return days
