"""The highest point that a leg has to get over, with its climate.

In: where a leg sleeps, and a climatology. Out: the point of its route, or of its region where
no route is known, that lies highest on the embedded map, and the climate there. Assumes that
roads cross ranges at the height that the map has for its cells, which are means over 9 km.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from sheltermap.climate.altitude import at_elevation
from sheltermap.climate.grid import point
from sheltermap.climate.heights import along, highest, within
from sheltermap.hazards.shapes import Extent, length_km
from sheltermap.places.cells import LEAST_ROUTE_KM
from sheltermap.vocabulary import InputError


@dataclass(frozen=True, eq=False)
class HighPoint:
    """The highest point of a route or of a region.

    Attributes
    ----------
    latitude, longitude : float
        [degrees]
    elevation_m : float
    on_route : bool
        Whether a route goes over it; else it is the highest ground of the region.
    climate : Dataset, dim month
        At its height.
    """

    latitude: float
    longitude: float
    elevation_m: float
    on_route: bool
    climate: xr.Dataset

    @property
    def words(self) -> str:
        """Return where it lies, as a part of a sentence."""
        where = f"at {self.elevation_m:,.0f} m ({self.latitude:.2f}, {self.longitude:.2f})"
        if self.on_route:
            return f"{where}, the highest point of the route here,"
        return f"{where}, the highest ground of the region, where a road goes so high,"


def high_point(extent: Extent, climatology: xr.Dataset) -> HighPoint | None:
    """
    Return the highest point of a leg.

    Parameters
    ----------
    extent : Extent
    climatology : Dataset, month x latitude x longitude

    Returns
    -------
    HighPoint or None
        None for a place or points, where no way is known, and where the map has no height or
        the climatology no cell near.
    """
    if extent.kind != "region":
        return None
    line = extent.line
    if line is not None and length_km(line) < LEAST_ROUTE_KM:
        line = None
    top = highest(*(within(extent.area) if line is None else along(line)))
    elevation = float(top["elevation"])
    if np.isnan(elevation):
        return None
    latitude, longitude = float(top["latitude"]), float(top["longitude"])
    try:
        cell = point(climatology, latitude, longitude)
    except InputError:
        return None
    climate = at_elevation(cell, elevation)
    return HighPoint(latitude, longitude, elevation, line is not None, climate)
