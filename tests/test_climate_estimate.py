"""Tests of the estimators, against hand arithmetic and what weather allows."""

from __future__ import annotations

import mapped_waters
import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st

from sheltermap.air import saturation_vapour_pressure
from sheltermap.climate import estimate
from sheltermap.climate.error import stated_error


def months(*values):
    """Return twelve months: one value for all, or each its own."""
    twelve = np.resize(np.array(values, float), 12)
    return xr.DataArray(twelve, {"month": np.arange(1, 13)}, ["month"])


def test_wet_share_by_hand():
    """30 mm at 15 degC on 45 N: 0.1067 exp(-0.2535 + 0.7799) = 0.18062; 1 - exp(-0.18062)."""
    share = estimate.wet_share(months(15.0), months(30.0), 45.0)
    assert float(share[0]) == pytest.approx(0.16525, abs=1e-5)


def test_wet_share_by_hand_at_the_ends_of_its_range():
    """60 mm is 2^0.7984 = 1.73915 times 30 mm; then as above, by hand.

    At 25 degC on 20 N: 0.1067 x 1.73915 exp(-0.4225 + 0.34662) = 0.17201. At 5 degC on 60 N: exp
    of -0.0845 + 1.03987, 0.48241. Warmer, colder, nearer the equator or the pole is as there.
    """
    for air, latitudes, share in ((25.0, (20.0, -3.0), 0.15803), (5.0, (60.0, -75.0), 0.38271)):
        beyond = air + (9 if air > 15 else -9)
        for latitude in latitudes:
            for warmth in (air, beyond):
                found = estimate.wet_share(months(warmth), months(60.0), latitude)
                assert float(found[0]) == pytest.approx(share, abs=1e-5)


def test_wet_days_are_the_share_of_each_month():
    """The same share makes 31 days of January to 28 of February."""
    days = estimate.wet_days(months(15.0), months(30.0), 45.0)
    assert float(days[0] / days[1]) == pytest.approx(31 / 28)


def test_spread_by_hand():
    """A year from -10 to 20: 2.77 + 2.7 - 0.079 T, so 6.26 K at its coldest, 3.89 warmest."""
    spread = estimate.night_low_spread(months(-10.0, 20.0))
    np.testing.assert_allclose(spread[:2], [6.26, 3.89], atol=1e-9)


def test_spread_by_hand_at_the_ends_of_its_range():
    """Ranges over 40 K count as 40, air below -15 or above 30 degC as there; 1 K is the least.

    -40 to 10: 2.77 + 3.6 + 1.185 = 7.555. 32 all year: 2.77 - 2.37 = 0.4, so 1.
    """
    cold = estimate.night_low_spread(months(-40.0, 10.0))
    np.testing.assert_allclose(cold[:2], [7.555, 5.58], atol=1e-9)
    np.testing.assert_allclose(estimate.night_low_spread(months(32.0)), 1.0)
    np.testing.assert_allclose(estimate.night_low_spread(months(31.0, 11.0))[0], 2.2, atol=1e-9)


def test_annual_range_is_the_warmest_less_the_coldest():
    """Whichever months they are."""
    year = months(3.0, -7.0, 12.0, 25.0, 1.0)
    assert float(estimate.annual_range(year)) == 32.0


# FAO Irrigation and Drainage Paper 56 (1998), annex 2, table 2.6, from memory: radiation above
# the air in the middle of a month. [MJ m-2 day-1]
@pytest.mark.parametrize(
    ("latitude", "month", "printed"), [(0.0, 1, 36.2), (0.0, 6, 33.4), (0.0, 9, 37.2)]
)
def test_radiation_of_a_months_middle_is_as_printed(latitude, month, printed):
    """The paper takes the 15th of each month, a day from ours."""
    found = estimate.monthly_radiation(months(0.0)["month"], latitude)
    assert float(found.sel(month=month)) == pytest.approx(printed, abs=0.3)


def test_extremes_add_up():
    """A range of 10 K around 20: 4.95 below, 5.05 above."""
    low, high = estimate.extremes(months(20.0), months(10.0))
    assert float(low[0]) == pytest.approx(15.05)
    assert float(high[0]) == pytest.approx(25.05)


def test_blend_by_hand():
    """At 8 degC and 100 mm each: liquid share 0.8918, map 112.1, tamed 90, half of each."""
    blend = mapped_waters.blended_rain(months(8.0), months(100.0), months(100.0))
    liquid_share = 1 / (1 + np.exp(-9.5 / 4.5))
    assert float(blend[0]) == pytest.approx(0.5 * 100 / liquid_share + 45)


def test_blend_tames_spurious_rain_but_not_snow():
    """2000 mm beside a map of 100: held to 3 x the map + 40 when warm, kept below freezing."""
    warm = mapped_waters.blended_rain(months(25.0), months(2000.0), months(100.0))
    cold = mapped_waters.blended_rain(months(-5.0), months(200.0), months(0.0))
    assert float(warm[0]) == pytest.approx(0.5 * 100 + 0.45 * 340, rel=0.01)
    assert float(cold[0]) == pytest.approx(180.0)


def test_humidity_follows_the_distribution():
    """A year without seasons sits at the median; saturation caps it at 95 percent."""
    exceedance = np.array([1.0, 50.0, 99.0])
    levels = np.array([15.0, 8.0, 2.0])[:, None] * np.ones(1)
    air = months(20.0).expand_dims(place=1)
    rain = months(50.0).expand_dims(place=1)
    level = mapped_waters.vapour_pressure(air, rain, levels, exceedance)
    # 8 g/m3 at 20 degC: 8 x 293.15 / 2166.8 = 1.0823 kPa.
    np.testing.assert_allclose(level, 1.0823, atol=2e-4)
    cold = mapped_waters.vapour_pressure(air - 25, air * 0 + 50, levels, exceedance)
    np.testing.assert_allclose(cold, 0.95 * saturation_vapour_pressure(air - 25))


def test_humid_months_take_the_humid_levels():
    """In a year of two seasons the warm wet one is the moister, beyond the median."""
    exceedance = np.array([1.0, 10.0, 50.0, 90.0, 99.0])
    levels = np.array([20.0, 14.0, 8.0, 4.0, 2.0])[:, None]
    air = months(10.0, 25.0).expand_dims(place=1)
    rain = months(10.0, 120.0).expand_dims(place=1)
    found = mapped_waters.vapour_pressure(air, rain, levels, exceedance).isel(place=0)
    median = 8.0 * (air.isel(place=0) + 273.15) / 2166.8
    assert float(found[0]) < float(median[0])
    assert float(found[1]) > float(median[1])


@settings(max_examples=25, deadline=None)
@given(
    warm=st.floats(-40, 40),
    rain=st.floats(0, 800),
    latitude=st.floats(-60, 80),
    more=st.floats(0.1, 100),
)
def test_wet_share_rises_with_rain_and_stays_a_share(warm, rain, latitude, more):
    """Monotone and bounded wherever people travel; no rain, no wet day."""
    less = float(estimate.wet_share(months(warm), months(rain), latitude)[0])
    greater = float(estimate.wet_share(months(warm), months(rain + more), latitude)[0])
    assert 0 <= less < greater < 1
    assert float(estimate.wet_share(months(warm), months(0.0), latitude)[0]) == 0


@settings(max_examples=25, deadline=None)
@given(
    warm=st.floats(-30, 38),
    season=st.floats(0, 60),
)
def test_spreads_stay_within_weather(warm, season):
    """1 to 9 K from day to day."""
    spread = estimate.night_low_spread(months(warm, warm - season))
    assert (spread >= 1).all() and (spread <= 9).all()


def test_missing_stays_missing():
    """A month without temperature has no estimate, and no annual range either."""
    holed = months(20.0).where(months(20.0)["month"] != 3)
    assert np.isnan(estimate.wet_share(holed, months(50.0), 40.0)[2])
    assert estimate.night_low_spread(holed).isnull().all()


def test_each_estimate_states_its_error():
    """A variable carries the method, what it was compared with, and an error with its unit."""
    wet = estimate.ESTIMATES["wet_days"].attributes
    assert wet["estimated"].startswith("from monthly rain, temperature and latitude; compared ")
    assert "15 daily series" in wet["estimated"]
    assert wet["uncertainty"] == "RMSE 2 days a month"
    for known in estimate.ESTIMATES.values():
        assert known.how in known.attributes["estimated"]
        assert known.validity in known.attributes["estimated"]
        assert stated_error(xr.DataArray(0.0, attrs=known.attributes)) == known.error > 0
