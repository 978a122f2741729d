"""Places by name: against Natural Earth's own places, and the ways people write names."""

import json

import numpy as np
import pytest
from click.testing import CliRunner
from small_trips import leg, saved, trip

from sheltermap import pipeline
from sheltermap.atlas.asked import asked
from sheltermap.cli import main
from sheltermap.distance import great_circle
from sheltermap.places.names import coordinates, gazetteer, named
from sheltermap.resources import bundled
from sheltermap.vocabulary import InputError

# Natural Earth, 110 m populated places, in basemap.json: independent of GeoNames. Three of
# its 243 have no town of that name above 5,000 people near: one is called as its country, one
# is a camp, one a village.
NO_TOWN = {"Andorra", "Bir Lehlou", "Melekeok"}


@pytest.fixture(scope="module")
def natural_earth():
    """Return the places of the base map: name, latitude, longitude."""
    text = (bundled("regions") / "world" / "basemap.json").read_text(encoding="utf-8")
    return [
        (one["properties"]["name"], *one["geometry"]["coordinates"][::-1])
        for one in json.loads(text)["places"]["features"]
    ]


def test_places_of_another_source_lie_where_their_names_say(natural_earth):
    """Every large town is found, by the name it has elsewhere, within 25 km.

    A name that several towns have may be refused, and then offers the one that was meant.
    """
    lost = []
    for name, latitude, longitude in natural_earth:
        try:
            there = [coordinates(name)]
        except ValueError as error:
            offered = str(error).split("[")[1:]
            there = [tuple(map(float, one.split("]")[0].split(","))) for one in offered]
        away = [float(great_circle(latitude, longitude, *one)) for one in there]
        if not away or min(away) > 25:
            lost.append(name)
    assert len(natural_earth) == 243
    # Six larger towns are offered before the Seychelles' Victoria.
    assert set(lost) == NO_TOWN | {"Victoria"}


def test_the_nearest_place_is_the_town_itself(natural_earth):
    """Nine in ten of Natural Earth's towns lie within 10 km of a town of ours."""
    away = [gazetteer().nearest(*where)[1] for _, *where in natural_earth[::4]]
    assert np.mean(np.array(away) < 10) > 0.9


@pytest.mark.parametrize(
    "written",
    ["Osh", "osh", "OSH, Kyrgyzstan", "Osh,kg", "Oş, KGZ", " osh ,  kyrgyzstan "],
)
def test_accents_case_and_codes_do_not_matter(written):
    """One town, however it is typed: 40.5 N, 72.8 E (any atlas; from memory)."""
    assert coordinates(written) == pytest.approx((40.5, 72.8), abs=0.05)


@pytest.mark.parametrize(
    ("written", "name"),
    [("München", "Munich"), ("firenze", "Florence"), ("Samarqand", "Samarkand")],
)
def test_large_towns_are_known_by_their_own_names(written, name):
    """People write a town as its signposts do."""
    assert named(written).name == name


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("Tripoli", ["Write the country behind it", "Tripoli, Libya [32.", "Lebanon"]),
        ("Springfield, USA", ["Write its coordinates", "Springfield, United States ["]),
        ("Samarkant", ["more than 5,000 people", "Samarkand, Uzbekistan [39.65, 66.96]"]),
        ("Osh, Kirgistan", ["country after the comma", "Osh, Kyrgyzstan"]),
        ("Xqzzyqk", ["Or write latitude and longitude, as 40.53, 72.80."]),
    ],
)
def test_doubtful_names_are_answered_with_places(written, said):
    """What was meant stands in the message, with its country and coordinates."""
    with pytest.raises(InputError) as raised:
        named(written)
    (problem,) = raised.value.problems
    assert problem.got == repr(written)
    for words in said:
        assert words in str(problem)


def test_one_town_told_twice_is_one():
    """GeoNames lists quarters under the town's own name; the largest stands for all."""
    found = gazetteer()._called("guangzhou", None)
    assert gazetteer().place("guangzhou").people == max(gazetteer()._where[r][2] for r in found)


def test_a_leg_may_name_its_place(tmp_path):
    """The trip reads as with coordinates; wrong names are told with all other problems."""
    text = trip(leg("A")).replace("[40.0, 29.0]", '"Bursa, Turkey"')
    inputs, _ = pipeline.read(saved(tmp_path, text))
    assert inputs.trip.legs[0].place == pytest.approx((40.2, 29.1), abs=0.1)
    wrong = text.replace("Bursa, Turkey", "Bursaa, Turkey").replace("nights = 4", "nights = 0")
    with pytest.raises(InputError) as raised:
        pipeline.read(saved(tmp_path, wrong))
    keys = {problem.key for problem in raised.value.problems}
    assert keys == {"legs[1].place", "legs[1].nights"}
    assert "Bursa, Turkey [40." in str(raised.value)


def test_coordinates_in_quotes_are_coordinates(tmp_path):
    """Copied from a map, they come as text."""
    text = trip(leg("A")).replace("[40.0, 29.0]", '"40.0, 29.0"')
    inputs, _ = pipeline.read(saved(tmp_path, text))
    assert inputs.trip.legs[0].place == (40.0, 29.0)


def test_night_takes_a_name():
    """The place that was taken is said, and the answer is the one of its coordinates."""
    by_name = CliRunner().invoke(main, ["night", "bursa, turkey", "--json"])
    named = json.loads(by_name.stdout)
    where = [str(named["latitude"]), str(named["longitude"])]
    by_numbers = CliRunner().invoke(main, ["night", *where, "--json"])
    assert named == json.loads(by_numbers.stdout) | {"place": "Bursa, Turkey"}
    assert CliRunner().invoke(main, ["night", "bursa, turkey"]).stdout.startswith("Bursa, Turkey")


def test_night_refuses_options_that_are_none():
    """A misspelt option is no part of a name."""
    result = CliRunner().invoke(main, ["night", "41", "28.9", "--elevatoin", "5"])
    assert result.exit_code == 2 and "No such option" in result.output


@pytest.mark.parametrize(
    ("name", "meant", "other"),
    [
        # By the list's people: 520,000 and 9,400 are 55 to 1; 9 million and 420,000 are 21 to 1.
        ("Lisbon", "Lisbon, Portugal [38.7", "Lisbon, United States [4"),
        ("London", "London, United Kingdom [51.5", "London, Canada [42.9"),
        # Inside a country only coordinates tell two apart: 510,000 and 5,600.
        ("Atlanta, USA", "Atlanta, United States [33.7", "Atlanta, United States [33.1"),
    ],
)
def test_the_far_larger_of_two_is_taken_and_told(name, meant, other):
    """Nobody who asks for a capital is asked about a village; what was taken is said."""
    place = named(name)
    town, latitude = meant.split(" [")
    assert place.words == town and place.latitude == pytest.approx(float(latitude), abs=0.1)
    assert f"'{name}' is read as {meant}" in place.doubt
    taken, another = place.doubt.split("For another write its country or its coordinates: ")
    assert other in another and other not in taken


@pytest.mark.parametrize("name", ["Tripoli", "Dublin, United States", "San Jose"])
def test_places_of_like_size_are_still_asked(name):
    """1.3 million and 230,000; 58,000 and 45,000; 1 million and 340,000."""
    with pytest.raises(InputError, match="are called so"):
        named(name)


def test_a_name_of_one_place_has_no_doubt():
    """Nor has one whose namesake is named with its country."""
    assert named("Samarkand").doubt == "" and named("Lisbon, Portugal").doubt == ""
    assert named("Lisbon, United States").people < 10_000


def test_night_says_which_place_was_taken_in_words_and_in_json():
    """On stderr as a sentence; in JSON among the doubts, beside the place's own words."""
    answers = [CliRunner().invoke(main, ["night", "Lisbon", *more]) for more in ([], ["--json"])]
    for answer in answers:
        assert answer.exit_code == 0
        assert "Look again: 'Lisbon' is read as Lisbon, Portugal [38.7" in answer.stderr
    told = json.loads(answers[1].stdout)
    assert told["place"] == "Lisbon, Portugal"
    assert told["doubts"][0].startswith("'Lisbon' is read as Lisbon, Portugal")
    assert "Lisbon, United States [" in told["doubts"][0]


def test_a_trip_says_which_place_was_taken(tmp_path):
    """A place and points by name alike; coordinates in quotes are no name."""
    text = trip(leg("A"), leg("B"), leg("C")).replace("[40.0, 29.0]", '"Lisbon"', 1)
    text = text.replace("place = [40.0, 29.0]", 'points = ["Porto, Portugal", "Madrid"]', 1)
    text = text.replace("[40.0, 29.0]", '"40.0, 29.0"', 1)
    inputs, doubts = pipeline.read(saved(tmp_path, text))
    assert inputs.trip.legs[0].place == pytest.approx((38.7, -9.1), abs=0.1)
    found = [doubt for doubt in doubts if "is read as" in doubt]
    assert [doubt.split("is read as ")[1].split(" [")[0] for doubt in found] == [
        "Lisbon, Portugal",
        "Madrid, Spain",
    ]


def test_an_atlas_keeps_the_doubt_of_its_name():
    """What lies in it is the capital, and the sentence goes with it."""
    around = asked(around="Lisbon", kit_ids=["ground-tent"])
    assert around.title == "Around Lisbon, Portugal" and "United States" in around.doubt
