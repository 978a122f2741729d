"""Where keys of a TOML text stand, and problems told with line and name."""

import tomllib

import pytest

from sheltermap.resources import bundled
from sheltermap.told import key_lines, told
from sheltermap.vocabulary import Problem

TEXT = '''\
# A remark with title = "no"
title = "Two [[hills]]"   # line 2
note = """
name = "not a key"
"""
party.people = 2
[departure]
earliest = 2027-05-01

[[legs]]
name = "West hill"
closed = [
  { first = "11-01", last = "02-28" },
  { first = "05-01", last = "05-02" },
]
[[legs]]
name = 'East'
"odd key" = [ [1, 2], [3,
 4] ]
[permits.hills]
longest_stay_days = 30
'''


@pytest.mark.parametrize(
    ("place", "line"),
    [
        (("title",), 2),
        (("note",), 3),
        (("party", "people"), 6),
        (("departure",), 7),
        (("departure", "earliest"), 8),
        (("legs", 1), 10),
        (("legs", 1, "name"), 11),
        (("legs", 1, "closed"), 12),
        (("legs", 1, "closed", 1, "last"), 13),
        (("legs", 1, "closed", 2, "last"), 14),
        (("legs", 2), 16),
        (("legs", 2, "odd key", 2, 2), 19),
        (("permits", "hills", "longest_stay_days"), 21),
    ],
)
def test_keys_stand_on_their_lines(place, line):
    """Counted by eye."""
    tomllib.loads(TEXT)
    assert key_lines(TEXT)[place] == line


TABLES = {"legs", "hazards", "permits", "kit", "addon", "sleepers"}
"""What has no line of its own: only headings of what is inside name it."""


@pytest.mark.parametrize(
    "file", ["starter/trip.toml", "silk-seeds/trip.toml", "river-survey/kits.toml"]
)
def test_every_key_of_a_file_is_found_on_a_line_that_names_it(file):
    """tomllib, which knows the keys but not the lines, says which there are."""
    text = (bundled("regions") / file).read_text(encoding="utf-8")
    found, lines = key_lines(text), text.split("\n")

    def keys(value, place=()):
        if isinstance(value, dict):
            for key, inner in value.items():
                yield (*place, key)
                yield from keys(inner, (*place, key))
        elif isinstance(value, list):
            for number, inner in enumerate(value, 1):
                yield from keys(inner, (*place, number))

    wanted = list(keys(tomllib.loads(text)))
    assert len(wanted) > 40
    for place in wanted:
        if place in found:
            assert str(place[-1]) in lines[found[place] - 1], place
    assert {place[-1] for place in wanted if place not in found} <= TABLES


@pytest.mark.parametrize("text", ["", "[", "x", "x =", "[[a", 'x = "', "x = [1, 2", "x = {a = 1"])
def test_a_text_that_is_no_toml_gives_what_could_be_followed(text):
    """Never an error: the problem itself is told elsewhere."""
    assert isinstance(key_lines(text), dict)


def test_problems_name_the_line_and_the_leg(tmp_path):
    """The third leg is not what anybody calls it."""
    file = tmp_path / "trip.toml"
    file.write_text(TEXT, encoding="utf-8")
    rest = "expected a, got b. Do c."
    problems = [
        Problem(str(file), key, "a", "b", "Do c.")
        for key in ("legs[1].closed[2].first", "legs[2]", "legs[2].nights", "party.people", "")
    ]
    assert told(problems) == [
        f"{file}, line 14: leg 'West hill', closed[2].first: {rest}",
        f"{file}, line 16: leg 'East': {rest}",
        f"{file}, line 16: leg 'East', nights: {rest}",
        f"{file}, line 6: party.people: {rest}",
        f"{file}: {rest}",
    ]


def test_a_file_that_is_gone_or_no_toml_keeps_its_keys(tmp_path):
    """Routes and regions are told by their own places."""
    places = (("x.geojson", "features[3].geometry"), ("", "--kit"))
    wrong = [Problem(*place, "a", "b", "c") for place in places]
    assert told(wrong) == list(map(str, wrong))
    assert told([Problem("gone.toml", "legs[1]", "a", "b", "c")]) == [
        "gone.toml: legs[1]: expected a, got b. c"
    ]
