"""What looks like a slip in a trip alone: permits that limit nothing, roads too short.

In: a trip. Out: sentences for the traveller, never a refusal: the planner tells what must
give, and a ferry or a shipment covers what nobody drives. Assumes that the tables of the
trip file fit each other, and that a leg's kilometres hold the way to it.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

from sheltermap.distance import great_circle
from sheltermap.files import read_text
from sheltermap.slips import other_unit, points_for_thousands
from sheltermap.trip.model import Trip

_HEAVY_PERSON_KG, _HEAVY_VEHICLE_KG = 120.0, 4500.0
"""judgement: heavier people with clothes are few, and so are vehicles that people sleep by."""

_AROUND_KM = 50.0
"""Two places count 25 km around them each: so much shorter a way can be."""


def permit_doubts(trip: Trip) -> Iterator[str]:
    """
    Yield a sentence for each permit that no plan is limited by, or no plan can keep.

    Parameters
    ----------
    trip : Trip

    Yields
    ------
    str
    """
    for name, permit in trip.permits.items():
        inside = [leg for leg in trip.legs if leg.permit == name]
        if not inside:
            yield (
                f"The permit {name} limits nothing, since no leg names it: write "
                f'permit = "{name}" into its legs.'
            )
            continue
        # The days of entry and of leaving both count.
        least = sum(leg.nights.least for leg in inside) + 1
        if least > permit.longest_stay_days:
            names = ", ".join(leg.name for leg in inside)
            yield (
                f"The permit {name} allows {permit.longest_stay_days} days, but the shortest "
                f"stays of its legs ({names}) take {least}, those of entry and of leaving counted."
            )


def short_ways(trip: Trip) -> Iterator[str]:
    """
    Yield a sentence for each leg whose kilometres are fewer than the straight line to it.

    Most often latitude and longitude are swapped. Looks at legs of one place each in a fixed
    order, where the way is known.

    Parameters
    ----------
    trip : Trip

    Yields
    ------
    str
    """
    if trip.departure.order == "free":
        return
    for before, leg in pairwise(trip.legs):
        if before.place is None or leg.place is None or leg.kilometres is None:
            continue
        straight = float(great_circle(*before.place, *leg.place))
        if leg.kilometres < straight - _AROUND_KM:
            yield (
                f"{leg.name} lies {straight:,.0f} km in a straight line from {before.name}, but "
                f"its kilometres are {leg.kilometres:,.0f}: are latitude and longitude in order, "
                "or does a ferry carry you?"
            )


def unit_doubts(trip: Trip) -> Iterator[str]:
    """
    Yield a sentence for each mass that looks like pounds.

    Parameters
    ----------
    trip : Trip

    Yields
    ------
    str
    """
    masses = {
        "party.body_mass_kg": (trip.party.body_mass_kg, _HEAVY_PERSON_KG),
        "vehicle.weighed_kg": (trip.vehicle.weighed_kg, _HEAVY_VEHICLE_KG),
        "vehicle.rated_kg": (trip.vehicle.rated_kg, _HEAVY_VEHICLE_KG),
    }
    for key, (mass, heavy) in masses.items():
        if mass is not None and mass > heavy:
            yield f"{key} is {mass:,.0f} kg. {other_unit(key, mass, 0, mass)}"


def written_doubts(file: Path) -> Iterator[str]:
    """
    Yield a sentence for each number whose point may set thousands apart.

    Parameters
    ----------
    file : Path
        The trip file.

    Yields
    ------
    str
    """
    yield from points_for_thousands(read_text(file))
