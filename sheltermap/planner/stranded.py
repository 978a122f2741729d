"""Why a day of departure has no plan: how far the journey gets, and what bars the next stop.

In: a planning problem in a fixed order. Out: a sentence for each day. Assumes that the way
round that gets furthest is the one worth telling, and names one cause at a time: what, taken
away alone, would let the journey past that stop.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

from sheltermap.dates import said_date
from sheltermap.planner.costs import StayCosts, stay_costs
from sheltermap.planner.feasible import reaches
from sheltermap.planner.problem import PermitRule, PlanningProblem, Stop
from sheltermap.vocabulary import listed

_LATER = timedelta(days=366)
"""How much later a journey may end when the end is asked whether it is the cause."""


def why_stranded(problem: PlanningProblem, days: Sequence[date]) -> tuple[str, ...]:
    """
    Return why days of departure have no plan.

    Parameters
    ----------
    problem : PlanningProblem
    days : sequence of date
        Days of departure of the problem without a plan.

    Returns
    -------
    tuple of str
        A sentence for each day; empty in a free order, where no stop comes next.
    """
    if problem.order == "free":
        return ("",) * len(days)
    stranded = _Stranded(problem)
    return tuple(stranded.sentence((day - problem.earliest).days) for day in days)


class _Stranded:
    """Costs of the problem as it is, and with one cause at one stop taken away."""

    def __init__(self, problem: PlanningProblem):
        self.problem = problem
        self.costs = stay_costs(problem)
        self._eased: dict[int, list[tuple[str, StayCosts]]] = {}

    def sentence(self, day: int) -> str:
        """Return why the journey from a day, counted from the first, comes to no end."""
        order, reach = max(reaches(self.costs, day), key=lambda found: found[1])
        if reach == len(order):
            return ""
        stop = order[reach]
        causes = [cause for cause, costs in self.eased(stop) if _passes(costs, order, reach, day)]
        name = self.problem.stops[stop].name
        why = (
            f"at {name}, {listed(causes)}" if causes else f"{name} is barred by more than one rule"
        )
        if not reach:
            return f"The journey cannot begin: {why}."
        last = self.problem.stops[order[reach - 1]].name
        return f"The journey gets no further than {last}: {why}."

    def eased(self, stop: int) -> list[tuple[str, StayCosts]]:
        """Return the causes that may bar a stop, each with the costs without it."""
        if stop not in self._eased:
            self._eased[stop] = [
                (cause, stay_costs(problem))
                for cause, problem in _without_each(self.problem, stop)
            ]
        return self._eased[stop]


def _passes(costs: StayCosts, order: tuple[int, ...], reach: int, day: int) -> bool:
    """Return whether more stops of an order can be spent than before."""
    return any(other == order and found > reach for other, found in reaches(costs, day))


def _without_each(problem: PlanningProblem, number: int) -> Iterator[tuple[str, PlanningProblem]]:
    """Yield each cause that may bar a stop, with the problem without it."""
    stop = problem.stops[number]

    def changed(other: Stop) -> PlanningProblem:
        stops = (*problem.stops[:number], other, *problem.stops[number + 1 :])
        return replace(problem, stops=stops)

    for reason in dict.fromkeys(closure.reason for closure in stop.closures):
        rest = tuple(one for one in stop.closures if one.reason != reason)
        yield f"it is closed ({reason})", changed(replace(stop, closures=rest))
    for reason in dict.fromkeys(barrier.reason for barrier in stop.barriers):
        left = tuple(one for one in stop.barriers if one.reason != reason)
        yield reason, changed(replace(stop, barriers=left))
    if stop.be_there:
        evenings = listed([said_date(evening) for evening in stop.be_there])
        yield f"the evening of {evenings} would be missed", changed(replace(stop, be_there=()))
    if stop.permit is not None:
        words = f"the permit {stop.permit} does not allow the stay"
        free = tuple(
            PermitRule(rule.name) if rule.name == stop.permit else rule for rule in problem.permits
        )
        yield words, replace(problem, permits=free)
    if problem.finish_by is not None:
        words = f"the journey would end after {said_date(problem.finish_by)}"
        yield words, replace(problem, finish_by=problem.finish_by + _LATER)
