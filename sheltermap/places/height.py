"""How high the camps of a leg lie: as stated, else by the embedded map, else as the cells.

In: a leg, where it lies, its climate cells. Out: the one height that everything else uses,
with what it rests on. Assumes people camp where the route runs, where it is known; a region
without a route has no camps on a map, so its cells' mean stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
import xarray as xr
from shapely.geometry.base import BaseGeometry

from sheltermap.climate.heights import along, heights_at
from sheltermap.distance import great_circle
from sheltermap.hazards.shapes import Extent
from sheltermap.places.cells import Footprint
from sheltermap.trip.model import Leg


@dataclass(frozen=True)
class CampHeight:
    """How high the camps of a leg lie.

    Attributes
    ----------
    elevation_m : float
        Mean over the camps; missing where nothing knows it. [m]
    error_m : float or None
        Standard error of a height of the map, in tens. [m]
    basis : {"stated", "map", "cells"}
        The traveller's word, the map of 5 minutes, or the mean of the climate cells.
    """

    elevation_m: float
    error_m: float | None
    basis: Literal["stated", "map", "cells"]

    @property
    def words(self) -> str:
        """Return what a height that nobody stated rests on."""
        return basis_words(self.basis, self.error_m)


def basis_words(basis: str, error_m: float | None) -> str:
    """
    Return what a camp's height rests on, in words.

    Parameters
    ----------
    basis : {"stated", "map", "cells"}
    error_m : float or None
        Of a height of the map. [m]

    Returns
    -------
    str
        Empty where it was stated.

    Examples
    --------
    >>> basis_words("map", 140.0)
    'read from a 5-minute map, within about 140 m two times in three'
    """
    if basis == "map":
        return f"read from a 5-minute map, within about {error_m:,.0f} m two times in three"
    return "the climate cells' own" if basis == "cells" else ""


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


def of_map(elevation: xr.DataArray, error: xr.DataArray) -> CampHeight | None:
    """
    Return a height of the map as people are told of it.

    Parameters
    ----------
    elevation, error : DataArray, scalar
        Of `sheltermap.climate.heights.heights_at`. [m]

    Returns
    -------
    CampHeight or None
        In whole metres, its error in tens; None where the map knows no height.
    """
    if not np.isfinite(elevation):
        return None
    return CampHeight(round(float(elevation)), round(float(error), -1), "map")


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
