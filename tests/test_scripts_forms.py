"""What the Log's forms and tonight's forecast make of what is typed, asked in a browser.

Every expected value is worked out beside its check.
"""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from browsing import BROWSER_MARKS
from test_scripts import NIGHT, SPACE

pytestmark = BROWSER_MARKS


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"nights": "1"}, ""),
        ({"nights": ""}, "Give how many"),
        ({"nights": "1.5"}, "Give how many"),
        ({"nights": "-2"}, "Give how many"),
        ({"cold": "3"}, ""),
        ({"cold": "1", "cool": "1", "hot": "1"}, ""),
        ({"cold": "1", "cool": "1", "warm": "1", "hot": "1"}, "than the 3 nights"),
        ({"cool": "4"}, "than the 3 nights"),
        ({"warm": "4"}, "than the 3 nights"),
        ({"damp": "-1"}, "Count whole nights."),
        ({"rain": "0.5"}, "Count whole nights."),
        ({"rain": "3", "damp": "3", "wet": "3"}, ""),
        ({"damp": "4"}, "There were 3 nights in all."),
        ({"rain": "1", "wet": "2"}, "count the rain too"),
        ({"low_c": "3 5 1", "bedtime_c": "7"}, ""),
        ({"bedtime_c": "3 5"}, "Give one temperature, or 3."),
        ({"bedtime_c": "mild"}, "numbers with a point"),
    ],
)
def test_borders_of_nights_that_can_be(ask, changed, told):
    """Of three nights: each counted once, as many as there were, one temperature or three."""
    found = ask("log.wrongWith", NIGHT | changed)
    assert (told in found) if told else found == ""


@pytest.mark.parametrize(
    ("left", "told"),
    [("", ""), ("2027-05-02", ""), ("2027-05-01", "Left must be"), ("2027-04-30", "Left must be")],
)
def test_a_stay_lasts_a_night_at_least(ask, left, told):
    """Arrived on 1 May: left on the 2nd, or still there."""
    found = ask("log.wrongWithStay", {"arrived": "2027-05-01", "left": left})
    assert found.startswith(told) if told else found == ""
    assert ask("log.wrongWithStay", {"arrived": "", "left": left}).startswith("Give the evening")


def test_days_are_those_of_the_clock(ask):
    """21 hours UTC on 4 March is 10 o'clock of the 5th in Auckland, 13 hours ahead."""
    when = datetime(2027, 3, 4, 21, tzinfo=UTC)
    assert ask("log.isoDay", when) == "2027-03-05"
    assert ask("log.isoDay", when.replace(month=11, day=29)) == "2027-11-30"


@pytest.mark.parametrize(
    ("written", "place"),
    [
        ("39.5, -28.25", "[39.5, -28.25]"),
        ("39.5 28", "[39.5, 28]"),
        ("39.5", '"39.5"'),
        ("1 2 3", '"1 2 3"'),
        ("  Osh ", '"Osh"'),
        ('Lake "west"', '"Lake \\"west\\""'),
    ],
)
def test_a_place_is_two_numbers_or_a_name(ask, written, place):
    """As the trip file takes one."""
    assert ask("log.placeOf", written) == place


def test_row_of_nights_with_everything(ask):
    """Each count stands as it was told; one temperature stands alone, two in brackets."""
    told = NIGHT | {"who": "Ana", "nights": "2", "cold": "1", "cool": "2", "warm": "3", "hot": "4",
                    "rain": "5", "wet": "6", "damp": "7", "low_c": "-3", "bedtime_c": "5 6",
                    "measured": "inside", "place": "41 69"}  # fmt: skip
    assert ask("log.sleptRow", told) == (
        '[[slept]]\nwho = "Ana"\nplace = [41, 69]\nfirst = 2027-05-01\nnights = 2\n'
        'kit = "bedroll"\ncold = 1\ncool = 2\nwarm = 3\nhot = 4\nrain = 5\nwet = 6\ndamp = 7\n'
        'low_c = -3\nbedtime_c = [5, 6]\nmeasured = "inside"\n'
    )
    bedtime = NIGHT | {"bedtime_c": "5", "measured": "inside"}
    assert ask("log.sleptRow", bedtime).endswith('bedtime_c = 5\nmeasured = "inside"\n')


def test_rows_have_degrees_celsius_whatever_was_typed(ask):
    """By hand: 50 degF is 10 degC, 23 is -5, 33 is 5 / 9 = 0.6."""
    told = NIGHT | {"low_c": "50 23 33", "units": "imperial"}
    assert "low_c = [10.0, -5.0, 0.6]\n" in ask("log.sleptRow", told)


@pytest.mark.parametrize(
    ("text", "units", "expected"),
    [
        ("-90", "metric", -90),
        ("-90.1", "metric", None),
        ("60", "metric", 60),
        ("60.1", "metric", None),
        ("140", "imperial", 60),
        ("-130", "imperial", -90),
        ("141", "imperial", None),
        ("14", "imperial", -10),
        ("+3", "metric", 3),
        ("3 4", "metric", None),
    ],
)
def test_lows_that_occur_on_earth(ask, text, units, expected):
    """From -90 to 60 degC, which are -130 and 140 degF."""
    assert ask("tonight.celsius", text, units) == expected


KIT = {"coldest": [1.0, 4.0], "dangerous": -9.0}


@pytest.mark.parametrize(
    ("low", "words", "grave"),
    [
        (-9.1, "Dangerous: below \u22129 °C. Don't sleep", True),
        (-9, "Too cold by 10 °C even under cloud", False),
        (0, "Too cold by 1 °C even", False),
        (1, "Close: under a clear, dry sky the limit is 4 °C, under cloud 1 °C.", False),
        (3.9, "Close", False),
        (4, "0 °C to spare", False),
        (11, "7 °C to spare", False),
        (None, "Unknown: type", False),
    ],
)
def test_a_low_against_the_limits_of_a_kit(ask, low, words, grave):
    """4 degC under a clear sky, 1 under cloud, danger below -9; a limit itself is still held."""
    for coldest in (KIT["coldest"], KIT["coldest"][::-1]):
        found = ask("tonight.verdict", low, KIT | {"coldest": coldest}, "metric")
        assert found["words"].replace(SPACE, " ").startswith(words)
        assert found["grave"] is grave


def test_limits_and_differences_in_fahrenheit(ask):
    """By hand: 4, 1 and -9 degC are 39.2, 33.8 and 15.8 degF; 5 K are 9 degF."""
    told = [ask("tonight.verdict", low, KIT, "imperial")["words"] for low in (-10, -4, 2, 9)]
    starts = ("Dangerous: below 16 °F", "Too cold by 9 °F", "Close", "9 °F to spare")
    for words, start in zip(told, starts, strict=True):
        assert words.replace(SPACE, " ").startswith(start)
    assert "limit is 39 °F, under cloud 34 °F" in told[2].replace(SPACE, " ")


@pytest.mark.parametrize(
    "kit",
    [KIT | {"dangerous": None}, KIT | {"coldest": [1.0, None]}, KIT | {"coldest": [None, None]}],
)
def test_a_kit_without_a_limit_is_unknown(ask, kit):
    """Neither safe nor dangerous, however cold it gets."""
    found = ask("tonight.verdict", -30, kit, "metric")
    assert found["words"].startswith("Unknown: this kit has no limit")
    assert found["grave"] is False
