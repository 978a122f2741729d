"""Stated kilometres that no road can keep: most often latitude and longitude are swapped.

In: a trip. Out: sentences for the traveller, never a refusal, since a ferry or a shipment
covers what nobody drives. Assumes that a leg's kilometres hold the way to it, and looks at
legs of one place each in a fixed order, where the way is known.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from sheltermap.climate.grid import great_circle
from sheltermap.journey.trip import Trip

_AROUND_KM = 50.0
"""Two places count 25 km around them each: so much shorter a way can be."""


def short_ways(trip: Trip) -> Iterator[str]:
    """
    Yield a sentence for each leg whose kilometres are fewer than the straight line to it.

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
