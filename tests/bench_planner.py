"""How long planning takes, and how much memory: ``python tests/bench_planner.py``.

Prints one line a case with its goal; exits with 1 when a goal is missed.
"""

from __future__ import annotations

import resource
import sys
import time
from dataclasses import replace
from datetime import date

import numpy as np

from sheltermap.planner.problem import PermitRule, PlanningProblem, Stop, Travel
from sheltermap.planner.search import best_plans

STOPS, KITS = 12, 10


def journey():
    """Return twelve stops with seasons of their own, ten kits, two years of departures."""
    random = np.random.default_rng(12)
    phase = random.uniform(0, 365, size=(KITS, STOPS, 1))
    rough = np.clip(0.4 + 0.4 * np.cos(2 * np.pi * (np.arange(365) - phase) / 365), 0, 1)
    stops = tuple(Stop(f"s{i}", f"Stop {i}", 5, 14, 30) for i in range(STOPS))
    return PlanningProblem(
        stops=stops,
        kits=tuple(f"kit {i}" for i in range(KITS)),
        rough=rough.round(6),
        earliest=date(2027, 1, 1),
        latest=date(2028, 12, 31),
        stay_weight=0.05,
        direction="either",
        choose_kit=True,
    )


def cases():
    """Yield (name, problem, goal in seconds)."""
    plain = journey()
    yield "12 stops, 731 departures, both ways, 10 kits", plain, 1.0
    land = PermitRule("land", longest_stay_days=60)
    inside = tuple(
        replace(stop, permit="land") if 3 <= i <= 6 else stop for i, stop in enumerate(plain.stops)
    )
    yield "the same, four stops in 60 days", replace(plain, stops=inside, permits=(land,)), 1.0
    late = replace(plain, finish_by=date(2027, 2, 1), latest=date(2027, 6, 1))
    yield "the same, without a plan", late, None
    km = np.random.default_rng(3).uniform(100, 3000, size=(STOPS, STOPS))
    free = replace(plain, order="free", choose_kit=False, travel=Travel(km, 250.0))
    yield "12 stops in free order, 731 departures", free, 20.0
    late = replace(free, finish_by=date(2027, 2, 1), latest=date(2027, 6, 1))
    yield "the same, without a plan", late, None


def main():
    """Print the figures; return whether every goal was met."""
    met = True
    for name, problem, goal in cases():
        start = time.perf_counter()
        best_plans(problem)
        seconds = time.perf_counter() - start
        met &= goal is None or seconds < goal
        said = "" if goal is None else f" (goal: below {goal:g} s)"
        print(f"{name}: {seconds:.2f} s{said}")
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    print(f"largest memory: {memory:.2f} GiB (goal: below 2 GiB)")
    return met and memory < 2


if __name__ == "__main__":
    sys.exit(0 if main() else 1)
