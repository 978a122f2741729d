"""Shapes on the globe: checked GeoJSON geometry in, planar shapes ready to overlay out.

In: GeoJSON geometry members and places. Out: shapely shapes in degrees, longitude
-180 to 180, split at the antimeridian, with their area and length.
Assumes straight edges in longitude and latitude, as GeoJSON (RFC 7946) does, and a
sphere for areas; lengths are geodesics of WGS84.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from pyproj import CRS, Geod, Transformer
from pyproj.exceptions import CRSError
from shapely.geometry.base import BaseGeometry

from sheltermap.files import shown
from sheltermap.vocabulary import Problem

EARTH_RADIUS_KM = 6371.0072
"""Radius of the sphere with the area of the WGS84 ellipsoid. [km]"""

PLACE_RADIUS_KM = 25.0
"""How far round a place its camps lie, where nothing else is said. [km]"""

GEOD = Geod(ellps="WGS84")

POLYGONS = ("Polygon", "MultiPolygon")
LINES = ("LineString", "MultiLineString")

_MOST_VERTICES = 1_000_000  # judgement: ten times what a detailed coast outline needs.
_PLAIN_CRS = ("CRS84", "EPSG::4326", "EPSG:4326")
_EDGE_DEGREES = 0.25  # Longest edge kept straight when the sphere is unrolled to equal area.
_HIGHEST_LATITUDE = 89  # A disc of 100 km stays clear of the pole.
_MOST_PIECES = 2000  # A line with more corners is smoothed first; its reach is far coarser.
_PIECE_DEGREES = 1.0  # Longest piece of a line that is widened in one projection.
_WORLD = shapely.box(-180.0, -90.0, 180.0, 90.0)


@dataclass(frozen=True)
class Extent:
    """Where the camps of a leg may lie.

    Attributes
    ----------
    kind : str
        ``region``, ``place`` or ``points``.
    parts : tuple of shapely geometry
        Polygons that hold the camps; each part counts the same, whatever its size.
    line : shapely geometry or None
        The route inside the area, where a route is known.
    camps : shapely MultiPoint or None
        Known camps; longitude first.
    """

    kind: str
    parts: tuple[BaseGeometry, ...]
    line: BaseGeometry | None = None
    camps: shapely.MultiPoint | None = None

    @property
    def area(self) -> BaseGeometry:
        """Return all parts as one shape."""
        return self.parts[0] if len(self.parts) == 1 else shapely.union_all(self.parts)


def region_extent(area: BaseGeometry, route: BaseGeometry | None = None) -> Extent:
    """Return the extent of a region, with the part of the route inside it."""
    return Extent("region", (area,), _inside(route, area))


def place_extent(
    latitude: float,
    longitude: float,
    radius_km: float = PLACE_RADIUS_KM,
    route: BaseGeometry | None = None,
) -> Extent:
    """Return the extent of a place: a disc around it, and the place itself as a camp."""
    area = disc(latitude, longitude, radius_km)
    camp = shapely.MultiPoint([(longitude, latitude)])
    return Extent("place", (area,), _inside(route, area), camp)


def points_extent(points, radius_km: float = PLACE_RADIUS_KM) -> Extent:
    """Return the extent of a list of (latitude, longitude): a disc around each."""
    discs = tuple(disc(latitude, longitude, radius_km) for latitude, longitude in points)
    camps = shapely.MultiPoint([(longitude, latitude) for latitude, longitude in points])
    return Extent("points", discs, None, camps)


def disc(latitude: float, longitude: float, radius_km: float) -> BaseGeometry:
    """
    Return the surroundings of a place.

    Parameters
    ----------
    latitude, longitude : float
        Centre. [degrees, -89 to 89 and -180 to 180]
    radius_km : float
        Radius. [km, above 0 to 500]

    Returns
    -------
    shapely geometry
        A polygon of 72 corners, split at the antimeridian.

    Raises
    ------
    ValueError
        If a value is out of range.

    Examples
    --------
    >>> abs(area_km2(disc(47.0, 8.0, 25.0)) / (3.14159 * 25**2) - 1) < 0.005
    True
    """
    inside = abs(latitude) <= _HIGHEST_LATITUDE and abs(longitude) <= 180 and 0 < radius_km <= 500
    if not inside:
        raise ValueError(
            "disc: expected latitude -89 to 89, longitude -180 to 180 and radius up to 500 km, "
            f"got {latitude}, {longitude}, {radius_km}"
        )
    azimuths = np.arange(0.0, 360.0, 5.0)
    count = azimuths.size
    lon, lat, _ = GEOD.fwd(
        np.full(count, longitude),
        np.full(count, latitude),
        azimuths,
        np.full(count, radius_km * 1000.0),
    )
    return split_at_antimeridian(shapely.Polygon(np.column_stack([_unwrapped(lon), lat])))


def surroundings(shape: BaseGeometry, radius_km: float) -> BaseGeometry:
    """
    Return polygons as they are, and a point or a line as the area within a radius.

    Parameters
    ----------
    shape : shapely geometry
        In degrees.
    radius_km : float
        How far a point or line reaches. [km]

    Returns
    -------
    shapely geometry
        Polygons, split at the antimeridian. Long lines are widened piece by piece, so that
        the projection round each piece holds.

    Examples
    --------
    >>> road = shapely.LineString([(10.0, 47.0), (11.0, 47.0)])
    >>> round(area_km2(surroundings(road, 5.0)) / (length_km(road) * 10 + 3.14159 * 25), 2)
    1.0
    """
    if shapely.get_dimensions(shape) == 2:
        return shape
    if shapely.get_dimensions(shape) == 0:
        return disc(shape.y, shape.x, radius_km)
    tolerance = radius_km / 1110.0  # A tenth of the radius, in degrees of latitude.
    while shapely.get_num_coordinates(shape) > _MOST_PIECES:
        shape = shapely.simplify(shape, tolerance)
        tolerance *= 2
    dense = shapely.segmentize(shape, _PIECE_DEGREES)
    pieces = []
    for part in shapely.get_parts(dense):
        points = shapely.get_coordinates(part)
        pieces.extend(_widened(points[i : i + 2], radius_km) for i in range(len(points) - 1))
    return shapely.union_all(pieces)


def boxes(bounds) -> BaseGeometry:
    """
    Return the area between west, south, east and north; west of ±180 where east is less.

    Examples
    --------
    >>> boxes((170, -20, -170, -10)).area
    200.0
    """
    west, south, east, north = bounds
    return split_at_antimeridian(
        shapely.box(west, south, east if east > west else east + 360, north)
    )


def area_km2(shape: BaseGeometry) -> float:
    """
    Return the area of polygons on the sphere.

    Examples
    --------
    >>> round(area_km2(shapely.box(0, 0, 1, 1)))  # R² · 1° · sin 1°
    12364
    """
    dense = shapely.segmentize(shape, _EDGE_DEGREES)
    unrolled = shapely.transform(
        dense, lambda xy: np.column_stack([np.radians(xy[:, 0]), np.sin(np.radians(xy[:, 1]))])
    )
    return float(unrolled.area) * EARTH_RADIUS_KM**2


def length_km(line: BaseGeometry) -> float:
    """Return the geodesic length of the lines in a shape. [km]"""
    lines = [part for part in shapely.get_parts(line) if shapely.get_dimensions(part) == 1]
    return float(sum(GEOD.geometry_length(part) for part in lines)) / 1000.0


def split_at_antimeridian(shape: BaseGeometry) -> BaseGeometry:
    """
    Return a shape with continuous longitudes as parts between -180 and 180.

    Parameters
    ----------
    shape : shapely geometry
        Longitudes may run on beyond ±180, for example 170 to 190.

    Returns
    -------
    shapely geometry

    Examples
    --------
    >>> split_at_antimeridian(shapely.box(170, 0, 190, 10)).bounds
    (-180.0, 0.0, 180.0, 10.0)
    """
    west, _, east, _ = shape.bounds
    if west >= -180.0 and east <= 180.0:
        return shape
    parts = []
    for turn in range(int(np.floor((west + 180) / 360)), int(np.floor((east + 180) / 360)) + 1):
        moved = shapely.transform(shape, lambda xy, turn=turn: xy - [360.0 * turn, 0.0])
        part = shapely.intersection(moved, _WORLD)
        if not part.is_empty and part.area + part.length > 0:
            parts.append(part)
    dimension = shapely.get_dimensions(shape)
    pieces = shapely.get_parts(parts)
    return shapely.union_all([p for p in pieces if shapely.get_dimensions(p) == dimension])


def collection_shapes(raw, file: str, allowed=POLYGONS):
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
    shapes : list of shapely geometry or None
        One for each feature; None where there is a problem.
    problems : list of Problem
    """
    features = raw.get("features") if isinstance(raw, dict) else None
    if not isinstance(features, list):
        return [], []  # The model of the file says so in its own words.
    try:
        transformer = _transformer(raw.get("crs"))
    except _Misfit as misfit:
        return [None] * len(features), [misfit.problem(file, "crs")]
    shapes, problems = [], []
    for number, feature in enumerate(features, start=1):
        geometry = feature.get("geometry") if isinstance(feature, dict) else None
        try:
            shapes.append(_shape(geometry, allowed, transformer))
        except _Misfit as misfit:
            shapes.append(None)
            problems.append(misfit.problem(file, f"features[{number}].geometry"))
    return shapes, problems


class _Misfit(Exception):
    """A geometry that can't be used: what was expected, what came, how to mend it."""

    def problem(self, file: str, key: str) -> Problem:
        """Return it with its place."""
        return Problem(file, key, *self.args)


def _transformer(member) -> Transformer | None:
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


def _shape(geometry, allowed, transformer) -> BaseGeometry:
    """Return one geometry member as a shape."""
    kind = geometry.get("type") if isinstance(geometry, dict) else None
    if kind not in allowed:
        expected = f"a {' or '.join(allowed)}"
        mend = "Draw the area it touches." if allowed == POLYGONS else "Draw a line."
        raise _Misfit(expected, shown(kind if geometry else geometry), mend)
    coordinates = geometry.get("coordinates")
    parts = [coordinates] if not kind.startswith("Multi") else coordinates
    if not isinstance(parts, list) or not parts:
        raise _Misfit("coordinates", shown(coordinates), "Draw it again.")
    if kind == "Point":
        return _point(coordinates, transformer)
    make = _polygon if kind in POLYGONS else _line
    return shapely.union_all([make(part, transformer) for part in parts])


def _polygon(rings, transformer) -> BaseGeometry:
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


def _line(points, transformer) -> BaseGeometry:
    """Return one line, split at the antimeridian."""
    array = _positions(points, transformer)
    if len(array) < 2:
        raise _Misfit("at least 2 points", f"{len(array)}", "Draw the line again.")
    array[:, 0] = _unwrapped(array[:, 0])
    return split_at_antimeridian(shapely.LineString(array))


def _point(position, transformer) -> BaseGeometry:
    """Return one point, longitude -180 to 180."""
    longitude, latitude = _positions([position], transformer)[0]
    if abs(latitude) > _HIGHEST_LATITUDE:
        raise _Misfit(
            f"a latitude from -{_HIGHEST_LATITUDE} to {_HIGHEST_LATITUDE}",
            f"{latitude:.6g}",
            "Draw a polygon instead.",
        )
    return shapely.Point((longitude + 180.0) % 360.0 - 180.0, latitude)


def _ring(points, transformer) -> np.ndarray:
    """Return a closed ring with continuous longitudes."""
    array = _positions(points, transformer)
    if len(array) and not np.array_equal(array[0], array[-1]):
        array = np.vstack([array, array[:1]])
    if len(array) < 4:
        raise _Misfit("a ring of at least 3 corners", f"{len(array)} points", "Draw it again.")
    array[:, 0] = _unwrapped(array[:, 0])
    if abs(array[0, 0] - array[-1, 0]) > 1.0:
        raise _Misfit(
            "a ring round part of the globe",
            "a ring round a pole or round the whole globe",
            "Split it, and give edges longer than 180 degrees a point between.",
        )
    return array


def _positions(points, transformer) -> np.ndarray:
    """Return positions as an array of longitude and latitude, checked."""
    redraw = "Each position is [longitude, latitude] in degrees."
    try:
        array = np.asarray(points, dtype=float)
    except (TypeError, ValueError):
        raise _Misfit("a list of [longitude, latitude]", shown(points), redraw) from None
    if array.ndim != 2 or array.shape[1] not in (2, 3):
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


def _check_ranges(array: np.ndarray) -> None:
    """Raise where positions can't be longitude and latitude."""
    longitude, latitude = array[:, 0], array[:, 1]
    if not array.size or (np.abs(latitude).max() <= 90 and np.abs(longitude).max() <= 360):
        return
    first = array[(np.abs(latitude) > 90) | (np.abs(longitude) > 360)][0]
    got = f"[{first[0]:.6g}, {first[1]:.6g}]"
    expected = "[longitude, latitude], latitude from -90 to 90"
    if np.abs(longitude).max() <= 90 and np.abs(latitude).max() <= 360:
        raise _Misfit(expected, f"{got}, latitude first", "Swap the two numbers of each position.")
    mend = "Export the file in WGS 84 (EPSG:4326), or name its coordinate system in 'crs'."
    raise _Misfit(expected, got, mend)


def _unwrapped(longitude) -> np.ndarray:
    """Return longitudes without jumps: one over 180 degrees is a crossing."""
    return np.unwrap(np.asarray(longitude, dtype=float), period=360.0)


def _where_crossed(reason: str) -> str:
    """Return GEOS's complaint in our words: ``Self-intersection[10 47]``."""
    fault, _, place = reason.partition("[")
    numbers = place.rstrip("]").split()
    if len(numbers) < 2:
        return fault.lower()
    longitude, latitude = (float(number) for number in numbers[:2])
    return f"{fault.lower()} near longitude {longitude:.4f}, latitude {latitude:.4f}"


def _widened(segment: np.ndarray, radius_km: float) -> BaseGeometry:
    """Return the area within a radius of a short straight piece of a line."""
    longitude, latitude = segment.mean(axis=0)
    local = f"+proj=aeqd +lat_0={latitude} +lon_0={longitude} +ellps=WGS84 +units=km"
    there = Transformer.from_crs(4326, CRS.from_proj4(local), always_xy=True)
    flat = np.column_stack(there.transform(segment[:, 0], segment[:, 1]))
    ring = shapely.get_coordinates(shapely.LineString(flat).buffer(radius_km, quad_segs=8))
    back = np.column_stack(there.transform(ring[:, 0], ring[:, 1], direction="INVERSE"))
    back[:, 0] = _unwrapped(back[:, 0])
    return split_at_antimeridian(shapely.Polygon(back))


def _inside(line: BaseGeometry | None, area: BaseGeometry) -> BaseGeometry | None:
    """Return the part of a line inside an area, or None where it doesn't enter."""
    if line is None:
        return None
    parts = shapely.get_parts(shapely.intersection(line, area))
    lines = [part for part in parts if shapely.get_dimensions(part) == 1]
    return shapely.MultiLineString(lines) if lines else None
