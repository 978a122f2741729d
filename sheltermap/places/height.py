"""How high the camps of a leg lie: as stated, else by the embedded map, else as the cells.

In: a leg, where it lies, its climate cells. Out: the one height that everything else uses,
with what it rests on. Assumes people camp where the route runs, where it is known; a region
without a route has no camps on a map, so its cells' mean stands.
"""

from __future__ import annotations

import numpy as np
import shapely
import xarray as xr
from shapely.geometry.base import BaseGeometry

from sheltermap.climate.heights import along, heights_at
from sheltermap.distance import great_circle
from sheltermap.hazards.shapes import Extent
from sheltermap.places.camp_height import CampHeight, of_map
from sheltermap.places.cells import Footprint
from sheltermap.trip.model import Leg


def height_of_camps(
    leg: Leg, extent: Extent, footprint: Footprint, cell_elevation: np.ndarray
) -> tuple[CampHeight, xr.Dataset]:
    """
    Return how high the camps of a place lie, over all and in each cell.

    Parameters
    ----------
    leg : Leg
        One that sleeps there.
    extent : Extent
    footprint : Footprint
        Of `extent`.
    cell_elevation : numpy.ndarray, shape (cells,)
        Heights of its cells. [m]

    Returns
    -------
    CampHeight
    Dataset, dim cell
        ``camp_elevation`` and ``camp_elevation_error`` [m] for
        `sheltermap.climate.altitude.at_elevation`: missing where the cell's own height stands.
    """
    if leg.camp_elevation_m is not None:
        height = CampHeight(leg.camp_elevation_m, None, "stated")
        return height, _alike(footprint, leg.camp_elevation_m)
    if extent.camps is not None:
        by_cell = _at_camps(extent.camps, footprint)
    elif footprint.kind == "line" and extent.line is not None:
        by_cell = _along_route(extent.line, footprint)
    else:
        by_cell = _alike(footprint, np.nan)
    mean = by_cell.weighted(xr.DataArray(footprint.weight, dims="cell")).mean()
    found = of_map(mean["camp_elevation"], mean["camp_elevation_error"])
    if found is None:
        # Whole metres: people are told no more of a mean.
        found = CampHeight(float(np.round(cell_elevation @ footprint.weight)), None, "cells")
    return found, by_cell


def _alike(footprint: Footprint, elevation: float) -> xr.Dataset:
    """Return one height for all cells, without an error."""
    each = np.full(footprint.weight.size, float(elevation))
    return xr.Dataset(
        {"camp_elevation": ("cell", each), "camp_elevation_error": ("cell", np.zeros(each.size))}
    )


def _at_camps(camps: shapely.MultiPoint, footprint: Footprint) -> xr.Dataset:
    """Return the height of the camp nearest to each cell."""
    longitude, latitude = shapely.get_coordinates(camps).T
    away = great_circle(
        footprint.latitude[:, np.newaxis], footprint.longitude[:, np.newaxis], latitude, longitude
    )
    return _of_camps(heights_at(latitude, longitude)).isel(dim_0=("cell", away.argmin(axis=1)))


def _along_route(line: BaseGeometry, footprint: Footprint) -> xr.Dataset:
    """Return the mean height of the route in each cell, and of its error."""
    latitude, longitude = along(line)
    away = great_circle(
        latitude[:, np.newaxis],
        longitude[:, np.newaxis],
        footprint.latitude,
        footprint.longitude,
    )
    places = _of_camps(heights_at(latitude, longitude)).assign_coords(
        cell=("dim_0", away.argmin(axis=1))
    )
    each = np.arange(footprint.weight.size)
    return places.groupby("cell").mean().reindex(cell=each).drop_vars("cell")


def _of_camps(heights: xr.Dataset) -> xr.Dataset:
    return heights[["camp_elevation", "camp_elevation_error"]]
