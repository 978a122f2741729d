"""Series of months and hours made one year: by hand, at the borders of periods and of the day."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from sheltermap.climate.reduction import (
    day_course,
    has_hours,
    monthly_mean,
    of_period,
    yearly_spread,
)
from sheltermap.vocabulary import InputError


def series(first: str, last: str, step: str = "MS") -> xr.Dataset:
    """Return a series whose value is its year less 2000, and a hundredth of its month."""
    time = pd.date_range(first, last, freq=step)
    values = np.asarray(time.year - 2000 + time.month / 100, float)
    return xr.Dataset({"t": ("time", values)}, {"time": time})


def refusal(dataset, period=None) -> str:
    """Return what is said of a series that is no climatology."""
    with pytest.raises(InputError) as caught:
        of_period(dataset, "own.nc", period)
    return str(caught.value)


def test_both_ends_of_a_period_belong_to_it():
    """2002 and 2004 of 2000 to 2006: 36 months."""
    found = of_period(series("2000-01", "2006-12"), "own.nc", (2002, 2004))
    assert found["time"].dt.year.to_numpy()[[0, -1]].tolist() == [2002, 2004]
    assert found.sizes["time"] == 36
    assert of_period(series("2000-01", "2006-12"), "own.nc", None).sizes["time"] == 84


def test_a_period_without_years_is_told_with_those_there_are():
    """1990 to 1999, and what the file holds."""
    said = refusal(series("2000-01", "2006-12"), (1990, 1999))
    assert "expected years within 1990-1999, got 2000-2006" in said


def test_months_that_never_occur_are_told():
    """From March to November: 1, 2 and 12 are missing; of a period too, if others have it."""
    assert "got no month 1, 2, 12" in refusal(series("2001-03", "2001-11"))
    assert "got no month 12" in refusal(series("2000-01", "2001-11"), (2001, 2001))


def test_days_are_no_months():
    """31 values in January, which only the user can average or add up."""
    assert "got up to 31 values a month" in refusal(series("2001-01-01", "2001-12-31", "D"))


def hours(*of_day: int, days=(1,)) -> xr.Dataset:
    """Return a year of these hours on these days of each month."""
    stamps = [
        pd.Timestamp(2001, month, day, hour)
        for month in range(1, 13)
        for day in days
        for hour in of_day
    ]
    return xr.Dataset({"t": ("time", [float(one.hour) for one in stamps])}, {"time": stamps})


@pytest.mark.parametrize(
    ("dataset", "by_hour"),
    [(hours(0, 6), True), (hours(6), False), (hours(0, 6, days=(1, 2)), False)],
    ids=["hours", "one hour", "hours of days"],
)
def test_hours_of_months_are_told_from_days(dataset, by_hour):
    """Several hours, on one day of each month."""
    assert has_hours(dataset) is by_hour
    assert has_hours(dataset.isel(time=0, drop=True)) is False
    if by_hour:
        assert of_period(dataset, "own.nc", None).sizes["time"] == 24


def test_a_month_is_its_mean_over_the_years():
    """Years 1, 2 and 4 of three Aprils: 7/3, and 0.04 of the month."""
    three = series("2001-01", "2004-12")
    three = three.isel(time=np.flatnonzero(three["time"].dt.year != 2003))
    found = monthly_mean(three["t"])
    assert found["month"].to_numpy().tolist() == [*range(1, 13)]
    assert float(found.sel(month=4)) == pytest.approx(7 / 3 + 0.04)
    assert monthly_mean(xr.DataArray(3.0)) == 3.0


def test_spread_between_years_needs_five():
    """1 to 5: the sum of squares around 3 is 10, by 5 - 1 it is 2.5, its root 1.5811."""
    five = yearly_spread(series("2001-01", "2005-12")["t"])
    assert float(five.sel(month=7)) == pytest.approx(1.5811, abs=5e-5)
    assert yearly_spread(series("2001-01", "2004-12")["t"]) is None
    assert yearly_spread(xr.DataArray(3.0)) is None


@pytest.mark.parametrize(
    ("longitude", "solar", "value"),
    [
        (0.0, 3, 3.0),
        (0.0, 18, 18.0),
        (0.0, 20, 12.0),
        (90.0, 6, 0.0),
        (90.0, 2, 12.0),
        (-15.0, 2, 3.0),
        (7.5, 4, 3.5),
    ],
)
def test_a_course_of_the_day_is_turned_to_solar_time(longitude, solar, value):
    """Every six hours the value of the hour: straight lines, from 18 down to 0 over midnight.

    At 20:00 two of six hours have gone: 18 - 6. At 90 degrees east the Sun is six hours ahead, at
    15 west one behind; 7.5 east are half an hour.
    """
    source = hours(0, 6, 12, 18)["t"].expand_dims(longitude=[longitude])
    found = day_course(source)
    assert found["solar_hour"].to_numpy().tolist() == [*range(24)]
    assert found.sel(solar_hour=solar).to_numpy().ravel().tolist() == pytest.approx([value] * 12)


def test_a_single_hour_stands_for_the_whole_day():
    """Nothing lies between it and itself."""
    source = hours(6)["t"].expand_dims(longitude=[33.0])
    np.testing.assert_allclose(day_course(source).to_numpy(), 6.0)
