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
from sheltermap.report.behind import likewise
from sheltermap.report.decision import unbarred
from sheltermap.report.question import planning_problem
from sheltermap.shelters.kit import BEDDING_WORDS, Kit
from sheltermap.suitability.titles import in_sentence
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
        One sentence. Where danger is the cause the bedding words are tried with the first
        kit; then, whatever the cause, the other kits with the trip's own bedding. Empty where
        none of them helps, save that in danger this is said.
    """
    dangerous = best_plans(unbarred(asked)).best is not None
    if dangerous:
        for word in BEDDING_WORDS:
            best = _with_bedding(word, inputs, kits[0], camps, asked)
            if best is not None:
                return (f"With {word} bedding for everyone there is a plan: {_in_words(best)}.",)
    # Where any kit may be chosen, all of them were tried already.
    for kit in () if asked.choose_kit else kits[1:]:
        best = best_plans(asked.with_kit(kit.id)).best
        if best is not None:
            title = in_sentence(kit.title)
            return (f"With the {title} there is a plan: {_in_words(best)}.",)
    if not dangerous:
        return ()
    return ("No bedding and no kit of the trip makes a date safe: change the route or the dates.",)


def _with_bedding(
    word: str, inputs: Inputs, kit: Kit, camps: Camps, asked: PlanningProblem
) -> Plan | None:
    """Return the best plan with one bedding for everyone; None where there is none."""
    other = replace(inputs, sleepers=bedded(inputs.sleepers, word))
    places, _ = scored_places(camps, other, [kit])
    other_question = planning_problem(inputs.trip, (kit,), camps, camps.by_leg(places))
    return best_plans(likewise(other_question, asked)).best


def _in_words(plan: Plan) -> str:
    """Return when a plan starts and what it costs in nights."""
    nights = sum(stay.nights for stay in plan.stays)
    return (
        f"leave {said_date(plan.depart)}, {plan.rough_nights:.1f} of {said_nights(nights)} rough, "
        f"{plan.dangerous_nights:.1f} dangerous"
    )
