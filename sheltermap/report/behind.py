"""The planner's question to somebody on the road: what is done stands, the rest is asked.

In: the question of the whole journey, what lies behind. Out: the question of what is left.
Assumes that the log was checked: its legs are the first of the journey, one way or the other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np

from sheltermap.places.behind import DoneStay
from sheltermap.planner.costs import MICRO, known_evenings_before_camp
from sheltermap.planner.problem import Direction, PlanningProblem, Stay
from sheltermap.trip.log import DoneRow
from sheltermap.trip.model import Trip
from sheltermap.vocabulary import Floats, Level


def evenings_logged(asked: PlanningProblem, trip: Trip) -> tuple[int, ...]:
    """
    Return the evenings before the camp of each row of the log was reached.

    Parameters
    ----------
    asked : PlanningProblem
        Of the whole journey.
    trip : Trip

    Returns
    -------
    tuple of int
        As many as its way takes as far as that is known, and no more than there were since the
        leg before was left. [night]
    """
    names = [leg.name for leg in trip.legs]
    reverse = bool(trip.done) and _way(asked, trip) == "reverse"
    evenings: list[int] = []
    before: DoneRow | None = None
    for row in trip.done:
        previous = None if before is None else names.index(before.leg)
        way = known_evenings_before_camp(asked, previous, names.index(row.leg), reverse=reverse)
        if before is not None and before.left is not None:
            way = min(way, (row.arrived - before.left).days)
        evenings.append(way)
        before = row
    return tuple(evenings)


def under_way(
    asked: PlanningProblem, trip: Trip, behind: Sequence[DoneStay], evenings: Sequence[int]
) -> PlanningProblem:
    """
    Return the question of what is left of a journey.

    Parameters
    ----------
    asked : PlanningProblem
    trip : Trip
    behind : sequence of DoneStay
        Legs that were left.
    evenings : sequence of int
        From `evenings_logged`. [night]

    Returns
    -------
    PlanningProblem
        The same before departure. Else the camp of the next leg is reached on the day that is
        logged, or the way to it begins on the day that the one before was left.
    """
    if not trip.done:
        return asked
    names = [leg.name for leg in trip.legs]
    last = trip.done[-1]
    here = names.index(last.leg) if last.left is None else None
    way = evenings[-1] if last.left is None else None
    begun = last.left or last.arrived - timedelta(days=way or 0)
    return replace(
        asked,
        earliest=begun,
        latest=begun,
        direction=_way(asked, trip),
        finished=tuple(map(_stay, behind)),
        under_way=True,
        on_the_way=way,
        first_stop=here if asked.order == "free" else None,
    )


def _way(asked: PlanningProblem, trip: Trip) -> Direction:
    """Return the way round of somebody on the road."""
    if asked.direction != "either" or len(trip.legs) == 1:
        return asked.direction
    return "forward" if trip.done[0].leg == trip.legs[0].name else "reverse"


def likewise(other: PlanningProblem, asked: PlanningProblem) -> PlanningProblem:
    """
    Return a question of other kits or sleepers, asked from where the first one is.

    Parameters
    ----------
    other, asked : PlanningProblem

    Returns
    -------
    PlanningProblem
    """
    return replace(
        other,
        earliest=asked.earliest,
        latest=asked.latest,
        direction=asked.direction,
        finished=asked.finished,
        under_way=asked.under_way,
        on_the_way=asked.on_the_way,
        first_stop=asked.first_stop,
    )


def departed(trip: Trip) -> Trip:
    """
    Return a trip that leaves on the day it left, where it is on the road.

    Parameters
    ----------
    trip : Trip

    Returns
    -------
    Trip
    """
    if not trip.done:
        return trip
    left = {"earliest": trip.done[0].arrived, "latest": trip.done[0].arrived}
    return trip.model_copy(update={"departure": trip.departure.model_copy(update=left)})


def by_stop(behind: Sequence[DoneStay]) -> Mapping[int, DoneStay]:
    """Return what is behind by the position of its leg."""
    return {stay.leg: stay for stay in behind}


def _stay(done: DoneStay) -> Stay:
    """Return a done leg as the planner keeps it."""
    level = done.season.hazard_level[done.days]
    return Stay(
        stop=done.leg,
        arrive=done.arrive,
        leave=done.leave,
        nights=done.nights,
        rough_nights=_summed(1 - done.shares["sound_share"]),
        dangerous_nights=_summed(done.shares["dangerous"]),
        serious_nights=int((level >= Level.SERIOUS).sum()),
        kit=done.kit.id,
        on_the_way=done.on_the_way,
    )


def _summed(chances: Floats) -> float:
    """Return nights as the planner sums them: in whole millionths; unknown ones as none."""
    return int(np.rint(np.nan_to_num(chances) * MICRO).sum()) / MICRO
