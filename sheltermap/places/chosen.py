"""Places once the kit is chosen and the dates are planned: their weeks, words on the kit.

In: places with what may help in a kit, what helps over the plan. Out: the same places,
complete. Assumes the kit is one that they were scored with.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from sheltermap.dates import in_leap_springs
from sheltermap.places.ground import Camps, Ground
from sheltermap.places.place import Place
from sheltermap.places.seasons import means_of_months
from sheltermap.places.weeks import weeks
from sheltermap.places.words import kit_words
from sheltermap.shelters.kit import Kit
from sheltermap.spans import days_between
from sheltermap.suitability.remedy import Advice
from sheltermap.trip.model import Leg, Trip
from sheltermap.vocabulary import DAYS_IN_YEAR


def with_choice(
    places: Sequence[Place], camps: Camps, trip: Trip, kit: Kit, advice: Advice | None
) -> tuple[Place, ...]:
    """
    Return places with the weeks of the chosen kit, and words on it.

    Parameters
    ----------
    places : sequence of Place
        As from `places.remedies.with_candidates`, in the order of the grounds.
    camps : Camps
    trip : Trip
    kit : Kit
    advice : Advice or None
        What helps over the plan; None where there is no plan.

    Returns
    -------
    tuple of Place
    """
    journey = (trip.departure.earliest, trip.departure.finish_by)
    over = {row.leg for row in trip.done if row.left is not None}
    complete = []
    for ground, place in zip(camps.grounds, places, strict=True):
        visits = camps.visits(ground)
        closed = np.all([_closed_days(leg, journey) for leg in visits], axis=0)
        # Nobody needs advice on where they will not be any more.
        behind = all(leg.name in over for leg in visits)
        complete.append(
            replace(
                place,
                weeks=weeks(
                    place.seasons[kit.id],
                    place.findings,
                    place.not_checked,
                    () if behind else place.remedies,
                    closed,
                    advice,
                ),
                cautions=(
                    *place.cautions,
                    *_cautions(place, camps, ground, kit),
                ),
            )
        )
    return tuple(complete)


def _cautions(place: Place, camps: Camps, ground: Ground, kit: Kit) -> tuple[str, ...]:
    """Return what to know of a kit's figures at a place."""
    season, climate = place.seasons[kit.id], camps.climate.isel(cell=ground.cells)
    words = kit_words(
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
    return tuple(words)


def _closed_days(leg: Leg, journey: tuple[date, date]) -> np.ndarray:
    """Return the days on which the trip file closes a leg, and keeps it free after.

    What is closed once counts if it touches the journey.
    """
    days, leap = np.zeros(DAYS_IN_YEAR, dtype=bool), in_leap_springs(*journey)
    for span in leg.closed:
        once = span.dates
        if once is None or (once[0] <= journey[1] and once[1] >= journey[0]):
            days |= days_between(span.first, span.last, span.margin_days, leap=leap)
    return days
