"""The route of a file: its line, its heights, its named points.

In: a GPX or GeoJSON file, with whatever else tools write into it. Out: a RouteFile. Assumes
straight segments between points; a drawn line is shorter than the road.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import gpxpy
import gpxpy.gpx
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sheltermap.files import read_json, read_text, shown
from sheltermap.hazards.drawn import LINES, collection_shapes, line_shape
from sheltermap.hazards.foreign import Ignored, as_numbered, collection, shapes_of
from sheltermap.vocabulary import Floats, InputError, Problem


@dataclass(frozen=True)
class Waypoint:
    """A named point of a file.

    Attributes
    ----------
    name : str
    latitude, longitude : float
        [degrees]
    elevation_m : float or None
        [m]
    """

    name: str
    latitude: float
    longitude: float
    elevation_m: float | None = None


@dataclass(frozen=True, eq=False)
class RouteFile:
    """What a file says of a route.

    Attributes
    ----------
    line : shapely.MultiLineString
        In degrees, split at the antimeridian.
    heights : numpy.ndarray of float, shape (points, 3)
        Longitude, latitude [degrees] and height [m] of the line's points that have one.
    waypoints : tuple of Waypoint
        In the file's order.
    ignored : str
        One line on what was left out; empty where nothing was.
    """

    line: shapely.MultiLineString
    heights: Floats
    waypoints: tuple[Waypoint, ...]
    ignored: str


def read_route(path: Path | str) -> RouteFile:
    """
    Return the route of a GPX or GeoJSON file.

    Tracks come first in GPX, else routes; their segments follow each other. Of a GeoJSON file
    lines are the route and named points its waypoints; areas are left out.

    Parameters
    ----------
    path : path
        Ends in .gpx, .geojson or .json.

    Returns
    -------
    RouteFile

    Raises
    ------
    InputError
        If the file can't be read, holds no line, or a point is not on the globe.
    """
    path = Path(path)
    suffix = path.suffix.lower()
    if suffix == ".gpx":
        lines, heights, waypoints, ignored = _of_gpx(path)
    elif suffix in (".geojson", ".json"):
        lines, heights, waypoints, ignored = _of_geojson(path)
    else:
        raise InputError(
            [Problem(str(path), "", "a .gpx or .geojson file", shown(suffix), "Export it so.")]
        )
    parts = [part for line in lines for part in shapely.get_parts(line)]
    if not parts:
        raise InputError(
            [Problem(str(path), "", "a line", "none", "Draw the route, then export it again.")]
        )
    known = np.array(heights, dtype=float).reshape(-1, 3)
    return RouteFile(
        shapely.MultiLineString(parts),
        known[np.isfinite(known).all(axis=1)],
        tuple(waypoints),
        ignored.words(str(path)),
    )


_Found = tuple[list[BaseGeometry], list[Sequence[float]], list[Waypoint], Ignored]


def _of_gpx(path: Path) -> _Found:
    """Return the tracks of a GPX file, or its routes where it has no track."""
    gpx, ignored = _gpx(path), Ignored()
    tracks = _long_enough(
        (f"trk[{t}].trkseg[{s}]", segment.points)
        for t, track in enumerate(gpx.tracks, start=1)
        for s, segment in enumerate(track.segments, start=1)
    )
    routes = _long_enough(
        (f"rte[{r}]", route.points) for r, route in enumerate(gpx.routes, start=1)
    )
    if tracks and routes:
        ignored.shapes["route"] = len(routes)
    named = tracks or routes
    # Points of a route that people named are places they want to reach.
    turns = [] if tracks else [point for _, points in routes for point in points if point.name]
    waypoints = _waypoints((*gpx.waypoints, *turns), path, ignored)
    return _drawn(named, path), _heights(named), waypoints, ignored


def _drawn(named: Iterable[tuple[str, Sequence]], path: Path) -> list[BaseGeometry]:
    """Return lists of points as lines, or raise InputError with all that draw none."""
    drawn = [
        line_shape([[point.longitude, point.latitude] for point in points], str(path), key)
        for key, points in named
    ]
    problems = [problem for _, problem in drawn if problem is not None]
    if problems:
        raise InputError(problems)
    return [line for line, _ in drawn if line is not None]


def _heights(named: Iterable[tuple[str, Sequence]]) -> list[Sequence[float]]:
    """Return longitude, latitude and height of the points that have one."""
    return [
        (point.longitude, point.latitude, point.elevation)
        for _, points in named
        for point in points
        if point.elevation is not None
    ]


def _waypoints(points: Sequence, path: Path, ignored: Ignored) -> list[Waypoint]:
    """Return the points with a name, or raise InputError with all that lie nowhere on Earth."""
    found = [
        Waypoint(point.name.strip(), point.latitude, point.longitude, point.elevation)
        for point in points
        if point.name and point.name.strip()
    ]
    astray = [one for one in found if abs(one.latitude) > 90 or abs(one.longitude) > 180]
    if astray:
        expected, mend = "latitude -90 to 90 and longitude -180 to 180", "Correct the waypoint."
        raise InputError(
            Problem(str(path), f"wpt {shown(one.name)}", expected, _numbers(one), mend)
            for one in astray
        )
    if len(found) < len(points):
        ignored.shapes["unnamed waypoint"] = len(points) - len(found)
    return found


def _numbers(point: Waypoint) -> str:
    """Return where a waypoint would lie."""
    return f"{point.latitude:g}, {point.longitude:g}"


def _gpx(path: Path) -> gpxpy.gpx.GPX:
    """Return a GPX file as it is read; entities are refused before they are expanded."""
    text = read_text(path)
    mend = "Export the track again as GPX 1.1."
    if re.search(r"<!\s*(DOCTYPE|ENTITY)", text, re.IGNORECASE):
        raise InputError([Problem(str(path), "", "plain GPX", "XML with entities", mend)])
    try:
        return gpxpy.parse(text)
    except (gpxpy.gpx.GPXException, ValueError) as error:
        raise InputError([Problem(str(path), "", "valid GPX", shown(str(error)), mend)]) from None


def _long_enough(named: Iterable[tuple[str, Sequence]]) -> list[tuple[str, Sequence]]:
    """Return those of some lists of points, each with its place in the file, that draw a line."""
    return [(key, points) for key, points in named if len(points) > 1]


def _of_geojson(path: Path) -> _Found:
    """Return the lines and the named points of a GeoJSON file."""
    raw, ignored = collection(read_json(path)), Ignored()
    features = raw.get("features") if isinstance(raw, dict) else None
    if not isinstance(features, list):
        return [], [], [], ignored
    kept, numbers = shapes_of(features, (*LINES, "Point"), ignored)
    shapes, problems = collection_shapes(raw | {"features": kept}, str(path), (*LINES, "Point"))
    if problems:
        raise InputError(as_numbered(problems, numbers))
    lines: list[BaseGeometry] = []
    heights: list[Sequence[float]] = []
    waypoints: list[Waypoint] = []
    for feature, shape in zip(kept, shapes, strict=True):
        if not isinstance(shape, shapely.Point):
            lines.append(shape)
            heights += [one[:3] for one in _positions(feature["geometry"]["coordinates"])]
        elif name := _name(feature):
            height = [one[2] for one in _positions(feature["geometry"]["coordinates"])]
            waypoints.append(Waypoint(name, shape.y, shape.x, *height))
        else:
            ignored.shapes["unnamed point"] += 1
    return lines, heights, waypoints, ignored


def _name(feature: Any) -> str | None:
    """Return what a feature is called; None where nobody named it."""
    properties = feature.get("properties")
    if not isinstance(properties, dict):
        return None
    by_key = {str(key).lower(): value for key, value in properties.items()}
    found = by_key.get("name") or by_key.get("title")
    return found.strip() or None if isinstance(found, str) else None


def _positions(coordinates: Any) -> Iterator[Sequence[float]]:
    """Yield the positions that have a height, in degrees, however deep they stand."""
    if isinstance(coordinates[0], int | float):
        longitude, latitude, *height = coordinates
        if height and abs(latitude) <= 90 and abs(longitude) <= 360:
            yield coordinates
        return
    for inner in coordinates:
        yield from _positions(inner)
