"""Rain against hand arithmetic, older relations, and a simulation of the same process."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from published_tables import published
from scipy.stats import gamma

from sheltermap.night.rain import (
    NIGHT_RAIN_EXPONENTS,
    amounts,
    heavy_day,
    night_rain_exponent,
    rain_in_window,
    snow_share,
    wet_after_wet,
    wet_run,
)

SHARES, RAINS = st.floats(0, 1), st.floats(0, 60)
DEPTHS = st.sampled_from([1.0, 5.0, 10.0, 20.0, 50.0])

SEASONS, DAYS = 10_000, 30
# Share of wet days and rain per day: a showery, a dry and a monsoon month.
MONTHS = [(0.4, 4.0), (0.2, 1.0), (20 / 31, 250 / 31)]


def geng(mean_wet_day):
    """Return shape and scale as Geng et al. gave them, for the printed values."""
    scale = np.where(mean_wet_day < 2.6, mean_wet_day / 0.999, 1.83 * mean_wet_day - 2.16)
    return mean_wet_day / scale, scale


def test_printed_amounts_and_heavy_days():
    """Geng's relation gives the printed values; ours, refitted, lies within 0.012."""
    table = published("night", "geng_amounts")
    rain, wet, shape, scale = np.array(table["rows"]).T
    assert_allclose(geng(rain / wet)[0], shape, rtol=0, atol=table["tolerance"][0])
    assert_allclose(geng(rain / wet)[1], scale, rtol=0, atol=table["tolerance"][1])

    table = published("night", "geng_heavy_days")
    rain, wet, days, *printed = np.array(table["rows"]).T
    for depth, expected in zip((1.0, 5.0, 10.0), printed, strict=True):
        shape, scale = geng(rain / wet)
        older = wet / days * gamma.sf(depth, shape, scale=scale)
        assert_allclose(older, expected, rtol=0, atol=table["tolerance"])
        if depth >= 5:
            ours = heavy_day(rain / days, wet / days, depth)
            assert_allclose(ours, expected, rtol=0, atol=0.012)


def test_wet_runs_match_hand():
    """Three given days, and any run of three in a week and in the month."""
    table = published("night", "wet_runs")
    for wet, days, three, week, month in table["rows"]:
        share, days = wet / days, int(days)
        in_three = share * wet_after_wet(share) ** 2
        assert in_three == pytest.approx(three, abs=table["tolerance"][0])
        assert wet_run(share, 3, 3) == pytest.approx(in_three, abs=1e-12)
        assert wet_run(share, 3, 7) == pytest.approx(week, abs=table["tolerance"][1])
        assert wet_run(share, 3, days) == pytest.approx(month, abs=table["tolerance"][2])


def test_global_refit_supports_the_chain():
    """Sommer and Kaplan (2017), thousands of stations: P(wet|wet) = 0.255 + 0.745 f."""
    share = np.linspace(0, 1, 11)
    assert_allclose(wet_after_wet(share), 0.255 + 0.745 * share, rtol=0, atol=0.0051)


@pytest.fixture(scope="module", params=MONTHS, ids=["showery", "dry", "monsoon"])
def simulated(request):
    """Return a month's inputs with 10,000 seasons of wet days and amounts drawn for it."""
    share, rain = request.param
    random = np.random.default_rng(1986)
    wet = np.empty((DAYS, SEASONS), bool)
    wet[0] = random.random(SEASONS) < share
    for day in range(1, DAYS):
        chance = np.where(wet[day - 1], 0.25 + 0.75 * share, 0.75 * share)
        wet[day] = random.random(SEASONS) < chance
    mean = max(1.2, 0.97 * rain / share)
    scale = max(1.83 * mean - 2.16, 0.3 * mean)
    depth = random.gamma(mean / scale, scale, wet.shape) * wet
    return share, rain, wet, depth


@pytest.mark.parametrize(("length", "days"), [(1, 7), (2, 7), (3, 7), (3, 30), (5, 30)])
def test_wet_runs_match_simulation(simulated, length, days):
    """The recursion lies within three standard errors of 10,000 drawn seasons."""
    share, _, wet, _ = simulated
    run, longest = np.zeros(SEASONS, int), np.zeros(SEASONS, int)
    for day in range(days):
        run = np.where(wet[day], run + 1, 0)
        longest = np.maximum(longest, run)
    expected = wet_run(share, length, days)
    error = np.sqrt(expected * (1 - expected) / SEASONS)
    assert (longest >= length).mean() == pytest.approx(expected, abs=3 * error)


@pytest.mark.parametrize("depth", [5.0, 10.0, 25.0])
def test_heavy_days_match_simulation(simulated, depth):
    """P(day > x) lies within three standard errors; days of a season are not independent."""
    share, rain, _, drawn = simulated
    of_season = (drawn > depth).mean(axis=0)
    error = of_season.std() / np.sqrt(SEASONS)
    assert of_season.mean() == pytest.approx(heavy_day(rain, share, depth), abs=3 * error)


def test_heavy_day_table_matches_scipy():
    """The tabulated tail is the gamma tail to 1e-6, around the knot and far out too."""
    mean = np.concatenate([np.geomspace(0.5, 900, 4001), np.linspace(1.4, 1.5, 201)])
    for depth in (5.0, 10.0, 50.0):
        limited = np.maximum(1.2, 0.97 * mean)
        scale = np.maximum(1.83 * limited - 2.16, 0.3 * limited)
        exact = 0.3 * gamma.sf(depth, limited / scale, scale=scale)
        assert_allclose(heavy_day(0.3 * mean, 0.3, depth), exact, rtol=0, atol=1e-6)


@pytest.mark.parametrize("kind", ["f4", "f8"])
def test_heavy_day_holds_beyond_the_table(kind):
    """Impossible rain still gives a probability: the last of the table, close to certain."""
    share = np.array([0.5, 1.0, 0.001, 1e-30], kind)
    chance = heavy_day(np.full(4, 5000, kind), share, 5.0)
    assert chance.dtype == kind
    assert ((chance > 0.95 * share) & (chance <= share)).all()


@given(st.floats(0.5, 200))
def test_amounts_keep_their_mean(mean):
    """Shape times scale is 0.97 of the mean, never below 1.2 mm."""
    shape, scale = amounts(mean)
    assert shape * scale == pytest.approx(max(1.2, 0.97 * mean))


def rain_time(degrees, rain, days):
    """Return ITU-R P.837-7's share of time raining [%] and rain rate [mm h-1]."""
    rate = 0.5874 * np.exp(0.0883 * max(degrees, 0.0))
    share = 100 * rain / (24 * days * rate)
    return (70.0, 100 / 70 * rain / (24 * days)) if share > 70 else (share, rate)


def test_independent_rain_time_supports_ours():
    """The radio engineers' step gives its coded values, and a block of rain our night's odds."""
    table = published("night", "rain_time")
    for degrees, rain, days, share, rate in table["rows"]:
        assert_allclose(rain_time(degrees, rain, days), (share, rate), rtol=0, atol=5e-5)
    table = published("night", "rain_block")
    for wet, time, asleep, hours, expected in table["rows"]:
        block = 24 * time / (100 * wet)
        assert block == pytest.approx(hours, abs=0.005)
        odds = wet * min(1, (asleep + block) / 24)
        assert odds == pytest.approx(expected, abs=table["tolerance"])
        assert rain_in_window(wet, 4.0, asleep) == pytest.approx(odds, abs=0.01)


def test_night_rain_matches_hand():
    """The fitted exponent, its share for other hours, and its ceiling."""
    table = published("night", "night_rain")
    for share, hours, depth, expected in table["rows"]:
        ours = rain_in_window(share, 4.0, hours, depth)
        assert ours == pytest.approx(expected, abs=table["tolerance"])


def test_exponents_pass_through_the_fit():
    """The five fitted depths come out; between, below and beyond they stay in order."""
    for depth, exponent in NIGHT_RAIN_EXPONENTS:
        assert night_rain_exponent(depth) == pytest.approx(exponent)
    depths = [0.0, 0.1, 0.25, 0.4, 0.5, 0.9, 1.0, 2.0, 4.0, 5.0, 8.0, 20.0, 100.0]
    exponents = [night_rain_exponent(depth) for depth in depths]
    assert exponents == sorted(exponents, reverse=True)
    assert exponents[0] == 0.66
    assert exponents[-1] > 0


@pytest.mark.parametrize(
    ("depth", "exponent"),
    [(0.0, 0.66), (0.25, 0.66), (0.353553, 0.605), (0.707107, 0.505), (10.0, 0.16030),
     (20.0, 0.11173)],
)  # fmt: skip
def test_exponents_between_and_beyond_the_fit(depth, exponent):
    """Half-way in the logarithm it is the mean of two; each doubling beyond 5 mm takes 0.697.

    By hand: 0.25 and 0.5 mm give (0.66 + 0.55) / 2 at 0.25 * sqrt(2), 0.5 and 1 mm (0.55 + 0.46)
    / 2; from 2.5 to 5 mm the ratio is 0.23 / 0.33 = 0.69697, so 0.23 * 0.69697 at 10 mm.
    """
    assert night_rain_exponent(depth) == pytest.approx(exponent, abs=2e-5)


@given(SHARES, SHARES, RAINS, DEPTHS, st.floats(1, 14))
def test_more_wet_days_never_dry_a_night(one, other, rain, depth, hours):
    """Probabilities are bounded and rise with the share of wet days and the hours."""
    low, high = sorted((one, other))
    less, more = (rain_in_window(share, rain, hours, depth) for share in (low, high))
    assert 0 <= less <= more + 1e-12 <= 1 + 1e-12
    assert more <= rain_in_window(high, rain, hours + 1, depth) + 1e-12
    assert more <= high + 1e-12
    assert 0 <= wet_run(low, 3, 10) <= wet_run(high, 3, 10) + 1e-12 <= 1 + 1e-9


@given(st.floats(0.01, 1), RAINS, RAINS, DEPTHS)
def test_more_rain_never_lightens_days(share, one, other, depth):
    """P(day > x) rises with rain and never exceeds the share of wet days."""
    low, high = sorted((one, other))
    assert 0 <= heavy_day(low, share, depth) <= heavy_day(high, share, depth) + 1e-9
    assert heavy_day(high, share, depth) <= share + 1e-12


def test_no_rain_is_no_rain():
    """Either kind of nothing switches every probability off."""
    for share, rain in ((0.0, 2.0), (0.3, 0.0), (0.0, 0.0)):
        assert rain_in_window(share, rain, 8.0) == 0
        assert heavy_day(rain, share, 1.0) == 0
        assert heavy_day(rain, share, 10.0) == 0
    assert wet_run(0.0, 3, 30) == 0


def test_first_millimetre_is_the_wet_share():
    """A wet day is a day of at least 1 mm by definition."""
    assert heavy_day(2.0, 0.37, 1.0) == 0.37


def test_snow_share():
    """Half at -1.5 degC, hardly any in warmth, at most nine tenths in deep cold."""
    # exp(21.5 / 4.5) = 118.84, so 1 / 119.84 at 20 degC.
    assert_allclose(snow_share(np.array([-1.5, 20.0, -40.0])), [0.5, 0.00834, 0.9], atol=5e-6)


def test_missing_stays_missing():
    """Either input missing gives no probability, even where the other says no rain."""
    share, rain = np.array([np.nan, 0.3, np.nan]), np.array([0.0, np.nan, 2.0])
    for result in (
        rain_in_window(share, rain, 8.0),
        heavy_day(rain, share, 1.0),
        heavy_day(rain, share, 10.0),
    ):
        assert np.isnan(result).all()
    assert np.isnan(wet_run(np.nan, 3, 7))
    assert np.isnan(wet_run(np.nan, 3, 2))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: heavy_day(2.0, 0.3, 3.0), "1 mm, or 5 mm and more, got 3 mm"),
        (lambda: night_rain_exponent(-1.0), "0 mm or more, got -1 mm"),
        (lambda: wet_run(0.3, 0, 7), "got 0 in 7"),
    ],
)
def test_meaningless_settings_are_refused(call, message):
    """The message says what is allowed and what came."""
    with pytest.raises(ValueError, match=message):
        call()
