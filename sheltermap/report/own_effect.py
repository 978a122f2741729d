"""Own nights: what they did to a plan, and which nights ahead would teach most.

In: what nights taught, the plan, the same places for the usual sleepers. Out: OwnNights.
Assumes the plan's dates: usual sleepers might choose others.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from sheltermap.dates import days_of_year
from sheltermap.places.behind import UsualPlaces
from sheltermap.places.ground import Camps
from sheltermap.places.lessons import Lesson
from sheltermap.places.place import Place
from sheltermap.planner.problem import Plan, PlanningProblem, Stay
from sheltermap.planner.search import plan_of_stays
from sheltermap.planner.uncertainty import rough_range
from sheltermap.planner.underway import restated
from sheltermap.report.behind import likewise
from sheltermap.report.odds import night_errors
from sheltermap.report.own_nights import OwnNights, OwnSleeper, Teaching
from sheltermap.report.parts import cards
from sheltermap.report.question import planning_problem
from sheltermap.shelters.kit import Kit
from sheltermap.shelters.learned import MEASURED_SPREAD
from sheltermap.trip.model import Trip

WORTH = 0.05
"""Least share of what is open that a night settles that is named. [1] judgement"""

_MOST_NAMED = 2


def own_nights(
    lessons: Sequence[Lesson],
    usual: UsualPlaces,
    camps: Camps,
    plan: Plan | None,
    asked: PlanningProblem,
) -> OwnNights | None:
    """
    Return what own nights did to a plan.

    Parameters
    ----------
    lessons : sequence of Lesson
    usual : UsualPlaces
    camps : Camps
    plan : Plan or None
    asked : PlanningProblem
        That it answers.

    Returns
    -------
    OwnNights or None
        None where nobody wrote a night down, and without a plan.
    """
    if not lessons or plan is None:
        return None
    inputs = usual.inputs
    kit = next(kit for kit in inputs.kits if kit.id == plan.kit)
    places = usual.in_kit(kit)
    problem = likewise(planning_problem(inputs.trip, (kit,), camps, places), asked)
    stays = tuple(stay if stay.kit else restated(problem, stay, plan.kit) for stay in plan.stays)
    as_usual = plan_of_stays(problem, stays, plan.direction, plan.kit)
    as_usual = replace(as_usual, done=plan.done)
    spread = rough_range(problem, as_usual, night_errors(places, problem.kits))
    return OwnNights(
        sleepers=tuple(
            _sleeper(lesson, inputs.trip, kit, plan.ahead, places) for lesson in lessons
        ),
        rough_nights=as_usual.rough_nights,
        rough_low=spread.low,
        rough_high=spread.high,
        cards=cards(inputs, inputs.kits),
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
