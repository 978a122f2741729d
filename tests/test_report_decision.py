"""What a decision says where danger bars every date, of problems made by hand."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest

from sheltermap.planner.problem import Barrier, PlanningProblem, Stop
from sheltermap.report.decision import decision, unbarred
from sheltermap.trip.model import Shelter

FIRST_OF_MAY = 120
"""Position in the year."""


def barrier(first, last, *, kits=("tent",), of_kit=True, reason="danger in the tent"):
    """Return nights of May that are barred, both days counted."""
    days = np.zeros(365, bool)
    days[FIRST_OF_MAY + first - 1 : FIRST_OF_MAY + last] = True
    return Barrier(reason, days, kits=kits, of_kit=of_kit)


def asked(*barriers, kits=("tent",), dangerous=0.04, **details):
    """Return a journey of 3 nights at A, 2 at B and 4 at C from 1 May on, so barred."""
    stops = tuple(
        Stop(name, name, nights, nights, nights, barriers=tuple(barred))
        for name, nights, barred in zip("ABC", (3, 2, 4), barriers, strict=True)
    )
    shape = (len(kits), 3, 365)
    return PlanningProblem(
        stops,
        kits,
        np.full(shape, 0.25),
        **{"earliest": date(2027, 5, 1), "latest": date(2027, 5, 1)} | details,
        finish_by=date(2027, 5, 31),
        stay_weight=0.0,
        dangerous=np.full(shape, dangerous),
    )


SHELTER = Shelter(kits=("tent", "roll"))


def test_a_plan_has_no_reasons():
    """Nothing stands in the way: the kit is chosen, and nothing is infeasible."""
    found = decision(asked((), (), ()), SHELTER)
    assert found.best.depart == date(2027, 5, 1) and found.infeasible == ()
    kits = [SimpleNamespace(id=name) for name in ("other", "tent", "roll")]
    assert [kit.id for kit in found.chosen_first(kits)] == ["tent", "other", "roll"]


def test_danger_names_the_legs_of_each_reason():
    """By hand: A is 1 to 3 May, B the 4th and 5th, C the 6th to the 9th; 9 nights of 0.04.

    B is barred on the 6th alone, when C is slept at: it is not named.
    """
    cold, other = barrier(3, 3), barrier(9, 9, reason="heat in the tent")
    found = decision(asked([cold], [barrier(6, 6)], [cold, barrier(6, 6), other]), SHELTER)
    assert found.best is None
    assert found.infeasible[0] == (
        "No date that the trip allows is safe enough. The least dangerous plan (leave 1 May 2027) "
        "has 0.4 dangerous nights of 9: at A and C danger in the tent; at C heat in the tent."
    )


def test_only_danger_of_the_kit_that_would_be_taken_is_named():
    """The tent is barred at A by a hazard too, which no kit changes, and the roll at C."""
    rows = [barrier(2, 2)], [], [barrier(7, 7, kits=("roll",), reason="danger in the roll")]
    found = decision(asked(*rows, kits=("tent", "roll")), SHELTER)
    assert found.infeasible[0].endswith(" of 9: at A danger in the tent.")


def test_a_hazard_is_the_planners_reason():
    """A flood at A on 2 May is missed by who leaves 2 days earlier: no kit is blamed.

    What else would do follows, each once.
    """
    flood = barrier(2, 2, kits=None, of_kit=False, reason="flood")
    found = decision(asked([flood], [], []), SHELTER)
    first, *others = found.infeasible
    assert found.best is None
    assert first.startswith("No plan keeps every constraint. Leaving from 1 May 2027 is 2 days")
    assert len(others) == len(found.result.relaxations) - 1
    assert not any("safe enough" in words or words in first for words in others)


def test_what_is_unbarred_keeps_its_hazards():
    """Only nights too dangerous in a kit are opened."""
    flood = barrier(2, 2, kits=None, of_kit=False)
    found = unbarred(asked([flood, barrier(1, 9)], [barrier(1, 9)], []))
    assert [stop.barriers for stop in found.stops] == [(flood,), (), ()]


@pytest.mark.parametrize(
    ("day", "reasons"),
    [(4, ()), (6, ("No date that the trip allows is safe enough.",))],
)
def test_late_danger_is_told_with_how_the_kit_is_kept(day, reasons):
    """B may be reached on 4 May; from the 6th on two of its nights are barred."""
    problem = asked([], [barrier(6, 31)], [], kits=("tent", "roll"), choose_kit=True)
    shelter = Shelter(kits=("tent", "roll"), choose="best")
    problem.rough[1] = 0.5  # The roll is worse.
    found = decision(problem, shelter, (1, date(2027, 5, day)))
    assert (found.best is None) is bool(reasons)
    for words, told in zip(reasons, found.infeasible, strict=False):
        assert told.startswith(words)
    if reasons:
        assert found.infeasible[-1].endswith('kits = ["tent", "roll"], choose = "first".')
