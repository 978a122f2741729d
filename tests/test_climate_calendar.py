"""Tests of seasons by month and by day."""

from __future__ import annotations

from calendar import monthrange
from datetime import date

import numpy as np
import pytest
import xarray as xr
from climates import small_climatology
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from sheltermap.climate.calendar import by_day, by_month
from sheltermap.vocabulary import DAYS_IN_MONTH

MONTH_OF_DAY = np.repeat(np.arange(1, 13), DAYS_IN_MONTH)


def monthly_means(days):
    """Return the plain mean of each month's days."""
    return days.assign_coords(day=MONTH_OF_DAY).groupby("day").mean().rename(day="month")


def place(**months):
    """Return a climatology of one place from twelve numbers a variable."""
    calm = {"air_temperature": [10.0] * 12, "rainfall": [50.0] * 12, "vapour_pressure": [1.0] * 12}
    variables = {name: ("month", np.array(values)) for name, values in (calm | months).items()}
    return xr.Dataset(variables, {"month": np.arange(1, 13)})


def test_months_become_rates():
    """Rain and wet days are divided by the days of their month."""
    season = by_month(place(rainfall=[31.0, 56.0] + [0.0] * 10, wet_days=[15.5, 7.0] + [0.0] * 10))
    assert season["rain_per_day"].values[:2].tolist() == [1.0, 2.0]
    assert season["wet_share"].values[:2].tolist() == [0.5, 0.25]
    assert season["day_of_year"].values[[0, 11]].tolist() == [16, 350]
    assert "rainfall" not in season and "wet_days" not in season


def test_marks_of_estimates_follow_the_rates():
    """A wet share from estimated wet days is an estimate too, by month and by day."""
    source = small_climatology()
    source["wet_days"].attrs |= {"estimated": "from rain", "uncertainty": "RMSE 2 days a month"}
    for season in (by_month(source), by_day(source)):
        assert season["wet_share"].attrs["estimated"] == "from rain"
        assert season["wet_share"].attrs["units"] == "1"


def test_days_average_to_their_month_on_a_grid():
    """Every variable, every cell, to 1e-6."""
    source = small_climatology()
    season, months = by_day(source), by_month(source)
    assert season.sizes["day"] == 365
    for name in months:
        if "month" in months[name].dims:
            np.testing.assert_allclose(
                monthly_means(season[name]).transpose(*months[name].dims),
                months[name],
                atol=1e-6,
                err_msg=name,
            )
    xr.testing.assert_equal(season["elevation"], source["elevation"])


def test_equal_months_give_equal_days():
    """Nothing to interpolate: no ripple."""
    season = by_day(place())
    np.testing.assert_allclose(season["air_temperature"], 10.0, atol=1e-12)


def test_year_joins_itself():
    """The step over New Year is as small as those around it."""
    warm = [float(-np.cos((month + 0.5) / 12 * 2 * np.pi)) for month in range(12)]
    days = by_day(place(air_temperature=warm))["air_temperature"].values
    steps = np.abs(np.diff(np.append(days, days[0])))
    assert steps[-1] <= steps.max()
    # A cosine of one year moves by at most 2 pi / 365 a day.
    assert steps.max() < 2 * np.pi / 365 * 1.05


@settings(max_examples=25, deadline=None)
@given(
    rain=st.lists(st.floats(0, 900), min_size=12, max_size=12),
    wet=st.lists(st.floats(0, 28), min_size=12, max_size=12),
    vapour=st.lists(st.floats(0.01, 4), min_size=12, max_size=12),
)
def test_bounds_hold_and_means_are_kept_whatever_the_year(rain, wet, vapour):
    """No negative rain, no share above one, no air without vapour; months still average."""
    source = place(rainfall=rain, wet_days=wet, vapour_pressure=vapour)
    season, months = by_day(source), by_month(source)
    assert float(season["rain_per_day"].min()) >= 0
    assert float(season["wet_share"].min()) >= 0 and float(season["wet_share"].max()) <= 1
    assert float(season["vapour_pressure"].min()) > 0
    for name in ("rain_per_day", "wet_share", "vapour_pressure"):
        np.testing.assert_allclose(monthly_means(season[name]), months[name], atol=1e-6)


def test_extremes_keep_their_order():
    """Even where a month's range nearly vanishes, no minimum exceeds its mean."""
    mean = np.array([0, 5, 9, 12, 18, 25, 31, 30, 22, 14, 7, 2.0])
    gap = np.array([8, 0.1, 8, 0.1, 8, 0.1, 8, 0.1, 8, 0.1, 8, 0.1])
    season = by_day(
        place(air_temperature=mean, air_temperature_min=mean - gap, air_temperature_max=mean + gap)
    )
    assert (season["air_temperature_min"] <= season["air_temperature"]).all()
    assert (season["air_temperature_max"] >= season["air_temperature"]).all()


def test_missing_month_leaves_no_day():
    """A year with a hole is not guessed at."""
    season = by_day(place(rainfall=[np.nan] + [10.0] * 11))
    assert season["rain_per_day"].isnull().all()
    assert season["air_temperature"].notnull().all()


def test_any_other_dimension_comes_along():
    """Cells work as grids do, lazily too."""
    dask = pytest.importorskip("dask")
    source = small_climatology().stack(cell=("latitude", "longitude"), create_index=False)
    with dask.config.set(scheduler="synchronous"):
        lazy = by_day(source.chunk(cell=5, month=4))
        assert lazy["rain_per_day"].chunks is not None
        xr.testing.assert_allclose(lazy.compute(), by_day(source))
    assert by_day(source)["latitude"].dims == ("cell",)


def test_days_are_those_of_a_periodic_cubic_spline_through_running_sums():
    """Rain of the months, summed and drawn by scipy's spline, gives the same days."""
    rain = np.array([5.0, 8.0, 20.0, 31.0, 45.0, 60.0, 52.0, 40.0, 33.0, 21.0, 14.0, 7.0])
    edges = np.concatenate([[0], np.cumsum(DAYS_IN_MONTH)])
    mean = rain.sum() / 365
    sums = np.concatenate([[0.0], np.cumsum(rain)]) - mean * edges
    sums[-1] = 0.0
    expected = np.diff(CubicSpline(edges, sums, bc_type="periodic")(np.arange(366))) + mean
    assert expected.min() > 0  # no day is lifted to a bound
    np.testing.assert_allclose(by_day(place(rainfall=rain))["rain_per_day"], expected, rtol=1e-12)


def test_a_february_of_29_wet_days_is_wet_every_day():
    """Sources count the leap day: 29 of 28 is no share, and the other months stay as they are."""
    wet = [15.5, 29.0, *[0.0] * 10]
    months = by_month(place(wet_days=wet))["wet_share"].values
    assert months[:3].tolist() == [0.5, 1.0, 0.0]
    days = by_day(place(wet_days=[29.0 if month == 2 else 0.9 for month in range(1, 13)]))
    assert float(days["wet_share"].max()) <= 1.0
    assert float(days["wet_share"][31 + 13]) == pytest.approx(1.0, abs=1e-6)


def test_dry_days_keep_half_of_the_driest_month_around():
    """A dip between wet months never reaches air without vapour: half the least of three."""
    vapour = [3.0, 3.0, 3.0, 3.0, 3.0, 0.2, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0]
    days = by_day(place(vapour_pressure=vapour))["vapour_pressure"]
    june = days[151:181]
    assert float(june.min()) == pytest.approx(0.5 * 0.2)
    assert float(june.mean()) == pytest.approx(0.2)


def test_a_month_stands_at_its_middle_day():
    """The 16th of 31 days, the 15th of 30, the 14th of 28; counted by the standard library."""
    lengths = [monthrange(2001, month)[1] for month in range(1, 13)]
    middles = [date(2001, month, -(-days // 2)) for month, days in enumerate(lengths, 1)]
    expected = [middle.timetuple().tm_yday for middle in middles]
    assert by_month(place())["day_of_year"].values.tolist() == expected


def test_months_beside_a_dry_one_lead_down_to_it():
    """The 31st of May and the 1st of July are nearer to June's 0.2 than half of their own 3."""
    days = by_day(place(vapour_pressure=[*[3.0] * 5, 0.2, *[3.0] * 6]))["vapour_pressure"].values
    assert days[150] < 1.5 and days[181] < 1.5
    assert days[120] > 2.5 and days[211] > 2.5


def test_spreads_and_winds_have_their_least_values():
    """Half the least month around for a spread, which divides; nought for a wind."""
    dip = [*[6.0] * 8, 0.4, *[6.0] * 3]
    days = by_day(place(night_low_spread=dip, wind_speed=dip))
    september = slice(243, 273)
    assert float(days["night_low_spread"][september].min()) == pytest.approx(0.2)
    assert float(days["wind_speed"][september].min()) == pytest.approx(0.0, abs=1e-12)


def test_days_have_the_coordinates_of_the_grid_and_of_the_day():
    """Months are gone, cells and their variables' attributes are not."""
    source = small_climatology()
    season = by_day(source)
    assert set(season.coords) == {"day", "day_of_year", "latitude", "longitude"}
    assert season["day"].values[[0, 364]].tolist() == [1, 365]
    assert season["day_of_year"].values.tolist() == season["day"].values.tolist()
    assert season["rain_per_day"].attrs["units"] == "mm day-1"
    assert season.attrs["title"] == "small"
