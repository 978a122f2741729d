"""The route line, read from a file.

In: a GPX or GeoJSON file. Out: the line in degrees. Assumes straight segments between
points; a drawn line is shorter than the road.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path

import gpxpy
import gpxpy.gpx
import shapely
from shapely.geometry.base import BaseGeometry

from sheltermap.files import read_json, read_text, shown
from sheltermap.hazards.drawn import LINES, collection_shapes, line_shape
from sheltermap.vocabulary import InputError, Problem


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


def _gpx_lines(path: Path) -> list[BaseGeometry]:
    """Return the tracks of a GPX file, or its routes where it has no track."""
    gpx = _gpx(path)
    named = _long_enough(
        (f"trk[{t}].trkseg[{s}]", segment.points)
        for t, track in enumerate(gpx.tracks, start=1)
        for s, segment in enumerate(track.segments, start=1)
    )
    named = named or _long_enough(
        (f"rte[{r}]", route.points) for r, route in enumerate(gpx.routes, start=1)
    )
    drawn = [
        line_shape([[point.longitude, point.latitude] for point in points], str(path), key)
        for key, points in named
    ]
    problems = [problem for _, problem in drawn if problem is not None]
    if problems:
        raise InputError(problems)
    return [line for line, _ in drawn if line is not None]


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
