"""Kit files: what ships, what users write, and what is refused."""

import pytest

from sheltermap.files import checked
from sheltermap.shelters.fitting import bought, carried, helps, misfit, with_addons
from sheltermap.shelters.kit import (
    AddOn,
    Awning,
    Bedding,
    Enclosure,
    Fan,
    Kit,
    KitFile,
    Sleeper,
    load_addons,
    load_kits,
    read_addons,
    read_kits,
)
from sheltermap.vocabulary import InputError

KITS = load_kits()

OWN = """
[[kit]]
id = "hut-bag"
title = "Bag in a lean-to"
what = "A quilt on a plank bed under a roof."
source = ["weighed and measured"]
exposure = "raised"
sleeper_height_m = 0.5
places = 1
bed_length_m = 2.0
bedding = -3
ground_resistance_m2k_w = 0.2
enclosure = { fabric = "none" }
mesh = false
air_speed_open_m_s = 0.3
air_speed_closed_m_s = 0.3
leak = 0.1
leak_under_awning = 0.1
rain_threshold_mm = 1
condensation_weight = 0
wet_packing_matters = false
mass_kg = 2
packed_litres = 20
price = 150
pitch_minutes = 2
strike_minutes = 2
"""


def test_what_ships():
    """The nine kits and five add-ons, each with its sources."""
    assert list(KITS) == [
        "bedroll",
        "bedroll-awning",
        "bedroll-cot",
        "ground-tent",
        "roof-tent",
        "bed-rack-tent",
        "pop-up-body",
        "load-bed",
        "pop-up-roof",
    ]
    assert list(load_addons()) == ["awning", "fan", "warm-bedding", "mat", "cot"]
    assert all(record.source for record in (*KITS.values(), *load_addons().values()))


def test_kits_lie_in_the_trade_ranges():
    """Common practice: bedroll 10 to 20 kg and bulky, body 120 to 250 kg, cot 0.3 to 0.6 m."""
    bedroll, tent = KITS["bedroll"], KITS["ground-tent"]
    assert 10 <= bedroll.mass_kg <= 20
    assert bedroll.packed_litres >= 3 * tent.packed_litres
    assert 120 <= KITS["pop-up-body"].mass_kg <= 250
    assert 0.3 <= KITS["bedroll-cot"].sleeper_height_m <= 0.6
    assert 0.3 <= load_addons()["cot"].raise_to_m <= 0.6
    assert 0.4 <= KITS["roof-tent"].added_drag_area_m2 <= 0.6


def test_bedding_in_three_spellings(tmp_path):
    """A word, a label temperature and a table mean what they say."""
    assert Sleeper(bedding="winter").bedding == Bedding(word="winter")
    assert Sleeper(bedding=-3).bedding == Bedding(comfort_c=-3)
    assert Sleeper(bedding={"limit_c": -3}).bedding == Bedding(limit_c=-3)


def test_own_kit(tmp_path):
    """A user's file gives kits and add-ons by id; `bedding = -3` is a comfort label."""
    path = tmp_path / "kits.toml"
    addon = '[[addon]]\nid = "quilt"\ntitle = "Quilt"\nwhat = "One more quilt."\n'
    addon += 'source = ["label"]\nmass_kg = 1\npacked_litres = 10\nprice = 90\nextra_clo = 1.5\n'
    path.write_text(OWN + addon, encoding="utf-8")
    assert read_kits(path)["hut-bag"].bedding.comfort_c == -3
    assert read_addons(path)["quilt"].extra_clo == 1.5


def test_every_problem_at_once(tmp_path):
    """A misspelt key, a wrong word, an impossible number and a contradiction together."""
    text = OWN.replace("places = 1", "place = 1").replace('"raised"', '"hanging"')
    text = text.replace("mass_kg = 2", "mass_kg = -2").replace("bedding = -3", 'bedding = "warm"')
    path = tmp_path / "kits.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_kits(path)
    problems = {problem.key: problem for problem in caught.value.problems}
    assert problems["kit[1].place"].mend == "Did you mean 'places'?"
    assert set(problems) >= {
        "kit[1].place",
        "kit[1].exposure",
        "kit[1].mass_kg",
        "kit[1].bedding.word",
    }


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"leak_under_awning": 0.9}, "leak_under_awning at most leak"),
        ({"roof_load_kg": 99}, "roof_load_kg at most mass_kg"),
        ({"air_speed_closed_m_s": 2}, "air_speed_closed_m_s at most air_speed_open_m_s"),
        ({"dry_hours": 0}, "dry_hours above 0 for canvas"),
        ({"places": 3, "units": 2}, "places that units divide"),
    ],
)
def test_contradictions(change, expected):
    """Values that cannot go together are named with what would."""
    raw = KITS["bedroll"].model_dump() | change
    raw["bedding"] = "winter"
    with pytest.raises(InputError) as caught:
        checked({"kit": [raw]}, KitFile, "kits.toml")
    assert expected in caught.value.problems[0].expected


def test_walls_need_a_size_and_bedding_one_statement():
    """A fabric without area and bedding with two labels are refused."""
    raw = KITS["bedroll"].model_dump() | {"enclosure": {"fabric": "single"}}
    raw["bedding"] = {"word": "winter", "clo": 4}
    with pytest.raises(InputError) as caught:
        checked({"kit": [raw]}, KitFile, "kits.toml")
    assert {p.key for p in caught.value.problems} == {"kit[1].enclosure", "kit[1].bedding"}


def test_ids_once():
    """Two kits of one id would shadow each other."""
    raw = KITS["bedroll"].model_dump()
    raw["bedding"] = "winter"
    with pytest.raises(InputError, match="bedroll repeats"):
        checked({"kit": [raw, raw]}, KitFile, "kits.toml")


def test_addons_count_once_and_with_their_mass():
    """A bedroll with cot and fan: raised, ventilated, 16 + 14 + 1 kg."""
    kit = with_addons(KITS["bedroll"], ["cot", "fan", "fan"])
    assert (kit.exposure, kit.sleeper_height_m) == ("raised", 0.45)
    assert kit.fan.air_speed_m_s == 0.8
    assert kit.mass_kg == 31
    assert kit.price == 500 + 240 + 60
    assert kit.addons == ("cot", "fan")


def test_layers_add_up():
    """Warm bedding and mat add 2 clo above and 0.35 m2 K/W below."""
    kit = with_addons(KITS["roof-tent"], ["warm-bedding", "mat"])
    assert kit.bedding.extra_clo == 2
    assert kit.ground_resistance_m2k_w == pytest.approx(0.9 + 0.35)


def test_useless_addons():
    """Told once, where it first stands; a kit with an awning needs no second."""
    with pytest.raises(InputError) as caught:
        with_addons(KITS["roof-tent"], ["mat", "cot", "mat", "cot"], file="trip.toml")
    (useless,) = caught.value.problems
    assert (useless.key, useless.got) == ("addons[2]", "'cot'")
    assert not helps(load_addons()["awning"], KITS["bedroll-awning"])


def test_misfits():
    """Too many people, too short a bed and a vehicle without a rack, each in a sentence."""
    reasons = misfit(KITS["roof-tent"], people=3, longest_m=2.2)
    assert reasons == [
        "It has 2 places for 3 people.",
        "Its bed is 2.20 m long; a sleeper of 2.20 m needs 2.25 m.",
        "It needs a roof rack, which the vehicle does not have.",
    ]
    assert misfit(KITS["roof-tent"], people=2, longest_m=1.9, carries=["roof_rack"]) == []


def test_the_vehicle_limits_a_bed_inside_it():
    """A 1.8 m load bed does not hold a 1.85 m sleeper."""
    inside = {"people": 2, "longest_m": 1.85, "carries": ["load_bed"]}
    assert misfit(KITS["load-bed"], **inside, bed_length_m=2.0) == []
    assert "1.80 m long" in misfit(KITS["load-bed"], **inside, bed_length_m=1.8)[0]
    assert misfit(KITS["pop-up-body"], **inside, bed_length_m=1.8) == []


def test_hostile_words_survive():
    """Markup and right-to-left marks in a title are text; an id with a slash is refused."""
    raw = KITS["bedroll"].model_dump()
    raw["bedding"], raw["title"] = "winter", '<b>"\u202e${x}</b>'
    assert checked({"kit": [raw]}, KitFile, "k").kit[0].title == raw["title"]
    raw["id"] = "../../etc"
    with pytest.raises(InputError):
        checked({"kit": [raw]}, KitFile, "k")


UNIT_OF = {
    "_m2": "[m2]",
    "_m3": "[m3]",
    "_m_s": "[m/s]",
    "_m2k_w": "[m2 K/W]",
    "_kg": "[kg]",
    "_litres": "[L]",
    "_minutes": "[min]",
    "_hours": "[h]",
    "_mm": "[mm]",
    "_clo": "[clo]",
    "clo": "[clo]",
    "_c": "[degC]",
    "_m": "[m]",
}


@pytest.mark.parametrize("model", [Kit, AddOn, Bedding, Enclosure, Awning, Fan])
def test_each_key_with_a_unit_says_it(model):
    """The reference page prints these words; a key's ending alone is easily misread."""
    for name, field in model.model_fields.items():
        unit = next((unit for ending, unit in UNIT_OF.items() if name.endswith(ending)), "")
        assert unit in field.description, name


def test_a_kit_is_carried_as_often_as_people_need_it():
    """Tents of 10 m2 and 4 m3, 9 kg, 45 L and 750 EUR for two, three times, by hand."""
    tents = carried(load_kits()["ground-tent"], 5)
    assert (tents.units, tents.places, tents.title) == (3, 6, "Ground tent\u00a0×\u00a03")
    assert (tents.mass_kg, tents.packed_litres, tents.price) == (27.0, 135.0, 2250.0)
    assert (tents.enclosure.area_m2, tents.enclosure.volume_m3) == (30.0, 12.0)
    assert tents.pitch_minutes == load_kits()["ground-tent"].pitch_minutes
    assert misfit(tents, people=5, longest_m=1.8) == []
    assert carried(tents, 2) == load_kits()["ground-tent"]


def test_what_is_part_of_the_vehicle_is_carried_once():
    """No roof holds two roof tents."""
    tent = load_kits()["roof-tent"]
    assert carried(tent, 3) == tent and misfit(
        tent, people=3, longest_m=1.8, carries=("roof_rack",)
    )


def test_who_sleeps_alone_in_a_bed_for_two_is_not_warmed():
    """Of three people in two bedrolls one lies alone, and the coldest decides."""
    roll = load_kits()["bedroll"]
    assert roll.shared_bed and carried(roll, 4).shared_bed and not carried(roll, 3).shared_bed


def test_add_ons_are_bought_for_every_unit_and_vehicles_hold_one_awning():
    """Mats of 0.9 kg and 60 EUR, three times; their warmth counts once."""
    tents, mat = carried(load_kits()["ground-tent"], 5), load_addons()["mat"]
    warmer = with_addons(tents, ["mat"])
    assert (warmer.mass_kg, warmer.price) == pytest.approx((27.0 + 2.7, 2250.0 + 180.0))
    assert warmer.ground_resistance_m2k_w == pytest.approx(0.55 + 0.35)
    assert (bought(mat, tents).title, bought(mat, tents).price) == (
        "Insulating mat\u00a0×\u00a03",
        180.0,
    )
    assert helps(load_addons()["awning"], load_kits()["ground-tent"])
    assert not helps(load_addons()["awning"], tents)
