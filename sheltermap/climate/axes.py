"""Axes of published datasets: any spelling, order and range into ours.

In: a dataset as opened. Out: latitude and longitude ascending, longitudes within
-180..180, and time as ``month`` numbers or as ``time`` with dates; only the box asked for.
Assumes a grid of latitudes and longitudes, not of a projection.
"""

from __future__ import annotations

import re

import numpy as np
import pandas as pd
import xarray as xr

from sheltermap.climate import grid
from sheltermap.files import shown
from sheltermap.vocabulary import Box, InputError, Problem

_SPELLINGS = {
    "latitude": ("latitude", "lat", "y", "nav_lat", "rlat"),
    "longitude": ("longitude", "lon", "long", "x", "nav_lon", "rlon"),
    "time": ("time", "valid_time", "month", "climatology", "date", "t"),
}
_CF_UNITS = {"latitude": "degrees_north", "longitude": "degrees_east"}
_MONTHS, _MONTH_DAYS, _SHORT_OF_A_MONTH = 12, 365.2425 / 12, 0.07
_COORDINATE_DECIMALS = 6  # a tenth of a metre: the same grid written twice stays one grid.


def standard_axes(dataset: xr.Dataset, file: str, box: Box | None) -> xr.Dataset:
    """
    Return a dataset on our axes.

    Parameters
    ----------
    dataset : Dataset
        As opened, times decoded where they could be.
    file : str
        Where it came from, for messages.
    box : tuple of four floats or None
        West, south, east, north; one more cell on each side is kept. [degrees]

    Returns
    -------
    Dataset
        With ``latitude``, ``longitude`` and, if it has one, ``month`` or ``time``.

    Raises
    ------
    InputError
        If there is no latitude-longitude grid, no readable time, or nothing in the box.
    """
    dataset = _one_version(dataset)
    dataset = _renamed(dataset, file)
    dataset = _months_or_dates(dataset, file)
    known = {"latitude", "longitude", "time", "month"}
    # Heights, bands and members of length one say nothing; longer ones cannot be chosen for
    # the user.
    dataset = dataset.squeeze(
        [name for name in dataset.dims if dataset.sizes[name] == 1 and name not in known]
    )
    extra = [
        str(name) for name in dataset.dims if name not in known | {"bnds", "nv", "bounds", "hour"}
    ]
    gridded = [
        name
        for name, array in dataset.data_vars.items()
        if {"latitude", "longitude"} <= set(array.dims)
    ]
    if extra and any(set(extra) & set(dataset[name].dims) for name in gridded):
        mend = "Select one value along it."
        raise InputError([Problem(file, extra[0], "no such dimension", "several values", mend)])
    dataset = dataset[gridded]
    dataset = dataset.drop_vars([name for name in dataset.coords if name not in (*known, "hour")])
    return _on_ascending_grid(dataset, file, box)


def _one_version(dataset: xr.Dataset) -> xr.Dataset:
    """Return ERA5 with its final and preliminary versions in one, the final first."""
    if "expver" in dataset.dims:
        versions = [dataset.isel(expver=place) for place in range(dataset.sizes["expver"])]
        dataset = versions[0].drop_vars("expver", errors="ignore")
        for version in versions[1:]:
            dataset = dataset.fillna(version.drop_vars("expver", errors="ignore"))
    return dataset


def _found_axis(dataset: xr.Dataset, axis: str) -> str | None:
    """Return what a dataset calls an axis of ours, a dimension before a mere coordinate."""
    by_name = [
        str(name)
        for name in (*dataset.dims, *dataset.coords)
        if str(name).lower() in _SPELLINGS[axis]
        or (axis in _CF_UNITS and dataset[name].attrs.get("units") == _CF_UNITS[axis])
    ]
    return next(iter(by_name), None)


def _renamed(dataset: xr.Dataset, file: str) -> xr.Dataset:
    """Return a dataset with our names for its axes."""
    names = {}
    for axis in _SPELLINGS:
        found = _found_axis(dataset, axis)
        if found is not None:
            names[found] = axis
        elif axis != "time":
            got = ", ".join(map(str, dataset.dims)) or "no dimension"
            mend = f"Add a dimension '{axis}' with its coordinate."
            raise InputError([Problem(file, axis, f"a {axis} axis", got, mend)])
    # A variable that has the name without being the axis would be in its way.
    taken = [axis for axis in names.values() if axis in dataset.variables and axis not in names]
    dataset = dataset.drop_vars(taken)
    dataset = dataset.rename({name: axis for name, axis in names.items() if name != axis})
    for axis in ("latitude", "longitude"):
        if axis not in dataset.coords or dataset[axis].ndim != 1:
            mend = "Regrid it to latitudes and longitudes first."
            raise InputError(
                [Problem(file, axis, "one value a row or column", "a curved grid", mend)]
            )
    return dataset


def _months_or_dates(dataset: xr.Dataset, file: str) -> xr.Dataset:
    """Return a dataset along ``month`` where its time is plain months, else along ``time``."""
    if "time" not in dataset.dims:
        return dataset.drop_vars("time", errors="ignore")
    if "time" not in dataset.coords:
        return _numbered(dataset, np.arange(1, dataset.sizes["time"] + 1), file)
    time = dataset["time"]
    units = str(time.attrs.get("units", ""))
    first = next(iter(time.to_numpy().flat), None)
    if np.issubdtype(time.dtype, np.datetime64) or hasattr(first, "year"):
        return dataset
    if time.dtype.kind not in "iuf":
        expected, mend = "dates, or months 1 to 12", "Write numbers with time units."
        got = shown(str(first))
        raise InputError([Problem(file, "time", expected, got, mend)])
    since = re.match(r"months? since (\d{1,4})-(\d{1,2})", units)
    if since:
        start = int(since[1]) * 12 + int(since[2]) - 1
        counts = start + np.floor(np.asarray(time, float)).astype(int)
        dates = [f"{count // 12:04d}-{count % 12 + 1:02d}-01" for count in counts]
        return dataset.assign_coords(time=pd.to_datetime(dates))
    months = _steps_of_a_year(time.values, units)
    if months is not None:
        return _noted(_numbered(dataset, months, file), units)
    return _numbered(dataset, time.values, file)


def _steps_of_a_year(values: np.ndarray, units: str) -> np.ndarray | None:
    """Return the months of twelve steps that go once through a year; None where they don't.

    Climatologies count hours or days from the year 0, which no calendar of dates has.
    """
    since = re.match(r"(hour|day)s? since (\d{1,4})-(\d{1,2})(?:-(\d{1,2}))?", units)
    if since is None or values.size != _MONTHS:
        return None
    days = np.asarray(values, float) / (24 if since[1] == "hour" else 1) + int(since[4] or 1) - 1
    # Stamped at the first of the month or later in it; the year's twelfths are not months'
    # lengths, so a first of the month may fall short by up to two days.
    step = np.floor(days / _MONTH_DAYS + _SHORT_OF_A_MONTH).astype(int)
    months = (int(since[3]) - 1 + step) % _MONTHS + 1
    return months if np.unique(months).size == _MONTHS else None


def _noted(dataset: xr.Dataset, units: str) -> xr.Dataset:
    """Return a dataset that says how its steps were read."""
    months = dataset["month"].to_numpy()
    note = f"the time steps ('{units}') were read as months {months[0]} to {months[-1]}"
    return dataset.assign_attrs(note=note)


def _numbered(dataset: xr.Dataset, values: np.ndarray, file: str) -> xr.Dataset:
    """Return a dataset along ``month`` if its times are month numbers."""
    numbers = np.asarray(values, float)
    if not (np.isin(numbers, np.arange(1, 13)).all() and np.unique(numbers).size == numbers.size):
        got = f"{numbers.size} numbers from {numbers.min():g} to {numbers.max():g} without dates"
        mend = "Write time units such as 'days since 1900-01-01'."
        raise InputError([Problem(file, "time", "dates, or months 1 to 12", got, mend)])
    return dataset.rename(time="month").assign_coords(month=numbers.astype(int)).sortby("month")


def _on_ascending_grid(dataset: xr.Dataset, file: str, box: Box | None) -> xr.Dataset:
    """Return a dataset with ascending axes inside a box, read lazily where it was lazy."""
    latitude = np.round(np.asarray(dataset["latitude"], float), _COORDINATE_DECIMALS)
    longitude = np.round(np.asarray(dataset["longitude"], float), _COORDINATE_DECIMALS)
    if not (latitude.size and longitude.size):
        got = f"{latitude.size} by {longitude.size}"
        mend = "The file holds no grid: export it again."
        raise InputError(
            [Problem(file, "latitude, longitude", "at least one row and column", got, mend)]
        )
    if not (np.isfinite(latitude).all() and np.isfinite(longitude).all()):
        raise InputError([Problem(file, "latitude", "numbers", "missing ones", "Mend the axes.")])
    around = longitude.min() >= -360 and longitude.max() <= 720 and np.ptp(longitude) <= 360
    if np.abs(latitude).max() > 90 or not around:
        expected = "latitudes -90 to 90 and longitudes once round, as -180 to 180 or 0 to 360"
        got = (
            f"{latitude.min():g} to {latitude.max():g} and "
            f"{longitude.min():g} to {longitude.max():g}"
        )
        mend = "Give degrees; a projected grid (metres) must be regridded first."
        raise InputError([Problem(file, "latitude, longitude", expected, got, mend)])
    turns = np.maximum(np.ceil((longitude - 180) / 360), 0) - (longitude < -180)
    wrapped = np.round(longitude - 360 * turns, _COORDINATE_DECIMALS)
    rows, columns = _order(latitude), _order(wrapped)
    dataset = dataset.assign_coords(latitude=latitude, longitude=wrapped)
    if box is not None:
        empty = xr.Dataset(
            coords={"latitude": latitude[rows], "longitude": wrapped[columns]},
            attrs={"title": file},
        )
        places = empty.assign_coords(row=("latitude", rows), column=("longitude", columns))
        places = grid.box(places, *box)
        rows, columns = np.asarray(places["row"]), np.asarray(places["column"])
    return dataset.isel(latitude=_slice(rows)).isel(longitude=_slice(columns))


def _order(values: np.ndarray) -> np.ndarray:
    """Return the places of distinct values, ascending."""
    return np.unique(values, return_index=True)[1]


def _slice(places: np.ndarray) -> slice | np.ndarray:
    """Return a slice where places are evenly spaced by one: files read slices fastest."""
    steps = np.diff(places)
    if places.size > 1 and (steps == steps[0]).all() and abs(steps[0]) == 1:
        stop = int(places[-1]) + int(steps[0])
        return slice(int(places[0]), stop if stop >= 0 else None, int(steps[0]))
    return places
