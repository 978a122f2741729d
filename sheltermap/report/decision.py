"""The decision: with which kit and when, what else was close, or what stands in the way.

In: the planner's question; on the road also where one is late. Out: a Decision. Assumes one kit
a journey: it is chosen over all days of departure, and every day is then shown with it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from sheltermap.dates import days_of_year, said_date
from sheltermap.planner.problem import Plan, PlanningProblem, Result
from sheltermap.planner.relaxations import other_way_round
from sheltermap.planner.search import best_plans, replanned
from sheltermap.report.question import kit_in_words
from sheltermap.shelters.kit import Kit
from sheltermap.trip.model import Shelter
from sheltermap.vocabulary import listed


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
        reasons = _reasons(first, asked, best_plans(unbarred(asked)).best)
        return Decision(asked, asked, first, first.alternatives, reasons)
    problem = asked.with_kit(first.best.kit)
    whole = best_plans(problem)
    if late is None or whole.best is None:
        return Decision(asked, problem, whole, first.alternatives, ())
    rest = replanned(problem, whole.best, *late)
    if rest.best is not None:
        return Decision(asked, problem, rest, rest.alternatives, ())
    unsafe = replanned(unbarred(problem), whole.best, *late).best
    reasons = (*_reasons(rest, problem, unsafe), *kit_in_words(shelter, whole.best.kit))
    return Decision(asked, problem, rest, rest.alternatives, reasons)


def unbarred(problem: PlanningProblem) -> PlanningProblem:
    """
    Return the question as it would be if no date were barred as too dangerous in a kit.

    Parameters
    ----------
    problem : PlanningProblem

    Returns
    -------
    PlanningProblem
        Hazards bar their nights as before.
    """
    stops = [
        replace(stop, barriers=tuple(one for one in stop.barriers if not one.of_kit))
        for stop in problem.stops
    ]
    return replace(problem, stops=tuple(stops))


def _reasons(result: Result, problem: PlanningProblem, unsafe: Plan | None) -> tuple[str, ...]:
    """
    Return why there is no plan; the first sentence has the cause, the others what would help.

    Where a plan exists but for dangerous nights, that is the cause, and said in place of
    the planner's message, which knows of days alone.
    """
    if unsafe is None:
        others = (relaxation.message for relaxation in result.relaxations[1:])
        return (result.message, *others)
    eased = (relaxation.message for relaxation in result.relaxations)
    return (_danger(problem, unsafe), *other_way_round(problem), *eased)


def _danger(problem: PlanningProblem, unsafe: Plan) -> str:
    """Return that danger bars every date, and what even the least dangerous plan would meet."""
    nights = sum(stay.nights for stay in unsafe.stays)
    met: dict[str, list[str]] = {}
    for stay in unsafe.stays:
        days = days_of_year(stay.arrive, stay.nights)
        for barrier in problem.stops[stay.stop].barriers:
            if (
                barrier.of_kit
                and unsafe.kit in (barrier.kits or ())
                and barrier.by_day[days].any()
            ):
                met.setdefault(barrier.reason, []).append(problem.stops[stay.stop].name)
    where = "; ".join(f"at {listed(names)} {reason}" for reason, names in met.items())
    return (
        "No date that the trip allows is safe enough. The least dangerous plan (leave "
        f"{said_date(unsafe.depart)}) has {unsafe.dangerous_nights:.1f} dangerous nights of "
        f"{nights}: {where}."
    )
