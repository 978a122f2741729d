"""The sun against FAO-56 and against an almanac library."""

import datetime

import astral
import astral.sun
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from published_tables import published

from sheltermap import sun

LATITUDES, DAYS = st.floats(-90, 90), st.integers(1, 366)


def rows(name):
    """Return a table's columns and its tolerance."""
    table = published("air_and_sun", name)
    return (*np.array(table["rows"]).T, table["tolerance"])


@pytest.mark.parametrize(
    ("function", "name"),
    [
        (sun.declination, "declination"),
        (sun.sunset_hour_angle, "sunset_hour_angle"),
        (sun.day_length, "day_length"),
        (sun.day_length, "day_length_manual"),
        (sun.day_length, "day_length_polar"),
        (sun.day_length, "day_length_hand"),
        (sun.extraterrestrial_radiation, "extraterrestrial_radiation"),
    ],
)
def test_matches_print(function, name):
    """FAO-56's worked examples, its tables and hand arithmetic."""
    *inputs, expected, tolerance = rows(name)
    assert_allclose(function(*inputs), expected, rtol=0, atol=tolerance)


def test_long_day_matches_two_almanacs():
    """London at midsummer, refraction and the sun's rim included."""
    latitude, day, expected, tolerance = rows("day_length_almanac")
    ours = sun.day_length(latitude, day, sun.APPARENT_HORIZON)
    assert_allclose(ours, expected, rtol=0, atol=tolerance)


@pytest.mark.parametrize(
    ("name", "horizon"),
    [("clock_times", sun.GEOMETRIC_HORIZON), ("clock_times_almanac", sun.APPARENT_HORIZON)],
)
def test_clock_times_match(name, horizon):
    """Sunrise and sunset on the clock, without and with refraction."""
    latitude, longitude, offset, day, rise, set_, tolerance = rows(name)
    noon = sun.clock_noon(longitude, day, offset)
    ours = noon - 12 + sun.sunset(latitude, day, horizon)
    assert_allclose(ours, set_, rtol=0, atol=tolerance)
    assert_allclose(ours - sun.day_length(latitude, day, horizon), rise, rtol=0, atol=tolerance)


# Refraction and the sun's rim add 0.11 h to 0.3 h to the geometric day, and eq. 24's
# declination is up to 0.6 degrees off in autumn: largest difference allowed [h], without
# and with the almanac's own horizon.
@pytest.mark.parametrize(
    ("latitude", "geometric", "apparent"),
    [(0, 0.15, 0.02), (-20, 0.15, 0.07), (34, 0.25, 0.1), (-45, 0.3, 0.15), (55, 0.4, 0.2)],
)
def test_day_length_agrees_with_astral(latitude, geometric, apparent):
    """An almanac library through the year."""
    for day in range(5, 366, 10):
        date = datetime.date(2021, 1, 1) + datetime.timedelta(days=day - 1)
        times = astral.sun.sun(astral.Observer(latitude, 0.0), date=date, tzinfo=datetime.UTC)
        almanac = (times["sunset"] - times["sunrise"]).total_seconds() / 3600 % 24
        assert sun.day_length(latitude, day) == pytest.approx(almanac, abs=geometric)
        seen = sun.day_length(latitude, day, sun.APPARENT_HORIZON)
        assert seen == pytest.approx(almanac, abs=apparent)


def test_noon_matches_hand():
    """FAO-56 eqs 32 and 33 for day 246: -0.0911 + 0.1201 - 0.0072 = 0.0218 h before 12."""
    assert sun.clock_noon(0.0, 246, 0) == pytest.approx(12 - 0.0218, abs=0.00005)


def test_noon_agrees_with_astral():
    """The equation of time through the year, to 80 seconds."""
    for day in range(5, 366, 10):
        date = datetime.date(2021, 1, 1) + datetime.timedelta(days=day - 1)
        noon = astral.sun.noon(astral.Observer(0.0, 30.0), date=date, tzinfo=datetime.UTC)
        almanac = noon.hour + noon.minute / 60 + noon.second / 3600 + 2
        assert sun.clock_noon(30.0, day, 2) == pytest.approx(almanac, abs=80 / 3600)


def test_no_sunset_is_missing():
    """Midnight sun and polar night have day lengths but no sunset."""
    assert np.isnan(sun.sunset(np.array([70.0, 70.0, -90.0]), np.array([172, 355, 172]))).all()


@given(LATITUDES, DAYS)
def test_day_length_is_part_of_a_day(latitude, day):
    """Between 0 and 24 h everywhere, poles included, and finite radiation of 0 or more."""
    assert 0 <= sun.day_length(latitude, day) <= 24
    assert sun.extraterrestrial_radiation(latitude, day) >= -1e-9


@given(st.floats(-66, 66), DAYS)
def test_hemispheres_share_the_day(latitude, day):
    """What one hemisphere has of daylight the other lacks."""
    both = sun.day_length(latitude, day) + sun.day_length(-latitude, day)
    assert both == pytest.approx(24)


@given(st.floats(-180, 180), DAYS)
def test_solar_time_stays_near_the_clock(longitude, day):
    """In a zone of the right longitude noon differs by the equation of time alone."""
    assert abs(sun.clock_noon(longitude, day, longitude / 15) - 12) < 0.29


def test_missing_place_is_missing():
    """No latitude, no day length."""
    assert np.isnan(sun.day_length(np.nan, 100))
