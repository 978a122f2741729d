"""The planner's question to somebody on the road: what is done stands, the rest is asked.

In: the question of the whole journey, what lies behind. Out: the question of what is left.
Assumes that the log was checked: its legs are the first of the journey, one way or the other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from sheltermap.places.behind import DoneStay
from sheltermap.planner.costs import MICRO
from sheltermap.planner.problem import Direction, PlanningProblem, Stay
from sheltermap.trip.model import Trip
from sheltermap.vocabulary import Floats, Level


def under_way(asked: PlanningProblem, trip: Trip, behind: Sequence[DoneStay]) -> PlanningProblem:
    """
    Return the question of what is left of a journey.

    Parameters
    ----------
    asked : PlanningProblem
    trip : Trip
    behind : sequence of DoneStay
        Legs that were left.

    Returns
    -------
    PlanningProblem
        The same before departure. Else the next leg is reached on the day that is logged, or
        on the day that the one before was left.
    """
    if not trip.done:
        return asked
    names = [leg.name for leg in trip.legs]
    last, first = trip.done[-1], names.index(trip.done[0].leg)
    reached = last.arrived if last.left is None else last.left
    way: Direction = asked.direction
    if way == "either" and len(names) > 1:
        way = "forward" if first == 0 else "reverse"
    here = names.index(last.leg) if last.left is None else None
    return replace(
        asked,
        earliest=reached,
        latest=reached,
        direction=way,
        finished=tuple(map(_stay, behind)),
        under_way=True,
        at_camp=last.left is None,
        first_stop=here if asked.order == "free" else None,
    )


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
        at_camp=asked.at_camp,
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
    )


def _summed(chances: Floats) -> float:
    """Return nights as the planner sums them: in whole millionths; unknown ones as none."""
    return int(np.rint(np.nan_to_num(chances) * MICRO).sum()) / MICRO
