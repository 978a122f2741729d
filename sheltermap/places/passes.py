"""The highest point that a leg has to get over, with its climate.

In: where a leg sleeps, and a climatology. Out: the point of its route, or of its region where
no route is known, that lies highest on the embedded map, and the climate there. Assumes that
roads cross ranges at the height that the map has for its cells, which are means over 9 km.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import xarray as xr

from sheltermap.climate.altitude import at_elevation
from sheltermap.climate.grid import point
from sheltermap.climate.heights import along, highest, within
from sheltermap.hazards.shapes import Extent, length_km
from sheltermap.places.cells import LEAST_ROUTE_KM
from sheltermap.remembered import remembered
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


@remembered(size=2)
def high_points(extents: Sequence[Extent], climatology: xr.Dataset) -> list[HighPoint | None]:
    """
    Return the highest point of each leg.

    Parameters
    ----------
    extents : sequence of Extent
    climatology : Dataset, month x latitude x longitude

    Returns
    -------
    list of HighPoint or None
        None for a place or points, where no way is known, and where the map has no height or
        the climatology no cell near.
    """
    tops = [_top(extent, climatology) for extent in extents]
    known = [top for top in tops if top is not None]
    # All at once: bookkeeping, not arithmetic, takes the time.
    latitude, longitude, elevation = (
        xr.DataArray([getattr(top, name) for top in known], dims="cell")
        for name in ("cell_latitude", "cell_longitude", "elevation_m")
    )
    climate = at_elevation(climatology.sel(latitude=latitude, longitude=longitude), elevation)
    found = (
        HighPoint(
            top.latitude, top.longitude, top.elevation_m, top.on_route, climate.isel(cell=row)
        )
        for row, top in enumerate(known)
    )
    return [None if top is None else next(found) for top in tops]


class _Top(NamedTuple):
    """A highest point, and the cell of the climatology that stands for it."""

    latitude: float
    longitude: float
    elevation_m: float
    on_route: bool
    cell_latitude: float
    cell_longitude: float


def _top(extent: Extent, climatology: xr.Dataset) -> _Top | None:
    """Return the highest point of a leg; None where there is none."""
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
    return _Top(
        latitude,
        longitude,
        elevation,
        line is not None,
        float(cell["latitude"]),
        float(cell["longitude"]),
    )
