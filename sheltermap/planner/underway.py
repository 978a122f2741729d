"""What a traveller under way has missed, and how the trip file keeps what lies behind.

In: a planning problem that starts where somebody is. Out: the fixed evenings that are
over, the problem without them, stays as they turned out, and sentences that name what to
write into the trip file.
Assumes that the trip file alone says what was planned: whatever is changed there moves
the stays already made too, unless their nights and evenings are written down.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from sheltermap.dates import days_of_year, said_date, said_days
from sheltermap.planner.costs import MICRO
from sheltermap.planner.problem import Plan, PlanningProblem, Stay, Stop
from sheltermap.vocabulary import InputError, Problem

Missed = tuple[Stop, tuple[date, ...]]
"""A stop and the fixed evenings there that are over."""


def missed_evenings(problem: PlanningProblem) -> tuple[Missed, ...]:
    """
    Return the fixed evenings that no plan can keep any more.

    Parameters
    ----------
    problem : PlanningProblem

    Returns
    -------
    tuple of (Stop, tuple of date)
        Empty before departure, when every date still lies ahead.
    """
    if not problem.under_way:
        return ()
    stops = (problem.stops[position] for position in problem.remaining)
    over = ((stop, tuple(d for d in stop.be_there if d < problem.reached)) for stop in stops)
    return tuple((stop, evenings) for stop, evenings in over if evenings)


def without(problem: PlanningProblem, missed: Iterable[Missed]) -> PlanningProblem:
    """
    Return the problem without evenings that are over.

    Parameters
    ----------
    problem : PlanningProblem
    missed : iterable of (Stop, tuple of date)
        From `missed_evenings`.

    Returns
    -------
    PlanningProblem
    """
    over = {stop.id: evenings for stop, evenings in missed}
    stops = tuple(
        replace(stop, be_there=tuple(d for d in stop.be_there if d not in over.get(stop.id, ())))
        for stop in problem.stops
    )
    return replace(problem, stops=stops)


def missed_in_words(problem: PlanningProblem, missed: Iterable[Missed]) -> Iterator[str]:
    """
    Yield what is missed, by how much, and what to take out of the trip file.

    Parameters
    ----------
    problem : PlanningProblem
    missed : iterable of (Stop, tuple of date)
        From `missed_evenings`.

    Yields
    ------
    str
        A sentence for each stop.
    """
    for stop, evenings in missed:
        each = " and ".join(
            f"{said_date(evening)} by {said_days((problem.reached - evening).days)}"
            for evening in evenings
        )
        dates = " and ".join(map(str, evenings))
        yield f"{stop.name}: being there is missed, {each}. Take {dates} out of its be_there."


def rest_in_words(problem: PlanningProblem, plan: Plan) -> str:
    """
    Return the stays of a plan that are still to come, in a sentence.

    Parameters
    ----------
    problem : PlanningProblem
    plan : Plan
        Starts with the problem's finished stays.

    Returns
    -------
    str
    """
    ahead = plan.stays[len(problem.finished) :]
    stays = ", ".join(
        f"{problem.stops[stay.stop].name} {stay.arrive} to {stay.leave}" for stay in ahead
    )
    rough = sum(stay.rough_nights for stay in ahead)
    return f"The best plan for the rest is then {stays}, with {rough:.1f} rough nights."


def behind_in_words(
    problem: PlanningProblem, finished: Sequence[Stay], stop: int, on: date
) -> str:
    """
    Return how the trip file keeps the way so far.

    Parameters
    ----------
    problem : PlanningProblem
        Its own finished stays are written down.
    finished : sequence of Stay
        In travel order, as they turned out.
    stop : int
        Position of the stop reached now.
    on : date
        Day its camp is reached.

    Returns
    -------
    str
    """
    rows = [
        f'leg = "{problem.stops[stay.stop].name}", arrived = {stay.reached}, left = {stay.leave}'
        for stay in finished[len(problem.finished) :]
    ]
    rows.append(f'leg = "{problem.stops[stop].name}", arrived = {on}')
    return (
        "Whatever you change, write down the way so far, else it is planned anew: "
        f"{'; '.join(f'[[done]] {row}' for row in rows)}."
    )


def require_after(problem: PlanningProblem, finished: Sequence[Stay], on: date) -> None:
    """
    Refuse a day on which a stop cannot have been reached.

    Parameters
    ----------
    problem : PlanningProblem
        Its own finished stays are known; others are planned.
    finished : sequence of Stay
        Those before that stop.
    on : date

    Raises
    ------
    InputError
        Unless a night at the stop before it is over, and the day it was left where known.
    """
    first = earliest_after(problem, finished)
    if first is None or on >= first:
        return
    before = finished[-1]
    logged = len(finished) <= len(problem.finished)
    name = problem.stops[before.stop].name
    if logged:
        expected = f"{first} or later, when the stay before it ended"
        mend = f"Give a later day, or correct the row of {name} under [[done]]."
    else:
        expected = (
            f"{first} or later, after a night in {name}, where the plan arrives on "
            f"{before.reached}"
        )
        mend = f"Give a later day, or write under [[done]] when {name} was reached and left."
    raise InputError([Problem("", "--on", expected, str(on), mend)])


def earliest_after(problem: PlanningProblem, finished: Sequence[Stay]) -> date | None:
    """
    Return the first day on which the way on from some stays can begin.

    Parameters
    ----------
    problem : PlanningProblem
    finished : sequence of Stay

    Returns
    -------
    date or None
        The day the last of them was left where that is known, else the one after a night in
        its camp; None without any.
    """
    if not finished:
        return None
    logged = len(finished) <= len(problem.finished)
    return finished[-1].leave if logged else finished[-1].reached + timedelta(days=1)


def cut_short(
    problem: PlanningProblem, plan: Plan, finished: Sequence[Stay], on: date
) -> tuple[Stay, ...]:
    """
    Return finished stays, the last of which ends no later than on a day.

    Parameters
    ----------
    problem : PlanningProblem
    plan : Plan
        Of which the stays are.
    finished : sequence of Stay
    on : date
        After the arrival at the last of them.

    Returns
    -------
    tuple of Stay
    """
    if not finished or finished[-1].leave <= on:
        return tuple(finished)
    last = finished[-1]
    shorter = replace(last, leave=on, nights=(on - last.arrive).days)
    return (*finished[:-1], restated(problem, shorter, plan.kit))


def restated(problem: PlanningProblem, stay: Stay, kit: str) -> Stay:
    """
    Return a stay with what its nights sum to in a problem.

    Parameters
    ----------
    problem : PlanningProblem
    stay : Stay
    kit : str
        One of the problem's.

    Returns
    -------
    Stay
        Summed as the planner does, in whole millionths of a night.
    """
    row, days = problem.kits.index(kit), days_of_year(stay.arrive, stay.nights)

    def summed(table: np.ndarray | None) -> int:
        if table is None:
            return 0
        nights = np.nan_to_num(np.asarray(table[row, stay.stop, days], float))
        return int(np.rint(nights * MICRO).sum())

    return replace(
        stay,
        rough_nights=summed(problem.rough) / MICRO,
        dangerous_nights=summed(problem.dangerous) / MICRO,
        serious_nights=summed(problem.serious) // MICRO,
    )
