"""Heights of the ground from the embedded map of 5 minutes, and how far to trust them.

In: positions, a line or an area. Out: the map's height there, the relief around, the height
at which people are likely to camp with its standard error, the highest point.
Assumes the packed file that ``regions/world/make_heights.py`` makes: means over cells of up
to 9 km, missing at sea, in Greenland (where the map shows the rock under the ice) and in
Antarctica.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import xarray as xr

from sheltermap.climate import grid
from sheltermap.resources import bundled

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Positions = float | np.ndarray | xr.DataArray

CELL_DEGREES = 1 / 12
"""Side of a cell. [degrees]"""

FLAT_ERROR = 16.0
"""Standard error of a height where the country is flat. [m]

The map's steps of 28 m make 8 m of it."""

SETTLED = 0.5
"""How far below the map's height people settle, in standard deviations around. [1]

Airports and stations lie on the floors of valleys, and so do roads and camps: where the
relief exceeds 150 m, the map reads 213 m too high at airports outside the USA, 191 m inside,
202 m at stations in Colorado. Half the relief leaves less than half of that."""

_SOUTH, _WEST = -60.0, -180.0  # Edges of the map. [degrees]
_ROWS, _COLUMNS = 1800, 4320


def heights_at(latitude: Positions, longitude: Positions) -> xr.Dataset:
    """
    Return the heights of places.

    Parameters
    ----------
    latitude, longitude : float, array or DataArray
        [degrees]

    Returns
    -------
    Dataset, dims of the positions
        ``elevation``, the map's height: linear between the cells around, those without a
        height left out; ``relief``, the standard deviation of the nearest cell and its eight
        neighbours; ``camp_elevation``, where people are likely to camp: the height less half
        the relief, not below the lowest neighbour; ``camp_elevation_error``, its standard
        error: 16 m and the relief in quadrature. [m] All are missing where no cell around
        has a height.

    Notes
    -----
    RMSE of ``elevation`` and of ``camp_elevation``, and how often the stated error holds,
    against heights in print (airports of the package airportsdata 20260905; stations of the
    data set COmonthlyMet of the Debian package r-cran-fields):

    ==============================  ======  ===  ====  =======
    places                          number  map  camp  covered
    ==============================  ======  ===  ====  =======
    airports outside the USA        14,088  143   125   69 %
    of them above 1,000 m            1,267  268   247   70 %
    airports in the USA             12,564   91    74   77 %
    stations in Colorado               127  228   189   69 %
    ==============================  ======  ===  ====  =======

    The nearest cell alone misses the first by 146 m. The two constants were chosen with all
    rows in view, so expect slightly worse elsewhere. The first row's largest misses, of up to
    3 km, are positions or heights in print that are wrong.

    Examples
    --------
    The airport of Kabul lies at 5,877 ft, 1,791 m:

    >>> place = heights_at(34.565853, 69.212328)
    >>> round(float(place.camp_elevation)), round(float(place.camp_elevation_error))
    (1790, 106)
    """
    latitude, longitude = xr.broadcast(_array(latitude), _array(longitude))
    row = (latitude.values.ravel() - _SOUTH) / CELL_DEGREES - 0.5
    column = (longitude.values.ravel() - _WEST) / CELL_DEGREES - 0.5
    # The four cells around a place are among the nearest and its neighbours.
    rows = np.rint(row)[:, np.newaxis] + (-1, 0, 1)
    columns = np.rint(column)[:, np.newaxis] + (-1, 0, 1)
    values = _cells(rows.astype(int), columns.astype(int))
    nearness = _nearness(rows, row)[:, :, np.newaxis] * _nearness(columns, column)[:, np.newaxis]
    height, relief, lowest = _summary(values, nearness)
    found = {
        "elevation": (height, "height of the ground"),
        "relief": (relief, "standard deviation of the heights around"),
        "camp_elevation": (np.maximum(height - SETTLED * relief, lowest), "height of camps"),
        "camp_elevation_error": (np.hypot(FLAT_ERROR, relief), "standard error of that height"),
    }
    return xr.Dataset(
        {
            name: (latitude.dims, each.reshape(latitude.shape), {"units": "m", "long_name": words})
            for name, (each, words) in found.items()
        },
        latitude.coords,
    )


def height_map(west: float, south: float, east: float, north: float) -> xr.DataArray:
    """
    Return the heights in a box.

    Parameters
    ----------
    west, south, east, north : float
        Edges. [degrees, longitudes -180 to 180] A box with `west` beyond `east` crosses the
        180th meridian; its longitudes stay ascending, with a gap.

    Returns
    -------
    DataArray, latitude x longitude
        Of the cells inside and one more on each side; missing where there is no height. [m]

    Raises
    ------
    InputError
        If the box holds no cell.
    """
    with _opened() as stored:
        return grid.box(stored, west, south, east, north)["elevation"].load()


def along(line: BaseGeometry) -> tuple[np.ndarray, np.ndarray]:
    """
    Return places along a line, near enough for none of the map's cells to be missed.

    Parameters
    ----------
    line : LineString or MultiLineString
        Longitude, latitude. [degrees]

    Returns
    -------
    latitude, longitude : numpy.ndarray
        Half a cell apart at most, for `heights_at`. [degrees]
    """
    import shapely  # Not at the top: places are asked without shapes.

    dense = shapely.segmentize(line, CELL_DEGREES / 2)
    longitude, latitude = shapely.get_coordinates(dense).T
    return latitude, longitude


def within(area: BaseGeometry) -> tuple[np.ndarray, np.ndarray]:
    """
    Return the centres of the map's cells in an area.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        Longitude, latitude. [degrees]

    Returns
    -------
    latitude, longitude : numpy.ndarray
        For `heights_at`; of an area too small to hold a centre, a point in it. [degrees]
    """
    import shapely

    west, south, east, north = area.bounds
    box = height_map(west, south, east, north)
    longitude, latitude = np.meshgrid(box["longitude"], box["latitude"])
    inside = shapely.contains_xy(area, longitude, latitude)
    if not inside.any():
        point = area.representative_point()
        return np.array([point.y]), np.array([point.x])
    return latitude[inside], longitude[inside]


def highest(latitude: np.ndarray, longitude: np.ndarray) -> xr.Dataset:
    """
    Return the heights of the highest of some places, as of a pass.

    Parameters
    ----------
    latitude, longitude : numpy.ndarray
        As from `along` or `within`. [degrees]

    Returns
    -------
    Dataset
        One place of `heights_at`, with its ``latitude`` and ``longitude``. ``elevation`` is
        the figure for a road over it: a mean over a cell, which the summits beside exceed
        by about twice the ``relief``. All missing where no place has a height.
    """
    found = heights_at(latitude, longitude).assign_coords(
        latitude=("dim_0", latitude), longitude=("dim_0", longitude)
    )
    return found.isel(found["elevation"].fillna(-np.inf).argmax(...))


def embedded_file() -> Path:
    """
    Return the path of the packed file.

    Returns
    -------
    pathlib.Path
    """
    return bundled("regions") / "world" / "heights.nc"


def _opened() -> xr.Dataset:
    """Return the map, its values not yet read."""
    return xr.open_dataset(embedded_file(), engine="netcdf4", cache=False)


def _array(values: Positions) -> xr.DataArray:
    return values if isinstance(values, xr.DataArray) else xr.DataArray(np.asarray(values, float))


def _nearness(cells: np.ndarray, place: np.ndarray) -> np.ndarray:
    """Return the weight of cells along one axis for a place between them."""
    return np.maximum(0.0, 1.0 - np.abs(cells - place[:, np.newaxis]))


def _cells(rows: np.ndarray, columns: np.ndarray) -> np.ndarray:
    """Return the heights where rows meet columns, which run round the Earth."""
    columns = columns % _COLUMNS
    known = (rows >= 0) & (rows < _ROWS)
    rows = rows.clip(0, _ROWS - 1)
    first, left = rows.min(), columns.min()
    with _opened() as stored:
        part = stored["elevation"][first : rows.max() + 1, left : columns.max() + 1].values
    values = part[(rows - first)[:, :, np.newaxis], (columns - left)[:, np.newaxis]]
    return np.where(known[:, :, np.newaxis], values, np.nan)


def _summary(values: np.ndarray, nearness: np.ndarray) -> tuple[np.ndarray, ...]:
    """Return the height at each place, and the spread and the lowest of the cells around."""
    known = np.isfinite(values)
    # A place that none of the four cells around it has a height for is at sea.
    near = np.where(known, nearness, 0.0)
    ashore = near.sum((1, 2)) > 0
    height, relief, lowest = np.full((3, len(values)), np.nan)
    values, near = values[ashore], near[ashore]
    height[ashore] = np.nansum(near * values, (1, 2)) / near.sum((1, 2))
    relief[ashore] = np.nanstd(values, (1, 2))
    lowest[ashore] = np.nanmin(values, (1, 2))
    return height, relief, lowest
