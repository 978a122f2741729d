"""The night's temperature against hand arithmetic, older forms of the curve, and itself."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from published_tables import published

from sheltermap.night.daylight import SleepWindow, dawn, dusk
from sheltermap.night.temperature import (
    coldest_share,
    cooler_from,
    daytime_share,
    mean_share,
    share_at,
    temperature_at,
)

DAYLIGHT = st.floats(0, 24)
WINDOWS = st.sampled_from(
    [SleepWindow(), SleepWindow(19.5, 3), SleepWindow(1, 9), SleepWindow(22, 24)]
)


def rows(name):
    """Return a table's columns and its tolerance."""
    table = published("night", name)
    return (*np.array(table["rows"]).T, table["tolerance"])


def parton_logan(hour, day_length, matched):
    """Return the 1981 curve between a minimum of 10 and a maximum of 25. [degC]"""
    a, b, c, low, high = 1.86, 2.20, -0.17, 10.0, 25.0
    sunset = 12 + day_length / 2
    at_sunset = low + (high - low) * np.sin(np.pi * (day_length - c) / (day_length + 2 * a))
    since = hour - sunset
    if not matched:
        return low + (at_sunset - low) * np.exp(-b * since / (24 - day_length))
    end = np.exp(-b)
    falling = np.exp(-b * since / (24 - day_length + c))
    return (low - at_sunset * end + (at_sunset - low) * falling) / (1 - end)


@pytest.mark.parametrize(("name", "matched"), [("end_matched_curve", 1), ("original_curve", 0)])
def test_older_curves_bracket_ours(name, matched):
    """The 1981 forms give their printed values; the refitted night lies within 1.8 K of both."""
    day_length, hour, expected, tolerance = rows(name)
    older = parton_logan(hour, day_length, matched)
    assert_allclose(older, expected, rtol=0, atol=tolerance)
    ours = temperature_at(share_at(hour, day_length), 10.0, 25.0)
    assert_allclose(ours, older, rtol=0, atol=1.8)


def test_older_mean_matches_print():
    """The end-matched form's mean from 22 h to dawn, integrated numerically."""
    days, means, tolerance = rows("end_matched_mean")
    for day_length, expected in zip(days, means, strict=True):
        to = 36 - day_length / 2 - 0.17
        hours = 22 + (np.arange(20000) + 0.5) / 20000 * (to - 22)
        mean = parton_logan(hours, day_length, True).mean()
        assert mean == pytest.approx(expected, abs=tolerance)


def test_curve_matches_hand():
    """Top, dusk, bedtime, dawn and morning of a twelve-hour day."""
    hour, expected, tolerance = rows("refitted_curve")
    assert_allclose(share_at(hour, 12.0), expected, rtol=0, atol=tolerance)


def test_evening_share_matches_observations():
    """At 22:00 sites with hourly data stand at 0.35 to 0.37 of the range."""
    day_length, expected, tolerance = rows("evening_share")
    assert_allclose(share_at(22.0, day_length), expected, rtol=0, atol=tolerance)


def brute_force(hour, day_length):
    """Return the curve written out once more, plainly, for one hour."""
    d = min(max(day_length, 7.0), 17.5)
    low, sunset = 12 - d / 2 + 0.49, 12 + d / 2
    if sunset <= hour <= 24 + low:
        decay, night = 2.17 / (24 - d), 24 - sunset + low
        left = np.exp(-decay * night)
        top = np.sin(np.pi * (sunset - low) / (d + 3.5))
        g = top * (np.exp(-decay * (hour - sunset)) - left) / (1 - left)
    else:
        g = np.sin(np.pi * ((hour if hour < sunset else hour - 24) - low) / (d + 3.5))
    return 0.10 + 0.82 * g


@pytest.mark.parametrize("day_length", [3.0, 7.0, 9.5, 12.0, 15.0, 17.5, 21.0])
def test_means_match_brute_force(day_length):
    """Integrals against sums, and the coldest hours against every position."""
    step = 0.01
    hours = np.arange(12, 36, step) + step / 2
    curve = np.array([brute_force(hour, day_length) for hour in hours])
    assert_allclose(share_at(hours, day_length), curve, rtol=0, atol=1e-12)
    total = np.concatenate([[0], np.cumsum(curve) * step])
    for window in (SleepWindow(), SleepWindow(19.5, 3), SleepWindow(1, 9), SleepWindow(22, 0)):
        first, last = (round((h - 12) / step) for h in window.bounds)
        mean = (total[last] - total[first]) / window.length
        assert mean_share(*window.bounds, day_length) == pytest.approx(mean, abs=1e-5)
        wide = round(min(4.0, window.length) / step)
        sliding = (total[first + wide : last + 1] - total[first : last + 1 - wide]) / (wide * step)
        assert coldest_share(window, day_length) == pytest.approx(sliding.min(), abs=1e-5)
    daytime = [brute_force(h if h >= 12 else h + 24, day_length) for h in day_hours(day_length)]
    assert daytime_share(day_length) == pytest.approx(np.mean(daytime), abs=1e-5)


def day_hours(day_length):
    """Return hours of day spread evenly between sunrise and sunset."""
    d = min(max(day_length, 7.0), 17.5)
    return 12 - d / 2 + d * (np.arange(5000) + 0.5) / 5000


@given(st.floats(12, 36), DAYLIGHT)
def test_share_is_bounded(hour, day_length):
    """Never below the coldest hour's 0.10 nor above the warmest hour's 0.92."""
    assert 0.10 - 1e-9 <= share_at(hour, day_length) <= 0.92 + 1e-9


@given(DAYLIGHT, st.floats(0, 1), st.floats(0, 1))
def test_night_only_cools(day_length, one, other):
    """From dusk to dawn every later hour is colder or equal."""
    edges = float(dusk(day_length)), float(dawn(day_length))
    early, late = (edges[0] + (edges[1] - edges[0]) * x for x in sorted((one, other)))
    assert share_at(late, day_length) <= share_at(early, day_length) + 1e-12


@given(WINDOWS, DAYLIGHT, st.floats(0, 1))
def test_coldest_hours_are_the_coldest(window, day_length, position):
    """No four hours of the window are colder; their mean is no warmer than the window's."""
    begin, finish = window.bounds
    period = min(4.0, window.length)
    start = begin + position * (finish - begin - period)
    coldest = coldest_share(window, day_length)
    assert coldest <= mean_share(start, start + period, day_length) + 1e-6
    assert coldest <= mean_share(begin, finish, day_length) + 1e-6


@given(st.floats(0.11, 0.91), DAYLIGHT, st.floats(-40, 30), st.floats(1, 25))
def test_cooling_hour_inverts_the_curve(share, day_length, low, spread):
    """At the hour the limit is reached the temperature is the limit."""
    limit = low + share * spread
    hour = cooler_from(limit, low, low + spread, day_length)
    back = temperature_at(share_at(float(hour), day_length), low, low + spread)
    assert back == pytest.approx(limit, abs=1e-6)


def test_cooling_hour_has_ends():
    """Noon where it is never warmer, infinite where it stays warmer, missing where unknown."""
    limits = np.array([30.0, 9.0, np.nan])
    assert_allclose(cooler_from(limits, 10.0, 25.0, 12.0), [12.0, np.inf, np.nan])


def test_shares_outside_a_night_are_missing():
    """An hour before noon, or an interval that runs backwards, is not guessed."""
    assert np.isnan(share_at(11.9, 12.0))
    assert np.isnan(mean_share(30.0, 22.0, 12.0))
    assert np.isnan(share_at(22.0, np.nan))
    assert np.isnan(coldest_share(SleepWindow(), np.nan))


@pytest.mark.parametrize("day_length", [8.0, 12.0, 16.0])
def test_a_night_reaches_from_noon_to_noon(day_length):
    """Both noons belong to it and are alike; its mean is that of the curve written out again."""
    assert share_at(12.0, day_length) == pytest.approx(share_at(36.0, day_length))
    hours = 12 + (np.arange(4800) + 0.5) / 200
    mean = np.mean([brute_force(hour, day_length) for hour in hours])
    assert mean_share(12.0, 36.0, day_length) == pytest.approx(mean, abs=1e-5)
    assert np.isnan(mean_share(12.0, 36.1, day_length))
    assert np.isnan(mean_share(11.9, 36.0, day_length))
    assert np.isnan(mean_share(22.0, 22.0, day_length))
    assert np.isnan(share_at(36.1, day_length))


def test_the_coldest_hour_is_reached_at_dawn():
    """A limit of a tenth of the range, where the curve is lowest; a little less is never met."""
    assert cooler_from(1.0, 0.0, 10.0, 12.0) == pytest.approx(float(dawn(12.0)))
    assert cooler_from(0.99, 0.0, 10.0, 12.0) == np.inf


@pytest.mark.parametrize(("period", "window"), [(2.0, SleepWindow()), (9.0, SleepWindow(23, 5))])
def test_the_coldest_hours_are_as_many_as_asked_for(period, window):
    """Two of eight hours, by every position; nine of a window of six are the six."""
    begin, finish = window.bounds
    wide = min(period, finish - begin)
    starts = np.linspace(begin, finish - wide, 2001)
    every = [float(mean_share(start, start + wide, 12.0)) for start in starts]
    assert coldest_share(window, 12.0, period) == pytest.approx(min(every), abs=1e-6)
