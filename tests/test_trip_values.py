"""Values of a trip file at their borders: places, figures, spans, winds, bedding."""

from __future__ import annotations

from datetime import date

import pytest
from small_trips import leg, saved, trip

from sheltermap.trip.model import read_trip
from sheltermap.trip.values import clock_words, position
from sheltermap.vocabulary import InputError


def only(folder, text):
    """Return the one thing that is wrong with a trip."""
    with pytest.raises(InputError) as caught:
        read_trip(saved(folder, text))
    (problem,) = caught.value.problems
    return str(problem).partition(": ")[2]


def placed(written):
    """Return a trip to a place."""
    return trip(leg("A"), changed=[("place = [40.0, 29.0]", written)])


@pytest.mark.parametrize("place", [(89, 180), (-89, -180)])
def test_the_last_places_on_the_map_are_places(tmp_path, place):
    """89 degrees of latitude and 180 of longitude."""
    read = read_trip(saved(tmp_path, placed(f"place = {list(place)}")))
    assert read.legs[0].place == place


@pytest.mark.parametrize("place", [[89.5, 29], [-89.5, 29], [40, 180.5], [40, -180.5]])
def test_places_beyond_are_refused(tmp_path, place):
    """Half a degree further."""
    assert "at most 89 and 180, got" in only(tmp_path, placed(f"place = {place}"))


def test_places_may_be_named_or_quoted(tmp_path):
    """A comma between numbers makes a position, between words a name."""
    text = placed('points = ["Osh, Kyrgyzstan", "44.6, 15.6", "Lake"]')
    known = {"Osh, Kyrgyzstan": (40.5, 72.8), "Lake": (42.0, 77.0)}
    read = read_trip(saved(tmp_path, text), find=known.__getitem__)
    assert read.legs[0].points == ((40.5, 72.8), (44.6, 15.6), (42.0, 77.0))
    assert position("Osh, Kyrgyzstan", None) == "Osh, Kyrgyzstan"


def test_two_numbers_lack_brackets_and_a_number_among_places_is_no_place(tmp_path):
    """Only two bare numbers are one place."""
    found = only(tmp_path, placed("points = [40.0, 29.5]"))
    assert "Inner brackets are missing: points = [[40.0, 29.5]]." in found
    found = only(tmp_path, placed("points = [[40.0, 29.5], 5]"))
    assert found.startswith("legs[1].points[2]: expected two numbers [latitude, longitude], got 5")


def test_figures_end_at_a_thousand_millions(tmp_path):
    """The last passes, the next is a slip of the pen."""
    read = read_trip(saved(tmp_path, trip(leg("A", more="kilometres = 1_000_000_000"))))
    assert read.legs[0].kilometres == 1e9
    found = only(tmp_path, trip(leg("A", more="kilometres = 1_000_000_001")))
    assert "at most 1,000,000,000" in found


@pytest.mark.parametrize(
    ("label", "mend"),
    [
        (77, "If that is in degrees Fahrenheit, write 25."),
        (-76, "If that is in degrees Fahrenheit, write -60."),
        (78, "Use the label's comfort value."),
        (-77, "Use the label's comfort value."),
    ],
)
def test_a_label_in_fahrenheit_is_told_where_it_fits(tmp_path, label, mend):
    """(77 - 32) / 1.8 = 25 and (-76 - 32) / 1.8 = -60: the borders of a comfort temperature."""
    assert only(tmp_path, trip(leg("A"), f"\n[party]\nbedding = {label}\n")).endswith(mend)


def test_a_closure_may_last_a_day(tmp_path):
    """Both ends are included; a yearly span has no dates."""
    closed = "closed = [{ first = 2027-06-01, last = 2027-06-01 }, '5 May']"
    once, yearly = read_trip(saved(tmp_path, trip(leg("A", more=closed)))).legs[0].closed
    assert once.dates == (date(2027, 6, 1), date(2027, 6, 1)) and not once.yearly
    assert yearly.dates is None and yearly.yearly
    assert once.days().sum() == yearly.days().sum() == 1


@pytest.mark.parametrize("wind", ["0", "20", [0, 20, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]])
def test_winds_of_nought_to_twenty_are_read(tmp_path, wind):
    """One number holds in every month."""
    read = read_trip(saved(tmp_path, trip(leg("A", more=f"wind_m_s = {wind}"))))
    each = tuple(wind) if isinstance(wind, list) else (float(wind),) * 12
    assert read.legs[0].wind_m_s == each


@pytest.mark.parametrize("wind", ["-1", "20.5", [5] * 11 + [21], [5] * 11, [5] * 11 + [True]])
def test_other_winds_are_refused(tmp_path, wind):
    """One month too windy, one too few, one that is no number."""
    written = str(wind).replace("True", "true")
    found = only(tmp_path, trip(leg("A", more=f"wind_m_s = {written}")))
    assert found.startswith("legs[1].wind_m_s: expected a mean wind of 0 to 20 m/s, or twelve")


@pytest.mark.parametrize(
    ("hours", "words"), [(0.0, "00:00"), (8.25, "08:15"), (22 + 59 / 60, "22:59")]
)
def test_clock_times_read_as_written(hours, words):
    """Minutes are sixtieths."""
    assert clock_words(hours) == words
