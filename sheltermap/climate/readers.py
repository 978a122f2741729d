"""Published datasets into the climatology contract, and its files in.

In: files people have, in the layouts of `recognise`. Out: a checked climatology, lazily
computed where dask is installed; an active ``dask.distributed`` client is used as dask
does by itself. Assumes all sources stand on one grid.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import xarray as xr

from sheltermap.climate import contract, grid
from sheltermap.climate.axes import standard_axes
from sheltermap.climate.completion import completed, extremes_of_course, strangeness
from sheltermap.climate.estimate import ESTIMATES, night_low_spread
from sheltermap.climate.formats import Opened, damaged, opened
from sheltermap.climate.recognise import recognised
from sheltermap.climate.reduction import (
    SOLAR_HOUR,
    Period,
    day_course,
    has_hours,
    monthly_mean,
    of_period,
    yearly_spread,
)
from sheltermap.gathered import Gathered
from sheltermap.vocabulary import VARIABLES, Box, InputError, Problem

CHUNK = 250
"""Rows and columns worked on at once; with twelve months 3 MB a variable."""

SMALL = 32 * 2**20
"""Size up to which a source is read at once: planning blocks would take longer. [bytes]"""


def import_sources(
    sources: Sequence[str | Path], box: Box | None = None, period: Period | None = None
) -> xr.Dataset:
    """
    Return the climatology that published files hold.

    Parameters
    ----------
    sources : sequence of str or path
        NetCDF files, Zarr stores or their addresses, GeoTIFF files, or folders of them.
    box : tuple of four floats, optional
        West, south, east, north. [degrees]
    period : tuple of two ints, optional
        First and last year of series; by default all they hold.

    Returns
    -------
    Dataset, month x latitude x longitude
        Keeps the contract. What the sources lack is estimated and marked; how steps without
        dates were read stands in the attribute ``comment``.

    Raises
    ------
    InputError
        With every problem of every source that can be told at once.
    """
    gather, read = Gathered(), _Read()
    for source in opened(sources):
        gather(read.add, source, box, period)
    if period is not None and not read.years and not gather.problems:
        expected, mend = "a series of years", "Leave the period out, or name the series."
        gather.problems.append(Problem("", "--period", expected, "values of no year", mend))
    if gather.problems:
        raise InputError(gather.problems)
    label = _few([Path(str(source)).name or str(source) for source in sources])
    try:
        climatology = contract.check(completed(_combined(read.pieces)), label)
        found = strangeness(climatology, label)
    except (OSError, RuntimeError) as error:
        raise InputError([damaged(label, error)]) from None
    if found:
        raise InputError(found)
    climatology.attrs = read.attributes(label)
    return climatology


def open_climatology(path: str | Path, box: Box | None = None) -> xr.Dataset:
    """
    Return a climatology that `writer.write_climatology` wrote, lazily where dask is installed.

    Parameters
    ----------
    path : str or path
        NetCDF file or Zarr store.
    box : tuple of four floats, optional
        West, south, east, north; one more cell on each side is kept. [degrees]

    Returns
    -------
    Dataset, month x latitude x longitude

    Raises
    ------
    InputError
        If it cannot be read, does not keep the contract, or leaves a unit unsaid.
    """
    dataset, *others = opened([path])
    if others:
        mend = "Import a folder of sources first."
        raise InputError([Problem(str(path), "", "one climatology", "several files", mend)])
    problems = _foreign(dataset.dataset, dataset.label)
    if problems:
        raise InputError(problems)
    attributes = dataset.dataset.attrs
    part = dataset.dataset if box is None else grid.box(dataset.dataset, *box)
    try:
        checked = contract.check(_readable(part, dataset.label), dataset.label)
        return checked.assign_attrs(attributes)
    except (OSError, RuntimeError) as error:
        raise InputError([damaged(dataset.label, error)]) from None


@dataclass
class _Piece:
    """A part of one quantity, as one source holds it."""

    source: str
    array: xr.DataArray
    by_hour: bool


@dataclass
class _Read:
    """What was found in the sources read so far."""

    pieces: defaultdict[str, list[_Piece]] = field(default_factory=lambda: defaultdict(list))
    years: set[int] = field(default_factory=set)
    notes: list[str] = field(default_factory=list)

    def add(self, source: Opened, box: Box | None, period: Period | None) -> None:
        """Add a source; raises InputError for what cannot be read in it."""
        dataset = standard_axes(source.dataset, source.label, box)
        dataset = _readable(of_period(dataset, source.label, period), source.label)
        by_hour = has_hours(dataset)
        quantities, problems = recognised(dataset, source.label, by_hour)
        if problems:
            raise InputError(problems)
        if "note" in dataset.attrs:
            self.notes.append(f"{Path(source.label).name}: {dataset.attrs['note']}")
        if "time" in dataset.dims:
            self.years |= set(np.unique(dataset["time"].dt.year).tolist())
        for name, array in quantities.items():
            if source.month is not None:
                array = array.expand_dims(month=[source.month])
            self.pieces[name].append(_Piece(source.label, array, by_hour))

    def attributes(self, label: str) -> dict[str, str]:
        """Return what a climatology of these sources says of itself."""
        # Normals carry the dates of one year that stands for all.
        series = len(self.years) > 1
        return {
            "Conventions": "CF-1.11",
            "title": f"Climatology imported from {label}",
            "source": label,
            "period": f"{min(self.years)}-{max(self.years)}" if series else "as published",
            "licence": "as the source's publisher states it",
            **({"comment": "; ".join(self.notes)} if self.notes else {}),
        }


def _few(names: Sequence[str]) -> str:
    """Return the first names in words, and how many more there are."""
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return ", ".join(names[:3]) + more


def _foreign(dataset: xr.Dataset, label: str) -> list[Problem]:
    """Return what is not as `writer` writes it: axes, numbers, units stated."""
    mend = "Import it with `sheltermap climate import` first."
    problems = [
        Problem(label, axis, "a dimension of numbers", "something else", mend)
        for axis, kinds in zip(contract.DIMENSIONS, ("iu", "iuf", "iuf"), strict=True)
        if axis not in dataset.dims or dataset[axis].dtype.kind not in kinds
    ]
    for name in VARIABLES.keys() & dataset.data_vars.keys():
        array = dataset[name]
        beyond = [str(axis) for axis in array.dims if axis not in contract.DIMENSIONS]
        if array.dtype.kind not in "iuf" or beyond:
            got = f"{array.dtype} along {', '.join(beyond)}" if beyond else str(array.dtype)
            expected = "numbers by month, latitude and longitude"
            problems.append(Problem(label, name, expected, got, mend))
    problems += contract.unit_problems(dataset, label, stated=True)
    return sorted(problems, key=lambda problem: problem.key)


def _combined(pieces: Mapping[str, Sequence[_Piece]]) -> dict[str, xr.DataArray]:
    """Return one climatological array of each quantity, all on one grid."""
    gather, quantities = Gathered(), dict[str, xr.DataArray]()
    for name, parts in pieces.items():
        array = gather(_joined, name, parts)
        if array is None:
            continue
        if name == "air_temperature" and any(part.by_hour for part in parts):
            quantities |= _measured_course(array)
            continue
        if name == "air_temperature" and (spread := yearly_spread(array)) is not None:
            quantities["yearly_spread"] = spread
        quantities[name] = monthly_mean(array)
    gather.problems += _grid_problems(quantities, pieces)
    if gather.problems:
        raise InputError(gather.problems)
    return {
        name: array.chunk(month=-1) if array.chunks and "month" in array.dims else array
        for name, array in quantities.items()
    }


def _joined(name: str, parts: Sequence[_Piece]) -> xr.DataArray:
    """Return one quantity from all files that hold a part of it."""
    labels = _few([Path(part.source).name for part in parts])
    arrays = [part.array for part in parts]
    axis = next((axis for axis in ("time", "month") if axis in arrays[0].dims), None)
    if len(arrays) > 1 and axis is None:
        mend = "Keep one of them."
        raise InputError([Problem(labels, name, "one source", f"{len(arrays)}", mend)])
    try:
        array = arrays[0] if len(arrays) == 1 else xr.concat(arrays, axis, join="exact")
    except ValueError:
        mend = "Give files of one grid and one kind."
        raise InputError([Problem(labels, name, "one grid", "several", mend)]) from None
    return array if axis is None else _in_order(array, axis, name, labels)


def _in_order(array: xr.DataArray, axis: str, name: str, labels: str) -> xr.DataArray:
    """Return a joined quantity by month or time; raises where steps lack or come twice."""
    array = array.sortby(axis)
    repeated = array[axis].to_index().duplicated()
    if repeated.any():
        got = f"{array[axis].values[repeated][0]} twice"
        mend = "Leave out one of the files."
        raise InputError([Problem(labels, name, f"each {axis} once", got, mend)])
    if axis == "month" and array.sizes["month"] < 12:
        absent = sorted(set(range(1, 13)) - set(array["month"].values.tolist()))
        got = f"no month {', '.join(map(str, absent))}"
        mend = "Add the files that are missing."
        raise InputError([Problem(labels, name, "all twelve months", got, mend)])
    return array


def _measured_course(series: xr.DataArray) -> dict[str, xr.DataArray]:
    """Return mean, extremes, spread and course of the day from hours by month."""
    course = day_course(series)
    mean = course.mean(SOLAR_HOUR)
    amplitude = course.max(SOLAR_HOUR) - course.min(SOLAR_HOUR)
    spread = night_low_spread(mean)
    low, high = extremes_of_course(mean, amplitude, spread)
    return {
        "air_temperature": mean,
        "air_temperature_min": low,
        "air_temperature_max": high,
        "night_low_spread": spread.assign_attrs(ESTIMATES["night_low_spread"].attributes),
        "hourly_share": (course - low) / (high - low),
    }


def _grid_problems(
    quantities: Mapping[str, xr.DataArray], pieces: Mapping[str, Sequence[_Piece]]
) -> list[Problem]:
    """Return the quantities that stand on another grid than the first."""
    problems, first = [], None
    for name, array in quantities.items():
        axes = (array["latitude"].values, array["longitude"].values)
        if first is None:
            first = (name, axes)
        elif not all(map(np.array_equal, axes, first[1])):
            file = ", ".join(Path(part.source).name for part in pieces.get(name, []))
            expected = f"the grid of {first[0]} ({first[1][0].size} x {first[1][1].size} cells)"
            got = f"{axes[0].size} x {axes[1].size} cells"
            mend = "Regrid one of them, or import them apart."
            problems.append(Problem(file, name, expected, got, mend))
    return problems


def _readable(dataset: xr.Dataset, label: str) -> xr.Dataset:
    """Return a dataset in memory if it is small, else lazy blocks of rows and columns.

    Raises InputError for a file that cannot be read: a small one is read now, of a large
    one the last value of each variable.
    """
    small = dataset.nbytes <= SMALL
    try:
        if small:
            return dataset.load()
        for array in dataset.values():
            array.isel(dict.fromkeys(array.dims, -1)).load()
    except Exception as error:  # Backends raise types of their own for damaged files.
        raise InputError([damaged(label, error)]) from None
    try:
        return dataset.chunk({"latitude": CHUNK, "longitude": CHUNK})
    except ImportError:
        # Without dask a large source is read at once.
        return dataset
