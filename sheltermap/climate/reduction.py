"""Series of months, and of hours by month, to one climatological year.

In: quantities along ``time``. Out: along ``month``, with the spread from year to year, and
the course of the day where hours were given. Assumes monthly values: daily or finer series
must be averaged first.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.vocabulary import InputError, Problem

FEWEST_YEARS = 5
"""Years below which a spread from year to year is not worth a number. judgement."""

HOURS = np.arange(24)
SOLAR_HOUR = "solar_hour"

Period = tuple[int, int]


def has_hours(dataset: xr.Dataset) -> bool:
    """
    Return whether the times are hours of the day of each month.

    Parameters
    ----------
    dataset : Dataset

    Returns
    -------
    bool
    """
    if "time" not in dataset.dims:
        return False
    time = dataset["time"].dt
    return np.unique(time.hour).size > 1 and np.unique(time.day).size == 1


def of_period(dataset: xr.Dataset, file: str, period: Period | None) -> xr.Dataset:
    """
    Return the years of a dataset inside a period.

    Parameters
    ----------
    dataset : Dataset, along ``time``, or along ``month`` or neither, which pass unchanged
    file : str
        For messages.
    period : tuple of two ints or None
        First and last year, both included.

    Returns
    -------
    Dataset

    Raises
    ------
    InputError
        If no year is left, a month of the year never occurs, or the steps are not months.
    """
    if "time" not in dataset.dims:
        return dataset
    years = dataset["time"].dt.year.values
    if period is not None:
        chosen = (years >= period[0]) & (years <= period[1])
        if not chosen.any():
            expected = f"years within {period[0]}-{period[1]}"
            got = f"{years.min()}-{years.max()}"
            raise InputError([Problem(file, "time", expected, got, "Choose another period.")])
        dataset = dataset.isel(time=np.flatnonzero(chosen))
    time = dataset["time"].dt
    absent = sorted(set(range(1, 13)) - set(time.month.values.tolist()))
    if absent:
        got = f"no month {', '.join(map(str, absent))}"
        raise InputError([Problem(file, "time", "all twelve months", got, "Add what is missing.")])
    labels = time.year.values * 12 + time.month.values
    steps = np.unique(labels, return_counts=True)[1].max()
    if steps > 1 and not has_hours(dataset):
        got = f"up to {steps} values a month"
        mend = "Average (rain: add up) the steps of each month first."
        raise InputError([Problem(file, "time", "one value a month", got, mend)])
    return dataset


def monthly_mean(series: xr.DataArray) -> xr.DataArray:
    """
    Return the mean of each month of the year over all years, and hours if there are any.

    Parameters
    ----------
    series : DataArray, along ``time``, or without it, which passes unchanged

    Returns
    -------
    DataArray, along ``month``
    """
    if "time" not in series.dims:
        return series
    return series.groupby("time.month").mean("time", keep_attrs=True)


def yearly_spread(series: xr.DataArray) -> xr.DataArray | None:
    """
    Return the standard deviation of each month of the year from year to year.

    Parameters
    ----------
    series : DataArray, along ``time``
        One value a month.

    Returns
    -------
    DataArray, along ``month``, or None with fewer than `FEWEST_YEARS` years
    """
    if "time" not in series.dims or np.unique(series["time"].dt.year).size < FEWEST_YEARS:
        return None
    return series.groupby("time.month").std("time", ddof=1)


def day_course(series: xr.DataArray) -> xr.DataArray:
    """
    Return the mean course of the day of each month, in true solar time.

    Parameters
    ----------
    series : DataArray, along ``time``
        Hours of the day (UTC) of each month, with ``longitude``.

    Returns
    -------
    DataArray, along ``month`` and ``solar_hour`` (0 to 23)
        Linear between the hours given, round the clock.
    """
    hours = series["time"].dt.hour.values
    distinct = np.unique(hours)
    courses = [monthly_mean(series.isel(time=np.flatnonzero(hours == hour))) for hour in distinct]
    course = xr.concat(courses, dim="hour").assign_coords(hour=distinct)
    if course.chunks is not None:
        course = course.chunk(hour=-1)
    weights = _solar_weights(distinct, course["longitude"]).astype(course.dtype)
    return xr.dot(course, weights, dim="hour")


def _solar_weights(hours: np.ndarray, longitude: xr.DataArray) -> xr.DataArray:
    """Return the weight of each hour given in each hour of solar time, by longitude.

    The equation of time, at most a quarter of an hour, is left out.
    """
    universal = (HOURS - longitude.values[:, np.newaxis] / 15) % 24
    after = np.searchsorted(hours, universal, "right")
    before = after - 1
    gap = (hours[after % hours.size] - hours[before]) % 24
    gap = np.where(gap == 0, 24, gap)
    part = ((universal - hours[before]) % 24) / gap
    weights = np.zeros((*universal.shape, hours.size))
    rows, columns = np.indices(universal.shape)
    np.add.at(weights, (rows, columns, before % hours.size), 1 - part)
    np.add.at(weights, (rows, columns, after % hours.size), part)
    coordinates = {"longitude": longitude.values, SOLAR_HOUR: HOURS, "hour": hours}
    return xr.DataArray(weights, coordinates, ["longitude", SOLAR_HOUR, "hour"])
