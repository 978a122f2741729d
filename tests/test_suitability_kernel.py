"""The kernel: each distinct question of a night once, and every kit its own answers."""

import numpy as np
import pytest
from nights import many_nights
from numpy.testing import assert_array_equal

from sheltermap.shelters.fitting import with_addons
from sheltermap.shelters.kit import Sleeper, load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.combination import kit_modes, numbers_of
from sheltermap.suitability.kernel import (
    CORE,
    DETAILS,
    PARTS,
    Nights,
    kit_details,
    kit_risks,
    limiting_factor,
)
from sheltermap.suitability.numbers import NightNumbers
from sheltermap.suitability.score import INPUTS

KITS = load_kits()
pytestmark = pytest.mark.usefixtures("quiet")
SETTINGS = NightNumbers(
    clear_sky=0.6,
    heat_spread=1.0,
    drying=0.1,
    condensation_spread=3.0,
    heavy_day=20.0,
    usual_wet_day=8.0,
)
UNDER_A_ROOF = KITS["ground-tent"].model_copy(
    update={"enclosure": KITS["pop-up-body"].enclosure, "exposure": "hard"}
)


@pytest.fixture
def quiet():
    """Calm nights and wet months divide by zero on the way to a certainty."""
    with np.errstate(all="ignore"):
        yield


def numbers(kit, *sleepers):
    return numbers_of(kit_modes(kit, sleepers or (Sleeper(),), Settings(), 8.0))


def block(**changes):
    """Return a block of nights on none of which it is colder for being dry."""
    night = many_nights(50, wind=True)
    given = {
        name: night[variable].values for name, variable in INPUTS.items() if variable in night
    }
    given["dry_drop"] = given["low_error"] = np.zeros(50)
    given |= changes
    return Nights({k: v for k, v in given.items() if v is not None}, SETTINGS)


def distinct(nights):
    """Return how many answers were worked out."""
    return len({id(answer) for answer in nights.answers.values()})


def test_a_kit_twice_asks_once():
    """The same kit again, by another instance, costs not one answer more."""
    nights = block()
    once = kit_risks(nights, numbers(KITS["ground-tent"]))
    asked = distinct(nights)
    again = kit_risks(nights, numbers(KITS["ground-tent"].model_copy(update={"id": "other"})))
    assert distinct(nights) == asked > 10
    for name in (*CORE, *PARTS):
        assert_array_equal(once[name], again[name])


def test_kits_share_answers_and_keep_their_own():
    """Together nine kits ask a quarter less than apart, and find what each finds alone."""
    kits = [numbers(kit) for kit in KITS.values()]
    together, apart = block(), 0
    for kit in kits:
        alone = block()
        expected, found = kit_risks(alone, kit), kit_risks(together, kit)
        apart += distinct(alone)
        assert set(found) == {*CORE, *PARTS, "soaked"}
        for name, values in expected.items():
            assert_array_equal(found[name], values, err_msg=name)
    assert distinct(together) < 0.75 * apart


def test_under_a_roof_a_dry_night_is_as_a_wet_one():
    """But not where it is colder for being dry, nor where that is missing."""
    kit = numbers(UNDER_A_ROOF)
    assert all(limit.sky == 0 for limit in kit.closed.cold)
    level = block()
    assert level.cold(kit.closed.cold, True) is level.cold(kit.closed.cold, False)
    drop = np.zeros(50)
    drop[7] = 2.0
    colder = block(dry_drop=drop)
    more = colder.cold(kit.closed.cold, True) > colder.cold(kit.closed.cold, False)
    assert np.flatnonzero(more).tolist() == [7]
    drop[7] = np.nan
    missing = np.isnan(block(dry_drop=drop).cold(kit.closed.cold, True))
    assert np.flatnonzero(missing).tolist() == [7]


def test_the_open_sky_cools_dry_nights():
    """The same bed without a roof is colder on a dry night."""
    kit, nights = numbers(KITS["bedroll"]), block()
    dry, wet = nights.cold(kit.closed.cold, True), nights.cold(kit.closed.cold, False)
    assert (dry >= wet).all() and (dry > wet).any()


def test_without_wind_no_awning_is_taken_in():
    """Where wind is not assessed it is missing, and the kit is as its awning leaves it."""
    kit = numbers(with_addons(KITS["bedroll"], ["awning"]))
    calm, windy = block(wind=None), block(wind=np.full(50, 30.0))
    assert np.isnan(kit_risks(calm, kit)["wind"]).all()
    assert_array_equal(kit_risks(calm, kit)["heat_wet"], calm.heat(kit.wet.heat))
    shut = windy.heat(kit.closed.heat)
    assert np.abs(kit_risks(windy, kit)["heat_wet"] - shut).max() < 0.05
    assert np.abs(calm.heat(kit.wet.heat) - shut).max() > 0.2


def test_who_never_decides_is_left_out():
    """Two equal sleepers have one limit; one who sleeps colder in the same bed leaves theirs."""
    same = numbers(KITS["bedroll"], Sleeper(), Sleeper())
    assert len(same.closed.cold) == len(same.closed.heat.limits) == 1
    colder = numbers(KITS["bedroll"], Sleeper(), Sleeper(cold_sleeper=True))
    assert len(colder.closed.cold) == 1
    assert colder.closed.cold[0].base > same.closed.cold[0].base


@pytest.mark.parametrize("lacking", ["coldest", "bedtime_vapour", "wet_share", "wind"])
def test_a_missing_input_leaves_nothing_explained(lacking):
    """Details are missing where the share is, although not all of them need the input."""
    given = block()
    values = np.array(getattr(given, {"bedtime_vapour": "bed_vapour"}.get(lacking, lacking)))
    values[3] = np.nan
    nights, kit = block(**{lacking: values}), numbers(KITS["ground-tent"])
    risks = kit_risks(nights, kit)
    details = kit_details(nights, kit, risks)
    assert set(details) == set(DETAILS)
    for values in (risks["sound_share"], *details.values()):
        assert np.flatnonzero(np.isnan(values)).tolist() == [3]


def test_limiting_factor_by_hand():
    """The largest; of equals the first; none below a millionth; missing with the share."""
    cold = np.array([0.1, 0.2, 0.0, 0.0, 0.3])
    heat = np.array([0.3, 0.2, 9e-7, np.nan, 0.1])
    unassessed = np.full(5, np.nan)
    share = np.array([0.6, 0.6, 1.0, np.nan, 0.6])
    assert limiting_factor([cold, heat, unassessed], share).tolist() == [1, 0, -1, -9, 0]
