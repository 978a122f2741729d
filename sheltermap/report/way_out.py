"""The way out where a trip has no plan: the first bedding, or the first kit, that gives one.

In: a trip without a plan. Out: a sentence. Assumes that dates and route are as the trip file
says; what else must give is told by the planner.
"""

from __future__ import annotations

from dataclasses import replace

from sheltermap.dates import said_date, said_nights
from sheltermap.economy.planned import bedded
from sheltermap.places.ground import Camps
from sheltermap.places.scored import scored_places
from sheltermap.planner.problem import Plan, PlanningProblem
from sheltermap.planner.search import best_plans
from sheltermap.report.question import planning_problem
from sheltermap.shelters.kit import BEDDING_WORDS, Kit
from sheltermap.trip.inputs import Inputs


def way_out(
    inputs: Inputs, kits: tuple[Kit, ...], camps: Camps, asked: PlanningProblem
) -> tuple[str, ...]:
    """
    Return which bedding or kit would give a trip without a plan one.

    Parameters
    ----------
    inputs : Inputs
    kits : tuple of Kit
        Those that fit, the choice first.
    camps : Camps
    asked : PlanningProblem
        The one without a plan.

    Returns
    -------
    tuple of str
        One sentence: the bedding words are tried with the first kit, then the other kits with
        the trip's own bedding. Empty where none of them helps.
    """
    for word in BEDDING_WORDS:
        warmer = replace(inputs, sleepers=bedded(inputs.sleepers, word))
        places, _ = scored_places(camps, warmer, kits[:1])
        problem = planning_problem(inputs.trip, kits[:1], camps, camps.by_leg(places))
        best = best_plans(problem).best
        if best is not None:
            return (f"With {word} bedding for everyone there is a plan: {_in_words(best)}.",)
    for kit in kits[1:]:
        best = best_plans(asked.with_kit(kit.id)).best
        if best is not None:
            return (f"With {kit.title} there is a plan: {_in_words(best)}.",)
    return ()


def _in_words(plan: Plan) -> str:
    """Return when a plan starts and what it costs in nights."""
    nights = sum(stay.nights for stay in plan.stays)
    return (
        f"leave {said_date(plan.depart)}, {plan.rough_nights:.1f} of {said_nights(nights)} rough, "
        f"{plan.dangerous_nights:.1f} dangerous"
    )
