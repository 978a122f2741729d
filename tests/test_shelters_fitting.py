"""What add-ons and several units make of a kit, and whom it fits: sums by hand."""

import pytest

from sheltermap.shelters.fitting import bought, carried, helps, misfit, useful, with_addons
from sheltermap.shelters.kit import Fan, load_addons, load_kits

KITS, ADDONS = load_kits(), load_addons()

HELPS = {
    "bedroll": ["awning", "fan", "warm-bedding", "mat", "cot"],
    "bedroll-awning": ["fan", "warm-bedding", "mat", "cot"],
    "bedroll-cot": ["awning", "fan", "warm-bedding", "mat"],
    "roof-tent": ["awning", "fan", "warm-bedding", "mat"],
}


@pytest.mark.parametrize("name", HELPS)
def test_add_ons_that_change_a_kit(name):
    """No second awning, no cot under a bed that is off the ground."""
    assert [one.id for one in useful(ADDONS.values(), KITS[name])] == HELPS[name]


def test_an_add_on_is_of_no_use_a_second_time():
    """Each counts once, and a kit that has a fan of its own needs none."""
    for name in ADDONS:
        assert not helps(ADDONS[name], with_addons(KITS["bedroll"], [name]))
    own_fan = KITS["bedroll"].model_copy(update={"fan": Fan()})
    assert not helps(ADDONS["fan"], own_fan)


@pytest.mark.parametrize("key", ["extra_clo", "extra_mat_m2k_w"])
def test_an_add_on_of_nothing_helps_nothing(key):
    """A quilt of 0 clo, a mat of 0 m2 K/W."""
    name = {"extra_clo": "warm-bedding", "extra_mat_m2k_w": "mat"}[key]
    assert helps(ADDONS[name], KITS["bedroll"])
    assert not helps(ADDONS[name].model_copy(update={key: 0.0}), KITS["bedroll"])


def test_a_vehicle_takes_the_add_ons_it_has_a_place_for():
    """An awning needs a roof rack; the others need nothing, whatever else it has."""
    bedroll = KITS["bedroll"]
    for carries, awning in ((["roof_rack"], True), (["load_bed"], False), ([], False)):
        found = [one.id for one in useful(ADDONS.values(), bedroll, carries)]
        assert ("awning" in found) is awning and len(found) == 4 + awning


def test_an_add_on_adds_all_that_it_has():
    """Awning by hand: 16 + 12 kg, 12 kg and 0.05 m2 on the roof, 4 + 3 and 6 + 3 minutes."""
    kit = with_addons(KITS["bedroll"], ["awning"])
    assert (kit.mass_kg, kit.roof_load_kg, kit.added_drag_area_m2) == (28.0, 12.0, 0.05)
    assert (kit.pitch_minutes, kit.strike_minutes, kit.price) == (7.0, 9.0, 800.0)
    assert kit.awning == ADDONS["awning"].awning and kit.standing_room is True
    assert kit.addons == ("awning",) and kit.freight_kg is None
    # Without an awning nobody stands upright under it.
    assert with_addons(KITS["bedroll"], ["mat"]).standing_room is False


def test_an_add_on_is_shipped_with_the_kit():
    """6 kg of 16 are shipped; a fan of 1 kg makes seven."""
    shipped = KITS["bedroll"].model_copy(update={"freight_kg": 6.0})
    assert with_addons(shipped, ["fan"]).freight_kg == 7.0


def test_own_help_stays_beside_an_add_on():
    """A cot lifts no bed that is off the ground; covers add up on covers."""
    both = ["warm-bedding", "cot"]
    kit = with_addons(KITS["bedroll"], both)
    warmer = kit.bedding.model_copy(update={"extra_clo": kit.bedding.extra_clo + 1.5})
    thick = with_addons(KITS["bedroll"].model_copy(update={"bedding": warmer}), ["warm-bedding"])
    assert (kit.bedding.extra_clo, thick.bedding.extra_clo) == (2.0, 5.5)
    assert (kit.exposure, kit.sleeper_height_m, kit.addons) == ("raised", 0.45, tuple(both))


def test_units_share_what_is_of_all_of_them():
    """Two bedrolls at 3 kg of freight and 0.1 m2 each, made five, then one."""
    pair = KITS["bedroll"].model_copy(
        update={"units": 2, "places": 4, "freight_kg": 6.0, "added_drag_area_m2": 0.2}
    )
    five = carried(pair, 9)
    assert (five.units, five.places, five.freight_kg) == (5, 10, 15.0)
    assert (five.mass_kg, five.added_drag_area_m2) == (40.0, pytest.approx(0.5))
    assert (five.enclosure.area_m2, five.enclosure.volume_m3) == (12.5, pytest.approx(3.0))
    assert carried(pair, 4) is pair and carried(pair, 3) is pair
    assert carried(five, 2).mass_kg == 8.0 and carried(five, 2).title == "Canvas bedroll"
    # Nine in five bedrolls for two: one lies alone.
    assert not five.shared_bed and carried(pair, 10).shared_bed


def test_one_unit_buys_one_add_on():
    """The very same add-on; two units buy two, with their bulk and drag."""
    assert bought(ADDONS["awning"], KITS["bedroll"]) is ADDONS["awning"]
    two = bought(ADDONS["awning"], carried(KITS["bedroll"], 3))
    assert (two.mass_kg, two.roof_load_kg, two.added_drag_area_m2) == (24.0, 24.0, 0.1)
    assert two.pitch_minutes == 3.0, "they are pitched side by side"


@pytest.mark.parametrize(("longest", "fits"), [(1.95, True), (1.96, False)])
def test_a_bed_is_5_cm_longer_than_its_sleeper(longest, fits):
    """A body's bed is 2.00 m long."""
    asked = {"people": 2, "carries": ["load_bed"]}
    assert (misfit(KITS["pop-up-body"], longest_m=longest, **asked) == []) is fits


def test_a_vehicle_longer_than_the_bed_makes_it_no_longer():
    """2.10 m of platform in 2.5 m of load bed; without a length, the kit's own counts."""
    asked = {"people": 1, "longest_m": 2.1, "carries": ["load_bed"]}
    for length in (2.5, None):
        (reason,) = misfit(KITS["load-bed"], bed_length_m=length, **asked)
        assert reason == "Its bed is 2.10 m long; a sleeper of 2.10 m needs 2.15 m."


def test_one_place_is_told_as_one():
    """Two people in a bed for one."""
    single = KITS["bedroll"].model_copy(update={"places": 1})
    assert misfit(single, people=2, longest_m=1.8) == ["It has 1 place for 2 people."]
    assert misfit(single, people=1, longest_m=1.8) == []
