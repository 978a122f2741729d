"""The decision: with which kit and when, what else was close, or what stands in the way.

In: the planner's question; on the road also where one is late. Out: a Decision. Assumes one kit
a journey: it is chosen over all days of departure, and every day is then shown with it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sheltermap.planner.problem import Plan, PlanningProblem, Result
from sheltermap.planner.search import best_plans, replanned
from sheltermap.report.question import kit_in_words
from sheltermap.shelters.kit import Kit
from sheltermap.trip.model import Shelter


@dataclass(frozen=True, eq=False)
class Decision:
    """What was decided for a trip.

    Attributes
    ----------
    asked : PlanningProblem
        With every kit that fits.
    problem : PlanningProblem
        With the chosen kit alone; as asked where no plan is feasible.
    result : Result
        Of `problem`; on the road, of what is left of it.
    alternatives : tuple of Plan
        The next best; they may differ in kit.
    infeasible : tuple of str
        Why there is no plan, and what would make one possible; empty where there is one.
    """

    asked: PlanningProblem
    problem: PlanningProblem
    result: Result
    alternatives: tuple[Plan, ...]
    infeasible: tuple[str, ...]

    @property
    def best(self) -> Plan | None:
        """Return the plan; None where none keeps every rule."""
        return self.result.best

    def chosen_first(self, kits: Iterable[Kit]) -> tuple[Kit, ...]:
        """Return kits, the one of the plan first; as they were where there is no plan."""
        chosen = self.problem.kits[0]
        return tuple(sorted(kits, key=lambda kit: kit.id != chosen))


def decision(
    asked: PlanningProblem, shelter: Shelter, late: tuple[int, date] | None = None
) -> Decision:
    """
    Return the decision for a trip.

    Parameters
    ----------
    asked : PlanningProblem
    shelter : Shelter
        What the trip file says of kits, for the words on keeping one.
    late : (int, date), optional
        On the road, the position of the leg ahead and the day it is reached; the legs before
        it stay as planned.

    Returns
    -------
    Decision

    Raises
    ------
    InputError
        If that leg is reached before the stay ahead of it ends.
    """
    first = best_plans(asked)
    if first.best is None:
        return Decision(asked, asked, first, first.alternatives, _reasons(first))
    problem = asked.with_kit(first.best.kit)
    whole = best_plans(problem)
    if late is None or whole.best is None:
        return Decision(asked, problem, whole, first.alternatives, _reasons(whole))
    rest = replanned(problem, whole.best, *late)
    reasons = _reasons(rest)
    if rest.best is None:
        reasons += tuple(kit_in_words(shelter, whole.best.kit))
    return Decision(asked, problem, rest, rest.alternatives, reasons)


def _reasons(result: Result) -> tuple[str, ...]:
    """Return why there is no plan; the message names the smallest change, the others follow."""
    others = (relaxation.message for relaxation in result.relaxations[1:])
    return tuple(filter(None, (result.message, *others)))
