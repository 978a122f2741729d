"""Where a trip sleeps: the extent of each place, the climate cells that count, words for both.

In: the trip's inputs and a climatology. Out: Camps, the climate of all places' cells at the
camps' height in one dataset. Assumes people camp where the route runs, where it is known.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
import shapely
import xarray as xr
from shapely.geometry.base import BaseGeometry

from sheltermap.climate.altitude import at_elevation
from sheltermap.hazards.altitude import RULE_STARTS_M
from sheltermap.hazards.shapes import (
    Extent,
    length_km,
    place_extent,
    points_extent,
    region_extent,
)
from sheltermap.ids import id_of
from sheltermap.places.camp_height import CampHeight
from sheltermap.places.cells import Footprint, cells, footprints
from sheltermap.places.height import height_of_camps
from sheltermap.places.passes import HighPoint, high_points
from sheltermap.places.route import Driven, driven
from sheltermap.remembered import remembered
from sheltermap.trip.inputs import Inputs
from sheltermap.trip.model import Leg, Trip
from sheltermap.vocabulary import InputError, Problem

T = TypeVar("T")

STEEP_RELIEF_M = 800.0
"""judgement: cells that differ by more than this make a mean of a mountain range."""

_at_elevation = remembered(size=2)(at_elevation)

_FEW_CELLS = 2
_EDGE_DEGREES = 1.0  # Cells around the journey's box, for maps and nearest cells.


@dataclass(frozen=True, eq=False)
class Ground:
    """Where the camps of one place may lie; legs that sleep alike share it.

    Attributes
    ----------
    id : str
        Safe in a file name.
    leg : Leg
        The first that sleeps here.
    extent : Extent
    footprint : Footprint
    cells : slice
        Its cells in `Camps.climate`.
    cell_elevation : tuple of float
        Lowest, mean and highest cell, before the correction for height. [m]
    height : CampHeight
        How high its camps lie.
    cautions : tuple of str
        What to know about the figure itself.
    top : HighPoint or None
        The highest point of its route or region.
    """

    id: str
    leg: Leg
    extent: Extent
    footprint: Footprint
    cells: slice
    cell_elevation: tuple[float, float, float]
    height: CampHeight
    cautions: tuple[str, ...]
    top: HighPoint | None = None


@dataclass(frozen=True, eq=False)
class Camps:
    """Where a whole trip sleeps, all of its cells in one row.

    Attributes
    ----------
    legs : tuple of Leg
        As written, with the route's kilometres where the trip states none.
    grounds : tuple of Ground
        Each place once, in the order in which the trip first names it.
    of_leg : tuple of int
        Position of each leg's ground among them.
    climate : Dataset, dims month and cell
        At the camps' height, with ``weight`` along ``cell``, which sums to 1 over a ground.
    """

    legs: tuple[Leg, ...]
    grounds: tuple[Ground, ...]
    of_leg: tuple[int, ...]
    climate: xr.Dataset

    def ground(self, leg: int) -> Ground:
        """Return where a leg sleeps."""
        return self.grounds[self.of_leg[leg]]

    def by_leg(self, values: Sequence[T]) -> tuple[T, ...]:
        """Return values that come one a ground as one a leg."""
        return tuple(values[place] for place in self.of_leg)

    def visits(self, ground: Ground) -> tuple[Leg, ...]:
        """Return every leg that sleeps in a place."""
        return tuple(
            leg
            for leg, place in zip(self.legs, self.of_leg, strict=True)
            if self.grounds[place] is ground
        )


def extents(inputs: Inputs) -> tuple[Extent, ...]:
    """
    Return where the camps of each leg may lie.

    Parameters
    ----------
    inputs : Inputs

    Returns
    -------
    tuple of Extent
        In the order of the legs.
    """
    return tuple(_extent(leg, inputs) for leg in inputs.trip.legs)


def journey_box(where: Sequence[Extent]) -> tuple[float, float, float, float]:
    """
    Return the box around all legs, with a margin.

    Parameters
    ----------
    where : sequence of Extent

    Returns
    -------
    west, south, east, north : float
        [degrees]; the whole circle where a leg or the margin crosses the 180th meridian,
        since cells on a regular grid must not have a gap.
    """
    bounds = np.array([part.bounds for extent in where for part in _lobes(extent.area)])
    south, north = bounds[:, 1].min() - _EDGE_DEGREES, bounds[:, 3].max() + _EDGE_DEGREES
    west, east = _short_way(bounds[:, 0], bounds[:, 2])
    west, east = west - _EDGE_DEGREES, east + _EDGE_DEGREES
    if west < -180.0 or east > 180.0 or west > east:
        west, east = -180.0, 180.0
    return west, max(float(south), -90.0), east, min(float(north), 90.0)


def camps(inputs: Inputs, where: Sequence[Extent], climatology: xr.Dataset) -> Camps:
    """
    Return where each leg sleeps, with its climate.

    Parameters
    ----------
    inputs : Inputs
    where : sequence of Extent
        From `extents`.
    climatology : Dataset, month x latitude x longitude

    Returns
    -------
    Camps

    Raises
    ------
    InputError
        If no cell with climate covers a leg, or its longest stay is shorter than its drive.
    """
    trip = inputs.trip
    keys = [f"legs[{number}]" for number in range(1, len(trip.legs) + 1)]
    found = footprints(climatology, where, str(inputs.path), keys)
    ids = _ids(trip)
    names = list(dict.fromkeys(ids))
    firsts = [ids.index(name) for name in names]
    raw = cells(climatology, [found[first] for first in firsts])
    sizes = [found[first].weight.size for first in firsts]
    ends = np.cumsum(sizes).tolist()
    elevation = raw["elevation"].values
    grounds, by_cell = [], []
    for first, size, end in zip(firsts, sizes, ends, strict=True):
        row = slice(end - size, end)
        leg, extent, footprint = trip.legs[first], where[first], found[first]
        height, of_camps = height_of_camps(leg, extent, footprint, elevation[row])
        of_wind = _of_wind(leg, raw, trip.settings.open_land_wind)
        grounds.append(
            _ground(ids[first], leg, extent, footprint, row, elevation[row], height, of_wind)
        )
        by_cell.append(of_camps)
    if any(ground.height.basis != "cells" for ground in grounds):
        of_all = xr.concat(by_cell, "cell")
        raw = _at_elevation(raw, of_all["camp_elevation"], of_all["camp_elevation_error"])
    legs = tuple(
        leg if share is None else _driving(leg, share)
        for leg, share in zip(trip.legs, _of_route(inputs, where), strict=True)
    )
    _require_time_to_drive(inputs, legs, keys)
    tops = high_points([ground.extent for ground in grounds], climatology)
    placed = tuple(replace(ground, top=top) for ground, top in zip(grounds, tops, strict=True))
    return Camps(legs, placed, tuple(names.index(name) for name in ids), raw)


def _driving(leg: Leg, share: Driven) -> Leg:
    """Return a leg with what it drives of the route, where it does not state it."""
    kilometres, approach = leg.kilometres, leg.approach_km
    if kilometres is None:
        kilometres = float(round(share.kilometres))
    if approach is None:
        approach = min(float(round(share.approach_km)), kilometres)
    return leg.model_copy(update={"kilometres": kilometres, "approach_km": approach})


def _require_time_to_drive(inputs: Inputs, legs: Sequence[Leg], keys: Sequence[str]) -> None:
    """Raise InputError with every leg whose longest stay is shorter than its drive."""
    daily_km = inputs.trip.departure.daily_km
    problems = [
        Problem(
            str(inputs.path),
            f"{key}.nights",
            f"at least {driving_days(leg.kilometres, daily_km)} nights for "
            f"{leg.kilometres:,.0f} km at {daily_km:g} km a day",
            f"at most {leg.nights.most}",
            "Allow a longer stay, state fewer kilometres, or raise departure.daily_km.",
        )
        for key, leg in zip(keys, legs, strict=True)
        if driving_days(leg.kilometres, daily_km) > leg.nights.most
    ]
    if problems:
        raise InputError(problems)


def driving_days(kilometres: float | None, daily_km: float) -> int:
    """
    Return the days that a leg's drive takes; 0 where it is not known.

    Examples
    --------
    >>> driving_days(401, 200), driving_days(None, 200)
    (3, 0)
    """
    return math.ceil((kilometres or 0) / daily_km)


def _ground(
    ident: str,
    leg: Leg,
    extent: Extent,
    footprint: Footprint,
    where: slice,
    elevation: np.ndarray,
    height: CampHeight,
    of_wind: Iterable[str],
) -> Ground:
    """Return one place's ground."""
    low, high = float(np.min(elevation)), float(np.max(elevation))
    mean = float(np.sum(elevation * footprint.weight))
    return Ground(
        id=ident,
        leg=leg,
        extent=extent,
        footprint=footprint,
        cells=where,
        cell_elevation=(low, mean, high),
        height=height,
        cautions=(*_cautions(height, footprint, low, mean, high), *of_wind),
    )


def _of_route(inputs: Inputs, where: Sequence[Extent]) -> Sequence[Driven | None]:
    """Return what each leg drives of the route line, the way to it included.

    In a free order only what lies in its region: who comes before is not known yet.
    """
    if inputs.route is None:
        return [None] * len(where)
    if inputs.trip.departure.order == "free":
        inside = (None if extent.line is None else length_km(extent.line) for extent in where)
        return [None if km is None else Driven(0.0, km) for km in inside]
    return driven(inputs.route, where)


def _cautions(
    height: CampHeight, footprint: Footprint, low: float, mean: float, high: float
) -> Iterator[str]:
    """Yield what to know about the climate figure of a leg."""
    yield from _of_correction(height, low, mean, high)
    if math.isnan(height.elevation_m):
        yield "No height is known here, so the ascent rule was not checked."
    if height.basis != "stated" and height.elevation_m > RULE_STARTS_M:
        yield (
            f"No camp height is stated: {height.elevation_m:,.0f} m is {height.words}. The plan "
            "does not keep the ascent rule on such a height: state camp_elevation_m."
        )
    if footprint.weight.size <= _FEW_CELLS:
        yield "Rests on one or two climate cells, tens of kilometres wide."
    if footprint.dropped_share >= 0.01:
        percent = 100 * footprint.dropped_share
        yield f"{percent:.0f} % of the area has no climate data, mostly water."


def _of_correction(height: CampHeight, low: float, mean: float, high: float) -> Iterator[str]:
    """Yield what to know about the correction for height, or that there is none."""
    if height.basis == "cells" and high - low > STEEP_RELIEF_M:
        yield (
            f"Steep country: its climate cells lie between {low:,.0f} and {high:,.0f} m. "
            "State camp_elevation_m or a route, else this figure is a mean of valleys and peaks."
        )
    if abs(height.elevation_m - mean) > STEEP_RELIEF_M:
        yield (
            f"The camps lie {abs(height.elevation_m - mean):,.0f} m "
            f"{'above' if height.elevation_m > mean else 'below'} the mean of the climate "
            "cells; the correction for height adds its own error."
        )
    if height.basis != "cells" and math.isnan(mean):
        yield (
            "The climate data lack the heights of some cells here, so the height of the camps "
            "could not correct them."
        )


def _of_wind(leg: Leg, climate: xr.Dataset, open_wind: float) -> Iterator[str]:
    """Yield what to know about wind that rests on the site word alone."""
    if leg.wind_m_s is None and leg.site is not None and "wind_speed" not in climate:
        yield (
            f"Wind is assumed, not known: a mean of {open_wind:g} m/s over open land, changed by "
            f"the site word '{leg.site}'. Where it blows harder, as on many coasts, passes and "
            "steppes, state wind_m_s of this leg."
        )


def _extent(leg: Leg, inputs: Inputs) -> Extent:
    """Return where the camps of one leg may lie."""
    if leg.place is not None:
        return place_extent(*leg.place, route=None)
    if leg.points is not None:
        return points_extent(leg.points)
    return region_extent(inputs.region_of(leg).geometry, inputs.route)


def _ids(trip: Trip) -> list[str]:
    """Return a file-safe id for each leg; legs that share a page share one."""
    ids: dict[tuple, str] = {}
    for leg in trip.legs:
        words = id_of(leg.region or leg.name, 40)
        taken, ident, number = set(ids.values()), words or "leg", 2
        while ident in taken:
            ident, number = f"{words or 'leg'}-{number}", number + 1
        ids.setdefault(_likeness(leg, trip), ident)
    return [ids[_likeness(leg, trip)] for leg in trip.legs]


def _likeness(leg: Leg, trip: Trip) -> tuple:
    """Return what two visits must share to be told on one page, hazards of a visit included."""
    where = (leg.region, leg.place, leg.points, leg.camp_elevation_m, leg.site, leg.wind_m_s)
    rows = tuple(number for number, row in enumerate(trip.hazards) if leg.name in row.legs)
    return (*where, leg.note, leg.room_price, rows)


def _lobes(shape: BaseGeometry) -> list[BaseGeometry]:
    """Return the simple parts of a shape, so that two sides of the 180th meridian stay apart."""
    return list(shapely.get_parts(shape))


def _short_way(west: np.ndarray, east: np.ndarray) -> tuple[float, float]:
    """Return the narrowest span of longitudes that holds all intervals, on a circle."""
    starts, ends = np.sort(west), np.maximum.accumulate(east[np.argsort(west)])
    gaps = np.append(starts[1:], starts[0] + 360.0) - ends
    widest = int(np.argmax(gaps))
    after = (widest + 1) % len(starts)
    return float(starts[after]), float(ends[widest])
