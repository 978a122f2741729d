"""The route line cut by regions into kilometres.

In: the line in degrees, and regions. Out: its pieces in the order they are driven, each
with its region and kilometres. Where regions overlap, the first in the file takes the piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sheltermap.hazards.shapes import GEOD


@dataclass(frozen=True, eq=False)
class RoutePiece:
    """A stretch of the route without a border.

    Attributes
    ----------
    region : str or None
        Id of the region it runs through; None between regions.
    start_km, kilometres : float
        Kilometres from the route's start to the piece, and its own length. [km]
    line : shapely LineString
        Its course, in degrees.
    """

    region: str | None
    start_km: float
    kilometres: float
    line: shapely.LineString


def route_pieces(
    route: shapely.MultiLineString, regions: geopandas.GeoDataFrame
) -> tuple[RoutePiece, ...]:
    """
    Return the route cut at every region border, in the order it is driven.

    A region driven through twice has two pieces.

    Parameters
    ----------
    route : shapely.MultiLineString
        From ``trip.route.read_route``.
    regions : geopandas.GeoDataFrame
        From ``hazards.layers.read_regions``: columns ``id`` and ``geometry``.

    Returns
    -------
    tuple of RoutePiece
        Of all lengths; their kilometres sum to the route's.
    """
    shapes = regions.geometry.values
    pieces: list[RoutePiece] = []
    start = 0.0
    for part in shapely.get_parts(route):
        points = _cut_at_borders(shapely.get_coordinates(part), shapes)
        owners = _owners((points[:-1] + points[1:]) / 2, shapes)
        changes = np.flatnonzero(np.diff(owners)) + 1
        for first, last in zip([0, *changes], [*changes, len(owners)], strict=True):
            course = points[first : last + 1]
            kilometres = GEOD.line_length(course[:, 0], course[:, 1]) / 1000.0
            owner = owners[first]
            name = None if owner < 0 else str(regions["id"].iloc[owner])
            line = shapely.LineString(course)
            if pieces and pieces[-1].region == name and _joined(pieces[-1].line, line):
                line = shapely.LineString([*pieces[-1].line.coords, *line.coords])
                before = pieces.pop()
                start, kilometres = before.start_km, before.kilometres + kilometres
            pieces.append(RoutePiece(name, start, kilometres, line))
            start += kilometres
    return tuple(pieces)


def _cut_at_borders(points: np.ndarray, shapes: Sequence[BaseGeometry]) -> np.ndarray:
    """Return a line's points with one more wherever it crosses a border."""
    segments = np.asarray(shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1)))
    positions = [np.arange(len(points), dtype=float)]
    for shape in shapes:
        border = shapely.boundary(shape)
        shapely.prepare(border)
        for number in np.flatnonzero(shapely.intersects(border, segments)):
            crossed = shapely.get_coordinates(shapely.intersection(border, segments[number]))
            origin, way = points[number], points[number + 1] - points[number]
            length = way @ way
            if length > 0:
                at = np.clip((crossed - origin) @ way / length, 0.0, 1.0)
                positions.append(number + at)
    at = np.unique(np.concatenate(positions))
    index = np.arange(len(points))
    return np.column_stack([np.interp(at, index, points[:, axis]) for axis in (0, 1)])


def _owners(middles: np.ndarray, shapes: Sequence[BaseGeometry]) -> np.ndarray:
    """Return the first region that holds each point; -1 outside all."""
    owners = np.full(len(middles), -1)
    for number in reversed(range(len(shapes))):
        shapely.prepare(shapes[number])
        owners[shapely.contains_xy(shapes[number], middles[:, 0], middles[:, 1])] = number
    return owners


def _joined(before: shapely.LineString, after: shapely.LineString) -> bool:
    """Return whether a line goes on where another ends, also across the antimeridian."""
    end, start = np.array(before.coords[-1]), np.array(after.coords[0])
    return bool(np.allclose(end, start))
