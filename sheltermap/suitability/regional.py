"""From a leg's extent to the climate cells that count, and to what holds across them.

In: a climatology and the extents of legs. Out: footprints (cells with weights), their
cells as a dataset, and weighted means, quantiles and grade shares over the ``cell`` dim.
Assumes a regular grid of nodes in ascending degrees whose cells reach half a step to
each side. Weights are the covered part of each cell times its area on the sphere, or
the length of the route in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas
import numpy as np
import scipy.sparse
import shapely
import xarray as xr
from exactextract import exact_extract
from exactextract.raster import NumPyRasterSource
from pyproj import CRS

from sheltermap.hazards.shapes import EARTH_RADIUS_KM, Extent, area_km2, length_km
from sheltermap.suitability.lines import cell_lengths
from sheltermap.vocabulary import GRADE_FLOORS, VARIABLES, InputError, Problem

LEAST_ROUTE_KM = 1.0
"""Route inside a leg from which the cells along it count instead of its area. [km] judgement"""

LEAST_KNOWN_WEIGHT = 0.5
"""Weight of cells with a value below which a mean or quantile is missing. [1] judgement"""

_DEGREES = CRS.from_epsg(4326).to_wkt()
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


@dataclass(frozen=True)
class _Grid:
    """A regular grid, with a wrapped column on each side where it goes round the globe."""

    latitude: np.ndarray
    longitude: np.ndarray
    step_latitude: float
    step_longitude: float
    padding: int

    @property
    def west(self) -> float:
        return self.longitude[0] - (0.5 + self.padding) * self.step_longitude

    @property
    def east(self) -> float:
        return self.longitude[-1] + (0.5 + self.padding) * self.step_longitude

    @property
    def south(self) -> float:
        return self.latitude[0] - 0.5 * self.step_latitude

    @property
    def north(self) -> float:
        return self.latitude[-1] + 0.5 * self.step_latitude

    @property
    def columns(self) -> int:
        return self.longitude.size + 2 * self.padding

    @property
    def cell_shares(self) -> tuple[np.ndarray, np.ndarray]:
        """Return the area of a row's cells [sr] and the part of their height below the poles."""
        edges = self.latitude[:, None] + np.array([-0.5, 0.5]) * self.step_latitude
        clipped = np.clip(edges, -90.0, 90.0)
        area = np.radians(self.step_longitude) * np.diff(np.sin(np.radians(clipped)))[:, 0]
        return area, np.diff(clipped)[:, 0] / self.step_latitude


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
    grid = _grid(climatology)
    known = _known(climatology)
    parts = [(number, part) for number, extent in enumerate(extents) for part in extent.parts]
    coverages = _coverages(grid, [part for _, part in parts])
    result, problems = [], []
    for number, extent in enumerate(extents):
        if extent.line is not None and length_km(extent.line) >= LEAST_ROUTE_KM:
            weights, outside = _line_weights(grid, extent.line)
            kind = "line"
        else:
            mine = [i for i, (owner, _) in enumerate(parts) if owner == number]
            each = [_area_weights(grid, coverages[i], parts[i][1]) for i in mine]
            weights = sum((matrix for matrix, _ in each[1:]), each[0][0]) / len(each)
            outside = sum(share for _, share in each) / len(each)
            kind = extent.kind
        found = _footprint(grid, known, weights, outside, kind)
        if found.weight.size:
            result.append(found)
        else:
            key = keys[number] if keys else ""
            problems.append(
                Problem(
                    file,
                    key,
                    "a place with climate data",
                    f"none at {_place(extent)}",
                    "Check that longitude and latitude aren't swapped, or import a climatology "
                    "that covers it.",
                )
            )
    if problems:
        raise InputError(problems)
    return tuple(result)


def cells(climatology: xr.Dataset, footprint: Footprint) -> xr.Dataset:
    """
    Return the climate of a footprint's cells.

    Parameters
    ----------
    climatology : xarray.Dataset
        The one the footprint was made with, or another on the same grid.
    footprint : Footprint

    Returns
    -------
    xarray.Dataset
        Dim ``cell`` in place of latitude and longitude, which become coordinates along
        it, with ``weight`` beside them.
    """
    shape = (climatology.sizes["latitude"], climatology.sizes["longitude"])
    if shape != footprint.grid_shape:
        raise ValueError(f"climatology: expected a grid of {footprint.grid_shape}, got {shape}")
    chosen = climatology.isel(
        latitude=xr.DataArray(footprint.latitude_index, dims="cell"),
        longitude=xr.DataArray(footprint.longitude_index, dims="cell"),
    )
    weight = xr.DataArray(footprint.weight, dims="cell", attrs={"units": "1"})
    return chosen.assign_coords(weight=weight)


def weight_matrix(found: Sequence[Footprint]) -> scipy.sparse.csr_array:
    """
    Return footprints as one sparse matrix, to be applied to whole grids.

    Parameters
    ----------
    found : sequence of Footprint
        All on the same grid.

    Returns
    -------
    scipy.sparse.csr_array, shape (footprints, latitudes x longitudes)
    """
    rows, columns = found[0].grid_shape
    counts = [footprint.weight.size for footprint in found]
    index = np.concatenate([f.latitude_index * columns + f.longitude_index for f in found])
    weight = np.concatenate([f.weight for f in found])
    owner = np.repeat(np.arange(len(found)), counts)
    return scipy.sparse.csr_array((weight, (owner, index)), shape=(len(found), rows * columns))


def regional_means(field: xr.DataArray, matrix: scipy.sparse.csr_array) -> xr.DataArray:
    """
    Return the weighted mean of a gridded field over each footprint.

    Parameters
    ----------
    field : xarray.DataArray
        Dims latitude and longitude, and any others.
    matrix : scipy.sparse.csr_array
        From `weight_matrix`.

    Returns
    -------
    xarray.DataArray
        Dim ``footprint`` in place of latitude and longitude. Missing where cells with a
        value hold less than half the weight.
    """
    stacked = field.stack(place=("latitude", "longitude")).transpose(..., "place")
    values = stacked.values.reshape(-1, stacked.sizes["place"]).T
    known = np.isfinite(values)
    total = matrix @ known.astype(float)
    with np.errstate(invalid="ignore", divide="ignore"):
        means = (matrix @ np.where(known, values, 0.0)) / total
    means = np.where(total >= LEAST_KNOWN_WEIGHT, means, np.nan)
    template = stacked.isel(place=0, drop=True)
    shaped = means.T.reshape(*template.shape, matrix.shape[0])
    coords = {name: c for name, c in template.coords.items() if set(c.dims) <= set(template.dims)}
    return xr.DataArray(shaped, coords, (*template.dims, "footprint"), attrs=field.attrs)


def weighted_mean(data, weight):
    """
    Return the mean over the ``cell`` dim.

    Parameters
    ----------
    data : xarray.DataArray or Dataset
        Any dims, ``cell`` among them.
    weight : xarray.DataArray, dim cell
        Share of the leg in each cell.

    Returns
    -------
    same type as `data`
        Without ``cell``. Missing where cells with a value hold less than half the weight.
    """
    known = (data.notnull() * weight).sum("cell")
    mean = (data * weight).sum("cell") / known.where(known > 0)
    return mean.where(known >= LEAST_KNOWN_WEIGHT * weight.sum("cell") - _ROUNDING)


def weighted_quantile(data: xr.DataArray, weight: xr.DataArray, share: float) -> xr.DataArray:
    """
    Return the value that a share of the camps doesn't exceed.

    It is the value of one of the cells, so that its reasons can be told: with `share`
    0.5 the median camp, with 0.1 the best of the worst tenth of sound shares.

    Parameters
    ----------
    data : xarray.DataArray
        Any dims, ``cell`` among them.
    weight : xarray.DataArray, dim cell
    share : float
        [0 to 1]

    Returns
    -------
    xarray.DataArray
        Without ``cell``; missing as in `weighted_mean`.
    """
    position = quantile_cell(data, weight, share)
    values = data.isel(cell=position.clip(min=0))
    return values.where(position >= 0).drop_vars(
        ("latitude", "longitude", "weight"), errors="ignore"
    )


def quantile_cell(data: xr.DataArray, weight: xr.DataArray, share: float) -> xr.DataArray:
    """
    Return which cell holds a weighted quantile.

    Parameters
    ----------
    data, weight, share
        As for `weighted_quantile`.

    Returns
    -------
    xarray.DataArray of int
        Position along ``cell``; -1 where the quantile is missing.
    """

    def position(values, weights):
        order = np.argsort(values, axis=-1, kind="stable")  # Missing values come last.
        known = np.isfinite(np.take_along_axis(values, order, axis=-1))
        cumulated = np.cumsum(weights[order] * known, axis=-1)
        total = cumulated[..., -1:]
        place = np.argmax(cumulated >= share * total - _ROUNDING, axis=-1)
        cell = np.take_along_axis(order, place[..., None], axis=-1)[..., 0]
        enough = total[..., 0] >= LEAST_KNOWN_WEIGHT * weights.sum() - _ROUNDING
        return np.where(enough, cell, -1)

    return xr.apply_ufunc(position, data, weight, input_core_dims=[["cell"], ["cell"]])


def grade_shares(sound_share: xr.DataArray, weight: xr.DataArray) -> xr.DataArray:
    """
    Return which share of the leg has each grade of climate.

    Parameters
    ----------
    sound_share : xarray.DataArray
        Probability of a sound night; any dims, ``cell`` among them. [0 to 1]
    weight : xarray.DataArray, dim cell

    Returns
    -------
    xarray.DataArray
        Dim ``grade`` (sound, workable, rough, unfit) in place of ``cell``; sums to 1, or
        all missing as in `weighted_mean`.
    """
    reached = [
        weighted_mean((sound_share >= floor).where(sound_share.notnull()), weight)
        for _, floor in GRADE_FLOORS
    ]
    everything = weighted_mean(xr.ones_like(sound_share).where(sound_share.notnull()), weight)
    steps = [
        reached[0],
        *(b - a for a, b in zip(reached, [*reached[1:], everything], strict=True)),
    ]
    shares = xr.concat(steps, "grade").transpose(..., "grade").rename("grade_share")
    shares.attrs = {"units": "1", "long_name": "share of the area in each grade"}
    return shares


def _grid(climatology: xr.Dataset) -> _Grid:
    """Return the grid of a climatology, checked to be regular."""
    axes, steps = [], []
    for name in ("latitude", "longitude"):
        axis = climatology[name].values.astype(float)
        step = np.diff(axis)
        if axis.size < 2 or step.min() <= 0 or np.ptp(step) > 1e-3 * step.mean():
            raise ValueError(f"{name}: expected at least 2 evenly spaced ascending degrees")
        axes.append(axis)
        steps.append(float((axis[-1] - axis[0]) / (axis.size - 1)))
    goes_round = abs(axes[1].size * steps[1] - 360.0) < 0.5 * steps[1]
    return _Grid(*axes, *steps, 1 if goes_round else 0)


def _known(climatology: xr.Dataset) -> np.ndarray:
    """Return which cells have all required variables in all months."""
    required = [name for name, variable in VARIABLES.items() if variable.required]
    known = xr.ones_like(climatology[required[0]].isel(month=0, drop=True), dtype=bool)
    for name in required:
        known = known & climatology[name].notnull().all("month")
    return known.transpose("latitude", "longitude").values


def _coverages(grid: _Grid, shapes) -> list[tuple[np.ndarray, np.ndarray]]:
    """Return for each shape the padded cells it touches and the covered part of each."""
    blank = np.broadcast_to(np.uint8(0), (grid.latitude.size, grid.columns))
    source = NumPyRasterSource(
        blank, grid.west, grid.south, grid.east, grid.north, srs_wkt=_DEGREES
    )
    polygons = geopandas.GeoDataFrame(geometry=list(shapes), crs=_DEGREES)
    table = exact_extract(source, polygons, ["cell_id", "coverage"], output="pandas")
    return list(zip(table["cell_id"], table["coverage"], strict=True))


def _area_weights(grid: _Grid, coverage, shape):
    """Return a shape's weight in each grid cell, and its share beyond the grid."""
    identifier, covered = coverage
    row = grid.latitude.size - 1 - identifier // grid.columns  # Rasters start in the north.
    column = (identifier % grid.columns - grid.padding) % grid.longitude.size
    area, height = grid.cell_shares
    weights = _matrix(grid, row, column, covered / height[row] * area[row])
    window = shapely.box(grid.west, grid.south, grid.east, grid.north)
    beyond = 0.0
    if not shapely.covers(window, shape):
        beyond = area_km2(shapely.difference(shape, window)) / EARTH_RADIUS_KM**2
    total = weights.sum() + beyond
    return weights / total, beyond / total


def _line_weights(grid: _Grid, line):
    """Return the share of a line's length in each grid cell, and beyond the grid."""
    row, column, kilometres = cell_lengths(
        line, (grid.south, grid.step_latitude), (grid.west, grid.step_longitude)
    )
    inside = (row >= 0) & (row < grid.latitude.size) & (column >= 0) & (column < grid.columns)
    column = (column - grid.padding) % grid.longitude.size
    total = kilometres.sum()
    weights = _matrix(grid, row[inside], column[inside], kilometres[inside] / total)
    return weights, kilometres[~inside].sum() / total


def _matrix(grid: _Grid, row, column, weight) -> scipy.sparse.coo_array:
    """Return weights as a sparse grid, in which the two halves of a split cell add up."""
    shape = (grid.latitude.size, grid.longitude.size)
    return scipy.sparse.csr_array((weight, (row, column)), shape=shape)


def _footprint(grid: _Grid, known, weights, outside: float, kind: str) -> Footprint:
    """Return weights as a footprint, without the cells that lack climate data."""
    entries = weights.tocoo()
    kept = known[entries.row, entries.col] & (entries.data > 0)
    row, column, weight = entries.row[kept], entries.col[kept], entries.data[kept]
    total = weight.sum()
    return Footprint(
        kind=kind,
        latitude_index=row,
        longitude_index=column,
        latitude=grid.latitude[row],
        longitude=grid.longitude[column],
        weight=weight / total if weight.size else weight,
        dropped_share=float(np.clip(entries.data[~kept].sum() + outside, 0.0, 1.0)),
        grid_shape=known.shape,
    )


def _place(extent: Extent) -> str:
    """Return where an extent lies, for messages."""
    point = extent.parts[0].representative_point()
    return f"latitude {point.y:.2f}, longitude {point.x:.2f}"
