"""Where kits, bedding and sleepers begin to contradict themselves, and what nights teach a kit."""

import pytest
from pydantic import TypeAdapter

from sheltermap.files import checked
from sheltermap.shelters.kit import (
    AnyBedding,
    Bedding,
    KitFile,
    Sleeper,
    load_addons,
    load_kits,
)
from sheltermap.vocabulary import InputError

KITS = load_kits()


def said(**changes):
    """Return what a kit with changes is refused with; empty where it is taken."""
    try:
        checked({"kit": [KITS["bedroll"].model_dump() | changes]}, KitFile, "kits.toml")
    except InputError as error:
        return error.problems[0].expected
    return ""


def walls(**changes):
    """Return walls of 10 m2 and 4 m3, changed."""
    return {"fabric": "single", "area_m2": 10.0, "volume_m3": 4.0} | changes


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"leak": 0.25, "leak_under_awning": 0.25}, ""),
        ({"mass_kg": 16.0, "roof_load_kg": 16.0}, ""),
        ({"mass_kg": 16.0, "roof_load_kg": 16.1}, "roof_load_kg at most mass_kg"),
        ({"air_speed_open_m_s": 0.2, "air_speed_closed_m_s": 0.2}, ""),
        ({"places": 6, "units": 3}, ""),
        ({"places": 6, "units": 4}, "places that units divide"),
        ({"canvas": False, "dry_hours": 0.0}, ""),
        ({"canvas": True, "dry_hours": 0.1}, ""),
        ({"enclosure": {"fabric": "none"}}, ""),
        ({"enclosure": walls()}, ""),
        ({"enclosure": walls(area_m2=0.0)}, "area_m2 and volume_m3 above 0 for walls"),
        ({"enclosure": walls(volume_m3=0.0)}, "area_m2 and volume_m3 above 0 for walls"),
        ({"enclosure": walls(air_changes_open=5.0, air_changes_closed=5.0)}, ""),
        (
            {"enclosure": walls(air_changes_open=4.9, air_changes_closed=5.0)},
            "air_changes_open at least air_changes_closed",
        ),
    ],
)
def test_values_that_just_go_together(changes, words):
    """Equal shares, masses and speeds are no contradiction; a hair more is."""
    assert said(**changes) == words


@pytest.mark.parametrize("field", ["kit", "addon"])
def test_a_file_holds_kits_or_add_ons(field):
    """One of them is enough, none is refused."""
    record = {"kit": KITS["bedroll"], "addon": load_addons()["mat"]}[field].model_dump()
    assert len(getattr(checked({field: [record]}, KitFile, "k"), field)) == 1
    with pytest.raises(InputError, match=rf"each id once, but {record['id']} repeats"):
        checked({field: [record, record, record]}, KitFile, "k")
    with pytest.raises(InputError, match="at least one"):
        checked({}, KitFile, "k")


@pytest.mark.parametrize("value", [True, {}, {"clo": 3, "limit_c": 0}])
def test_bedding_that_says_nothing_or_twice_is_refused(value):
    """A truth is no label of 1 degC."""
    with pytest.raises(ValueError, match=r"Bedding|exactly one of"):
        TypeAdapter(AnyBedding).validate_python(value)


def test_bedding_says_its_word_or_label():
    """What lies on top is apart from it."""
    assert Bedding(word="winter").stated == "winter"
    assert Bedding(comfort_c=-3.0).stated == -3.0
    assert Bedding(limit_c=-3.0).stated is None and Bedding(clo=4.0).stated is None
    assert Bedding(clo=4.0, extra_clo=2.0).label == Bedding(clo=4.0)


def test_infants_are_refused_with_the_reason():
    """Nobody's nights are guessed for whom no standard speaks."""
    with pytest.raises(ValueError, match="No standard models how infants bear cold"):
        Sleeper(preset="infant")


@pytest.mark.parametrize(
    ("sleeper", "cold"),
    [
        ({}, False),
        ({"cold_sleeper": True}, True),
        ({"preset": "careful"}, True),
        ({"preset": "light sleeper"}, False),
    ],
)
def test_who_sleeps_cold(sleeper, cold):
    """Who says so, and who is careful."""
    assert Sleeper(**sleeper).sleeps_cold is cold


def test_a_sleeper_lies_under_own_bedding_or_the_kits():
    """A bag of one's own wins."""
    kit = KITS["bedroll"]
    assert kit.bedding_of(Sleeper(bedding=-3)) == Bedding(comfort_c=-3)
    assert kit.bedding_of(Sleeper()) == kit.bedding


def test_nights_change_a_kit_and_danger_keeps_the_worse():
    """A bedroll of 0.25 and 0.05 shown better, then worse; an awning leaks no more than none."""
    bedroll = KITS["bedroll"]
    assert bedroll.leaks_in_danger == (0.25, 0.05)
    better = bedroll.after(0.10, 0.15, 0.3)
    assert (better.leak, better.leak_under_awning, better.condensation_weight) == (0.1, 0.1, 0.3)
    assert better.leaks_in_danger == (0.25, 0.1)
    worse = better.after(0.4, 0.02, 0.3)
    assert (worse.leak, worse.leak_under_awning) == (0.4, 0.02)
    assert worse.leaks_in_danger == (0.4, 0.1)
