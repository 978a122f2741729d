"""What looks like a slip in a trip alone: permits that limit nothing, roads too short.

In: a trip. Out: sentences for the traveller, never a refusal: the planner tells what must
give, and a ferry or a shipment covers what nobody drives. Assumes that the tables of the
trip file fit each other, and that a leg's kilometres hold the way to it.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from sheltermap.distance import great_circle
from sheltermap.trip.model import Trip

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
