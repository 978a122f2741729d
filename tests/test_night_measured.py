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
