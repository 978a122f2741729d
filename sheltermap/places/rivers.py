"""The large river that a leg meets, with its flow through the year.

In: where a leg goes. Out: the largest river of the base map near its camps and route, or in its
region where neither is known. Assumes the packed file that ``regions/world/make_rivers.py``
makes: rivers of more than 50 m3/s, their positions 10 km apart at most.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import xarray as xr

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
    import shapely  # Not at the top: one place is asked without shapes.

    known = [each for each in (extent.line, extent.camps) if each is not None]
    where = shapely.union_all(known) if known else extent.area

    def away(positions: Floats, scale: Floats) -> Floats:
        flat = shapely.transform(where, lambda corners: corners * scale)
        return np.asarray(shapely.distance(shapely.points(positions * scale), flat))

    return _largest(where.bounds, away)


def river_near(latitude: float, longitude: float) -> River | None:
    """
    Return the largest river near one place.

    Parameters
    ----------
    latitude, longitude : float
        [degrees] What lies beyond the 180th meridian is not looked at.

    Returns
    -------
    River or None
        At its position nearest to the place.
    """
    place = np.array([longitude, latitude])

    def away(positions: Floats, scale: Floats) -> Floats:
        return np.hypot(*((positions - place) * scale).T)

    return _largest((longitude, latitude, longitude, latitude), away)


def _largest(
    bounds: tuple[float, float, float, float], away: Callable[[Floats, Floats], Floats]
) -> River | None:
    """Return the largest river near what lies in bounds [degrees] and is so far off.

    `away` takes positions with longitude first [degrees] and the length of a degree along each
    axis [km], and returns distances [km].
    """
    rivers = _rivers()
    west, south, east, north = bounds
    middle = np.array([np.cos(np.radians((south + north) / 2)), 1.0])
    reach = NEAR_KM / DEGREE_KM / np.maximum(middle, _LEAST_SQUEEZE)
    low, high = np.array([west, south]) - reach, np.array([east, north]) + reach
    found = np.flatnonzero(np.all((rivers.positions >= low) & (rivers.positions <= high), axis=1))
    if not found.size:
        return None
    distance = away(rivers.positions[found], DEGREE_KM * middle)
    near = distance <= NEAR_KM
    if not near.any():
        return None
    found, distance = found[near], distance[near]
    mean = rivers.mean_flow[found]
    of_largest = np.flatnonzero(mean >= _SAME_RIVER * mean.max())
    nearest = of_largest[distance[of_largest].argmin()]
    longitude, latitude = rivers.positions[found[nearest]].tolist()
    return River(latitude, longitude, float(distance[nearest]), _flow(found[nearest]))


class _Rivers(NamedTuple):
    """All large rivers: positions (n, 2) with longitude first, mean flow (n,)."""

    positions: Floats
    mean_flow: Floats


@cache
def _rivers() -> _Rivers:
    with _opened() as stored:
        positions = np.stack([stored["longitude"].values, stored["latitude"].values], axis=-1)
        return _Rivers(positions.astype(float), stored["mean_flow"].values)


def _flow(position: int) -> Floats:
    """Return the flow at one position by thirds of months, over its mean. [1]"""
    with _opened() as stored:
        return stored["flow"][position].values


def _opened() -> xr.Dataset:
    """Return the rivers, their values not yet read: flow is nine tenths of them."""
    return xr.open_dataset(bundled("regions") / "world" / "rivers.nc", engine="netcdf4")
