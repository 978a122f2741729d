"""Nights slept in a trip: their margins, what they teach, and that danger never falls by them."""

from dataclasses import replace

import numpy as np
import pytest
from nights import many_nights
from numpy.testing import assert_allclose
from small_trips import leg, saved, stored, trip

from sheltermap.pipeline import leg_night, plan
from sheltermap.places.country import country
from sheltermap.places.ground import camps, extents, journey_box
from sheltermap.places.lessons import KIT_NIGHTS, lessons, taught
from sheltermap.places.slept import slept_nights
from sheltermap.shelters.kit import Bedding, Sleeper, load_kits
from sheltermap.shelters.learned import Offset, OwnOffsets
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.tolerance import modes
from sheltermap.suitability.band import PERSON, share_changes, signed
from sheltermap.suitability.card import kit_limits
from sheltermap.suitability.score import score, scores
from sheltermap.trip.inputs import read_inputs
from sheltermap.vocabulary import InputError

KITS = load_kits()
BAG = Bedding(word="three-season")
ONE = '\n[party]\npeople = 1\nbedding = "three-season"\n'
OVERCAST = "\n[settings]\nclear_sky = 0\n"


def slept(more, where='leg = "A"\nfirst = 2027-05-02'):
    """Return a row of nights as the trip file writes it."""
    return f"\n[[slept]]\n{where}\n{more}\n"


def read(folder, *parts, kits="ground-tent", climate=None):
    """Return a trip's inputs and its nights as the model sees them."""
    inputs = read_inputs(saved(folder, trip(leg("A"), *parts, kits=kits)))
    where = extents(inputs)
    file = stored(folder, **(climate or {}))
    land = country(journey_box(where), file)
    return inputs, slept_nights(inputs, camps(inputs, where, land), file)


def own(cold=0.0, heat=0.0, spread=1.0):
    """Return what is known of a sleeper in one bag."""
    offset = Offset(cold, spread)
    return OwnOffsets(((BAG, offset),), Offset(0.64 * cold, 1.7), Offset(heat, spread))


def test_without_rows_the_inputs_are_the_very_same(tmp_path):
    """Not equal: the same."""
    inputs, nights = read(tmp_path, ONE)
    assert nights == ()
    assert taught(inputs, nights, lessons(inputs, nights)) is inputs


def test_a_low_at_the_cards_limit_leaves_no_margin(tmp_path):
    """The kit card's coldest night under cloud is where a measured night has nothing to spare."""
    limit = kit_limits(KITS["roof-tent"], [Sleeper(bedding=BAG)], Settings(clear_sky=0)).coldest[1]
    rows = [slept(f"nights = 1\nlow_c = {low}\ncold = 1") for low in (limit, limit + 3)]
    _, nights = read(tmp_path, ONE, OVERCAST, *rows, kits="roof-tent")
    at, above = (one.in_cold() for one in nights)
    # The coldest hours are a little warmer than the low, the same on every night of a month.
    offset = at.margins[0]
    assert 0 <= offset < 1.5
    assert above.margins[0] - offset == pytest.approx(3.0)
    assert at.measured
    assert at.shared_error == 0.0
    assert (at.failed, at.nearly, at.bedding) == (1, 0, BAG)


def test_inside_takes_off_the_kits_warming(tmp_path):
    """Five degrees inside a tent that keeps two kelvins are three outside."""
    row = "nights = 2\nlow_c = [5, 6]\nbedtime_c = 25"
    _, (outside, inside) = read(tmp_path, ONE, slept(row), slept(row + '\nmeasured = "inside"'))
    opened, closed, _ = modes(KITS["ground-tent"], [Sleeper()])
    lost = np.subtract(outside.in_cold().margins, inside.in_cold().margins)
    assert_allclose(lost, closed.warming, atol=1e-9)
    gained = np.subtract(inside.in_heat().margins, outside.in_heat().margins)
    assert_allclose(gained, opened.warming, atol=1e-9)


def test_unmeasured_nights_have_the_climates_spread_and_error(tmp_path):
    """A made climate of one mean, 2 K from night to night; its error is shared by the stay."""
    _, (nights,) = read(tmp_path, ONE, slept("nights = 6\nrain = 0"))
    stay = nights.in_cold()
    assert stay.spread == pytest.approx(2.0)
    assert not stay.measured
    assert stay.shared_error == pytest.approx(np.hypot(nights.error, nights.apart))
    assert stay.shared_error > 1.0
    assert len(stay.margins) == 1


def test_a_place_of_an_earlier_journey_is_as_good_as_a_leg_there(tmp_path):
    """The same spot and month, by leg or by place."""
    row = "nights = 3\ncold = 1"
    place = "place = [40.0, 29.0]\nfirst = 2024-05-02"
    _, (by_leg, by_place) = read(tmp_path, ONE, slept(row), slept(row, place))
    assert by_leg.in_cold() == by_place.in_cold()


def test_a_place_at_sea_is_told_with_its_row(tmp_path):
    """Nobody sleeps there, and the row is named."""
    with pytest.raises(InputError) as caught:
        read(tmp_path, ONE, slept("nights = 3", "place = [-50.0, -120.0]\nfirst = 2024-05-02"))
    (problem,) = caught.value.problems
    assert problem.key == "slept[1].place"


def test_cold_nights_move_the_limit_of_their_sleeper_alone(tmp_path):
    """Two sleepers, one of whom was cold on mild nights."""
    party = '\n[party]\npeople = 2\n[[party.sleepers]]\nname = "Ana"\n'
    row = 'who = "Ana"\nnights = 4\ncold = 4\nlow_c = [2, 3, 2, 3]'
    inputs, nights = read(tmp_path, party, slept(row))
    (lesson,) = lessons(inputs, nights)
    ana, other = taught(inputs, nights, [lesson]).sleepers
    assert ana.own.cold(inputs.kits[0].bedding.label).mean < -1
    assert other.own is None
    assert (lesson.who, lesson.nights, lesson.measured) == ("Ana", 4, 4)
    assert lesson.moved[0][1] == ana.own.in_bedding[0][1].mean


def test_a_leak_is_joined_with_the_nights_of_rain(tmp_path):
    """Twenty nights' worth of what the kit states, and ten nights of rain, four of them wet."""
    inputs, nights = read(tmp_path, ONE, slept("nights = 12\nrain = 10\nwet = 4"))
    kit = taught(inputs, nights, lessons(inputs, nights)).kits[0]
    stated = inputs.kits[0].leak
    assert kit.leak == pytest.approx((KIT_NIGHTS * stated + 4) / (KIT_NIGHTS + 10))
    assert kit.leaks_in_danger[0] == kit.leak > stated
    dry, nights = read(tmp_path, ONE, slept("nights = 12\nrain = 10"))
    better = taught(dry, nights, lessons(dry, nights)).kits[0]
    assert better.leak < stated
    assert better.leaks_in_danger[0] == stated


@pytest.mark.parametrize("seed", range(4))
def test_no_set_of_rows_lowers_danger(seed):
    """Any offsets of any sleepers and any leak, on nights of every climate."""
    draw, night = np.random.default_rng(seed), many_nights(400, seed)
    everyone = tuple(KITS.values())
    plain = [Sleeper(bedding=BAG), Sleeper(bedding=BAG), Sleeper(preset="careful")]
    known = [
        one.model_copy(update={"own": own(*draw.normal(0, 3, 2))}) if draw.random() < 0.7 else one
        for one in plain
    ]
    leaks = draw.uniform(0, 1, 3)
    worn = [kit.after(*leaks) for kit in everyone]
    before, after = (
        scores(night, kits, people, keep=("dangerous",)).dangerous.values
        for kits, people in ((everyone, plain), (worn, known))
    )
    assert (after >= before - 1e-15).all()
    assert (after > before).any()


def test_an_offset_moves_a_share_as_warmer_air_would(tmp_path):
    """A sleeper who bears 1.5 K more lies as the usual one does on nights 1.5 K warmer."""
    night = many_nights(300).assign(cold_offset=0.0, heat_offset=0.0)
    usual, hardy = Sleeper(bedding=BAG), Sleeper(bedding=BAG, own=own(1.5, 0.7))
    found = score(night, KITS["ground-tent"], [hardy])
    moved = score(night.assign(cold_offset=-1.5, heat_offset=-0.7), KITS["ground-tent"], [usual])
    assert_allclose(found.sound_share, moved.sound_share, rtol=0, atol=1e-12)
    assert found.dangerous.equals(score(night, KITS["ground-tent"], [usual]).dangerous)


def test_what_is_left_open_of_a_known_sleeper_is_what_moves_the_share():
    """A spread of 1 K does what people 1 K apart do; other bedding keeps more of it open."""
    night = many_nights(50)
    asked = {"temperature_error": 0.0, "dewpoint_error": 0.0, "wet_share_error": 0.0}
    known = [Sleeper(bedding=BAG, own=own())]
    found = signed(share_changes(night, [KITS["roof-tent"]], known, **asked), PERSON)
    apart = Settings(person_spread=1.0)
    alike = share_changes(
        night, [KITS["roof-tent"]], [Sleeper(bedding=BAG)], settings=apart, **asked
    )
    assert_allclose(found, signed(alike, PERSON), rtol=0, atol=1e-12)


def test_kits_with_other_bedding_are_more_open_and_keep_their_order():
    """Bags of three kits: the one slept in is known to 1 K, the others to 1.7 K."""
    night = many_nights(50)
    kits = [
        KITS[name].model_copy(update={"bedding": Bedding(comfort_c=label)})
        for name, label in (("roof-tent", -3.0), ("ground-tent", 1.0), ("bedroll", -3.0))
    ]
    offsets = replace(own(), in_bedding=((kits[0].bedding, Offset(0.0, 1.0)),))
    together = share_changes(night, kits, [Sleeper(own=offsets)])
    assert list(together.kit.values) == ["roof-tent", "ground-tent", "bedroll"]
    for row, kit in enumerate(kits):
        alone = share_changes(night, [kit], [Sleeper(own=offsets)])
        assert_allclose(together.isel(kit=row), alone.isel(kit=0), rtol=0, atol=1e-12)


def test_own_nights_move_a_plan_and_narrow_its_range(tmp_path):
    """Twenty nights near the limit, half of them cold: more rough nights, less doubt."""
    cold = stored(tmp_path, mean=7.0, swing=10.0, spread=3.0)
    lows = [2.0, 3.0, 1.0, 0.0, 4.0, 5.0, -1.0, 2.0, 3.0, 6.0]
    row = f"nights = 10\ncold = 4\ncool = 3\nlow_c = {lows}"
    before, after = (
        plan(saved(tmp_path, trip(leg("A"), ONE, *rows, kits="ground-tent")), climate=cold)
        for rows in ((), (slept(row), slept(row)))
    )
    assert after.best.rough_parts["person"] < 0.75 * before.best.rough_parts["person"]
    assert after.best.rough_nights != before.best.rough_nights
    assert after.best.dangerous_nights >= before.best.dangerous_nights


def test_night_of_a_leg_takes_own_nights(tmp_path):
    """``night --trip`` tells the same months for the sleeper as learned."""
    cold = stored(tmp_path, mean=7.0, swing=10.0, spread=3.0)
    row = "nights = 4\ncold = 4\nlow_c = [2, 3, 2, 3]"
    usual, own_months = (
        leg_night(
            saved(tmp_path, trip(leg("A"), ONE, *rows, kits="ground-tent")), "A", climate=cold
        )["months"]
        for rows in ((), (slept(row),))
    )
    assert own_months[4]["cold"] > usual[4]["cold"] + 0.02
    assert own_months[4]["dangerous"] >= usual[4]["dangerous"]
    assert own_months[4]["night_low_c"] == usual[4]["night_low_c"]
