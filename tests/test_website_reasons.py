"""Why nights go wrong and why their range is wide, in the sentences of the first page."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import pytest
from sample_report import sample_report

from sheltermap.vocabulary import FACTORS
from sheltermap.website.reasons import main_cause, range_parts, range_reasons

PLAN = sample_report().best


def plan_of(*legs):
    """Return a plan of legs, each done or not, with its dates and its nights by cause."""
    made = []
    for number, (name, done, arrive, leave, causes) in enumerate(legs):
        nights = dict.fromkeys(FACTORS, 0.0) | causes
        leg = replace(PLAN.legs[number], name=name, done=done, nights_by_factor=nights)
        made.append(replace(leg, arrive=arrive, leave=leave))
    return replace(PLAN, legs=tuple(made))


def test_the_cause_of_most_nights_is_told_where_it_is_worst():
    """Heat 0.9 + 0.4 beats cold 1.2 in sum; 24 days from 20 June have their middle in July."""
    told = main_cause(
        plan_of(
            ("Coast", False, date(2027, 6, 20), date(2027, 7, 14), {"heat": 0.9, "cold": 0.0}),
            ("Hills", False, date(2027, 7, 14), date(2027, 8, 1), {"heat": 0.4, "cold": 1.2}),
        )
    )
    assert "above all on Coast in July:" in told and "heat" in told


def test_what_is_behind_counts_no_more():
    """The cold of a leg that is done is over; unknown wind is no cause."""
    told = main_cause(
        plan_of(
            ("Coast", True, date(2027, 6, 1), date(2027, 6, 9), {"cold": 5.0}),
            ("Hills", False, date(2027, 6, 9), date(2027, 6, 20), {"wet": 0.1, "wind": None}),
        )
    )
    assert "above all on Hills in June:" in told and "cold" not in told


@pytest.mark.parametrize(("nights", "said"), [(0.049, False), (0.05, True)])
def test_less_than_a_twentieth_of_a_night_is_no_cause(nights, said):
    """Summed over the legs ahead."""
    plan = plan_of(("Coast", False, date(2027, 6, 1), date(2027, 6, 9), {"heat": nights}))
    assert bool(main_cause(plan)) is said


def test_a_range_tells_its_parts_the_largest_first():
    """In the order given; nothing where one is not known."""
    parts = {"climate": 2.04, "weather": 1.5, "person": 0.4, "years": 0.0}
    plan = replace(PLAN, rough_parts=parts)
    told = range_parts(plan)
    assert told.index("2.0") < told.index("1.5") < told.index("0.4") < told.index("0.0")
    assert range_reasons(plan).startswith("Why the range is wide: ")
    assert range_reasons(plan).count(", then ") == 3
    for words in (range_parts, range_reasons):
        assert words(replace(PLAN, rough_parts=parts | {"person": math.nan})) == ""
