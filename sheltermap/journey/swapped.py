"""Drawn shapes whose positions read latitude first: far from the journey, near it if swapped.

In: a trip's inputs and the extents of its legs. Out: sentences for the traveller, never a
refusal, since a journey may leap over oceans. Assumes GeoJSON, which has longitude first;
numbers beyond 90 are refused where files are read, and shapes on water where climate is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from sheltermap.climate.grid import great_circle
from sheltermap.hazards.shapes import Extent
from sheltermap.journey.inputs import Inputs

_FAR_KM = 1500.0
_NEARER = 4.0
"""judgement: farther from all else than this, and so many times nearer if swapped. Where both
numbers are alike a swap moves little, and legs of one journey lie apart as far."""

_MOST_ROUTE_POINTS = 200  # Enough to tell thousands of kilometres.


def swapped_doubts(inputs: Inputs, where: Sequence[Extent]) -> Iterator[str]:
    """
    Yield a sentence for each drawn file, or region of it, that looks swapped.

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


def _boxes(shapes) -> np.ndarray:
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
