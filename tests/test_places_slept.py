"""Nights slept in a trip: their margins, what they teach, and that danger never falls by them."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from nights import many_nights
from numpy.testing import assert_allclose
from small_trips import LATITUDE, LONGITUDE, leg, saved, stored, trip

from sheltermap.pipeline import leg_night, plan
from sheltermap.places.country import country
from sheltermap.places.ground import camps, extents, journey_box
from sheltermap.places.lessons import KIT_NIGHTS, _worn, lessons, taught
from sheltermap.places.slept import SleptNights, slept_nights
from sheltermap.shelters.kit import Bedding, Sleeper, load_kits
from sheltermap.shelters.learned import Offset, OwnOffsets
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.tolerance import modes
from sheltermap.suitability.band import PERSON, share_changes, signed
from sheltermap.suitability.card import kit_limits
from sheltermap.suitability.score import score, scores
from sheltermap.trip.inputs import read_inputs
from sheltermap.trip.log import SleptRow
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


def as_seen(changes=(), **row):
    """Return a row with figures as the model might give them."""
    figures = {
        "kit": KITS["ground-tent"],
        "sleeper": Sleeper(),
        "cold": 3.0,
        "cold_in_rain": 5.0,
        "heat": 4.0,
        "low": 2.0,
        "bedtime": 14.0,
        "spread": 2.5,
        "error": 1.2,
        "apart": 0.9,
        "drips": 0.5,
        "warming_in_cold": 1.5,
        "warming_in_heat": 0.5,
    }
    told = SleptRow.model_validate({"leg": "A", "nights": 4} | row)
    return SleptNights(number=1, row=told, **figures | dict(changes))


def test_cold_of_measured_nights_by_hand():
    """One of four nights in rain: 3 + 2/4 K, and each low less 1.5 inside, against 2 expected.

    Which night it rained is not told: a spread of 2 K times the root of 1/4 x 3/4, beside the
    thermometer's own kelvin.
    """
    stay = as_seen(rain=1, low_c=[0, 1, 2, 6], cold=2, cool=1).in_cold()
    assert stay.margins == (0.0, 1.0, 2.0, 6.0)
    assert stay.spread == pytest.approx((1.0 + 4 * 3 / 16) ** 0.5)
    assert (stay.measured, stay.shared_error, stay.nights) == (True, 0.0, 4)
    assert (stay.failed, stay.nearly) == (2, 1)


@pytest.mark.parametrize(("low", "spread"), [([1], 2.5), ([1, 1, 1, 1], 1.0)])
def test_one_low_for_several_nights_says_nothing_of_their_spread(low, spread):
    """Then it is that of the season's nights."""
    assert as_seen(low_c=low).in_cold().spread == spread
    assert as_seen(nights=1, low_c=[1]).in_cold().spread == 1.0


def test_cold_and_heat_of_unmeasured_nights_by_hand():
    """All in rain: 5 K. What is not known is the climate's, 1.2 and 0.9 K together 1.5 K."""
    nights = as_seen(rain=4, hot=1, warm=2, cold=1)
    cold, heat = nights.in_cold(), nights.in_heat()
    assert (cold.margins, heat.margins) == ((5.0,), (4.0,))
    assert (cold.spread, heat.spread) == (2.5, 2.5)
    for stay in (cold, heat):
        assert not stay.measured and stay.shared_error == pytest.approx(1.5)
    assert (heat.failed, heat.nearly, cold.failed, cold.nearly) == (1, 2, 1, 0)


def test_heat_of_measured_bedtimes_by_hand():
    """16 and 13 degC inside a tent that keeps half a kelvin, against 14: 2.5 and 5.5 of 4 K."""
    stay = as_seen(nights=2, bedtime_c=[16, 13], rain=1).in_heat()
    assert stay.margins == (2.5, 5.5)
    assert (stay.spread, stay.shared_error, stay.measured) == (1.0, 0.0, True)


TENT = KITS["ground-tent"]


def worn(*stays):
    """Return a ground tent as stays have shown it: leaks 0.04 and 0.02, drips 0.1 as stated."""
    kit = _worn(TENT, stays)
    return kit.leak, kit.leak_under_awning, kit.condensation_weight


def test_a_kits_figures_are_worth_twenty_nights():
    """Five nights of rain, two wet; six nights of which half drip, two damp. By hand."""
    stay = as_seen(nights=6, rain=5, wet=2, damp=2)
    expected = (20 * 0.04 + 2) / 25, (20 * 0.02 + 2) / 25, (20 * 0.1 + 2) / 23
    assert worn(stay) == pytest.approx(expected)
    # More were damp than the model lets drip: those are counted.
    assert worn(as_seen(nights=6, damp=5))[2] == pytest.approx((20 * 0.1 + 5) / 25)


def test_of_two_who_tell_of_the_same_nights_one_counts():
    """Who tells of more nights of rain and damp, whoever comes first; other stays add up."""
    more, less = as_seen(rain=3, wet=1), as_seen(rain=2)
    later = as_seen(first=date(2027, 6, 1), rain=1, wet=1)
    once = (20 * 0.04 + 1) / 23
    assert worn(more, less)[0] == worn(less, more)[0] == pytest.approx(once)
    assert worn(more, less, later)[0] == pytest.approx((20 * 0.04 + 2) / 24)
    # As much damp as rain is as telling: the later row counts, which has none of the wet.
    assert worn(more, as_seen(damp=3, nights=4))[0] == pytest.approx(0.04)


def test_nights_in_another_kit_or_without_rain_teach_a_leak_nothing():
    """A figure stands where no night asked for it."""
    assert _worn(TENT, [as_seen({"kit": KITS["bedroll"]}, rain=4, wet=4)]) is TENT
    assert worn(as_seen({"drips": 0.0})) == (0.04, 0.02, 0.1)


def test_a_stay_is_seen_at_its_middle_in_the_bedding_of_its_nights(tmp_path):
    """Ten nights from 27 May are as warm as 1 June; the sleeper's own bag is laid aside."""
    months = np.array([0, 0, 0, 0, 10, 12, 0, 0, 0, 0, 0, 0], float)
    known = {"climate": {"mean": months, "swing": 0.0}}
    row = "nights = {}\nbedding = 5"
    _, (long, short) = read(
        tmp_path, ONE,
        slept(row.format(10), 'leg = "A"\nfirst = 2027-05-27'),
        slept("nights = 1", 'leg = "A"\nfirst = 2027-06-01'),
        **known,
    )  # fmt: skip
    assert long.low == pytest.approx(short.low)
    assert (long.number, short.number) == (1, 2)
    assert long.sleeper.bedding == Bedding(comfort_c=5.0)


def test_kit_of_nights_is_the_rows_else_the_stays_else_the_first(tmp_path):
    """The trip's own kit of that id, with its add-ons; others as they are known."""
    done = '\n[[done]]\nleg = "A"\narrived = 2027-05-02\nkit = "bedroll"\n'
    in_done, stated = slept("nights = 1"), slept('nights = 1\nkit = "roof-tent"')
    _, nights = read(tmp_path, ONE, done, in_done, stated, kits="ground-tent bedroll")
    assert [one.kit.id for one in nights] == ["bedroll", "roof-tent"]
    inputs, (first,) = read(tmp_path, ONE, in_done, kits="ground-tent bedroll")
    assert first.kit is inputs.kits[0]


def test_each_sleeper_learns_from_own_rows(tmp_path):
    """Ben first: two nights by climate; then Ana's four with a thermometer and three without."""
    party = '\n[party]\npeople = 2\n[[party.sleepers]]\nname = "Ana"\n'
    party += '[[party.sleepers]]\nname = "Ben"\n'
    rows = [
        slept('who = "Ben"\nnights = 2\nhot = 1'),
        slept('who = "Ana"\nnights = 4\ncold = 4\nlow_c = [2, 3, 2, 3]'),
        slept('who = "Ana"\nnights = 3\nfirst = 2027-05-20', 'leg = "A"'),
    ]
    inputs, nights = read(tmp_path, party, *rows)
    ben, ana = lessons(inputs, nights)
    assert (ben.who, ben.nights, ben.measured) == ("Ben", 2, 0)
    assert (ana.who, ana.nights, ana.measured) == ("Ana", 7, 4)
    assert [number for number, _ in ben.moved + ana.moved] == [1, 2, 3]
    by_name = taught(inputs, nights, [ben, ana]).sleepers
    assert by_name == (ana.sleeper, ben.sleeper)
    # Who lay awake from heat bears less of it; a new bag keeps the person's part of the cold.
    assert ben.sleeper.own.heat.mean < 0
    assert ben.heat.offset("any bag") == ben.heat.offset() == ben.sleeper.own.heat
    new = ana.sleeper.own
    assert new.in_bedding[0][1].mean < new.new_bedding.mean < 0


def test_camps_of_unlike_climate_leave_a_margin_open(tmp_path):
    """Half lie in the warm south, half in the north: apart by half of what differs."""
    mean = np.full((12, LATITUDE.size, LONGITUDE.size), 14.0)
    mean[:, LATITUDE >= 41.0] = 9.0
    low = "camp_elevation_m = 100\n"
    both = f'\n[[legs]]\nname = "Both"\npoints = [[39.0, 28.0], [42.5, 28.0]]\nnights = 4\n{low}'
    legs = both, leg("S", (39.0, 28.0), more=low), leg("N", (42.5, 28.0), more=low)
    rows = (
        slept("nights = 1", f'leg = "{name}"\nfirst = 2027-05-02') for name in ("Both", "S", "N")
    )
    _, (together, south, north) = read(tmp_path, ONE, *legs, *rows, climate={"mean": mean})
    assert (south.apart, north.apart) == pytest.approx((0.0, 0.0), abs=1e-6)
    assert together.cold == pytest.approx((south.cold + north.cold) / 2, abs=0.01)
    assert together.apart == pytest.approx((south.cold - north.cold) / 2, abs=0.01)
    assert together.apart > 1.0
