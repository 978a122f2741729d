"""The large river that a leg meets, with its flow through the year.

In: where a leg goes. Out: the largest river of the base map near its camps and route, or in its
region where neither is known. Assumes the packed file that ``regions/world/make_rivers.py``
makes: rivers of more than 50 m3/s, their positions 10 km apart at most.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely
import xarray as xr
from shapely.geometry.base import BaseGeometry

from sheltermap.distance import DEGREE_KM
from sheltermap.resources import bundled
from sheltermap.vocabulary import Floats

if TYPE_CHECKING:
    from sheltermap.hazards.shapes import Extent

NEAR_KM = 15.0
"""How far off a river is one that a leg meets. [km] judgement"""

_SAME_RIVER = 0.9
"""Share of the largest mean flow from which positions are of the same river. [1] judgement"""

_LEAST_SQUEEZE = 0.05  # Of a degree of longitude: none is asked for nearer to a pole.


@dataclass(frozen=True, eq=False)
class River:
    """A large river near a leg.

    Attributes
    ----------
    latitude, longitude : float
        Of its nearest position. [degrees]
    distance_km : float
        From the camps, the route or the region; 0 where it runs through it. [km]
    flow : array, shape (36,)
        By thirds of months, over its mean. [1]
    """

    latitude: float
    longitude: float
    distance_km: float
    flow: Floats

    @property
    def words(self) -> str:
        """Return where it runs, as a part of a sentence."""
        off = f"{self.distance_km:.0f} km off, " if self.distance_km >= 0.5 else ""
        return f"({off}at {self.latitude:.2f}, {self.longitude:.2f})"


def river_of(extent: Extent) -> River | None:
    """
    Return the largest river that a leg meets.

    Parameters
    ----------
    extent : Extent

    Returns
    -------
    River or None
        None where no large river of the base map lies within `NEAR_KM`.
    """
    known = [each for each in (extent.line, extent.camps) if each is not None]
    return river_near(shapely.union_all(known) if known else extent.area)


def river_near(where: BaseGeometry) -> River | None:
    """
    Return the largest river near a shape.

    Parameters
    ----------
    where : shapely geometry
        Longitude first. [degrees] What lies beyond the 180th meridian is not looked at.

    Returns
    -------
    River or None
        At its position nearest to the shape.
    """
    rivers = _rivers()
    west, south, east, north = where.bounds
    middle = np.array([np.cos(np.radians((south + north) / 2)), 1.0])
    reach = NEAR_KM / DEGREE_KM / np.maximum(middle, _LEAST_SQUEEZE)
    low, high = np.array([west, south]) - reach, np.array([east, north]) + reach
    found = np.flatnonzero(np.all((rivers.positions >= low) & (rivers.positions <= high), axis=1))
    if not found.size:
        return None
    scale = DEGREE_KM * middle
    flat = shapely.transform(where, lambda corners: corners * scale)
    points = shapely.points(rivers.positions[found] * scale)
    distance = np.asarray(shapely.distance(points, flat))
    near = distance <= NEAR_KM
    if not near.any():
        return None
    found, distance = found[near], distance[near]
    mean = rivers.mean_flow[found]
    of_largest = np.flatnonzero(mean >= _SAME_RIVER * mean.max())
    nearest = of_largest[distance[of_largest].argmin()]
    longitude, latitude = rivers.positions[found[nearest]].tolist()
    return River(latitude, longitude, float(distance[nearest]), rivers.flow[found[nearest]])


class _Rivers(NamedTuple):
    """All large rivers: positions (n, 2) with longitude first, flow (n, 36), its mean (n,)."""

    positions: Floats
    flow: Floats
    mean_flow: Floats


@cache
def _rivers() -> _Rivers:
    path = bundled("regions") / "world" / "rivers.nc"
    with xr.open_dataset(path, engine="netcdf4") as stored:
        positions = np.stack([stored["longitude"].values, stored["latitude"].values], axis=-1)
        return _Rivers(positions.astype(float), stored["flow"].values, stored["mean_flow"].values)
