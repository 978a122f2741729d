"""When to leave, which way round, how long to stay: exact plans and what they cost.

In: a planning problem. Out: the best plan, others worth a look, the cost of leaving on
every other day, or what must give when no plan is possible.
Assumes nothing about weather or files; hazards that forbid, closures, permits and climbs are
constraints that no number of good nights can buy off, and danger weighs more than comfort.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial
from itertools import pairwise
from typing import Literal

import numpy as np

from sheltermap.planner.costs import (
    IMPOSSIBLE,
    MICRO,
    StayCosts,
    known_evenings_before_camp,
    stay_costs,
)
from sheltermap.planner.fixed_order import fixed_order
from sheltermap.planner.free_order import free_order
from sheltermap.planner.problem import FREE, Plan, PlanningProblem, Result, Stay, WayRound
from sheltermap.planner.relaxations import explained
from sheltermap.planner.underway import (
    behind_in_words,
    cut_short,
    earliest_after,
    require_after,
)
from sheltermap.vocabulary import InputError, Problem

DISTINCT_DAYS = 14
"""judgement: days of departure by which two otherwise like plans must differ to be worth
showing."""


@dataclass(frozen=True, eq=False)
class _Search:
    """The best plan of every departure day, one way and with one kit."""

    direction: WayRound
    kit: int
    objective: np.ndarray  # (departures,) [1e-6 night]
    solution: Callable[[int], tuple[list[int], list[int]]]  # day -> stops, nights


def best_plans(problem: PlanningProblem) -> Result:
    """
    Return the best plan of a problem, its alternatives and the cost of every departure.

    Ties go to the earlier departure, then forward before reverse, then the kit named
    first, then the stay nearest to the preferred one.

    Parameters
    ----------
    problem : PlanningProblem

    Returns
    -------
    Result
        With `best` None, a message and relaxations when no plan keeps every constraint.
    """
    if not problem.remaining:
        done = plan_of_stays(problem, problem.finished, _way_done(problem), problem.kits[0])
        return Result(done, (), ((done.depart, done.rough_nights),), (done,))
    costs = stay_costs(problem)
    searches = _searches(costs)
    best_by_departure = tuple(_best_of_departures(costs, searches))
    if not any(best_by_departure):
        message, eased = explained(problem, _cheapest_plan)
        return Result(
            None,
            (),
            tuple((costs.date(day), None) for day in range(costs.departures)),
            best_by_departure,
            message,
            eased,
        )
    best, *alternatives = _distinct_plans(costs, searches)
    return Result(
        best,
        tuple(alternatives),
        tuple(
            (costs.date(day), None if plan is None else plan.rough_nights)
            for day, plan in enumerate(best_by_departure)
        ),
        best_by_departure,
    )


def replanned(
    problem: PlanningProblem, plan: Plan, stop: int, on: date, until: date | None = None
) -> Result:
    """
    Return plans for the rest of a journey under way.

    Parameters
    ----------
    problem : PlanningProblem
        The journey as first planned.
    plan : Plan
        The plan followed so far.
    stop : int
        Position in the problem's stops of the one reached now.
    on : date
        Day its camp is reached; the stay begins with the evenings on the way there.
    until : date, optional
        Last day looked at, where `on` is the first of several; `by_departure` of the result
        then has them all, by the day on which the camp is reached.

    Returns
    -------
    Result
        Every plan starts with the finished stays, the last of them cut short where the stop is
        reached early. Where there is none, the message
        names what to change in the trip file, and how to keep those stays when it changes.

    Raises
    ------
    InputError
        If the stop is not in the plan, or is reached before a night at the stop before it,
        or before the day that one is known to have been left.
    """
    if stop not in plan.order:
        expected = f"the position of a stop of the plan, one of {plan.order}"
        raise InputError([Problem("journey", "stop", expected, str(stop), "Name one of them.")])
    finished = plan.stays[: plan.order.index(stop)]
    require_after(problem, finished, on)
    previous = finished[-1].stop if finished else None
    usual = known_evenings_before_camp(
        problem, previous, stop, reverse=plan.direction == "reverse"
    )
    # Who is there sooner than the way takes spent fewer evenings on it, which needs a search a
    # day. The rest does not depend on the nights of the stay before: one does for other days.
    begun = earliest_after(problem, finished)
    missing = 0 if begun is None else max(usual - (on - begun).days, 0)
    days = ((until or on) - on).days + 1
    parts = [
        _from_camp(problem, plan, stop, (on + timedelta(days=n),) * 2, usual - missing + n)
        for n in range(min(missing, days))
    ]
    if missing < days:
        rest = on + timedelta(days=missing), until or on
        parts.append(_from_camp(problem, plan, stop, rest, usual))
    found = min(parts, key=lambda part: math.inf if part.best is None else part.best.objective)
    return replace(
        found,
        by_departure=tuple(day for part in parts for day in part.by_departure),
        best_by_departure=tuple(day for part in parts for day in part.best_by_departure),
    )


def _from_camp(
    problem: PlanningProblem, plan: Plan, stop: int, days: tuple[date, date], on_the_way: int
) -> Result:
    """Return `replanned` for days on which a camp is reached after as many evenings each."""
    finished = plan.stays[: plan.order.index(stop)]
    way = timedelta(days=on_the_way)
    first, last = (day - way for day in days)
    asked = replace(
        problem.with_kit(plan.kit),
        earliest=first,
        latest=last,
        direction=problem.direction if plan.direction == FREE else plan.direction,
        finished=cut_short(problem, plan, finished, first),
        under_way=True,
        on_the_way=on_the_way,
        first_stop=stop if problem.order == "free" else None,
    )
    result = best_plans(asked)
    message = result.message
    if result.best is None:
        message = f"{message} {behind_in_words(problem, asked.finished, stop, days[0])}"

    def rejoined(rest: Plan | None) -> Plan | None:
        if rest is None or not finished:
            return rest
        behind = cut_short(problem, plan, finished, rest.ahead[0].arrive)
        return plan_of_stays(asked, (*behind, *rest.ahead), rest.direction, rest.kit)

    by_day = tuple(map(rejoined, result.best_by_departure))
    return replace(
        result,
        best=rejoined(result.best),
        by_departure=tuple(
            (day + way, None if rest is None else rest.rough_nights)
            for (day, _), rest in zip(result.by_departure, by_day, strict=True)
        ),
        best_by_departure=by_day,
        message=message,
    )


def _searches(costs: StayCosts) -> list[_Search]:
    """Return the searches of every direction and kit, in the order that settles ties."""
    problem = costs.problem
    searches: list[_Search] = []
    if problem.order == "free":
        for row, kit in enumerate(costs.kits):
            free = free_order(costs, row)
            searches += [
                _Search(FREE, kit, free.objective[first], partial(free.solution, first))
                for first in range(len(free.stops))
            ]
        return searches
    ways: tuple[Literal["forward", "reverse"], ...] = ("forward", "reverse")
    for direction in ways:
        if problem.direction not in (direction, "either"):
            continue
        order = problem.remaining if direction == "forward" else problem.remaining[::-1]
        found = fixed_order(costs, order)
        searches += [
            _Search(direction, kit, found.objective[row], partial(found.solution, row))
            for row, kit in enumerate(costs.kits)
        ]
    return searches


def _best_of_departures(costs: StayCosts, searches: Sequence[_Search]) -> Iterator[Plan | None]:
    """Yield the best plan of every departure day, None where there is none."""
    objectives = np.array([search.objective for search in searches])
    winners = np.argmin(objectives, axis=0)
    for day in range(costs.departures):
        search = searches[winners[day]]
        yield None if search.objective[day] >= IMPOSSIBLE else _plan(costs, search, day)


def _distinct_plans(costs: StayCosts, searches: Sequence[_Search]) -> Iterator[Plan]:
    """Yield the best plan and the next best ones that differ from all before them."""
    objectives = np.array([search.objective for search in searches])
    searches_of, days = np.divmod(np.arange(objectives.size), costs.departures)
    chosen: list[tuple[tuple[str, str, tuple[int, ...]], int]] = []
    for index in np.lexsort((searches_of, days, objectives.ravel())):
        search, day = searches[searches_of[index]], int(days[index])
        if search.objective[day] >= IMPOSSIBLE or len(chosen) > costs.problem.most_alternatives:
            break
        plan = _plan(costs, search, day)
        key = (plan.direction, plan.kit, plan.order)
        if all(key != other or abs(day - then) >= DISTINCT_DAYS for other, then in chosen):
            chosen.append((key, day))
            yield plan


def _cheapest_plan(problem: PlanningProblem) -> Plan | None:
    """Return the best plan of a problem, or None."""
    costs = stay_costs(problem)
    return next(_distinct_plans(costs, _searches(costs)), None)


def _way_done(problem: PlanningProblem) -> WayRound:
    """Return the direction of a journey that is done."""
    if problem.order == "free":
        return FREE
    return "reverse" if problem.direction == "reverse" else "forward"


def _plan(costs: StayCosts, search: _Search, day: int) -> Plan:
    """Return one solution as dated stays, after those already finished."""
    problem = costs.problem
    row = costs.kits.index(search.kit)
    stays, reverse = list(problem.finished), search.direction == "reverse"
    for stop, nights in zip(*search.solution(day), strict=True):
        rough, dangerous, serious = (
            int(sums[row, stop, day + nights] - sums[row, stop, day])
            for sums in (costs.rough, costs.dangerous, costs.serious)
        )
        leave, previous = day + nights, stays[-1].stop if stays else None
        stays.append(
            Stay(
                stop,
                costs.date(day),
                costs.date(leave),
                nights,
                rough / MICRO,
                dangerous / MICRO,
                serious // MICRO,
                on_the_way=known_evenings_before_camp(problem, previous, stop, reverse=reverse),
            )
        )
        day = leave
    return plan_of_stays(problem, stays, search.direction, problem.kits[search.kit])


def plan_of_stays(
    problem: PlanningProblem, stays: Sequence[Stay], direction: WayRound, kit: str
) -> Plan:
    """
    Return dated stays as a plan, with what they sum to.

    Parameters
    ----------
    problem : PlanningProblem
    stays : sequence of Stay
        In travel order, at least one.
    direction : str
    kit : str

    Returns
    -------
    Plan
    """
    off = sum(abs(stay.nights - problem.stops[stay.stop].nights_preferred) for stay in stays)
    rough_nights = math.fsum(stay.rough_nights for stay in stays)
    return Plan(
        depart=stays[0].arrive,
        finish=stays[-1].leave,
        direction=direction,
        kit=kit,
        stays=tuple(stays),
        rough_nights=rough_nights,
        objective=(
            rough_nights
            + problem.danger_weight * sum(stay.dangerous_nights for stay in stays)
            + problem.serious_weight * sum(stay.serious_nights for stay in stays)
            + problem.stay_weight * off
        ),
        unplanned_nights=sum(
            (after.arrive - before.leave).days for before, after in pairwise(stays)
        ),
        done=len(problem.finished),
    )
