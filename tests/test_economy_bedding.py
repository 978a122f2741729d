"""The sweep of warmer bedding: its labels, what a step saves, and what is not known of one."""

from __future__ import annotations

import numpy as np
import pytest
from worked_journey import nights

from sheltermap.economy.bedding_sweep import COMFORT_LABELS, bedding_steps, sleepers_with
from sheltermap.shelters.kit import Bedding, Sleeper, load_addons
from sheltermap.shelters.settings import Settings
from sheltermap.trip.party import Party, SleeperRow

WARM = load_addons()["warm-bedding"].model_copy(
    update={"extra_clo": 2.0, "mass_kg": 3.0, "price": 300.0}
)
NIGHTS = [nights((rough, rough / 10)) for rough in (9.0, 6.0, 4.0, 3.0, 2.5, 2.5)]


def steps(found=NIGHTS, party=None, warm=WARM):
    """Return the sweep of made-up nights."""
    return bedding_steps(found, party or Party(people=2), Settings(), warm)


def test_labels_go_from_ten_degrees_to_fifteen_below():
    """Six of them, five degrees apart, and nothing beyond."""
    assert COMFORT_LABELS == (10.0, 5.0, 0.0, -5.0, -10.0, -15.0)
    assert [step.comfort_c for step in steps()] == [10, 5, 0, -5, -10, -15]


def test_each_step_counts_against_the_one_before():
    """9, 6, 4, 3, 2.5 and 2.5 rough nights; the first has nothing before it."""
    found = steps()
    assert [step.rough_nights for step in found] == [9, 6, 4, 3, 2.5, 2.5]
    assert [step.dangerous_nights for step in found] == pytest.approx(
        [0.9, 0.6, 0.4, 0.3, 0.25, 0.25]
    )
    assert [step.saved for step in found] == [None, 3, 2, 1, 0.5, 0]
    assert (found[0].mass_kg, found[0].price) == (None, None)


def test_a_step_weighs_and_costs_by_its_insulation_and_the_people_it_is_for():
    """300 for 3 kg: every share of it costs 100 a kilogram.

    A warm bedding is for two: three of four without bedding of their own need one and a half,
    and one half as warm is needed twice.
    """
    for step in steps()[1:]:
        assert step.price > 0 and step.price / step.mass_kg == pytest.approx(100)
    party = Party(people=4, sleepers=(SleeperRow(name="Ana", bedding=-5.0),))
    assert steps(party=party)[1].price == pytest.approx(1.5 * steps()[1].price)
    half_as_warm = WARM.model_copy(update={"extra_clo": 1.0})
    assert steps(warm=half_as_warm)[1].price == pytest.approx(2 * steps()[1].price)


def test_what_is_not_known_is_not_nought():
    """A missing night leaves both differences open; without a warm bedding nothing is priced."""
    found = steps([*NIGHTS[:2], nights((np.nan, 0.0)), *NIGHTS[3:]])
    assert [step.saved for step in found] == [None, 3, None, None, 0.5, 0]
    assert found[2].rough_nights is None
    for warm in (None, WARM.model_copy(update={"extra_clo": 0.0})):
        assert {(step.mass_kg, step.price) for step in steps(warm=warm)} == {(None, None)}


def test_who_has_bedding_keeps_it():
    """The first of three has a row with bedding, the second a row without."""
    party = Party(
        people=3,
        sleepers=(SleeperRow(name="Ana", bedding=-5.0), SleeperRow(name="Bo", cold_sleeper=True)),
    )
    own = Bedding(comfort_c=-5.0)
    asleep = (Sleeper(bedding=own), Sleeper(cold_sleeper=True), Sleeper())
    found = sleepers_with(asleep, party, 0.0)
    assert [one.bedding for one in found] == [own, Bedding(comfort_c=0.0), Bedding(comfort_c=0.0)]
    assert [one.cold_sleeper for one in found] == [False, True, False]
