"""Mistakes that people make when they write a trip file: each message shows the right form.

The slips are common practice: those of a first evening with the file; the right forms are
worked out by hand (a foot is 0.3048 m, a pound 0.45359237 kg, 32 °F are 0 °C).
"""

import pytest
from click.testing import CliRunner
from small_trips import leg, saved, trip

from sheltermap.cli import main
from sheltermap.trip.model import read_trip
from sheltermap.vocabulary import InputError

TRIP = """\
title = "Two camps"

[party]
people = 2
sleep_from = "22:00"
cold_sleeper = false

[departure]
earliest = 2027-05-01
latest = 2027-05-10
finish_by = 2027-07-01
daily_km = 200

[shelter]
kits = ["bedroll"]

[money]
budget = 6000

[[legs]]
name = "Karst fields"
place = [44.60, 15.60]
nights = [4, 6, 8]
kilometres = 100
closed = [{ first = "11-01", last = "04-30" }]

[[hazards]]
legs = ["Karst fields"]
kind = "flood"
level = "none"
source = "looked"
"""

# What stands in the file, what was written instead, and the right form in the message.
MISTAKES = {
    "no quotes": ('name = "Karst fields"', "name = Karst fields", 'name = "Karst fields"'),
    "typographer's quotes": ('"Two camps"', "“Two camps”", 'straight quotes: "..."'),
    "a quote left open": ('"Two camps"', '"Two camps', 'title = "Two camps"'),
    "thousands with a comma": ("budget = 6000", "budget = 6,000", "budget = 6000"),
    "thousands with a point": ("budget = 6000", "budget = 6.000", "write 6000"),
    "a unit": ("daily_km = 200", "daily_km = 200 km", "daily_km = 200."),
    "no brackets": ("[44.60, 15.60]", "44.60, 15.60", "place = [44.60, 15.60]"),
    "longitude first": ("[44.60, 15.60]", "[115.60, 44.60]", "[latitude, longitude]"),
    "a place misspelt": ("[44.60, 15.60]", '"Zagreeb, Croatia"', "Zagreb, Croatia [45."),
    "points without inner brackets": (
        "place = [44.60, 15.60]",
        "points = [44.60, 15.60]",
        "points = [[44.6, 15.6]]",
    ),
    "closures without inner brackets": (
        '[{ first = "11-01", last = "04-30" }]',
        '[ first = "11-01", last = "04-30" ]',
        'closed = [{ first = "11-01", last = "04-30" }]',
    ),
    "one leg as text": ('legs = ["Karst fields"]', 'legs = "Karst fields"', '["Karst fields"]'),
    "a range": ("nights = [4, 6, 8]", "nights = 4 to 8", "nights = [4, 6, 8]"),
    "nights out of order": ("[4, 6, 8]", "[6, 4, 8]", "least, preferred and most"),
    "day first": ("earliest = 2027-05-01", "earliest = 28.05.2027", "earliest = 2027-05-28"),
    "a clock without quotes": ('sleep_from = "22:00"', "sleep_from = 22:00", '= "22:00"'),
    "a month misspelt": ('first = "11-01"', 'first = "Novembre"', "a month ('June') or a day"),
    "a capital truth": ("cold_sleeper = false", "cold_sleeper = False", "cold_sleeper = false"),
    "a colon": ("people = 2", "people: 2", "people = 2"),
    "half a heading": ("[[legs]]", "[[legs]", "[[legs]]"),
    "a heading in single brackets": ("[[legs]]", "[legs]", "[[legs]]"),
    "feet": ("kilometres = 100", "camp_elevation_m = 9000", "feet, write 2743."),
    "centimetres": ("people = 2", "length_m = 185", "centimetres, write 1.85."),
    "feet of a person": ("people = 2", "length_m = 6.1", "feet, write 1.859."),
    "pounds": ("people = 2", "body_mass_kg = 176", "pounds, write 79.83."),
    "Fahrenheit": ("people = 2", "bedding = 32", "Fahrenheit, write 0."),
    "another spelling": ("kilometres = 100", "kilometers = 100", "Did you mean 'kilometres'?"),
    "a kit misspelt": ('"bedroll"', '"bed roll"', "Did you mean 'bedroll'?"),
    "a kind misspelt": ('kind = "flood"', 'kind = "floods"', "Did you mean 'flood'?"),
}


def checked(folder, *changes):
    """Return what `check` says of the trip with some passages changed."""
    text = TRIP
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return CliRunner().invoke(main, ["check", str(saved(folder, text))])


def test_the_trip_without_mistakes_passes(tmp_path):
    """Else each message might be of something else."""
    result = checked(tmp_path)
    assert result.exit_code == 0 and result.stderr == ""


@pytest.mark.parametrize("mistake", MISTAKES)
def test_the_message_shows_the_right_form(tmp_path, mistake):
    """One message of one mistake, with the line where it stands."""
    old, new, shown = MISTAKES[mistake]
    result = checked(tmp_path, (old, new))
    assert shown in result.stderr, result.stderr
    assert len(result.stderr.splitlines()) <= 2
    doubted = mistake in ("thousands with a point", "pounds")
    assert result.exit_code == (0 if doubted else 2)
    assert doubted or "line " in result.stderr


def test_slips_of_several_lines_come_in_one_run(tmp_path):
    """No text that TOML refuses hides the next."""
    result = checked(
        tmp_path, *(MISTAKES[name][:2] for name in ("no quotes", "a unit", "a colon"))
    )
    assert result.stderr.startswith("3 problems")


def test_all_of_all_files_comes_in_one_run(tmp_path):
    """A key of a leg, what spans tables, a kit nobody knows and a file that is not there."""
    result = checked(
        tmp_path,
        ("kilometres = 100", "kilometers = 100"),
        ('legs = ["Karst fields"]', 'legs = ["Carst fields"]'),
        ('"bedroll"', '"bed roll"'),
        ("[money]", '[files]\nroute = "gone.gpx"\n\n[money]'),
    )
    assert result.stderr.startswith("4 problems"), result.stderr
    for words in ("leg 'Karst fields', kilometers", "Carst", "bed roll", "gone.gpx"):
        assert words in result.stderr


@pytest.mark.parametrize(
    "arguments",
    [("night", "41", "28.9", "--kit", "Roof-Tent"), ("new", "x", "--example", "STARTER")],
)
def test_names_on_the_command_line_do_not_mind_case(tmp_path, monkeypatch, arguments):
    """Nobody types a capital twice alike."""
    monkeypatch.chdir(tmp_path)
    assert CliRunner().invoke(main, list(arguments)).exit_code == 0


def test_a_leg_is_known_in_any_case(tmp_path):
    """As it is typed on the road."""
    path = saved(tmp_path, TRIP)
    arguments = ["depart", str(path), "--from", "karst FIELDS", "--on", "2027-05-02"]
    assert CliRunner().invoke(main, arguments).exit_code in (0, 1)


def test_prices_of_a_litre_may_have_three_decimals(tmp_path):
    """1.459 is a price at many pumps."""
    result = checked(tmp_path, ("budget = 6000", "fuel_price = 1.459"))
    assert result.exit_code == 0 and result.stderr == ""


@pytest.mark.parametrize(("days", "right"), [(0, True), (90, True), (91, False), (-1, False)])
def test_a_margin_is_up_to_ninety_days(tmp_path, days, right):
    """As the reference of the files prints it."""
    closed = f'closed = [{{ first = "November", last = "April", margin_days = {days} }}]'
    path = saved(tmp_path, trip(leg("A", more=closed)))
    if right:
        assert read_trip(path).legs[0].closed[0].margin_days == days
        return
    with pytest.raises(InputError, match=r"margin_days: expected at (most 90|least 0)"):
        read_trip(path)
