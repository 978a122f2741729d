"""What a traveller under way has missed, and how the trip file keeps what lies behind.

In: a planning problem that starts where somebody is. Out: the fixed evenings that are
over, the problem without them, and sentences that name what to write into the trip file.
Assumes that the trip file alone says what was planned: whatever is changed there moves
the stays already made too, unless their nights and evenings are written down.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date

from sheltermap.dates import said_date, said_days
from sheltermap.planner.problem import Plan, PlanningProblem, Stay, Stop

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
    over = ((stop, tuple(d for d in stop.be_there if d < problem.earliest)) for stop in stops)
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
            f"{said_date(evening)} by {said_days((problem.earliest - evening).days)}"
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
) -> Iterator[str]:
    """
    Yield how the trip file keeps the way so far, where it does not yet.

    One day of departure, fixed nights and an evening at each stop leave no other way to
    have got here, whichever order and way round the trip allows.

    Parameters
    ----------
    problem : PlanningProblem
        The whole journey, as it was planned before departure.
    finished : sequence of Stay
        In travel order.
    stop : int
        Position of the stop reached now.
    on : date
        Day it is reached.

    Yields
    ------
    str
        One sentence, or none.
    """
    kept = problem.earliest == problem.latest
    depart, keys = on, []
    for stay in finished:
        made = problem.stops[stay.stop]
        kept &= made.nights_min == made.nights_max and stay.arrive in made.be_there
        keys.append(f"{made.name}: nights = {stay.nights}, {_be_there(made, stay.arrive)}")
    if finished:
        depart = finished[0].arrive
    elif problem.order == "free" or problem.direction == "either":
        kept &= on in problem.stops[stop].be_there
        keys.append(f"{problem.stops[stop].name}: {_be_there(problem.stops[stop], on)}")
    if keys and not kept:
        yield (
            "Whatever you change, write down the way so far, else it is planned anew: "
            f"departure: earliest = {depart}, latest = {depart}; {'; '.join(keys)}."
        )


def _be_there(stop: Stop, first: date) -> str:
    """Return the evenings at a stop reached on a day, as the trip file writes them."""
    evenings = sorted({first, *(evening for evening in stop.be_there if evening > first)})
    return f"be_there = [{', '.join(map(str, evenings))}]"
