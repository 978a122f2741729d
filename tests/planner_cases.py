"""Random journeys, and the rules of a plan written a second time, date by date.

Nothing here uses the planner's tables: the checks walk through calendar days.
"""

from __future__ import annotations

import itertools
import math
from datetime import date, timedelta

import numpy as np

from sheltermap.planner.problem import (
    NEVER,
    Barrier,
    Closure,
    PermitRule,
    PlanningProblem,
    Stay,
    Stop,
    Travel,
)

START = date(2027, 12, 20)  # Small journeys cross New Year and 29 February 2028.


def climb(from_m, to_m, most=1200):
    """Return nights for a climb by a rule of the tests' own: one each full 400 m upwards.

    More than some metres at once are refused.
    """
    if to_m - from_m > most:
        return NEVER
    return max(0, int((to_m - from_m) // 400))


def small_problem(seed: int, order: str) -> PlanningProblem:
    """Return a random journey small enough to try every plan of."""
    random = np.random.default_rng([seed, order == "free"])

    def chance(share):
        return random.random() < share

    def some_date(low, high):
        return START + timedelta(days=int(random.integers(low, high)))

    count = int(random.integers(2, 5))
    start = date(2028, 2, 20) if chance(0.3) else START
    shift = (start - START).days
    kits = ("a", "b")[: int(random.integers(1, 3))]
    permits, names = (), [None] * count
    if order == "fixed" and count > 2 and chance(0.6):
        first = int(random.integers(0, count - 1))
        last = int(random.integers(first + 1, count))
        names[first : last + 1] = ["land"] * (last + 1 - first)
        permits = (
            PermitRule(
                "land",
                int(random.integers(3, 9)) if chance(0.8) else None,
                some_date(-3, 10) + timedelta(days=shift) if chance(0.3) else None,
                some_date(8, 30) + timedelta(days=shift) if chance(0.3) else None,
            ),
        )
    stops = []
    for index in range(count):
        low = int(random.integers(1, 4))
        high = low + int(random.integers(0, 4))
        closures, barriers, be_there = (), (), ()
        if chance(0.35):
            first = some_date(0, 15) + timedelta(days=shift)
            only = ("a",) if chance(0.3) else None
            last = first + timedelta(days=int(random.integers(0, 5)))
            closures = (Closure("shut", first, last, only),)
        if chance(0.25):
            by_day = np.zeros(365, dtype=bool)
            position = (START + timedelta(days=shift)).timetuple().tm_yday - 1
            by_day[(position + random.integers(0, 25, size=4)) % 365] = True
            barriers = (Barrier("flood", by_day, ("b",) if chance(0.3) else None),)
        if chance(0.25):
            be_there = (some_date(0, 16) + timedelta(days=shift),)
        stops.append(
            Stop(
                f"s{index}",
                f"Stop {index}",
                low,
                int(random.integers(low, high + 1)),
                high,
                sleeping_elevation_m=float(random.integers(0, 5)) * 400,
                be_there=be_there,
                be_there_slack_days=int(random.integers(0, 2)),
                evenings_on_the_way=int(random.integers(0, low)),
                evenings_on_the_way_back=int(random.integers(0, low)),
                closures=closures,
                barriers=barriers,
                permit=names[index],
            )
        )
    rough = np.round(random.random((len(kits), count, 365)), 6)
    if chance(0.2):
        rough[random.random(rough.shape) < 0.03] = math.nan
    finished, earliest = (), start
    if count > 2 and chance(0.25):
        nights = int(random.integers(1, 4))
        leave = start + timedelta(days=nights)
        finished = (Stay(0, start, leave, nights, 0.5),)
        earliest = leave + timedelta(days=int(random.integers(0, 3)))
    travel = None
    if order == "free" and chance(0.6):
        km = random.integers(50, 900, size=(count, count)).astype(float)
        km[random.random(km.shape) < 0.2] = np.inf
        travel = Travel(km, 250.0)
    return PlanningProblem(
        stops=tuple(stops),
        kits=kits,
        rough=rough,
        earliest=earliest,
        latest=earliest + timedelta(days=int(random.integers(0, 9))),
        finish_by=earliest + timedelta(days=int(random.integers(6, 30))) if chance(0.5) else None,
        direction=str(random.choice(["forward", "either", "reverse"]))
        if not finished
        else "forward",
        choose_kit=chance(0.5),
        stay_weight=float(random.choice([0.0, 0.05, 0.3])),
        permits=permits,
        dangerous=np.round(rough * random.random(rough.shape), 6),
        danger_weight=float(random.choice([0.0, 10.0])),
        serious=random.random(rough.shape) < 0.2,
        serious_weight=float(random.choice([0.0, 0.25])),
        climb_nights=climb if chance(0.6) else None,
        finished=finished,
        under_way=bool(finished),
        # Fewer than the next stop's nights, as every way to a camp is.
        on_the_way=int(random.integers(0, stops[1].nights_min))
        if finished and chance(0.5)
        else None,
        order=order,
        travel=travel,
    )


def orders(problem):
    """Return the (direction, order) pairs a problem allows."""
    done = [stay.stop for stay in problem.finished]
    rest = [i for i in range(len(problem.stops)) if i not in done]
    if problem.order == "free":
        return [("free", order) for order in itertools.permutations(rest)]
    both = [("forward", tuple(rest)), ("reverse", tuple(rest[::-1]))]
    if len(rest) < 2 and problem.direction == "either":
        return both[:1]  # A single stop has one way round.
    return [pair for pair in both if problem.direction in (pair[0], "either")]


def night_position(evening):
    """Return the day of the year of an evening, 29 February as 28 February."""
    if (evening.month, evening.day) == (2, 29):
        evening = date(evening.year, 2, 28)
    return date(2001, evening.month, evening.day).timetuple().tm_yday - 1


def evenings_before_camp(problem, direction, previous, stop):
    """Return the evenings of a stay that are slept on the way to its camp."""
    if direction == "free":
        if problem.travel is None or previous is None:
            return 0
        return max(math.ceil(problem.travel.km[previous, stop] / problem.travel.daily_km) - 1, 0)
    first = previous is None or (problem.finished and previous == problem.finished[-1].stop)
    if first and problem.on_the_way is not None:
        return problem.on_the_way  # The day on which the camp is reached is said.
    asked = problem.stops[stop]
    return asked.evenings_on_the_way_back if direction == "reverse" else asked.evenings_on_the_way


def stay_cost(problem, kit, stop, arrive, nights, before_camp=0):
    """Return rough nights of one stay and the cost of its dangers; None where it is forbidden."""
    place = problem.stops[stop]
    if not place.nights_min <= nights <= place.nights_max:
        return None
    evenings = [arrive + timedelta(days=day) for day in range(nights)]
    permit = next((p for p in problem.permits if p.name == place.permit), None)
    for evening in evenings:
        position = night_position(evening)
        for closure in place.closures:
            concerned = closure.kits is None or problem.kits[kit] in closure.kits
            if concerned and closure.first <= evening <= closure.last:
                return None
        for barrier in place.barriers:
            concerned = barrier.kits is None or problem.kits[kit] in barrier.kits
            if concerned and barrier.by_day[position]:
                return None
        if permit and permit.valid_from and evening < permit.valid_from:
            return None
        if permit and permit.valid_until and evening + timedelta(days=1) > permit.valid_until:
            return None
    for wanted in place.be_there:
        in_camp = evenings[before_camp:]
        if min(abs((evening - wanted).days) for evening in in_camp) > place.be_there_slack_days:
            return None
    rough, dangerous, serious = (
        sum(
            0.0 if table is None else float(table[kit, stop, night_position(evening)])
            for evening in evenings
        )
        for table in (problem.rough, problem.dangerous, problem.serious)
    )
    if math.isnan(rough):
        return None
    return rough, problem.danger_weight * dangerous + problem.serious_weight * serious


def _danger(problem, stay):
    """Return what the dangers of a stay cost, from the plan's own figures."""
    dangerous = problem.danger_weight * stay.dangerous_nights
    return dangerous + problem.serious_weight * stay.serious_nights


def needed_nights(problem, direction, previous, stop):
    """Return the nights that the road and the climb need, the climb's after the approach."""
    needed = 0
    by_road = problem.order == "free" and problem.travel is not None and previous is not None
    if by_road and not math.isfinite(problem.travel.km[previous, stop]):
        return math.inf
    if problem.climb_nights is not None:
        below = 0.0 if previous is None else problem.stops[previous].sleeping_elevation_m
        needed = problem.climb_nights(below, problem.stops[stop].sleeping_elevation_m)
        if needed:
            needed += evenings_before_camp(problem, direction, previous, stop)
    if problem.order == "free" and problem.travel is not None and previous is not None:
        km = problem.travel.km[previous, stop]
        if not math.isfinite(km):
            return math.inf
        needed = max(needed, math.ceil(km / problem.travel.daily_km))
    return needed


def too_long_inside(problem, legs):
    """Return whether some permit's longest stay is passed; `legs` are (stop, arrive, leave)."""
    legs = [(stay.stop, stay.arrive, stay.leave) for stay in problem.finished] + legs
    for permit in problem.permits:
        inside = [leg for leg in legs if problem.stops[leg[0]].permit == permit.name]
        if not inside or permit.longest_stay_days is None:
            continue
        days = (inside[-1][2] - inside[0][1]).days + 1
        # A finished visit is over and done; only stays still planned can break the rule.
        planned = any(leg not in legs[: len(problem.finished)] for leg in inside)
        if planned and days > permit.longest_stay_days:
            return True
    return False


def brute_force(problem):
    """Return the least objective of the stays to come for each departure day, None for none."""
    kits = range(len(problem.kits)) if problem.choose_kit else [0]
    window = (problem.latest - problem.earliest).days + 1
    best = [None] * window
    for day, kit, way in itertools.product(range(window), kits, orders(problem)):
        depart = problem.earliest + timedelta(days=day)
        for cost in _plans(problem, kit, way, depart, 0.0, []):
            if best[day] is None or cost < best[day]:
                best[day] = cost
    return best


def _plans(problem, kit, way, arrive, cost, legs):
    """Yield the objective of every allowed way to spend the rest of a direction and order."""
    direction, order = way
    if not order:
        if problem.finish_by is None or arrive <= problem.finish_by:
            yield cost
        return
    stop = order[0]
    previous = legs[-1][0] if legs else (problem.finished[-1].stop if problem.finished else None)
    place = problem.stops[stop]
    for nights in range(place.nights_min, place.nights_max + 1):
        if nights < needed_nights(problem, direction, previous, stop):
            continue
        before_camp = evenings_before_camp(problem, direction, previous, stop)
        found = stay_cost(problem, kit, stop, arrive, nights, before_camp)
        if found is None:
            continue
        leave = arrive + timedelta(days=nights)
        longer = [*legs, (stop, arrive, leave)]
        if too_long_inside(problem, longer):
            continue
        off = problem.stay_weight * abs(nights - place.nights_preferred)
        rest = direction, order[1:]
        yield from _plans(problem, kit, rest, leave, cost + sum(found) + off, longer)


def broken_rules(problem, plan):
    """Return what a plan breaks, in words, walking through its dates."""
    broken = []
    finished = len(problem.finished)
    if plan.stays[:finished] != problem.finished:
        broken.append("finished stays changed")
    to_come = plan.stays[finished:]
    if (plan.direction, tuple(stay.stop for stay in to_come)) not in orders(problem):
        broken.append("order")
    if not problem.earliest <= to_come[0].arrive <= problem.latest:
        broken.append("departure")
    if problem.finish_by is not None and plan.finish > problem.finish_by:
        broken.append("finish")
    kit = problem.kits.index(plan.kit)
    if kit and not problem.choose_kit:
        broken.append("kit")
    previous = problem.finished[-1].stop if finished else None
    arrive = to_come[0].arrive
    for stay in to_come:
        if stay.arrive != arrive or (stay.leave - stay.arrive).days != stay.nights:
            broken.append("gap")
        before_camp = evenings_before_camp(problem, plan.direction, previous, stay.stop)
        found = stay_cost(problem, kit, stay.stop, stay.arrive, stay.nights, before_camp)
        if found is None or stay.nights < needed_nights(
            problem, plan.direction, previous, stay.stop
        ):
            broken.append(f"stay {stay}")
        elif abs(found[0] - stay.rough_nights) > 1e-6:
            broken.append(f"rough nights {stay}, expected {found[0]}")
        elif abs(found[1] - _danger(problem, stay)) > 1e-4:
            broken.append(f"dangers {stay}, expected {found[1]}")
        previous, arrive = stay.stop, stay.leave
    if too_long_inside(problem, [(stay.stop, stay.arrive, stay.leave) for stay in to_come]):
        broken.append("longest stay")
    return broken


def objective_to_come(problem, plan):
    """Return the objective of the stays still to come, from the plan's own stays."""
    return sum(
        stay.rough_nights
        + _danger(problem, stay)
        + problem.stay_weight * abs(stay.nights - problem.stops[stay.stop].nights_preferred)
        for stay in plan.stays[len(problem.finished) :]
    )
