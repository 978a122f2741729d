"""What may help at each place, and the one remedy for all planned nights.

In: scored places, the nights of their camps, the chosen kit; then the stays of a plan. Out: the
places with their candidates, and one Advice. Assumes the kit is one that they were scored with.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from sheltermap.dates import days_of_year
from sheltermap.places.cells import weighted_mean
from sheltermap.places.ground import Camps
from sheltermap.places.place import NightSeason, Place
from sheltermap.places.scored import CampNights
from sheltermap.planner.problem import Stay
from sheltermap.shelters.kit import Kit
from sheltermap.suitability.candidates import Candidate, candidates, room
from sheltermap.suitability.remedy import Advice, Stretch, advice
from sheltermap.trip.inputs import Inputs


def with_candidates(
    places: Sequence[Place],
    camps: Camps,
    nights: Sequence[CampNights],
    inputs: Inputs,
    kit: Kit,
) -> tuple[Place, ...]:
    """
    Return scored places with what may help in the chosen kit.

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
    by_id = {ground.id: ground for ground in camps.grounds}
    known = {place.id: place for place in places}
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
            weight, season = group.weight[cells], known[name].seasons[kit.id]
            carried = [
                replace(
                    candidate,
                    sound_share=weighted_mean(candidate.sound_share[:, cells], weight),
                    dangerous=weighted_mean(candidate.dangerous[:, cells], weight),
                )
                for candidate in helping
            ]
            own = by_id[name].leg.room_price
            price = trip.money.room_price if own is None else own
            bed = room(season.sound_share, season.dangerous, price, trip.shelter.room_below)
            known[name] = replace(known[name], remedies=(*carried, bed))
    return tuple(known[place.id] for place in places)


def planned_advice(places: Sequence[Place], stays: Sequence[Stay], kit: str) -> Advice:
    """
    Return what helps over all planned nights.

    Parameters
    ----------
    places : sequence of Place
        One each a leg, with their candidates.
    stays : sequence of Stay
    kit : str
        Id of the kit that the candidates are for.

    Returns
    -------
    Advice
    """
    stretches = []
    for stay in stays:
        place, days = places[stay.stop], days_of_year(stay.arrive, stay.nights)
        stretches.append(stretch(place.seasons[kit], place.remedies, days))
    return advice(stretches)


def stretch(season: NightSeason, found: Sequence[Candidate], nights: Any) -> Stretch:
    """
    Return some nights of a year at a place, with what may help on them.

    Parameters
    ----------
    season : NightSeason
        Of the kit that the candidates are for.
    found : sequence of Candidate
        Along the days of the year.
    nights : index
        Positions in the year, as numpy takes them.

    Returns
    -------
    Stretch
    """
    return Stretch(
        season.sound_share[nights],
        season.dangerous[nights],
        [candidate.at(nights) for candidate in found],
    )
