"""Drawn shapes: GeoJSON geometry as files hold it, checked.

In: the parsed GeoJSON of a file. Out: its shapes in degrees, split at the antimeridian,
and a Problem with place and remedy for each that can't be used.
Assumes WGS84 with longitude first unless the file names its coordinate system.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError
from shapely.geometry.base import BaseGeometry

from sheltermap.files import shown
from sheltermap.hazards.shapes import HIGHEST_LATITUDE, split_at_antimeridian, unwrapped
from sheltermap.vocabulary import Problem

POLYGONS = ("Polygon", "MultiPolygon")
LINES = ("LineString", "MultiLineString")

_MOST_VERTICES = 1_000_000  # judgement: ten times what a detailed coast outline needs.
_PLAIN_CRS = ("CRS84", "EPSG::4326", "EPSG:4326")


def collection_shapes(
    raw: Any, file: str, allowed: tuple[str, ...] = POLYGONS
) -> tuple[list[BaseGeometry], list[Problem]]:
    """
    Return the shapes of a GeoJSON feature collection and all that is wrong with them.

    Parameters
    ----------
    raw : object
        The parsed file.
    file : str
        Its name, for messages.
    allowed : sequence of str
        Geometry types that make sense here.

    Returns
    -------
    shapes : list of shapely geometry
        One for each feature without a problem.
    problems : list of Problem
    """
    features = raw.get("features") if isinstance(raw, dict) else None
    if not isinstance(features, list):
        return [], []  # The model of the file says so in its own words.
    try:
        transformer = _transformer(raw.get("crs"))
    except _Misfit as misfit:
        return [], [misfit.problem(file, "crs")]
    shapes, problems = [], []
    for number, feature in enumerate(features, start=1):
        geometry = feature.get("geometry") if isinstance(feature, dict) else None
        try:
            shapes.append(_shape(geometry, allowed, transformer))
        except _Misfit as misfit:
            problems.append(misfit.problem(file, f"features[{number}].geometry"))
    return shapes, problems


def line_shape(
    positions: Any, file: str, key: str
) -> tuple[BaseGeometry, None] | tuple[None, Problem]:
    """
    Return one line and what is wrong with it.

    Parameters
    ----------
    positions : sequence of [longitude, latitude]
    file, key : str
        Where it stands, for messages.

    Returns
    -------
    shape : shapely geometry or None
    problem : Problem or None
    """
    try:
        return _line(positions, None), None
    except _Misfit as misfit:
        return None, misfit.problem(file, key)


class _Misfit(Exception):
    """A geometry that can't be used: what was expected, what came, how to mend it."""

    def problem(self, file: str, key: str) -> Problem:
        """Return it with its place."""
        return Problem(file, key, *self.args)


def _transformer(member: Any) -> Transformer | None:
    """Return what turns a declared coordinate system into degrees; None where it is degrees."""
    if member is None:
        return None
    properties = member.get("properties") if isinstance(member, dict) else None
    name = properties.get("name") if isinstance(properties, dict) else None
    mend = "Export the file again in WGS 84 (EPSG:4326), longitude first."
    if not isinstance(name, str) or len(name) > 200:
        raise _Misfit("a named coordinate system", shown(member), mend)
    if name.endswith(_PLAIN_CRS):
        return None
    try:
        return Transformer.from_crs(CRS.from_user_input(name), 4326, always_xy=True)
    except CRSError:
        raise _Misfit("a known coordinate system", shown(name), mend) from None


def _shape(
    geometry: Any, allowed: tuple[str, ...], transformer: Transformer | None
) -> BaseGeometry:
    """Return one geometry member as a shape."""
    kind, parts = _parts(geometry, allowed)
    if kind == "Point":
        return _point(parts[0], transformer)
    make = _polygon if kind in POLYGONS else _line
    shapes = [make(part, transformer) for part in parts]
    if kind in LINES:  # In order, and a stretch driven twice stays twice.
        return shapely.MultiLineString([line for s in shapes for line in shapely.get_parts(s)])
    return shapely.union_all(shapes)


def _parts(geometry: Any, allowed: Sequence[str]) -> tuple[str, list[Any]]:
    """Return the kind of a geometry member and the coordinates of its parts, one or more."""
    kind = geometry.get("type") if isinstance(geometry, dict) else None
    if not isinstance(kind, str) or kind not in allowed:
        expected = f"a {' or '.join(allowed)}"
        mend = "Draw the area it touches." if allowed == POLYGONS else "Draw a line."
        raise _Misfit(expected, shown(kind if geometry else geometry), mend)
    coordinates = geometry.get("coordinates")
    parts = coordinates if kind.startswith("Multi") else [coordinates]
    if not isinstance(parts, list) or not parts:
        raise _Misfit("coordinates", shown(coordinates), "Draw it again.")
    return kind, parts


def _polygon(rings: Any, transformer: Transformer | None) -> BaseGeometry:
    """Return one polygon, split at the antimeridian."""
    if not isinstance(rings, list) or not rings:
        raise _Misfit("a list of rings", shown(rings), "Draw the polygon again.")
    arrays = [_ring(ring, transformer) for ring in rings]
    outer, holes = arrays[0], arrays[1:]
    middle = (outer[:, 0].min() + outer[:, 0].max()) / 2
    for hole in holes:
        hole[:, 0] += 360.0 * np.round((middle - hole[:, 0].mean()) / 360.0)
    polygon = shapely.Polygon(outer, holes)
    if not polygon.is_valid:
        reason = shapely.is_valid_reason(polygon)
        raise _Misfit(
            "rings that don't cross or touch themselves, and holes inside",
            _where_crossed(reason),
            "Move the corners near there, or split the polygon.",
        )
    return split_at_antimeridian(polygon)


def _line(points: Any, transformer: Transformer | None) -> BaseGeometry:
    """Return one line, split at the antimeridian."""
    array = _positions(points, transformer)
    if len(array) < 2:
        raise _Misfit("at least 2 points", f"{len(array)}", "Draw the line again.")
    array[:, 0] = unwrapped(array[:, 0])
    return split_at_antimeridian(shapely.LineString(array))


def _point(position: Any, transformer: Transformer | None) -> BaseGeometry:
    """Return one point, longitude -180 to 180."""
    longitude, latitude = _positions([position], transformer)[0]
    if abs(latitude) > HIGHEST_LATITUDE:
        raise _Misfit(
            f"a latitude from -{HIGHEST_LATITUDE} to {HIGHEST_LATITUDE}",
            f"{latitude:.6g}",
            "Draw a polygon instead.",
        )
    return shapely.Point((longitude + 180.0) % 360.0 - 180.0, latitude)


def _ring(points: Any, transformer: Transformer | None) -> npt.NDArray[np.float64]:
    """Return a closed ring with continuous longitudes."""
    array = _positions(points, transformer)
    if not np.array_equal(array[0], array[-1]):
        array = np.vstack([array, array[:1]])
    if len(array) < 4:
        raise _Misfit("a ring of at least 3 corners", f"{len(array)} points", "Draw it again.")
    array[:, 0] = unwrapped(array[:, 0])
    if abs(array[0, 0] - array[-1, 0]) > 1.0:
        raise _Misfit(
            "a ring round part of the globe",
            "a ring round a pole or round the whole globe",
            "Split it, and give edges longer than 180 degrees a point between.",
        )
    return array


def _positions(points: Any, transformer: Transformer | None) -> npt.NDArray[np.float64]:
    """Return positions as an array of longitude and latitude, checked."""
    redraw = "Each position is [longitude, latitude] in degrees."
    try:
        array = np.asarray(points, dtype=float)
    except (TypeError, ValueError):
        raise _Misfit("a list of [longitude, latitude]", shown(points), redraw) from None
    if array.ndim != 2 or array.shape[1] < 2:
        raise _Misfit("a list of [longitude, latitude]", shown(points), redraw)
    if len(array) > _MOST_VERTICES:
        raise _Misfit(f"at most {_MOST_VERTICES} points", f"{len(array)}", "Simplify the shape.")
    array = array[:, :2].copy()
    if transformer is not None:
        array = np.column_stack(transformer.transform(array[:, 0], array[:, 1]))
    if not np.isfinite(array).all():
        raise _Misfit("finite numbers", "infinite or missing ones", redraw)
    _check_ranges(array)
    return array


def _check_ranges(array: npt.NDArray[np.float64]) -> None:
    """Raise where positions can't be longitude and latitude."""
    longitude, latitude = array[:, 0], array[:, 1]
    if np.abs(latitude).max() <= 90 and np.abs(longitude).max() <= 360:
        return
    first = array[(np.abs(latitude) > 90) | (np.abs(longitude) > 360)][0]
    got = f"[{first[0]:.6g}, {first[1]:.6g}]"
    expected = "[longitude, latitude], latitude from -90 to 90"
    if np.abs(longitude).max() <= 90 and np.abs(latitude).max() <= 360:
        raise _Misfit(expected, f"{got}, latitude first", "Swap the two numbers of each position.")
    mend = "Export the file in WGS 84 (EPSG:4326), or name its coordinate system in 'crs'."
    raise _Misfit(expected, got, mend)


def _where_crossed(reason: str) -> str:
    """Return GEOS's complaint in our words: ``Self-intersection[10 47]``."""
    fault, _, place = reason.partition("[")
    numbers = place.rstrip("]").split()
    if len(numbers) < 2:
        return fault.lower()
    longitude, latitude = (float(number) for number in numbers[:2])
    return f"{fault.lower()} near longitude {longitude:.4f}, latitude {latitude:.4f}"
