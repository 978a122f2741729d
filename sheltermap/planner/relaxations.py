"""What must give when no plan keeps every constraint.

In: a planning problem without a plan. Out: the constraints that, eased alone by the
fewest days, allow one, and the message that says so.
Assumes that easing a constraint further never takes a plan away, so the fewest days are
found by halving. Dangers come last, whatever their days: a traveller changes dates or
route before sleeping in one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from sheltermap.dates import said_date, said_days, said_nights
from sheltermap.planner.checks import MOST_NIGHTS
from sheltermap.planner.costs import climb_nights, evenings_on_the_way, stay_costs
from sheltermap.planner.feasible import feasible, reaches
from sheltermap.planner.problem import (
    NEVER,
    Closure,
    PermitRule,
    Plan,
    PlanningProblem,
    Relaxation,
)
from sheltermap.planner.underway import missed_evenings, missed_in_words, rest_in_words, without

LARGEST_CHANGE = 366
"""Days up to which a constraint is eased: a year shifts any season into place."""

MOST_RELAXATIONS = 4
"""judgement: more choices than this do not help to mend a trip."""


@dataclass(frozen=True, eq=False)
class _Constraint:
    """One constraint that can be eased day by day."""

    kind: str
    stop: str
    danger: bool
    largest: int
    eased: Callable[[int], PlanningProblem]
    sentence: Callable[[int], str]
    figure: Callable[[Plan], str] = lambda plan: ""


def explained(
    problem: PlanningProblem, cheapest: Callable[[PlanningProblem], Plan | None]
) -> tuple[str, tuple[Relaxation, ...]]:
    """
    Return why there is no plan, and the smallest single changes that allow one.

    A fixed evening that is over is no wish that could give: nothing else helps while it
    stands, so it is named first, and the rest is planned or explained without it.

    Parameters
    ----------
    problem : PlanningProblem
        One without a plan.
    cheapest : callable
        Best plan of a problem.

    Returns
    -------
    message : str
    relaxations : tuple of Relaxation
        Smallest first, dangers last; empty when no single change is enough.
    """
    missed = missed_evenings(problem)
    told = list(missed_in_words(problem, missed))
    problem = without(problem, missed)
    freed = cheapest(problem) if missed else None
    eased: tuple[Relaxation, ...]
    if freed is not None:
        days = max((problem.earliest - day).days for _, evenings in missed for day in evenings)
        first = Relaxation("missed", missed[0][0].id, days, " ".join(told), False, freed)
        eased, sentences = (first,), [*told, rest_in_words(problem, freed)]
    else:
        eased = _relaxations(problem, cheapest)
        sentences = [*told, *(["That alone is not enough."] if told else [])]
        sentences += _why_not(problem, eased)
    return " ".join(["No plan keeps every constraint.", *sentences]), eased


def _relaxations(
    problem: PlanningProblem, cheapest: Callable[[PlanningProblem], Plan | None]
) -> tuple[Relaxation, ...]:
    """Return the smallest single changes that allow a plan."""
    found = []
    for rank, constraint in enumerate(_constraints(problem)):
        days = _fewest_days(constraint)
        if days is not None:
            found.append((constraint.danger, days, rank, constraint))
    found.sort(key=lambda item: item[:3])
    eased = []
    for _, days, _, constraint in found[:MOST_RELAXATIONS]:
        plan = cheapest(constraint.eased(days))
        if plan is None:
            raise AssertionError(f"{constraint.kind}: feasible, but no plan was found")
        message = constraint.sentence(days) + constraint.figure(plan)
        eased.append(
            Relaxation(constraint.kind, constraint.stop, days, message, constraint.danger, plan)
        )
    return tuple(eased)


def _why_not(problem: PlanningProblem, eased: Sequence[Relaxation]) -> Iterator[str]:
    """Yield sentences on a problem without a plan and what must give."""
    if eased:
        first = eased[0]
        yield first.message
        if first.danger:
            yield "That is a danger, which no plan trades for sleep: change the route or dates."
        elif problem.under_way:
            yield rest_in_words(problem, first.plan)
        else:
            yield f"The best plan would then have {first.plan.rough_nights:.1f} rough nights."
    else:
        yield "No single change of days is enough."
        yield from _furthest(problem)
    yield from other_way_round(problem)
    for stop in problem.remaining:
        if np.isnan(problem.rough[: None if problem.choose_kit else 1, stop]).any():
            name = problem.stops[stop].name
            yield f"Some nights at {name} have no score, so they are not planned."


def _furthest(problem: PlanningProblem) -> list[str]:
    """Return where the journey gets no further, in a sentence."""
    if problem.order == "free":
        only = "Each stop is visited once, and one follows another only where a link joins them."
        return [] if problem.travel is None else [only]
    order, reach = max(reaches(stay_costs(problem)), key=lambda found: found[1])
    return [f"The journey gets no further than {problem.stops[order[reach]].name}."]


def other_way_round(problem: PlanningProblem) -> Iterator[str]:
    """
    Yield that there is a plan the other way round, where there is one.

    Parameters
    ----------
    problem : PlanningProblem
        One without a plan.

    Yields
    ------
    str
        One sentence, or none.
    """
    if problem.order != "fixed" or problem.direction == "either" or problem.under_way:
        return
    if feasible(stay_costs(replace(problem, direction="either"))):
        yield "The other way round there is a plan."


def _fewest_days(constraint: _Constraint) -> int | None:
    """Return the least change that allows a plan, or None if the largest does not."""

    def enough(days: int) -> bool:
        return feasible(stay_costs(constraint.eased(days)))

    if constraint.largest < 1 or not enough(constraint.largest):
        return None
    too_few, days = 0, constraint.largest
    while days - too_few > 1:
        middle = (too_few + days) // 2
        too_few, days = (too_few, middle) if enough(middle) else (middle, days)
    return days


def _constraints(problem: PlanningProblem) -> Iterator[_Constraint]:
    """Yield every constraint that can give, the traveller's own wishes first."""
    yield from _date_constraints(problem)
    for stop in problem.remaining:
        yield from _night_constraints(problem, stop)
    for permit in problem.permits:
        yield from _permit_constraints(problem, permit)
    for stop in problem.remaining:
        for index in range(len(problem.stops[stop].closures)):
            yield from _closure_constraints(problem, stop, index)
        for index, barrier in enumerate(problem.stops[stop].barriers):
            if barrier.of_kit:
                continue
            for season in _seasons(np.asarray(barrier.by_day, dtype=bool)):
                yield from _barrier_constraints(problem, stop, index, season)


def _date_constraints(problem: PlanningProblem) -> Iterator[_Constraint]:
    """Yield the dates of the whole journey; a departure already made cannot move."""

    def constraint(
        kind: str, eased: Callable[[int], PlanningProblem], sentence: Callable[[int], str]
    ) -> _Constraint:
        return _Constraint(kind, "", False, LARGEST_CHANGE, eased, sentence)

    finish_by = problem.finish_by
    if finish_by is not None:
        yield constraint(
            "finish_by",
            lambda n: replace(problem, finish_by=_later(finish_by, n)),
            lambda n: (
                f"Finishing by {said_date(finish_by)} is {said_days(n)} too early: "
                f"{said_date(_later(finish_by, n))} would do."
            ),
        )
    if problem.under_way:
        return
    yield constraint(
        "earliest",
        lambda n: replace(problem, earliest=_later(problem.earliest, -n)),
        lambda n: (
            f"Leaving from {said_date(problem.earliest)} is {said_days(n)} too late: "
            f"{said_date(_later(problem.earliest, -n))} would do."
        ),
    )
    yield constraint(
        "latest",
        lambda n: replace(problem, latest=_later(problem.latest, n)),
        lambda n: (
            f"Leaving by {said_date(problem.latest)} is {said_days(n)} too early: "
            f"{said_date(_later(problem.latest, n))} would do."
        ),
    )


def _night_constraints(problem: PlanningProblem, position: int) -> Iterator[_Constraint]:
    """Yield the nights and fixed evenings of one stop."""
    stop = problem.stops[position]

    def constraint(
        kind: str,
        largest: int,
        eased: Callable[[int], dict[str, Any]],
        sentence: Callable[[int], str],
    ) -> _Constraint:
        return _Constraint(
            kind, stop.id, False, largest, lambda n: _with(problem, position, **eased(n)), sentence
        )

    yield constraint(
        "nights_min",
        stop.nights_min - max(stop.travel_days, 1),
        lambda n: {"nights_min": stop.nights_min - n},
        lambda n: (
            f"{stop.name}: the shortest stay of {said_nights(stop.nights_min)} is {said_days(n)} "
            f"too long; {said_nights(stop.nights_min - n)} would do."
        ),
    )
    climb = max(
        (
            climb_nights(problem, previous, position) or 0
            for previous in (None, *problem.remaining)
        ),
    )
    why = ""
    if climb >= NEVER:
        why = " From one of the camps before, the climb to its camp is too steep for one move."
    elif climb > stop.nights_max:
        why = f" The climb to its camp needs up to {said_nights(climb)}."
    yield constraint(
        "nights_max",
        min(LARGEST_CHANGE, MOST_NIGHTS - stop.nights_max),
        lambda n: {"nights_max": stop.nights_max + n},
        lambda n: (
            f"{stop.name}: the longest stay of {said_nights(stop.nights_max)} is {said_days(n)} "
            f"too short; {said_nights(stop.nights_max + n)} would do.{why}"
        ),
    )
    if stop.be_there:
        evenings = " and ".join(map(said_date, stop.be_there))
        yield replace(
            constraint(
                "be_there",
                LARGEST_CHANGE,
                lambda n: {"be_there_slack_days": stop.be_there_slack_days + n},
                lambda n: (
                    f"{stop.name}: being there on {evenings} would have to give {said_days(n)}"
                ),
            ),
            figure=lambda plan: f"; {_nearest_evenings(problem, plan, position)} would do.",
        )


def _nearest_evenings(problem: PlanningProblem, plan: Plan, position: int) -> str:
    """Return the evenings in a camp nearest to those that must be slept there, in words."""
    row = plan.order.index(position)
    stay, before = plan.stays[row], plan.stays[row - 1].stop if row else None
    way = evenings_on_the_way(problem, before, position, reverse=plan.direction == "reverse")
    first, last = stay.arrive + timedelta(days=way), stay.leave - timedelta(days=1)
    kept = {min(max(evening, first), last) for evening in problem.stops[position].be_there}
    return " and ".join(map(said_date, sorted(kept)))


def _permit_constraints(problem: PlanningProblem, permit: PermitRule) -> Iterator[_Constraint]:
    """Yield the longest stay and the dates of one permit."""

    def constraint(
        kind: str, eased: Callable[[int], dict[str, Any]], sentence: Callable[[int], str]
    ) -> _Constraint:
        def changed(days: int) -> PlanningProblem:
            permits = tuple(
                replace(other, **eased(days)) if other == permit else other
                for other in problem.permits
            )
            return replace(problem, permits=permits)

        return _Constraint(kind, "", False, LARGEST_CHANGE, changed, sentence)

    longest, opens, ends = permit.longest_stay_days, permit.valid_from, permit.valid_until
    if longest is not None:
        yield constraint(
            "permit_stay",
            lambda n: {"longest_stay_days": longest + n},
            lambda n: (
                f"{permit.name}: the longest stay of {said_days(longest)} is {said_days(n)} too "
                f"short; {said_days(longest + n)} would do."
            ),
        )
    if opens is not None:
        yield constraint(
            "permit_from",
            lambda n: {"valid_from": _later(opens, -n)},
            lambda n: (
                f"{permit.name}: entry from {said_date(opens)} is {said_days(n)} too "
                f"late; {said_date(_later(opens, -n))} would do."
            ),
        )
    if ends is not None:
        yield constraint(
            "permit_until",
            lambda n: {"valid_until": _later(ends, n)},
            lambda n: (
                f"{permit.name}: leaving by {said_date(ends)} is {said_days(n)} too "
                f"early; {said_date(_later(ends, n))} would do."
            ),
        )


def _closure_constraints(
    problem: PlanningProblem, position: int, index: int
) -> Iterator[_Constraint]:
    """Yield both ends of one dated closure of a stop."""
    stop = problem.stops[position]
    closure = stop.closures[index]
    length = (closure.last - closure.first).days + 1

    def constraint(
        changed: Callable[[int], Closure], sentence: Callable[[int], str]
    ) -> _Constraint:
        def eased(days: int) -> PlanningProblem:
            kept = () if days >= length else (changed(days),)
            closures = stop.closures[:index] + kept + stop.closures[index + 1 :]
            return _with(problem, position, closures=closures)

        return _Constraint("closure", stop.id, closure.danger, length, eased, sentence)

    said = f"{stop.name}: '{closure.reason}' would have to"
    yield constraint(
        lambda n: replace(closure, last=_later(closure.last, -n)),
        lambda n: f"{said} end {said_days(n)} before {said_date(closure.last)}.",
    )
    yield constraint(
        lambda n: replace(closure, first=_later(closure.first, n)),
        lambda n: f"{said} begin {said_days(n)} after {said_date(closure.first)}.",
    )


def _barrier_constraints(
    problem: PlanningProblem, position: int, index: int, season: np.ndarray
) -> Iterator[_Constraint]:
    """Yield both ends of one season of every year that is barred at a stop."""
    stop = problem.stops[position]
    barrier = stop.barriers[index]

    def constraint(
        opened: Callable[[int], np.ndarray], sentence: Callable[[int], str]
    ) -> _Constraint:
        def eased(days: int) -> PlanningProblem:
            by_day = np.array(barrier.by_day, dtype=bool)
            by_day[opened(days)] = False
            kept = (replace(barrier, by_day=by_day),)
            barriers = stop.barriers[:index] + kept + stop.barriers[index + 1 :]
            return _with(problem, position, barriers=barriers)

        return _Constraint("barrier", stop.id, barrier.danger, len(season), eased, sentence)

    when = f"from {_said_yearly(season[0])} to {_said_yearly(season[-1])}"
    if len(season) == len(barrier.by_day):
        when = "all year"
    said = f"{stop.name}: '{barrier.reason}' bars the nights {when}"
    yield constraint(
        lambda n: season[-n:],
        lambda n: f"{said}; it would have to end {said_days(n)} earlier.",
    )
    yield constraint(
        lambda n: season[:n],
        lambda n: f"{said}; it would have to begin {said_days(n)} later.",
    )


def _seasons(by_day: np.ndarray) -> list[np.ndarray]:
    """Return the unbroken runs of barred days, one run where it crosses New Year."""
    days = len(by_day)
    if by_day.all():
        return [np.arange(days)]
    starts = np.flatnonzero(by_day & ~np.roll(by_day, 1))
    open_days = np.flatnonzero(~by_day)
    return [
        np.arange(start, start + np.min((open_days - start) % days)) % days for start in starts
    ]


def _with(problem: PlanningProblem, position: int, **changes: Any) -> PlanningProblem:
    """Return the problem with one stop changed."""
    stop = replace(problem.stops[position], **changes)
    stops = (*problem.stops[:position], stop, *problem.stops[position + 1 :])
    return replace(problem, stops=stops)


def _later(day: date, days: int) -> date:
    """Return a date some days later, kept inside the calendar."""
    try:
        return day + timedelta(days=days)
    except OverflowError:
        return date.max if days > 0 else date.min


def _said_yearly(day_of_year: int) -> str:
    """Return a day of the year as messages say it."""
    day = date(2001, 1, 1) + timedelta(days=int(day_of_year))
    return f"{day.day} {day:%B}"
