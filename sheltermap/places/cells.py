"""From a leg's extent to the climate cells that count, and to what holds across them.

In: a climatology and the extents of legs. Out: footprints (cells with weights), their
cells as a dataset, and weighted means, quantiles and grade shares over cells, which are the
last axis of an array.
Assumes a regular grid of nodes in ascending degrees whose cells reach half a step to
each side. Weights are the covered part of each cell times its area on the sphere, or
the length of the route in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
import scipy.sparse
import xarray as xr

from sheltermap.hazards.shapes import Extent, length_km
from sheltermap.places.grid import (
    Grid,
    area_weights,
    coverages,
    grid_of,
    line_weights,
)
from sheltermap.vocabulary import GRADE_FLOORS, VARIABLES, InputError, Problem

LEAST_ROUTE_KM = 1.0
"""Route inside a leg from which the cells along it count instead of its area. [km] judgement"""

LEAST_KNOWN_WEIGHT = 0.5
"""Weight of cells with a value below which a mean or quantile is missing. [1] judgement"""

_ROUNDING = 1e-9


@dataclass(frozen=True, eq=False)
class Footprint:
    """The climate cells that stand for a leg.

    Attributes
    ----------
    kind : str
        ``region``, ``place``, ``points`` or ``line``.
    latitude_index, longitude_index : numpy.ndarray of int, shape (cells,)
        Where the cells stand in the grid.
    latitude, longitude : numpy.ndarray, shape (cells,)
        Their nodes. [degrees]
    weight : numpy.ndarray, shape (cells,)
        Share of the leg that each cell stands for; sums to 1.
    dropped_share : float
        Share of the leg without climate data, at sea or beyond the grid. [0 to 1]
    grid_shape : tuple of int
        Latitudes and longitudes of the grid.
    """

    kind: str
    latitude_index: np.ndarray
    longitude_index: np.ndarray
    latitude: np.ndarray
    longitude: np.ndarray
    weight: np.ndarray
    dropped_share: float
    grid_shape: tuple[int, int]


@dataclass(frozen=True, eq=False)
class _Drawn:
    """An extent on the grid: weights of cells, and the share of it beyond the grid."""

    kind: str
    entries: scipy.sparse.coo_array
    outside: float


def footprints(
    climatology: xr.Dataset, extents: Sequence[Extent], file: str = "", keys: Sequence[str] = ()
) -> tuple[Footprint, ...]:
    """
    Return the footprints of several legs.

    Parameters
    ----------
    climatology : xarray.Dataset
        Dims month, latitude, longitude.
    extents : sequence of Extent
    file : str
        File that named the places, for messages.
    keys : sequence of str
        Where in the file each stands, for messages.

    Returns
    -------
    tuple of Footprint
        In the order of `extents`.

    Raises
    ------
    InputError
        With one Problem for each extent that no cell with climate data covers.
    ValueError
        If the grid is not regular and ascending.
    """
    grid = grid_of(climatology)
    drawn = _drawn(grid, extents)
    known = _known(climatology, [one.entries for one in drawn])
    found = tuple(_footprint(grid, known, one) for one in drawn)
    problems = [
        Problem(
            file,
            keys[number] if keys else "",
            "a place with climate data",
            f"none at {_place(extents[number])}",
            "Check that longitude and latitude aren't swapped, or import a climatology that "
            "covers it.",
        )
        for number, footprint in enumerate(found)
        if not footprint.weight.size
    ]
    if problems:
        raise InputError(problems)
    return found


def cells(climatology: xr.Dataset, found: Sequence[Footprint]) -> xr.Dataset:
    """
    Return the climate of footprints' cells, one after another.

    Parameters
    ----------
    climatology : xarray.Dataset
        The one the footprints were made with, or another on the same grid.
    found : sequence of Footprint

    Returns
    -------
    xarray.Dataset
        Dim ``cell`` in place of latitude and longitude, which become coordinates along
        it, with ``weight`` beside them.
    """
    shape = (climatology.sizes["latitude"], climatology.sizes["longitude"])
    for footprint in found:
        if shape != footprint.grid_shape:
            raise ValueError(
                f"climatology: expected a grid of {footprint.grid_shape}, got {shape}"
            )

    def along(name: str) -> xr.DataArray:
        joined = np.concatenate([getattr(footprint, name) for footprint in found])
        return xr.DataArray(joined, dims="cell")

    chosen = climatology.isel(latitude=along("latitude_index"), longitude=along("longitude_index"))
    return chosen.assign_coords(weight=along("weight").assign_attrs(units="1"))


def weighted_mean(values: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """
    Return the weighted mean over the last axis, which is that of the cells.

    Parameters
    ----------
    values : array, shape (..., cells)
    weight : array, shape (cells,)
        Share of the place in each cell.

    Returns
    -------
    array, shape (...)
        Missing where cells with a value hold less than half the weight.
    """
    known = np.isfinite(values) @ weight
    with np.errstate(invalid="ignore"):
        result = np.nan_to_num(values) @ weight / known
    return np.where(_enough(known, weight), result, np.nan)


def weighted_quantile(values: np.ndarray, weight: np.ndarray, share: float) -> np.ndarray:
    """
    Return the value that a share of the camps doesn't exceed, over the last axis.

    Parameters
    ----------
    values, weight
        As for `weighted_mean`.
    share : float
        [0 to 1]

    Returns
    -------
    array, shape (...)
        A value of one of the cells; missing as in `weighted_mean`.
    """
    cell = _quantile_position(values, weight, share)
    value = np.take_along_axis(values, np.maximum(cell, 0)[..., None], axis=-1)[..., 0]
    return np.where(cell >= 0, value, np.nan)


def grade_shares(sound_share: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """
    Return which share of the place has each grade of climate, over the last axis.

    Parameters
    ----------
    sound_share : array, shape (..., cells)
        Probability of a sound night. [0 to 1]
    weight : array, shape (cells,)

    Returns
    -------
    array, shape (..., 4)
        Sound, workable, rough, unfit; sums to 1, or all missing as in `weighted_mean`.
    """
    everything = np.isfinite(sound_share) @ weight
    reached = [(sound_share >= floor) @ weight for _, floor in GRADE_FLOORS]
    with np.errstate(invalid="ignore"):
        steps = np.diff(np.stack([*reached, everything], -1), prepend=0.0)
        result = steps / everything[..., np.newaxis]
    return np.where(_enough(everything, weight)[..., np.newaxis], result, np.nan)


def _quantile_position(values: np.ndarray, weight: np.ndarray, share: float) -> np.ndarray:
    """Return which cell holds a weighted quantile; -1 where it is missing."""
    order = np.argsort(values, axis=-1, kind="stable")  # Missing values come last.
    known = np.isfinite(np.take_along_axis(values, order, axis=-1))
    cumulated = np.cumsum(weight[order] * known, axis=-1)
    total = cumulated[..., -1:]
    rank = np.argmax(cumulated >= share * total - _ROUNDING, axis=-1)
    cell = np.take_along_axis(order, rank[..., None], axis=-1)[..., 0]
    return np.where(_enough(total[..., 0], weight), cell, -1)


def _enough(known: np.ndarray, weights: np.ndarray) -> np.ndarray:
    """Return where the weight of cells with a value suffices for a mean or quantile."""
    return known >= LEAST_KNOWN_WEIGHT * weights.sum() - _ROUNDING


def _known(climatology: xr.Dataset, grids: Sequence[scipy.sparse.coo_array]) -> np.ndarray:
    """Return which cells, of those that count, have all required variables in all months."""
    shape = grids[0].shape
    touched = np.zeros(shape, dtype=bool)
    for weights in grids:
        touched[weights.row, weights.col] = True
    row, column = np.nonzero(touched)
    there = {
        "latitude": xr.DataArray(row, dims="cell"),
        "longitude": xr.DataArray(column, dims="cell"),
    }
    known = np.zeros(shape, dtype=bool)
    known[row, column] = True
    for name in (name for name, variable in VARIABLES.items() if variable.required):
        known[row, column] &= climatology[name].isel(there).notnull().all("month").values
    return known


def _drawn(grid: Grid, extents: Sequence[Extent]) -> list[_Drawn]:
    """Return each extent on the grid, whether its cells have climate data or not."""
    # All parts of all extents at once: setting up the overlap costs more than one part.
    covered = iter(coverages(grid, [part for extent in extents for part in extent.parts]))
    drawn = []
    for extent in extents:
        of_parts = list(islice(covered, len(extent.parts)))
        if extent.line is not None and length_km(extent.line) >= LEAST_ROUTE_KM:
            weights, outside = line_weights(grid, extent.line)
            drawn.append(_Drawn("line", weights.tocoo(), outside))
        else:
            weights, outside = _mean_of_parts(grid, extent, of_parts)
            drawn.append(_Drawn(extent.kind, weights.tocoo(), outside))
    return drawn


def _mean_of_parts(
    grid: Grid, extent: Extent, covered: Sequence
) -> tuple[scipy.sparse.csr_array, float]:
    """Return the weights of an area's cells and the share outside the grid, parts alike."""
    each = [area_weights(grid, *one) for one in zip(covered, extent.parts, strict=True)]
    weights = sum((matrix for matrix, _ in each[1:]), each[0][0]) / len(each)
    return weights, sum(share for _, share in each) / len(each)


def _footprint(grid: Grid, known: np.ndarray, drawn: _Drawn) -> Footprint:
    """Return weights as a footprint, without the cells that lack climate data."""
    entries = drawn.entries
    kept = known[entries.row, entries.col] & (entries.data > 0)
    row, column, weight = entries.row[kept], entries.col[kept], entries.data[kept]
    total = weight.sum()
    return Footprint(
        kind=drawn.kind,
        latitude_index=row,
        longitude_index=column,
        latitude=grid.latitude[row],
        longitude=grid.longitude[column],
        weight=weight / total if weight.size else weight,
        dropped_share=float(np.clip(entries.data[~kept].sum() + drawn.outside, 0.0, 1.0)),
        grid_shape=known.shape,
    )


def _place(extent: Extent) -> str:
    """Return where an extent lies, for messages."""
    # A place is told as the user wrote it, not as the middle of the circle around it.
    point = extent.parts[0].representative_point()
    if extent.camps is not None:
        point = extent.camps.geoms[0]
    return f"latitude {point.y:.2f}, longitude {point.x:.2f}"
