"""A regular grid and what lies in its cells: parts of shapes, kilometres of lines.

In: latitudes and longitudes of nodes, shapes and lines in degrees. Out: sparse grids of
weights. Assumes cells that reach half a step to each side of their node; where the grid
goes round the globe it has a wrapped column on each side, so that cells at 180 degrees
are whole. Segments are straight in longitude and latitude; lengths are geodesics.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeAlias

import geopandas
import numpy as np
import scipy.sparse
import shapely
import xarray as xr
from exactextract import exact_extract
from exactextract.raster import NumPyRasterSource
from pyproj import CRS
from shapely.geometry.base import BaseGeometry

from sheltermap.hazards.shapes import GEOD, area_km2
from sheltermap.vocabulary import EARTH_RADIUS_KM

_DEGREES = CRS.from_epsg(4326).to_wkt()

Coverage: TypeAlias = tuple[np.ndarray, np.ndarray]
"""Positions of cells in the padded grid, and the covered part of each. [0 to 1]"""

Edges: TypeAlias = tuple[float, float]
"""First edge and step of a grid's latitudes or longitudes. [degrees]"""


@dataclass(frozen=True, eq=False)
class Grid:
    """A regular grid.

    Attributes
    ----------
    latitude, longitude : numpy.ndarray
        Nodes, ascending. [degrees]
    step_latitude, step_longitude : float
        Distance of nodes. [degrees]
    padding : int
        Wrapped columns on each side: 1 where the grid goes round the globe.
    """

    latitude: np.ndarray
    longitude: np.ndarray
    step_latitude: float
    step_longitude: float
    padding: int

    @property
    def west(self) -> float:
        """Return the western edge, padding included. [degrees]"""
        return self.longitude[0] - (0.5 + self.padding) * self.step_longitude

    @property
    def east(self) -> float:
        """Return the eastern edge, padding included. [degrees]"""
        return self.longitude[-1] + (0.5 + self.padding) * self.step_longitude

    @property
    def south(self) -> float:
        """Return the southern edge. [degrees]"""
        return self.latitude[0] - 0.5 * self.step_latitude

    @property
    def north(self) -> float:
        """Return the northern edge. [degrees]"""
        return self.latitude[-1] + 0.5 * self.step_latitude

    @property
    def columns(self) -> int:
        """Return the number of columns, padding included."""
        return self.longitude.size + 2 * self.padding

    @property
    def cell_shares(self) -> tuple[np.ndarray, np.ndarray]:
        """Return the area of a row's cells [sr] and the part of their height below the poles."""
        edges = self.latitude[:, None] + np.array([-0.5, 0.5]) * self.step_latitude
        clipped = np.clip(edges, -90.0, 90.0)
        area = np.radians(self.step_longitude) * np.diff(np.sin(np.radians(clipped)))[:, 0]
        return area, np.diff(clipped)[:, 0] / self.step_latitude


def grid_of(climatology: xr.Dataset) -> Grid:
    """
    Return the grid of a climatology, checked to be regular.

    Parameters
    ----------
    climatology : xarray.Dataset
        With latitude and longitude.

    Returns
    -------
    Grid

    Raises
    ------
    ValueError
        If nodes are not evenly spaced and ascending.
    """
    latitude, step_latitude = _axis(climatology, "latitude")
    longitude, step_longitude = _axis(climatology, "longitude")
    goes_round = abs(longitude.size * step_longitude - 360.0) < 0.5 * step_longitude
    return Grid(latitude, longitude, step_latitude, step_longitude, 1 if goes_round else 0)


def _axis(climatology: xr.Dataset, name: str) -> tuple[np.ndarray, float]:
    """Return the nodes of an axis and their step, checked to be regular. [degrees]"""
    axis = climatology[name].values.astype(float)
    step = np.diff(axis)
    if axis.size < 2 or step.min() <= 0 or np.ptp(step) > 1e-3 * step.mean():
        raise ValueError(f"{name}: expected at least 2 evenly spaced ascending degrees")
    return axis, float((axis[-1] - axis[0]) / (axis.size - 1))


def coverages(grid: Grid, shapes: Iterable[BaseGeometry]) -> list[Coverage]:
    """
    Return the cells that shapes touch, and how much of each they cover.

    Parameters
    ----------
    grid : Grid
    shapes : iterable of shapely geometry
        Polygons, in degrees.

    Returns
    -------
    list of Coverage
        For each shape: positions in the padded grid, row by row from the north-west, and
        covered parts. [0 to 1]
    """
    blank = np.broadcast_to(np.uint8(0), (grid.latitude.size, grid.columns))
    source = NumPyRasterSource(
        blank, grid.west, grid.south, grid.east, grid.north, srs_wkt=_DEGREES
    )
    polygons = geopandas.GeoDataFrame(geometry=list(shapes), crs=_DEGREES)
    table = exact_extract(source, polygons, ["cell_id", "coverage"], output="pandas")
    return list(zip(table["cell_id"], table["coverage"], strict=True))


def area_weights(
    grid: Grid, coverage: Coverage, shape: BaseGeometry
) -> tuple[scipy.sparse.csr_array, float]:
    """
    Return the share of a shape's area in each cell, and beyond the grid.

    Parameters
    ----------
    grid : Grid
    coverage : Coverage
        Of `coverages`, for this shape.
    shape : shapely geometry

    Returns
    -------
    weights : scipy.sparse.csr_array, shape (latitudes, longitudes)
        Covered parts times areas on the sphere, over the whole area. [1]
    beyond : float
        Share beyond the grid. [1]
    """
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


def line_weights(grid: Grid, line: BaseGeometry) -> tuple[scipy.sparse.csr_array, float]:
    """
    Return the share of a line's length in each cell, and beyond the grid.

    Parameters
    ----------
    grid : Grid
    line : shapely LineString or MultiLineString

    Returns
    -------
    weights, beyond
        As `area_weights`.
    """
    row, column, kilometres = cell_lengths(
        line, (grid.south, grid.step_latitude), (grid.west, grid.step_longitude)
    )
    inside = (row >= 0) & (row < grid.latitude.size) & (column >= 0) & (column < grid.columns)
    column = (column - grid.padding) % grid.longitude.size
    total = kilometres.sum()
    weights = _matrix(grid, row[inside], column[inside], kilometres[inside] / total)
    return weights, kilometres[~inside].sum() / total


def _matrix(
    grid: Grid, row: np.ndarray, column: np.ndarray, weight: np.ndarray
) -> scipy.sparse.csr_array:
    """Return weights as a sparse grid, in which the two halves of a split cell add up."""
    shape = (grid.latitude.size, grid.longitude.size)
    return scipy.sparse.csr_array((weight, (row, column)), shape=shape)


def cell_lengths(
    line: BaseGeometry, rows: Edges, columns: Edges
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """
    Return the length of a line in each cell it crosses.

    Parameters
    ----------
    line : shapely LineString or MultiLineString
        In degrees.
    rows, columns : Edges

    Returns
    -------
    row, column : numpy.ndarray of int
        Cell of each piece, counted from the first edges; negative before them. A cell may
        come several times.
    kilometres : numpy.ndarray
        Length of each piece. [km]

    Examples
    --------
    >>> road = shapely.LineString([(0.5, 0.0), (1.5, 0.0)])
    >>> row, column, kilometres = cell_lengths(road, (-0.5, 1.0), (0.0, 1.0))
    >>> row.tolist(), column.tolist(), kilometres.round(1).tolist()
    ([0, 0], [0, 1], [55.7, 55.7])
    """
    pieces = [
        _cut(points, rows, columns)
        for points in map(shapely.get_coordinates, shapely.get_parts(line))
    ]
    starts = np.concatenate([piece[:-1] for piece in pieces])
    ends = np.concatenate([piece[1:] for piece in pieces])
    middle = (starts + ends) / 2
    row = np.floor((middle[:, 1] - rows[0]) / rows[1]).astype(int)
    column = np.floor((middle[:, 0] - columns[0]) / columns[1]).astype(int)
    metres = GEOD.inv(starts[:, 0], starts[:, 1], ends[:, 0], ends[:, 1])[2]
    return row, column, np.asarray(metres) / 1000.0


def _cut(points: np.ndarray, rows: Edges, columns: Edges) -> np.ndarray:
    """Return a line's points with one more wherever it crosses an edge of the grid."""
    positions = [np.arange(len(points), dtype=float)]
    for axis, (first, step) in ((1, rows), (0, columns)):
        scaled = (points[:, axis] - first) / step
        low = np.floor(np.minimum(scaled[:-1], scaled[1:])).astype(int) + 1
        high = np.ceil(np.maximum(scaled[:-1], scaled[1:])).astype(int)
        counts = np.maximum(high - low, 0)
        segment = np.repeat(np.arange(len(counts)), counts)
        offset = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
        edge = low[segment] + offset
        way = (edge - scaled[segment]) / (scaled[segment + 1] - scaled[segment])
        positions.append(segment + way)
    at = np.unique(np.concatenate(positions))
    index = np.arange(len(points))
    return np.column_stack([np.interp(at, index, points[:, axis]) for axis in (0, 1)])
