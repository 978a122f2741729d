"""The route line: read from a file and cut by regions into kilometres.

In: a GPX or GeoJSON file, and regions. Out: the line in degrees, and its pieces in the
order they are driven, each with its region and kilometres.
Assumes straight segments between points; a drawn line is shorter than the road. Where
regions overlap, the first in the file takes the piece.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import geopandas
import gpxpy
import gpxpy.gpx
import numpy as np
import shapely

from sheltermap.files import read_json, read_text, shown
from sheltermap.hazards.drawn import LINES, collection_shapes, line_shape
from sheltermap.hazards.shapes import GEOD
from sheltermap.vocabulary import InputError, Problem


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


def read_route(path: Path | str) -> shapely.MultiLineString:
    """
    Return the route line of a GPX or GeoJSON file.

    Tracks come first in GPX, else routes; their segments follow each other. A GeoJSON
    file holds LineString or MultiLineString features.

    Parameters
    ----------
    path : path
        Ends in .gpx, .geojson or .json.

    Returns
    -------
    shapely.MultiLineString
        In degrees, split at the antimeridian.

    Raises
    ------
    InputError
        If the file can't be read, holds no line, or a point is not on the globe.
    """
    path = Path(path)
    suffix = path.suffix.lower()
    if suffix == ".gpx":
        lines = _gpx_lines(path)
    elif suffix in (".geojson", ".json"):
        lines, problems = collection_shapes(read_json(path), str(path), LINES)
        if problems:
            raise InputError(problems)
    else:
        raise InputError(
            [Problem(str(path), "", "a .gpx or .geojson file", shown(suffix), "Export it so.")]
        )
    parts = [part for line in lines for part in shapely.get_parts(line)]
    if not parts:
        raise InputError(
            [Problem(str(path), "", "a line", "none", "Draw the route, then export it again.")]
        )
    return shapely.MultiLineString(parts)


def route_pieces(
    route: shapely.MultiLineString, regions: geopandas.GeoDataFrame
) -> tuple[RoutePiece, ...]:
    """
    Return the route cut at every region border, in the order it is driven.

    A region driven through twice has two pieces.

    Parameters
    ----------
    route : shapely.MultiLineString
        From `read_route`.
    regions : geopandas.GeoDataFrame
        From ``hazards.layers.read_regions``: columns ``id`` and ``geometry``.

    Returns
    -------
    tuple of RoutePiece
        Of all lengths; their kilometres sum to the route's.
    """
    shapes = regions.geometry.values
    pieces, start = [], 0.0
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


def _gpx_lines(path: Path) -> list:
    """Return the tracks of a GPX file, or its routes where it has no track."""
    text = read_text(path)
    mend = "Export the track again as GPX 1.1."
    if re.search(r"<!\s*(DOCTYPE|ENTITY)", text, re.IGNORECASE):
        raise InputError([Problem(str(path), "", "plain GPX", "XML with entities", mend)])
    try:
        gpx = gpxpy.parse(text)
    except (gpxpy.gpx.GPXException, ValueError) as error:
        raise InputError([Problem(str(path), "", "valid GPX", shown(str(error)), mend)]) from None
    named = [
        (f"trk[{t}].trkseg[{s}]", segment.points)
        for t, track in enumerate(gpx.tracks, start=1)
        for s, segment in enumerate(track.segments, start=1)
    ]
    if not any(len(points) > 1 for _, points in named):
        named = [(f"rte[{r}]", route.points) for r, route in enumerate(gpx.routes, start=1)]
    lines, problems = [], []
    for key, points in named:
        if len(points) > 1:
            positions = [[point.longitude, point.latitude] for point in points]
            line, problem = line_shape(positions, str(path), key)
            lines.append(line)
            problems += [problem] if problem else []
    if problems:
        raise InputError(problems)
    return lines


def _cut_at_borders(points: np.ndarray, shapes) -> np.ndarray:
    """Return a line's points with one more wherever it crosses a border."""
    segments = shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1))
    positions = [np.arange(len(points), dtype=float)]
    for shape in shapes:
        border = shapely.boundary(shape)
        shapely.prepare(border)
        for index in np.flatnonzero(shapely.intersects(border, segments)):
            crossed = shapely.get_coordinates(shapely.intersection(border, segments[index]))
            origin, way = points[index], points[index + 1] - points[index]
            length = way @ way
            if length > 0:
                at = np.clip((crossed - origin) @ way / length, 0.0, 1.0)
                positions.append(index + at)
    at = np.unique(np.concatenate(positions))
    index = np.arange(len(points))
    return np.column_stack([np.interp(at, index, points[:, axis]) for axis in (0, 1)])


def _owners(middles: np.ndarray, shapes) -> np.ndarray:
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
