"""Nights whose course of the day was measured, against hand arithmetic and the fitted curve."""

from __future__ import annotations

import climate_files as layouts
import numpy as np
import pytest
import xarray as xr

from sheltermap.climate import readers
from sheltermap.climate.calendar import by_day, by_month
from sheltermap.night.conditions import conditions
from sheltermap.night.daylight import SleepWindow
from sheltermap.night.measured import measured_shares
from sheltermap.night.temperature import coldest_share, daytime_share, mean_share, share_at


def course(values):
    """Return twenty-four shares."""
    return xr.DataArray(np.asarray(values, float), dims="solar_hour")


def test_straight_course_by_hand():
    """From 1 at noon down to 0 at the next noon: 14/24 left at 22:00, 10/24 on average."""
    falling = course([(36 - (hour if hour >= 12 else hour + 24)) / 24 for hour in range(24)])
    found = measured_shares(falling, SleepWindow(), xr.DataArray(12.0))
    assert float(found["bedtime"]) == pytest.approx(14 / 24)
    # The window's middle is 2:00, 26 on the axis: 10/24; its last four hours' is 28: 8/24.
    assert float(found["asleep"]) == pytest.approx(10 / 24)
    assert float(found["coldest"]) == pytest.approx(8 / 24)


def test_coldest_hours_are_found_inside_the_window():
    """A dip at 2:00 that is half as deep an hour away: four hours around it hold most of it."""
    dip = np.ones(24)
    dip[[1, 2, 3]] = 0.5, 0.0, 0.5
    found = measured_shares(course(dip), SleepWindow(), xr.DataArray(12.0))
    # Straight lines 1, 0.5, 0, 0.5, 1 at 0:00 to 4:00: their mean is 0.5.
    assert float(found["coldest"]) == pytest.approx(0.5, abs=0.005)


def test_fitted_curve_given_hourly_gives_its_own_shares():
    """The fitted curve, sampled each hour and read back, is the fitted curve."""
    for daylight in (8.0, 12.0, 16.0):
        hours = np.where(np.arange(24) < 12, np.arange(24) + 24, np.arange(24)).astype(float)
        sampled = course(share_at(hours, daylight))
        window = SleepWindow()
        found = measured_shares(sampled, window, xr.DataArray(daylight))
        expected = {
            "bedtime": share_at(22.0, daylight),
            "asleep": mean_share(*window.bounds, daylight),
            "coldest": coldest_share(window, daylight),
            "daytime": daytime_share(daylight),
        }
        for name, value in expected.items():
            assert float(found[name]) == pytest.approx(float(value), abs=0.02), (name, daylight)


def test_missing_hour_leaves_no_share():
    """A course with a hole is no course."""
    holed = course([0.5] * 24).where(xr.DataArray(np.arange(24) != 3, dims="solar_hour"))
    found = measured_shares(holed, SleepWindow(), xr.DataArray(12.0))
    assert np.isnan(found["coldest"]) and np.isnan(found["asleep"])


@pytest.mark.parametrize("seasonal", [by_month, by_day])
def test_imported_hours_reach_the_bedtime_temperature(tmp_path, seasonal):
    """A cosine that peaks at 14:30: 22:00 lies 7.5 hours later, whatever the fitted curve says."""
    pytest.importorskip("dask")
    path = layouts.era5_by_hour(tmp_path / "hours.nc", amplitude=8.0, peak=14.5)
    season = seasonal(readers.import_sources([path]))
    night = conditions(season)
    expected = season["air_temperature"] + 4 * np.cos(7.5 / 12 * np.pi)
    # By day, shares and ranges are interpolated apart.
    np.testing.assert_allclose(
        night["bedtime_temperature"],
        expected.transpose(*night["bedtime_temperature"].dims),
        atol=0.1,
    )
    lowest = season["air_temperature"] - 4
    assert (night["coldest_hours_temperature"] > lowest).all()
    assert (night["coldest_hours_temperature"] < lowest + 0.8).all()


def test_the_first_hours_may_be_the_coldest():
    """From 0 at noon up to 1 at the next noon: the first four hours' middle is 24, 12/24."""
    rising = course([((hour if hour >= 12 else hour + 24) - 12) / 24 for hour in range(24)])
    found = measured_shares(rising, SleepWindow(), xr.DataArray(12.0))
    assert float(found["coldest"]) == pytest.approx(12 / 24)
    assert float(found["bedtime"]) == pytest.approx(10 / 24)


def test_a_short_sleep_is_its_own_coldest_time():
    """22:30 to 0:30, 1 at 22:00 and 3 an hour later, then 4 and 9: straight lines, by hand.

    Half an hour each from 2 to 3 (2.5), from 3 to 4 (3.5) and on to 6.5 (5.25), the second
    one lasting an hour: (2.5 + 2 x 3.5 + 5.25) / 4 = 3.6875. At 22:30 it is 2.
    """
    values = np.full(24, 50.0)
    values[[22, 23, 0, 1]] = 1, 3, 4, 9
    found = measured_shares(course(values), SleepWindow(22.5, 0.5), xr.DataArray(12.0))
    assert float(found["bedtime"]) == pytest.approx(2.0)
    assert float(found["asleep"]) == pytest.approx(3.6875)
    assert float(found["coldest"]) == pytest.approx(3.6875)


@pytest.mark.parametrize(
    ("daylight", "mean"), [(0.4, 1.0), (1.0, 1.0), (1.2, 1.07 / 1.2), (3.0, 1.7 / 3)]
)
def test_daytime_counts_hours_by_the_light_in_them(daylight, mean):
    """1 at noon, 0.5 before it, 0.2 after: by hand.

    1.2 h of light are a tenth of an hour in each neighbour, 1 + 0.05 + 0.02; three hours are all
    of the three; of an hour or less, or in a polar night, noon stands for the day.
    """
    values = np.zeros(24)
    values[[11, 12, 13]] = 0.5, 1.0, 0.2
    found = measured_shares(course(values), SleepWindow(), xr.DataArray(daylight))
    assert float(found["daytime"]) == pytest.approx(mean)
