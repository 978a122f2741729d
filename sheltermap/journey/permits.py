"""Permits that limit nothing, and those that the shortest stays already break.

In: a trip. Out: sentences for the traveller, never a refusal: the planner tells what must
give, and by how much. Assumes that the tables of the trip file fit each other.
"""

from __future__ import annotations

from collections.abc import Iterator

from sheltermap.journey.trip import Trip


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
