"""Camps and drawn shapes that do not fit the country around, or the rest of the journey.

In: legs, their extents and footprints, a climatology with heights and shares of land. Out:
sentences for the traveller, never a refusal: a mountain may stand alone in its cell, an
island be too small for one, a journey leap over oceans. Assumes nothing where heights or
land are not known.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
import shapely
import xarray as xr
from shapely.geometry.base import BaseGeometry

from sheltermap.climate.grid import NEAREST_LIMIT
from sheltermap.distance import great_circle
from sheltermap.files import toml_tables
from sheltermap.hazards.shapes import Extent
from sheltermap.places.cells import Footprint, cells
from sheltermap.places.names import gazetteer
from sheltermap.places.relief import around, height_doubts
from sheltermap.places.route import PASSED_BY_KM
from sheltermap.trip.inputs import Inputs
from sheltermap.trip.model import Leg
from sheltermap.trip.values import position

_REACH_DEGREES = 1.0  # Latitudes between which all of NEAREST_LIMIT lies.

_FAR_KM = 1500.0
_NEARER = 4.0
"""judgement: farther from all else than this, and so many times nearer if swapped. Where both
numbers are alike a swap moves little, and legs of one journey lie apart as far."""

_MOST_ROUTE_POINTS = 200  # Enough to tell thousands of kilometres.


def surrounding_doubts(
    leg: Leg, extent: Extent, footprint: Footprint, climatology: xr.Dataset
) -> Iterator[str]:
    """
    Yield what does not fit the country around a leg.

    Parameters
    ----------
    leg : Leg
    extent : Extent
    footprint : Footprint
        Of `extent` on the climatology's grid.
    climatology : Dataset, month x latitude x longitude
        ``elevation`` [m] and ``land_fraction`` [1] are optional.

    Yields
    ------
    str
    """
    at_sea = []
    if "land_fraction" in climatology:
        at_sea = list(_at_sea(leg, extent, footprint, climatology))
        yield from at_sea
    # In the wrong place the height is wrong too: one slip is told once.
    if leg.camp_elevation_m is not None and "elevation" in climatology and not at_sea:
        heights = around(
            climatology["elevation"], footprint.latitude_index, footprint.longitude_index
        )
        whose = f"{leg.name}: its camps lie"
        yield from height_doubts(leg.camp_elevation_m, heights, whose, "camp_elevation_m")


def off_route_doubts(inputs: Inputs, legs: Sequence[Leg]) -> Iterator[str]:
    """
    Yield a sentence for each leg that the route line leaves without kilometres.

    Parameters
    ----------
    inputs : Inputs
    legs : sequence of Leg
        With the kilometres of the line, of `ground.camps`.

    Yields
    ------
    str
    """
    if inputs.route is None or inputs.trip.departure.order == "free":
        return
    for leg in legs:
        if leg.kilometres is None:
            yield (
                f"{leg.name}: the route line passes it by more than {PASSED_BY_KM:g} km, or "
                "meets it in another order than the legs': state its kilometres."
            )


def _at_sea(
    leg: Leg, extent: Extent, footprint: Footprint, climatology: xr.Dataset
) -> Iterator[str]:
    """Yield the stated coordinates, or the region, that no cell with land is near."""
    if extent.camps is None:
        if _landless(cells(climatology, [footprint])["land_fraction"].values):
            yield (
                f"{leg.name}: the climate data know no land in its region. Is it drawn right, "
                "longitude first?"
            )
        return
    everywhere = climatology["land_fraction"].transpose("latitude", "longitude")
    for longitude, latitude in shapely.get_coordinates(extent.camps):
        land = everywhere[np.abs(everywhere["latitude"].values - latitude) <= _REACH_DEGREES]
        away = great_circle(latitude, longitude, land["latitude"], land["longitude"])
        if _landless(land.values[away.values <= NEAREST_LIMIT]):
            yield (
                f"{leg.name}: the climate data know no land within {NEAREST_LIMIT:.0f} km of "
                f"{latitude:g}, {longitude:g}. Are latitude and longitude in order? Only small "
                "islands are missing there."
            )


def _landless(shares: np.ndarray) -> bool:
    """Return whether shares of land are known and all nought."""
    known = shares[np.isfinite(shares)]
    return bool(known.size) and not known.any()


def namesake_doubts(file: Path) -> Iterator[str]:
    """
    Yield a sentence for each place of a trip whose name far smaller ones have too.

    Parameters
    ----------
    file : Path
        The trip file, which can be read.

    Yields
    ------
    str
    """
    for leg in toml_tables(str(file)).get("legs", ()):
        written = [leg.get("place"), *(leg.get("points") or ())]
        for name in written:
            if isinstance(name, str) and isinstance(position(name, None), str):
                yield from filter(None, [gazetteer().place(name).doubt])


def swapped_doubts(inputs: Inputs, where: Sequence[Extent]) -> Iterator[str]:
    """
    Yield a sentence for each drawn file, or region of it, whose positions read latitude first.

    Such shapes lie far from the journey, and near it if swapped. Numbers beyond 90 are refused
    where files are read, and shapes on water where climate is.

    Parameters
    ----------
    inputs : Inputs
    where : sequence of Extent
        Of its legs.

    Yields
    ------
    str
    """
    files, legs = inputs.trip.files, inputs.trip.legs
    regions = {
        leg.region: _boxes([extent.area])
        for leg, extent in zip(legs, where, strict=True)
        if leg.region is not None
    }
    stated = _stated(inputs, where)
    drawn = np.concatenate([*regions.values(), np.empty((0, 4))])
    # Most often all of a file is swapped, and its regions lie near each other all the same.
    found = list(_doubts(f"{files.regions}: what legs name of it lies", drawn, stated))
    if found:
        yield from found
        drawn = drawn[:, [1, 0, 3, 2]]
    else:
        for name, boxes in regions.items():
            others = [_middles(other) for key, other in regions.items() if key != name]
            rest = np.concatenate([stated, *others])
            yield from _doubts(f"{files.regions}: region '{name}' lies", boxes, rest)
    journey = np.concatenate([stated, _middles(drawn)])
    # The last layer is the bundled one.
    for file, layer in zip(files.hazards, inputs.layers, strict=False):
        hazards = _boxes([feature.shape for feature in layer.features])
        yield from _doubts(f"{file}: the nearest of it lies", hazards, journey)


def _stated(inputs: Inputs, where: Sequence[Extent]) -> np.ndarray:
    """Return the camps that the trip file states, and the route; latitude first. [degrees]"""
    shapes = [extent.camps for extent in where if extent.camps is not None]
    camps = shapely.get_coordinates(shapes)
    route = shapely.get_coordinates(inputs.route)
    thinned = route[:: max(len(route) // _MOST_ROUTE_POINTS, 1)]
    return np.concatenate([camps, thinned])[:, ::-1]


def _boxes(shapes: Sequence[BaseGeometry]) -> np.ndarray:
    """Return west, south, east, north of every part of shapes. [degrees]"""
    return shapely.bounds(shapely.get_parts(shapes)).reshape(-1, 4)


def _middles(boxes: np.ndarray) -> np.ndarray:
    """Return the middles of boxes, latitude first. [degrees]"""
    return np.column_stack([boxes[:, 1] + boxes[:, 3], boxes[:, 0] + boxes[:, 2]]) / 2


def _doubts(whose: str, boxes: np.ndarray, rest: np.ndarray) -> Iterator[str]:
    """Yield that boxes lie far from the rest of a journey, but near with swapped numbers."""
    # A longitude beyond 90 cannot have been a latitude.
    if not len(boxes) or not len(rest) or np.abs(boxes[:, [0, 2]]).max() > 90:
        return
    away, swapped = _kilometres(boxes, rest), _kilometres(boxes[:, [1, 0, 3, 2]], rest)
    if away > _FAR_KM and swapped < away / _NEARER:
        yield (
            f"{whose} {away:,.0f} km from the rest of the journey, but {swapped:,.0f} km with "
            "latitude and longitude swapped. Does it have longitude first, as GeoJSON does?"
        )


def _kilometres(boxes: np.ndarray, places: np.ndarray) -> float:
    """Return about the shortest way between any box and any place. [km]"""
    latitude, longitude = places[:, :1], places[:, 1:]
    nearest = (
        np.clip(latitude, boxes[:, 1], boxes[:, 3]),
        np.clip(longitude, boxes[:, 0], boxes[:, 2]),
    )
    return float(great_circle(latitude, longitude, *nearest).min())
