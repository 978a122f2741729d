"""The climatology contract: what every source must become before anything uses it.

In: a dataset on month x latitude x longitude. Out: the same, checked, or one error that
lists everything wrong with it. Assumes long-term monthly means on a regular or irregular grid
of centres.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
import xarray as xr

from sheltermap.vocabulary import DAYS_IN_MONTH, VARIABLES, InputError, Problem

DIMENSIONS = ("month", "latitude", "longitude")

UNCHANGING = ("elevation", "land_fraction")
"""Variables of the contract that have no month."""

ERRORS = {
    "air_temperature_min_error": ("K", "standard error of the mean daily minimum"),
    "air_temperature_max_error": ("K", "standard error of the mean daily maximum"),
    "dewpoint_error": ("K", "standard error of the dewpoint of the vapour pressure"),
    "rainfall_error": ("mm", "standard error of the precipitation sum of the month"),
}
"""Errors by cell and month: name, then units and what it is. One that is absent leaves the
word to the attribute ``uncertainty`` of its variable (`error.stated_error`)."""

EXTRAS = {
    **ERRORS,
    "yearly_spread": ("K", "standard deviation of the monthly temperature from year to year"),
    "hourly_share": ("1", "share of the daily range above the minimum, by true solar hour"),
}
"""Variables a source may add to the contract: name, then units and what it is."""

_COORDINATES = {
    "month": {"long_name": "month of the year", "units": "1"},
    "latitude": {"standard_name": "latitude", "units": "degrees_north", "axis": "Y"},
    "longitude": {"standard_name": "longitude", "units": "degrees_east", "axis": "X"},
}

# What numbers look like when they stand in another unit than they should:
# variable, test on (lowest, highest) of all values, in words.
_DISGUISES = (
    ("temperature", lambda low, high: low > 150, "kelvin; subtract 273.15"),
    ("temperature", lambda low, high: high > 60 and high <= 140, "degrees Fahrenheit"),
    ("temperature", lambda low, high: high > 140, "tenths of a degree; multiply by 0.1"),
    ("temperature", lambda low, high: low < -140, "tenths of a degree; multiply by 0.1"),
    ("temperature", lambda low, high: low < -80, "a fill value taken for a number"),
    ("rainfall", lambda low, high: 0 < high < 2e-3, "kg m-2 s-1, or metres per hour"),
    ("rainfall", lambda low, high: 0 < high < 0.05, "metres per day, not mm a month"),
    ("rainfall", lambda low, high: low < -1, "a fill value taken for a number"),
    ("rainfall", lambda low, high: high > 5000, "tenths of mm, or yearly sums"),
    ("vapour_pressure", lambda low, high: 6 < high <= 80, "hPa; multiply by 0.1"),
    ("vapour_pressure", lambda low, high: high > 80, "Pa; multiply by 0.001"),
    ("wet_days", lambda low, high: 31 < high <= 100, "percent of days"),
    ("wet_days", lambda low, high: high > 100, "hundredths of days; multiply by 0.01"),
    ("elevation", lambda low, high: high > 9000, "feet or decimetres"),
    ("elevation", lambda low, high: low < -500, "depths of the sea or a fill value"),
    ("wind_speed", lambda low, high: high > 60, "tenths of m/s"),
    ("night_low_spread", lambda low, high: high > 20, "a range of days, not their deviation"),
    ("land_fraction", lambda low, high: high > 1, "percent; multiply by 0.01"),
)


def check(dataset: xr.Dataset, file: str = "climatology") -> xr.Dataset:
    """
    Return a dataset that keeps the contract.

    Parameters
    ----------
    dataset : Dataset
        With the contract's names; any order of dimensions; unknown variables are dropped.
    file : str
        Where it came from, for messages.

    Returns
    -------
    Dataset, month x latitude x longitude
        The contract's variables with their CF attributes. Attributes that mark an estimate
        are kept.

    Raises
    ------
    InputError
        With every problem found: missing variables or months, coordinates out of order or
        range, wrong units, and numbers that look like another unit.
    """
    problems = _structure_problems(dataset, file)
    if problems:
        raise InputError(problems)
    kept = dataset[[name for name in (*VARIABLES, *EXTRAS) if name in dataset]].transpose(
        *DIMENSIONS, ..., missing_dims="ignore"
    )
    problems = unit_problems(kept, file) + _value_problems(kept, file)
    if problems:
        raise InputError(problems)
    return described(kept)


def described(dataset: xr.Dataset) -> xr.Dataset:
    """
    Return a dataset with the contract's attributes on its variables and coordinates.

    Parameters
    ----------
    dataset : Dataset
        With the contract's names and units.

    Returns
    -------
    Dataset
        Attributes ``estimated`` and ``uncertainty`` are kept, others replaced.
    """
    result = dataset.copy()
    for name, attributes in _COORDINATES.items():
        if name in result.coords:
            result[name] = result[name].assign_attrs(attributes)
    for name, variable in VARIABLES.items():
        if name not in result:
            continue
        former = result[name].attrs
        result[name].attrs = {
            "long_name": variable.long_name,
            "units": variable.units,
            **({"standard_name": variable.standard_name} if variable.standard_name else {}),
            **({"cell_methods": variable.cell_methods} if variable.cell_methods else {}),
            **{key: former[key] for key in ("estimated", "uncertainty") if key in former},
        }
    for name, (units, long_name) in EXTRAS.items():
        if name in result:
            result[name].attrs = {"long_name": long_name, "units": units}
    return result


def unit_problems(dataset: xr.Dataset, file: str, stated: bool = False) -> list[Problem]:
    """
    Return the variables whose declared units are not the contract's.

    Parameters
    ----------
    dataset : Dataset
        With the contract's names; unknown variables are passed over.
    file : str
        Where it came from, for messages.
    stated : bool
        Whether a variable that declares no units is a problem too: of a file from outside
        nobody knows that its numbers are not hPa or kelvin.

    Returns
    -------
    list of Problem
        One for each such variable, in the contract's order.
    """
    problems = []
    expected = {name: variable.units for name, variable in VARIABLES.items()}
    for name, units in (expected | {name: units for name, (units, _) in EXTRAS.items()}).items():
        got = dataset[name].attrs.get("units") if name in dataset else units
        if got is None and stated:
            mend = f"Make sure that its values are in {units}, then write the attribute."
            problems.append(Problem(file, f"{name}.units", repr(units), "none", mend))
        elif got is not None and got != units:
            mend = "Convert the values and correct the attribute."
            problems.append(Problem(file, f"{name}.units", repr(units), repr(got), mend))
    return problems


def _structure_problems(dataset: xr.Dataset, file: str) -> list[Problem]:
    """Return what is wrong with names and coordinates."""
    problems = []
    for name, variable in VARIABLES.items():
        if variable.required and name not in dataset:
            mend = f"Add the {variable.long_name}."
            problems.append(Problem(file, name, "this variable", "none", mend))
    problems += _shape_problems(dataset, file)
    for name in DIMENSIONS:
        if name not in dataset.dims or name not in dataset.coords:
            got = ", ".join(map(str, dataset.sizes)) or "none"
            mend = f"Add a dimension {name} with its coordinate."
            problems.append(Problem(file, name, "this dimension", got, mend))
    if "month" in dataset.coords and dataset["month"].ndim == 1:
        problems += _month_problems(dataset["month"].values.tolist(), file)
    for name, limit in (("latitude", 90.0), ("longitude", 180.0)):
        if name in dataset.coords and dataset[name].ndim == 1:
            problems += _axis_problems(dataset[name].values, name, limit, file)
    return problems


def _month_problems(months: list, file: str) -> list[Problem]:
    """Return whether months are missing or out of order."""
    if months == list(range(1, 13)):
        return []
    absent = [month for month in range(1, 13) if month not in months]
    mend = f"Month {_listed(absent)} is missing." if absent else "Sort the months."
    return [Problem(file, "month", "1 to 12 in order", _listed(months), mend)]


def _shape_problems(dataset: xr.Dataset, file: str) -> list[Problem]:
    """Return the variables that lie along other dimensions than the contract says."""
    problems = []
    for name in VARIABLES.keys() & dataset.data_vars.keys():
        expected = DIMENSIONS[1:] if name in UNCHANGING else DIMENSIONS
        got = dataset[name].dims
        if set(got) - set(expected):
            mend = "Select one value along the others."
            by = ", ".join(map(str, got))
            problems.append(Problem(file, name, f"values by {', '.join(expected)}", by, mend))
    return sorted(problems, key=lambda problem: problem.key)


def _axis_problems(values: np.ndarray, name: str, limit: float, file: str) -> list[Problem]:
    """Return what is wrong with one horizontal coordinate."""
    problems = []
    if values.size == 0:
        return [Problem(file, name, "at least one value", "none", "Choose another box.")]
    low, high = float(np.min(values)), float(np.max(values))
    if not (np.isfinite(values).all() and low >= -limit - 1e-6 and high <= limit + 1e-6):
        mend = "Shift longitudes above 180 by -360 and sort." if high > 180 else "Mend the axis."
        got = f"{low:g} to {high:g}"
        problems.append(Problem(file, name, f"{-limit:g} to {limit:g}", got, mend))
    elif not (np.diff(values) > 0).all():
        got = f"{values[0]:g}, {values[min(1, values.size - 1)]:g}, ..."
        problems.append(Problem(file, name, "ascending values", got, f"Sort along {name}."))
    return problems


def _value_problems(dataset: xr.Dataset, file: str) -> list[Problem]:
    """Return the variables whose values no weather explains, and what they look like."""
    dataset = dataset.drop_vars(list(EXTRAS), errors="ignore")
    # Filled, since a chunk at sea has no least value: numpy warns, and dask hushes that in a
    # way that its threads undo for each other.
    statistics = xr.Dataset(
        {f"{name}.low": array.fillna(np.inf).min() for name, array in dataset.items()}
        | {f"{name}.high": array.fillna(-np.inf).max() for name, array in dataset.items()}
    )
    statistics["disorder"] = _disorder(dataset)
    statistics["overfull"] = _overfull(dataset)
    statistics = statistics.compute()
    problems: list[Problem] = []
    for name in map(str, dataset):
        low, high = float(statistics[f"{name}.low"]), float(statistics[f"{name}.high"])
        problems += _range_problems(name, low, high, file)
    if not problems and float(statistics["disorder"]) > 0:
        mend = "Check which variable is which."
        got = f"{int(statistics['disorder'])} cell-months out of order"
        key = "air_temperature_min"
        problems.append(Problem(file, key, "minimum <= mean <= maximum", got, mend))
    if not problems and float(statistics["overfull"]) > 0:
        got = f"{int(statistics['overfull'])} cell-months with more"
        mend = "Wet days are days of at least 1 mm in that month."
        problems.append(Problem(file, "wet_days", "at most the days of the month", got, mend))
    return problems


def _range_problems(name: str, low: float, high: float, file: str) -> Iterator[Problem]:
    """Yield what is wrong with the range of a variable's values; none is an empty one."""
    variable = VARIABLES[name]
    if low > high:
        if variable.required:
            mend = "Choose another box or source."
            yield Problem(file, name, "some valid value", "none", mend)
        return
    disguise = next(
        (words for key, test, words in _DISGUISES if key in name and test(low, high)), None
    )
    if disguise or low < variable.lowest or high > variable.highest:
        expected = f"{variable.lowest:g} to {variable.highest:g} {variable.units}"
        words = f"The numbers look like {disguise}." if disguise else "Check units and fills."
        yield Problem(file, name, expected, f"{low:.4g} to {high:.4g}", words)


def _disorder(dataset: xr.Dataset) -> xr.DataArray:
    """Return how many cell-months have a mean outside their extremes, rounding aside."""
    mean, count = dataset["air_temperature"], xr.DataArray(0)
    if "air_temperature_min" in dataset:
        count = count + (dataset["air_temperature_min"] > mean + 0.2).sum()
    if "air_temperature_max" in dataset:
        count = count + (dataset["air_temperature_max"] < mean - 0.2).sum()
    return count


def _overfull(dataset: xr.Dataset) -> xr.DataArray:
    """Return how many cell-months have more wet days than days, leap days aside."""
    if "wet_days" not in dataset:
        return xr.DataArray(0)
    lengths = xr.DataArray(np.asarray(DAYS_IN_MONTH) + 0.5, dims="month")
    return (dataset["wet_days"] > lengths).sum()


def _listed(values: Iterable[object]) -> str:
    return ", ".join(map(str, values))
