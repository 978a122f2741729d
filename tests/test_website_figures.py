"""Figures in words at their borders: shares, nights, odds, hours, dates; by hand."""

from __future__ import annotations

from datetime import date

import pytest

from sheltermap.website.figures import (
    MINUS,
    both,
    clock,
    danger_odds,
    nights,
    number,
    percent,
    quantity,
)
from sheltermap.website.words import day_and_month, full_date, short_date

NAN, INFINITE = float("nan"), float("inf")


def plain(text: str) -> str:
    """Return a text with plain spaces and signs."""
    return text.replace("\u202f", " ").replace("\u00a0", " ").replace(MINUS, "-")


@pytest.mark.parametrize(
    ("share", "words"),
    [(0, "0 %"), (0.0099, "under 1 %"), (0.01, "1 %"), (0.125, "13 %"), (0.5, "50 %"),
     (0.99, "99 %"), (0.9901, "over 99 %"), (1, "100 %"), (NAN, "not assessed")],
)  # fmt: skip
def test_a_share_is_never_rounded_to_certainty(share, words):
    """Halves go up; only 0 is none and only 1 is all."""
    assert plain(percent(share)) == words


@pytest.mark.parametrize(
    ("value", "words"),
    [(0, "0 nights"), (0.01, "under 1 night"), (0.5, "under 1 night"), (0.51, "1 night"),
     (1, "1 night"), (1.49, "1 night"), (1.51, "2 nights"), (None, "an unknown number of nights")],
)  # fmt: skip
def test_nights_as_people_say_them(value, words):
    """Half a night or less is under one, and none is none."""
    assert nights(value) == words


@pytest.mark.parametrize(
    ("value", "digits", "words"),
    [(1234.5, 1, "1 234.5"), (-0.04, 1, "0.0"), (-0.06, 1, "-0.1"), (0, 0, "0"), (-7, 0, "-7"),
     (INFINITE, 0, "no limit"), (NAN, 0, "unknown")],
)  # fmt: skip
def test_numbers_have_no_negative_nought(value, digits, words):
    """Thousands are set apart."""
    assert plain(number(value, digits)) == words


def test_both_units_of_what_has_no_number():
    """Unknown and unlimited have no unit; a temperature has one each: 25 degC are 77 degF."""
    assert both(None, "temperature") == ("unknown", "unknown")
    assert both(INFINITE, "temperature") == ("no limit", "no limit")
    assert [plain(text) for text in both(25, "temperature")] == ["25 °C", "77 °F"]
    assert plain(both(10, "wind", 1)[0]) == "10.0 m/s"
    assert quantity(None, "mass") == "<span>unknown</span>"


@pytest.mark.parametrize(
    ("expected", "count", "words"),
    [
        (0.089, 90, "under 1 night in 1000"),
        (0.0901, 90, "about 1 night in 1000"),
        (1, 100, "about 1 night in 100"),
        (1, 9, "about 1 night in 9"),
        (7.0, 9, "about 7 of 9 nights"),
        (NAN, 9, "an unknown share of nights"),
    ],
)
def test_odds_of_danger(expected, count, words):
    """Rarer than once in a thousand nights is told as such; whole nights below ten."""
    assert danger_odds(expected, count) == words


@pytest.mark.parametrize(
    ("hour", "shown"),
    [(0, "00:00"), (6.5, "06:30"), (19.51, "19:31"), (23.99, "23:59"), (24, "00:00"),
     (None, "unknown")],
)  # fmt: skip
def test_hours_on_a_clock(hour, shown):
    """0.01 of an hour is 0.6 of a minute."""
    assert clock(hour) == shown


@pytest.mark.parametrize(
    ("day", "full", "short"),
    [
        (date(2027, 1, 31), "31 January 2027", "31 Jan"),
        (date(2028, 2, 29), "29 February 2028", "29 Feb"),
        (date(2027, 12, 1), "1 December 2027", "1 Dec"),
    ],
)
def test_dates_in_words(day, full, short):
    """The first and the last month are called by their names."""
    assert (full_date(day), short_date(day)) == (full, short)
    assert day_and_month(day) == full.rpartition(" ")[0]
