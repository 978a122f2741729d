"""Wrong input files: each is refused with its place, what was expected and how to mend it."""

import json
import re

import pytest
from click.testing import CliRunner

from sheltermap.cli import main
from sheltermap.hazards.layers import read_regions
from sheltermap.shelters.kit import read_kits
from sheltermap.trip.inputs import read_inputs
from sheltermap.trip.model import read_trip
from sheltermap.vocabulary import InputError

TRIP = """\
title = "Two hills"

[party]
people = 2

[departure]
earliest = 2027-05-01
latest = 2027-06-01
finish_by = 2027-08-01

[shelter]
kits = ["bedroll", "our-tarp"]

[permits.hills]
longest_stay_days = 30

[files]
regions = "regions.geojson"
kits = ["kits.toml"]

[[legs]]
name = "West hill"
region = "west-hill"
nights = [3, 5, 8]
kilometres = 200
permit = "hills"
closed = [{ first = "12-01", last = "02-28" }]

[[legs]]
name = "East hill"
region = "east-hill"
nights = 4
kilometres = 150
"""

KITS = """\
[[kit]]
id = "our-tarp"
title = "Our tarp"
what = "A tarp over two mats."
exposure = "ground"
sleeper_height_m = 0.03
places = 2
bed_length_m = 2.1
bedding = "three-season"
ground_resistance_m2k_w = 0.5
enclosure = { fabric = "none" }
mesh = false
air_speed_open_m_s = 0.3
air_speed_closed_m_s = 0.3
leak = 0.4
leak_under_awning = 0.4
rain_threshold_mm = 1.0
condensation_weight = 0.2
wet_packing_matters = false
mass_kg = 5.0
packed_litres = 30
price = 200
pitch_minutes = 5
strike_minutes = 3
source = ["common practice"]
"""

WEST = [[32.0, 38.5], [33.0, 38.5], [33.0, 39.5], [32.0, 39.5], [32.0, 38.5]]
EAST = [[35.0, 38.5], [36.0, 38.5], [36.0, 39.5], [35.0, 39.5], [35.0, 38.5]]
READERS = {"trip.toml": read_trip, "regions.geojson": read_regions, "kits.toml": read_kits}


def right_regions(west=WEST, west_id="west-hill"):
    """Return a region file as text."""
    features = [
        {
            "type": "Feature",
            "properties": {"id": key, "name": key},
            "geometry": {"type": "Polygon", "coordinates": [ring]},
        }
        for key, ring in ((west_id, west), ("east-hill", EAST))
    ]
    return json.dumps({"type": "FeatureCollection", "features": features})


def _changed(text, old, new):
    """Return a text with one passage replaced, which must be there once."""
    assert text.count(old) == 1
    return text.replace(old, new)


BOW_TIE = [WEST[0], WEST[2], WEST[1], WEST[3], WEST[0]]
LATITUDE_FIRST = [[39.0, 132.0], [39.0, 133.0], [40.0, 133.0], [39.0, 132.0]]

# Name of the case: file, content, key, expected, got, mend. The wording is fixed here by
# what a reader needs to find and mend the place, not copied from a run.
WRONG = {
    "unknown key": (
        "trip.toml",
        _changed(TRIP, "kilometres = 200", "kilometers = 200"),
        "legs[1].kilometers",
        "a known key",
        "an unknown key",
        "Did you mean 'kilometres'?",
    ),
    "wrong type": (
        "trip.toml",
        _changed(TRIP, "people = 2", 'people = "two"'),
        "party.people",
        "whole number",
        "'two'",
        "Write the number alone",
    ),
    "impossible date": (
        "trip.toml",
        _changed(TRIP, '"02-28"', '"02-30"'),
        "legs[1].closed[1].last",
        "a day from 1 to 29",
        "'02-30'",
        "Correct the day",
    ),
    "dates out of order": (
        "trip.toml",
        _changed(TRIP, "latest = 2027-06-01", "latest = 2027-09-01"),
        "departure.finish_by",
        "a day after `latest`, 2027-09-01",
        "2027-08-01",
        "Correct one of the two",
    ),
    "permit that is not there": (
        "trip.toml",
        _changed(TRIP, 'permit = "hills"', 'permit = "valleys"'),
        "legs[1].permit",
        "hills",
        "'valleys'",
        "Add the permit or correct its name",
    ),
    "two legs of one name": (
        "trip.toml",
        _changed(TRIP, 'name = "East hill"', 'name = "West hill"'),
        "legs[2].name",
        "a name of its own",
        "'West hill'",
        "Number repeated visits",
    ),
    "not TOML": (
        "trip.toml",
        _changed(TRIP, 'title = "Two hills"', "title = Two hills"),
        "line 1",
        "valid TOML",
        "'title = Two hills'",
        'Text stands in quotes: title = "Two hills".',
    ),
    "crossing ring": (
        "regions.geojson",
        right_regions(west=BOW_TIE),
        "features[1].geometry",
        "rings that don't cross",
        "near longitude 32.5000, latitude 39.0000",  # Where the diagonals meet.
        "Move the corners",
    ),
    "latitude first": (
        "regions.geojson",
        right_regions(west=LATITUDE_FIRST),
        "features[1].geometry",
        "[longitude, latitude]",
        "[39, 132]",
        "Swap the two numbers",
    ),
    "id used twice": (
        "regions.geojson",
        right_regions(west_id="east-hill"),
        "features[2].properties.id",
        "an id of its own",
        "'east-hill'",
        "Give each region its own id",
    ),
    "unknown exposure": (
        "kits.toml",
        _changed(KITS, 'exposure = "ground"', 'exposure = "tree"'),
        "kit[1].exposure",
        "'ground', 'raised', 'roof' or 'hard'",
        "'tree'",
        "Correct the value",
    ),
    "share above one": (
        "kits.toml",
        _changed(KITS, "leak = 0.4\n", "leak = 40\n"),
        "kit[1].leak",
        "at most 1",
        "40",
        "Correct the value",
    ),
    "kit file without a kit": (
        "kits.toml",
        "# to be filled\n",
        "",
        "at least one [[kit]] or [[addon]]",
        "none",
        "do not name this file",
    ),
}

# Mistakes that show only when the files of a trip are read together.
TOGETHER = {
    "kit nobody knows": (
        "trip.toml",
        _changed(TRIP, '"our-tarp"]', '"our-tarb"]'),
        "shelter.kits[2]",
        "the id of a kit",
        "'our-tarb'",
        "Did you mean 'our-tarp'?",
    ),
    "region nobody drew": (
        "trip.toml",
        _changed(TRIP, '"west-hill"', '"west-hil"'),
        "legs[1].region",
        "the id or the name of a region",
        "'west-hil'",
        "Did you mean 'west-hill'?",
    ),
    "file that is not there": (
        "trip.toml",
        _changed(TRIP, '"regions.geojson"', '"region.geojson"'),
        "files.regions",
        "a file, as seen from the trip file",
        "'region.geojson', no such file",
        "Check the name and the folder",
    ),
}

# A mistake that only the climatology can show: a region in the middle of an ocean.
SEA = [[-40.0, 30.0], [-39.0, 30.0], [-39.0, 31.0], [-40.0, 31.0], [-40.0, 30.0]]
UNCOVERED = {
    "region without climate": (
        "regions.geojson",
        right_regions(west=SEA),
        "legs[1]",
        "a place with climate data",
        "none at",
        "Check that longitude and latitude aren't swapped",
    ),
}

FIVE = TRIP
for old, new in (
    ("people = 2", "people = 0"),
    ("[3, 5, 8]", "[8, 5, 3]"),
    ('"12-01"', '"13-01"'),
    ("kilometres = 200", "kilometers = 200"),
    ("kilometres = 150", "kilometres = -150"),
):
    FIVE = _changed(FIVE, old, new)
FIVE_KEYS = {
    "party.people": "at least 1",
    "legs[1].nights": "least, preferred and most nights in rising order",
    "legs[1].closed[1].first": "a month ('June') or a day ('15 May'",
    "legs[1].kilometers": "a known key",
    "legs[2].kilometres": "at least 0",
}


def _folder(tmp_path, file=None, content=None):
    """Return a trip folder that is right except for one file."""
    texts = {"trip.toml": TRIP, "regions.geojson": right_regions(), "kits.toml": KITS}
    if file is not None:
        texts[file] = content
    for name, text in texts.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def _built(folder):
    """Return the result of the command line for a folder, and its output folder."""
    output = folder / "site"
    arguments = ["build", str(folder / "trip.toml"), "-o", str(output), "--quiet"]
    return CliRunner().invoke(main, arguments), output


def test_the_files_are_right_before_they_are_made_wrong(tmp_path):
    """Each case below differs from files without a problem by its one mistake."""
    folder = _folder(tmp_path)
    for name, reader in READERS.items():
        reader(folder / name)


@pytest.mark.parametrize("case", WRONG)
def test_one_mistake_gives_one_problem_with_all_it_needs(tmp_path, case):
    """File, key, expected, got and how to mend stand in the message."""
    file, content, key, expected, got, mend = WRONG[case]
    path = _folder(tmp_path, file, content) / file
    with pytest.raises(InputError) as caught:
        READERS[file](path)
    (problem,) = caught.value.problems
    assert problem.file == str(path)
    assert problem.key == key
    assert expected in problem.expected
    assert got in problem.got
    assert mend in problem.mend
    for part in (problem.file, problem.key, problem.expected, problem.got, problem.mend):
        assert part in str(problem)


@pytest.mark.parametrize("case", TOGETHER)
def test_a_mistake_between_files_gives_one_problem(tmp_path, case):
    """What only all files together can show is refused in the same words."""
    file, content, key, expected, got, mend = TOGETHER[case]
    with pytest.raises(InputError) as caught:
        read_inputs(_folder(tmp_path, file, content) / "trip.toml")
    (problem,) = caught.value.problems
    assert problem.key == key
    assert expected in problem.expected
    assert got in problem.got
    assert mend in problem.mend


def test_mistakes_of_all_files_come_in_one_run(tmp_path):
    """A wrong region file does not hide a wrong kit file."""
    folder = _folder(tmp_path, "regions.geojson", WRONG["crossing ring"][1])
    (folder / "kits.toml").write_text(WRONG["unknown exposure"][1], encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_inputs(folder / "trip.toml")
    assert [problem.key for problem in caught.value.problems] == [
        "features[1].geometry",
        "kit[1].exposure",
    ]


def test_five_mistakes_are_listed_at_once(tmp_path):
    """One run tells all, so that nobody mends a file five times."""
    path = _folder(tmp_path, "trip.toml", FIVE) / "trip.toml"
    with pytest.raises(InputError) as caught:
        read_trip(path)
    problems = caught.value.problems
    assert {problem.key: problem.file for problem in problems} == dict.fromkeys(
        FIVE_KEYS, str(path)
    )
    for problem in problems:
        assert FIVE_KEYS[problem.key] in problem.expected
        assert problem.got and problem.mend


def _as_told(key):
    """Return a key with the name of its leg or kit, as people are told it."""
    if key.endswith("].name"):  # The name itself is what is wrong.
        return "West hill', name"
    for number, name in (
        ("legs[1]", "leg 'West hill'"),
        ("legs[2]", "leg 'East hill'"),
        ("kit[1]", "kit 'our-tarp'"),
    ):
        key = key.replace(f"{number}.", f"{name}, ").replace(number, name)
    return key


@pytest.mark.parametrize("case", [*WRONG, *TOGETHER, *UNCOVERED])
def test_the_command_line_refuses_it_and_writes_nothing(tmp_path, case):
    """Exit code 2, the same message on stderr, no output folder."""
    file, content, key, expected, got, mend = (WRONG | TOGETHER | UNCOVERED)[case]
    result, output = _built(_folder(tmp_path, file, content))
    assert result.exit_code == 2, result.output
    for part in (_as_told(key), expected, got, mend):
        assert part in result.stderr
    assert "1 problem;" in result.stderr
    assert not output.exists()


def test_the_command_line_lists_five_mistakes_and_writes_nothing(tmp_path):
    """Every place of the file is named in one run."""
    result, output = _built(_folder(tmp_path, "trip.toml", FIVE))
    assert result.exit_code == 2, result.output
    assert "5 problems;" in result.stderr
    for key in FIVE_KEYS:
        told = re.escape(_as_told(key))
        assert re.search(rf"trip.toml, line \d+: {told}: expected", result.stderr)
    assert not output.exists()
