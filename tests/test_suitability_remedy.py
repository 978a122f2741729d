"""Remedies: what helps against what, and which one is named."""

import numpy as np
import pytest
from nights import many_nights, one_night

from sheltermap.shelters.fitting import helps, with_addons
from sheltermap.shelters.kit import Sleeper, load_addons, load_kits
from sheltermap.suitability.candidates import Candidate, candidates, room
from sheltermap.suitability.remedy import Advice, Stretch, advice, remedy_at
from sheltermap.suitability.score import score

KITS = load_kits()
TWO = (Sleeper(), Sleeper())


def gains(night, kit, **more):
    """Return each remedy's gain by its id."""
    before = float(score(night, kit, TWO).sound_share)
    return {one.id: float(one.sound_share) - before for one in candidates(night, kit, TWO, **more)}


def candidate(name, price, share, dangerous=0.0):
    """Return a made-up add-on with one value for all nights."""
    return Candidate(name, name.title(), price, 1.0, np.array(share), np.array(dangerous))


def in_rooms(price, share):
    """Return a room on every night."""
    return room(np.array(share), np.array(0.0), price, below=1.0)


def nights_of(share, found, dangerous=0.0, nights=1.0):
    """Return nights of one share of sound nights."""
    return Stretch(np.array(share), np.array(dangerous), found, nights)


def test_each_trouble_has_its_remedy():
    """A fan in heat, an awning in rain, bedding in cold gain most."""
    hot = one_night(
        bedtime_temperature=29.0,
        coldest_hours_temperature=25.0,
        ground_temperature=27.0,
        vapour_pressure=2.6,
        bedtime_vapour_pressure=2.6,
        wet_share=0.0,
        rain_per_day=0.0,
        night_low_spread=1.0,
    )
    rainy = one_night(wet_share=0.9, rain_per_day=14.0, wind_speed=1.0)
    freezing = one_night(coldest_hours_temperature=-8.0, ground_temperature=-3.0)
    for night, best in ((hot, "fan"), (rainy, "awning"), (freezing, "warm-bedding")):
        found = gains(night, KITS["bedroll"])
        assert max(found, key=found.get) == best
        assert found[best] > 0.05


def test_a_cot_helps_where_pitches_flood():
    """After heavy rain a bed off the ground stays dry."""
    night = one_night(wet_share=0.8, rain_per_day=20.0)
    assert gains(night, KITS["ground-tent"])["cot"] > 0.02


def test_only_what_the_vehicle_carries():
    """No awning without a rack; no cot under a roof tent."""
    calm = one_night(wind_speed=1.0)
    assert "awning" not in gains(calm, KITS["bedroll"], carries=())
    assert "awning" in gains(calm, KITS["bedroll"], carries=("roof_rack",))
    assert "cot" not in gains(one_night(), KITS["roof-tent"])


def test_the_cheapest_that_lifts_the_grade():
    """0.60 is below workable; both lift it, the cheaper one is named though it gains less."""
    found = [candidate("fan", 60, 0.76), candidate("awning", 300, 0.95)]
    named = advice([nights_of(0.6, found, nights=10)]).remedy
    assert (named.id, named.price, named.lifts_grade) == ("fan", 60, True)
    assert (named.ends_danger, named.rooms) == (False, 0)
    assert named.nights_saved == pytest.approx(1.6)


def test_what_lifts_no_grade_helps_a_little():
    """0.60 to 0.65 for 20 is 0.25 nights of a hundred for a unit of money, 0.70 for 60 less."""
    found = [candidate("fan", 20, 0.65), candidate("awning", 60, 0.70)]
    told = advice([nights_of(0.6, found)])
    assert told.remedy is None and told.little.id == "fan"


def test_of_equal_prices_the_one_that_saves_more_is_named():
    """And of all that cost nothing; what costs nothing is worth more than any that does."""
    mat, fan, cot = (
        candidate(*one) for one in (("mat", 60, 0.8), ("fan", 60, 0.8), ("cot", 60, 0.9))
    )
    assert advice([nights_of(0.6, [mat, fan, cot])]).remedy.id == "cot"
    assert advice([nights_of(0.6, [mat, fan])]).remedy.id == "fan"  # Then by the alphabet.
    free = [candidate("fan", 1, 0.7), candidate("mat", 0, 0.62), candidate("cot", 0, 0.63)]
    assert advice([nights_of(0.6, free)]).little.id == "cot"


@pytest.mark.parametrize(("gain", "named"), [(0.0052, True), (0.0048, False)])
def test_half_a_percent_of_the_nights_is_worth_naming(gain, named):
    """Less is none, though it lifts a grade; in danger anything that ends it is."""
    lifting = nights_of(0.748, [candidate("fan", 60, 0.748 + gain)], nights=30)
    told = advice([lifting])
    assert bool(told.remedy) is named
    assert bool(remedy_at(lifting, "fan")) is named
    little = nights_of(0.6, [candidate("fan", 60, 0.6 + gain)], nights=30)
    assert bool(advice([little]).little) is named
    found = [candidate("mat", 20, 0.9), candidate("fan", 60, 0.6 + gain)]
    danger = nights_of(0.6, found, 0.05)
    assert (remedy_at(danger, "fan").id, remedy_at(danger, None).id) == ("fan", "mat")


def test_the_grade_of_one_leg_is_enough():
    """Nothing lifts the mean of both legs; the mat lifts the second, the fan neither."""
    mat, fan = candidate("mat", 90, 0.99), candidate("fan", 20, 0.70)
    legs = [nights_of(0.98, [mat, fan], nights=20), nights_of(0.6, [mat, fan], nights=2)]
    assert advice(legs).remedy.id == "mat"
    assert advice(legs).remedy.nights_saved == pytest.approx(20 * 0.01 + 2 * 0.39)


def test_a_room_costs_every_night():
    """30 a night for ten nights is dearer than a fan of 60 that also lifts the grade."""
    found = [in_rooms(30, 0.6), candidate("fan", 60, 0.76)]
    assert advice([nights_of(0.6, found, nights=10)]).remedy.id == "fan"
    one = advice([nights_of(0.6, found, nights=1)]).remedy
    assert (one.id, one.price, one.rooms) == ("room", 30, 1)


def test_rooms_of_two_prices_are_added_up():
    """Two nights at 30 and three at 50 are 210, and five nights in rooms."""
    legs = [
        nights_of(0.2, [in_rooms(30, 0.2)], nights=2),
        nights_of(0.2, [in_rooms(50, 0.2)], nights=3),
    ]
    named = advice(legs).remedy
    assert (named.id, named.price, named.rooms) == ("room", 210, 5)


def test_no_awning_where_nobody_knows_the_wind():
    """Whether it stands is for the wind to decide; without wind its gain is a guess."""
    rain = {"wet_share": 0.9, "rain_per_day": 14.0}
    assert "awning" not in gains(one_night(**rain), KITS["bedroll"])
    assert "awning" in gains(one_night(**rain, wind_speed=1.0), KITS["bedroll"])


def test_what_leaves_danger_is_no_remedy():
    """Bedding that lifts the grade but leaves 2 % of danger reads as safety; a room does not."""
    bedding = candidate("warm-bedding", 60, 0.95, dangerous=0.02)
    less = candidate("warm-bedding", 60, 0.95, dangerous=0.019)
    for before in (0.0, 0.05):
        assert advice([nights_of(0.6, [bedding], before)]) == Advice(None, None)
        assert advice([nights_of(0.6, [less], before)]).remedy is not None
    told = advice([nights_of(0.6, [bedding, in_rooms(90, 0.6)], 0.05)]).remedy
    assert (told.id, told.ends_danger) == ("room", True)


def test_danger_is_ended_at_the_least_price():
    """Once the most effective was named, at three times the price of one that ends danger too."""
    found = [
        candidate("warm-bedding", 180, 0.99, dangerous=0.0),
        candidate("mat", 60, 0.70, dangerous=0.01),
        candidate("fan", 20, 0.80, dangerous=0.03),
    ]
    assert advice([nights_of(0.6, found, 0.05)]).remedy.id == "mat"
    assert advice([nights_of(0.6, found, 0.019)]).remedy.id == "warm-bedding"  # Lifts two grades.


def test_danger_is_ended_on_every_leg():
    """The mat ends it on the first leg alone, the bedding on both."""
    bedding = candidate("warm-bedding", 180, 0.99, dangerous=0.0)
    first = nights_of(0.6, [bedding, candidate("mat", 60, 0.9, dangerous=0.0)], 0.05)
    second = nights_of(0.6, [bedding, candidate("mat", 60, 0.9, dangerous=0.02)], 0.05)
    assert advice([first]).remedy.id == "mat"
    assert advice([first, second]).remedy.id == "warm-bedding"


def test_danger_on_one_leg_is_danger():
    """And a share missing on one leg leaves nothing to say of both."""
    fan = candidate("fan", 60, 0.62)
    safe, bad = nights_of(0.6, [fan]), nights_of(0.6, [fan], 0.05)
    for legs in ([safe, bad], [bad, safe]):
        assert advice(legs).remedy.ends_danger
    unknown = nights_of(np.nan, [fan])
    assert advice([bad, unknown]) == advice([unknown, bad]) == Advice()


def test_an_awning_known_on_one_leg_is_none_for_the_journey():
    """Where wind is not assessed nobody knows what it does."""
    awning = candidate("awning", 60, 0.99)
    assert advice([nights_of(0.6, [awning])]).remedy.id == "awning"
    assert advice([nights_of(0.6, [awning]), nights_of(0.6, [])]).remedy is None


def test_danger_counts_on_nights_with_weight_only():
    """What a week does not contain cannot forbid its remedy."""
    before, left = np.array([0.6, 0.6]), np.array([0.0, 0.5])
    found = [Candidate("fan", "Fan", 60, 1.0, before + 0.3, left)]
    for weights, named in (([1.0, 0.0], "fan"), ([1.0, 1.0], None)):
        told = advice([Stretch(before, 0 * before, found, np.array(weights))]).remedy
        assert (told and told.id) == named


def test_bitter_cold_leaves_no_carried_remedy():
    """At -25 degC warm bedding gains, and leaves danger: nothing is named but the room."""
    night = one_night(coldest_hours_temperature=-25.0, ground_temperature=-15.0)
    found = candidates(night, KITS["bedroll"], TWO)
    scored = score(night, KITS["bedroll"], TWO)
    before, danger = scored.sound_share.values, scored.dangerous.values
    assert advice([Stretch(before, danger, found)]) == Advice()
    bed = room(before, danger, 30.0, below=0.0)
    assert advice([Stretch(before, danger, [*found, bed])]).remedy.id == "room"


def test_nothing_to_name():
    """No gain, no nights, or no data: no remedy."""
    good = [candidate("fan", 60, 0.9)]
    for nothing in (
        nights_of(0.6, [candidate("fan", 60, 0.601)]),
        nights_of(0.6, good, nights=0.0),
        nights_of(np.nan, good),
        nights_of(0.6, []),
    ):
        assert advice([nothing]) == Advice()
        assert remedy_at(nothing, "fan") is None
    assert advice([]) == Advice()


def test_weights_count_only_their_nights():
    """A missing share on a night without weight does no harm."""
    before, after = np.array([0.6, np.nan]), np.array([0.9, np.nan])
    found = [Candidate("fan", "Fan", 60, 1.0, after, 0.0 * after)]
    stretch = Stretch(before, 0.0 * before, found, np.array([4.0, 0.0]))
    assert advice([stretch]).remedy.nights_saved == pytest.approx(1.2)


def test_a_stretch_has_the_remedy_of_the_plan():
    """Where it helps: not on sound nights, not another that is cheaper there."""
    found = [candidate("fan", 20, 0.99), candidate("mat", 60, 0.99)]
    assert remedy_at(nights_of(0.6, found), "mat").id == "mat"
    assert remedy_at(nights_of(0.6, found), None) is None
    assert remedy_at(nights_of(0.95, found), "mat") is None


def test_a_stretch_in_danger_has_what_ends_it():
    """Nights off the plan may be worse than those it was named for."""
    found = [candidate("mat", 60, 0.9, dangerous=0.04), candidate("warm-bedding", 180, 0.9)]
    assert remedy_at(nights_of(0.6, found, 0.0), "mat") is None
    assert remedy_at(nights_of(0.6, found, 0.05), "mat").id == "warm-bedding"


def test_a_room_is_taken_by_the_rule_and_in_danger():
    """Below the traveller's own share, or where danger remains; other nights stay as they are."""
    bed = room(np.array([0.4, 0.6, 0.9, np.nan]), np.array([0, 0.02, 0.019, np.nan]), 30, 0.5)
    np.testing.assert_array_equal(bed.sound_share, [1, 1, 0.9, np.nan])
    np.testing.assert_array_equal(bed.dangerous, [0, 0, 0.019, np.nan])
    np.testing.assert_array_equal(bed.paid, [True, True, False, False])
    assert (bed.price, bed.mass_kg) == (30, 0.0)
    assert not room(np.array([0.5]), np.zeros(1), 30, below=0.5).paid.any()


def test_candidates_on_some_nights_are_the_same_there():
    """What is paid by the night is paid on those; what is bought once is bought once."""
    share = np.array([0.4, 0.6, 0.9])
    bed = room(share, np.zeros(3), 30, below=0.5).at([0, 2])
    assert (bed.sound_share.tolist(), bed.paid.tolist()) == ([1.0, 0.9], [True, False])
    fan = Candidate("fan", "Fan", 60, 1.0, share, np.array([0.1, 0.2, 0.3])).at(slice(1, None))
    assert (fan.sound_share.tolist(), fan.dangerous.tolist()) == ([0.6, 0.9], [0.2, 0.3])
    assert (fan.paid, fan.price) == (None, 60)


def test_candidate_is_the_score_of_the_changed_kit():
    """What a candidate says is what scoring the kit with the add-on says."""
    nights = many_nights(20, wind=False)
    found = candidates(nights, KITS["bedroll"], TWO)
    assert found
    for one in found:
        changed = score(nights, with_addons(KITS["bedroll"], [one.id]), TWO)
        np.testing.assert_allclose(one.sound_share, changed.sound_share, rtol=0, atol=1e-12)
        np.testing.assert_allclose(one.dangerous, changed.dangerous, rtol=0, atol=1e-12)


def test_where_no_addon_helps_there_is_no_candidate():
    """None offered, or none that this kit lacks."""
    assert candidates(many_nights(2), KITS["bedroll"], TWO, addons={}) == []
    cot = {"cot": load_addons()["cot"]}
    assert candidates(many_nights(2), KITS["roof-tent"], TWO, addons=cot) == []


def test_no_remedy_closes_vents_or_burns_fuel():
    """No kit has less air with an add-on than without, and no text speaks of burning."""
    for addon in load_addons().values():
        words = f"{addon.title} {addon.what}".lower()
        assert not any(word in words for word in ("heater", "stove", "burn", "gas", "fuel"))
    changed = [
        (kit, with_addons(kit, [addon.id]))
        for kit in KITS.values()
        for addon in load_addons().values()
        if helps(addon, kit)
    ]
    assert {with_it.addons[-1] for _, with_it in changed} == set(load_addons())
    for kit, with_it in changed:
        assert with_it.enclosure == kit.enclosure and with_it.mesh == kit.mesh
        assert with_it.air_speed_open_m_s >= kit.air_speed_open_m_s
        assert with_it.air_speed_closed_m_s >= kit.air_speed_closed_m_s


def test_what_is_bought_once_costs_once():
    """Two stretches, of 10 and of 4 nights: the fan is bought for 60, rooms at 30 paid nightly."""
    stretches = [nights_of(0.8, [candidate("fan", 60, 0.95)], nights=count) for count in (10, 4)]
    named = advice(stretches).remedy
    assert (named.id, named.price, named.rooms, named.mass_kg) == ("fan", 60, 0, 1.0)
    # By hand: 0.15 x 14 nights.
    assert named.nights_saved == pytest.approx(2.1)
    paid = [nights_of(0.8, [in_rooms(30, 0.8)], nights=count) for count in (10, 4)]
    room_named = advice(paid).remedy
    assert (room_named.price, room_named.rooms) == (30 * 14, 14)
