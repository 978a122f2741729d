"""Which nights ahead would teach most of a sleeper, from margins and spreads made by hand."""

from __future__ import annotations

from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from sheltermap.planner.problem import Stay
from sheltermap.report.own_effect import _teaching, own_nights
from sheltermap.shelters.learned import MEASURED_SPREAD, Offset

FIRST = date(2027, 6, 1)  # position 151 in the year
TODAY = 2.0


class Known:
    """What is known against cold: a spread of 2 K, and what a night of each margin leaves."""

    def __init__(self, after):
        self.after = after

    def offset(self, bedding):
        """Return the offset in the kit's bedding."""
        assert bedding == "quilt"
        return Offset(-0.5, TODAY)

    def spread_after(self, margin, spread, bedding):
        """Return the spread after a measured night of a margin, in the kit's bedding."""
        assert (spread, bedding) == (MEASURED_SPREAD, "quilt")
        return self.after[round(margin, 6)]


def taught(*afters, nights=4):
    """Return what legs of margins 1.5, 2.5, 3.5 K would teach, which leave spreads as given."""
    margin = np.full(365, -99.0)
    stays, legs, places = [], [], []
    for number, _ in enumerate(afters):
        arrive = FIRST + timedelta(days=nights * number)
        begin = 151 + nights * number
        # Two nights a kelvin colder and two warmer than the mean.
        margin[begin : begin + nights] = number + 1.5 + np.array([-1.0, 1.0] * (nights // 2))
        stays.append(Stay(number, arrive, arrive + timedelta(days=nights), nights, 0.0))
        legs.append(SimpleNamespace(name="ABCD"[number]))
        places.append(SimpleNamespace(seasons={"tent": SimpleNamespace(cold_margin=margin)}))
    after = {number + 1.5: one for number, one in enumerate(afters)}
    bedding = SimpleNamespace(label="quilt")
    kit = SimpleNamespace(id="tent", bedding_of=lambda sleeper: bedding)
    lesson = SimpleNamespace(cold=Known(after), sleeper=None)
    return _teaching(lesson, SimpleNamespace(legs=legs), kit, stays, places)


def test_a_leg_is_told_with_its_dates_margin_and_spreads():
    """The mean margin of its nights; spreads before and after."""
    second, _ = taught(1.5, 1.0)
    assert (second.leg, second.margin, second.spread, second.after) == ("B", 2.5, TODAY, 1.0)
    assert (second.arrive, second.leave) == (date(2027, 6, 5), date(2027, 6, 9))


def test_two_legs_at_most_are_named_the_best_first():
    """Of spreads 1.8, 1.2, 1.6 and 1.4 K after: B, then D."""
    assert [one.leg for one in taught(1.8, 1.2, 1.6, 1.4)] == ["B", "D"]


@pytest.mark.parametrize(("after", "named"), [(1.949, True), (1.950, False), (2.0, False)])
def test_a_night_is_worth_naming_that_settles_a_twentieth(after, named):
    """Of the variance: 0.95 x 2^2 = 3.8 is 1.9494 squared."""
    assert bool(taught(after)) is named


def test_without_nights_or_a_plan_nothing_is_told():
    """Nothing was learned, or there is nothing that it could move."""
    plan, lesson = SimpleNamespace(), SimpleNamespace()
    assert own_nights([], None, None, plan, None) is None
    assert own_nights([lesson], None, None, None, None) is None
