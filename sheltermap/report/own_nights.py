"""Own nights: what they did to a plan, and which nights ahead would teach most.

In: what nights taught, the plan, the same places for the usual sleepers. Out: OwnNights.
Assumes the plan's dates: usual sleepers might choose others.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from sheltermap.dates import days_of_year
from sheltermap.places.behind import UsualPlaces
from sheltermap.places.lessons import Lesson
from sheltermap.places.place import Place
from sheltermap.planner.problem import Plan, PlanningProblem, Stay
from sheltermap.planner.search import plan_of_stays
from sheltermap.planner.uncertainty import rough_range
from sheltermap.planner.underway import restated
from sheltermap.report.odds import night_errors
from sheltermap.shelters.kit import Kit
from sheltermap.shelters.learned import MEASURED_SPREAD, Offset
from sheltermap.suitability.card import KitLimits
from sheltermap.trip.model import Trip

WORTH = 0.05
"""Least share of what is open that a night settles that is named. [1] judgement"""

_MOST_NAMED = 2


@dataclass(frozen=True)
class Teaching:
    """
    A leg whose nights would teach much of one sleeper.

    Attributes
    ----------
    leg : str
    arrive, leave : date
    margin : float
        What a mean dry night there gives the usual sleeper to spare. [K]
    spread, after : float
        Of the offset against cold, today and after one measured night there. [K]
    """

    leg: str
    arrive: date
    leave: date
    margin: float
    spread: float
    after: float


@dataclass(frozen=True)
class OwnSleeper:
    """
    What nights taught of one sleeper.

    Attributes
    ----------
    who : str
        Empty for the only one.
    nights, measured : int
    cold, heat : Offset
        In the bedding of the plan's kit, and in heat.
    slept_in : bool
        Whether that bedding was slept in; else what is the person's counts alone.
    moved : tuple of (int, float)
        Number of each row, and by how much it moves the offset against cold. [K]
    teaching : tuple of Teaching
        The legs ahead that would teach most, the best first.
    """

    who: str
    nights: int
    measured: int
    cold: Offset
    heat: Offset
    slept_in: bool
    moved: tuple[tuple[int, float], ...]
    teaching: tuple[Teaching, ...]


@dataclass(frozen=True)
class OwnNights:
    """
    What own nights did to a plan.

    Attributes
    ----------
    sleepers : tuple of OwnSleeper
    rough_nights, rough_low, rough_high : float
        Of the same dates for usual sleepers. [night]
    cards : dict of str to KitLimits
        For usual sleepers, by kit.
    """

    sleepers: tuple[OwnSleeper, ...]
    rough_nights: float
    rough_low: float
    rough_high: float
    cards: dict[str, KitLimits]


def own_nights(
    lessons: Sequence[Lesson],
    usual: UsualPlaces,
    kit: Kit,
    plan: Plan,
    problem: PlanningProblem,
    cards: dict[str, KitLimits],
) -> OwnNights | None:
    """
    Return what own nights did to a plan.

    Parameters
    ----------
    lessons : sequence of Lesson
    usual : UsualPlaces
    kit : Kit
        The plan's, as read.
    plan : Plan
    problem : PlanningProblem
        Of the plan, as the usual sleepers are asked.
    cards : dict of str to KitLimits
        For the usual sleepers.

    Returns
    -------
    OwnNights or None
        None where nobody wrote a night down.
    """
    if not lessons:
        return None
    places = usual.in_kit(kit)
    stays = tuple(stay if stay.kit else restated(problem, stay, plan.kit) for stay in plan.stays)
    as_usual = plan_of_stays(problem, stays, plan.direction, plan.kit)
    as_usual = replace(as_usual, done=plan.done)
    spread = rough_range(problem, as_usual, night_errors(places, problem.kits))
    return OwnNights(
        sleepers=tuple(
            _sleeper(lesson, usual.inputs.trip, kit, plan.ahead, places) for lesson in lessons
        ),
        rough_nights=as_usual.rough_nights,
        rough_low=spread.low,
        rough_high=spread.high,
        cards=cards,
    )


def _sleeper(
    lesson: Lesson, trip: Trip, kit: Kit, ahead: Sequence[Stay], places: Sequence[Place]
) -> OwnSleeper:
    """Return what nights taught of one sleeper, and where more would."""
    bedding, own = kit.bedding_of(lesson.sleeper).label, lesson.sleeper.own
    assert own is not None  # A lesson is what was learned.
    return OwnSleeper(
        who=lesson.who,
        nights=lesson.nights,
        measured=lesson.measured,
        cold=own.cold(bedding),
        heat=own.heat,
        slept_in=bedding in dict(own.in_bedding),
        moved=lesson.moved,
        teaching=_teaching(lesson, trip, kit, ahead, places),
    )


def _teaching(
    lesson: Lesson, trip: Trip, kit: Kit, ahead: Sequence[Stay], places: Sequence[Place]
) -> tuple[Teaching, ...]:
    """Return the legs ahead whose nights would teach most."""
    bedding = kit.bedding_of(lesson.sleeper).label
    today = lesson.cold.offset(bedding).spread
    found = []
    for stay in ahead:
        season = places[stay.stop].seasons[kit.id]
        margin = float(season.cold_margin[days_of_year(stay.arrive, stay.nights)].mean())
        after = lesson.cold.spread_after(margin, MEASURED_SPREAD, bedding)
        name = trip.legs[stay.stop].name
        found.append(Teaching(name, stay.arrive, stay.leave, margin, today, after))
    worth = [one for one in found if one.after**2 <= (1 - WORTH) * today**2]
    return tuple(sorted(worth, key=lambda one: one.after)[:_MOST_NAMED])
