"""Tests of moonlight, against eclipses: of the sun at new moon, of the moon at full moon."""

from datetime import date, timedelta

import pytest

from sheltermap.moon import lit_share, moon_words

# Dates of total eclipses (NASA's eclipse pages, from memory).
SOLAR = [
    date(2019, 7, 2),
    date(2024, 4, 8),
    date(2026, 8, 12),
    date(2027, 8, 2),
    date(2028, 7, 22),
]
LUNAR = [date(2018, 7, 27), date(2022, 5, 16), date(2025, 3, 14), date(2028, 12, 31)]


@pytest.mark.parametrize("day", SOLAR)
def test_new_moon_at_eclipses_of_the_sun(day):
    """Dark on the day, and told within a day of it."""
    assert lit_share(day) < 0.03
    words = moon_words(day - timedelta(days=1), 3)
    assert "new about" in words and "full" not in words


@pytest.mark.parametrize("day", LUNAR)
def test_full_moon_at_eclipses_of_the_moon(day):
    """Lit on the day, and told within a day of it."""
    assert lit_share(day) > 0.97
    assert "full about" in moon_words(day - timedelta(days=1), 3)


def test_long_stays_name_each_turn_in_order():
    """59 nights hold two of each."""
    words = moon_words(date(2027, 1, 1), 59)
    assert words.count("full about") == 2 and words.count("new about") == 2
