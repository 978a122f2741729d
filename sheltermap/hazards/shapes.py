"""Shapes on the globe: where the camps of a leg may lie, with areas and lengths.

In: places, boxes and shapes in degrees. Out: extents and shapely shapes with longitude
-180 to 180, split at the antimeridian, and their area and length.
Assumes straight edges in longitude and latitude, as GeoJSON (RFC 7946) does, and a
sphere for areas; lengths are geodesics of WGS84.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
import numpy.typing as npt
import shapely
from pyproj import CRS, Geod, Transformer
from shapely.geometry.base import BaseGeometry

from sheltermap.vocabulary import EARTH_RADIUS_KM, Box

PLACE_RADIUS_KM = 25.0
"""How far round a place its camps lie, where nothing else is said. [km] judgement"""

GEOD = Geod(ellps="WGS84")


_EDGE_DEGREES = 0.25  # Longest edge kept straight when the sphere is unrolled to equal area.
HIGHEST_LATITUDE = 89  # A disc of 100 km stays clear of the pole.
_MOST_PIECES = 2000  # A line with more corners is smoothed first; its reach is far coarser.
_PIECE_DEGREES = 1.0  # Longest piece of a line that is widened in one projection.
_WORLD = shapely.box(-180.0, -90.0, 180.0, 90.0)


@dataclass(frozen=True, eq=False)
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

    @cached_property
    def area(self) -> BaseGeometry:
        """Return all parts as one shape."""
        return self.parts[0] if len(self.parts) == 1 else shapely.union_all(self.parts)


def region_extent(area: BaseGeometry, route: BaseGeometry | None = None) -> Extent:
    """
    Return the extent of a region, with the part of the route inside it.

    Parameters
    ----------
    area : shapely geometry
        Polygons, in degrees, split at the antimeridian.
    route : shapely geometry, optional
        The whole route line.

    Returns
    -------
    Extent
    """
    return Extent("region", (area,), _inside(route, area))


def place_extent(
    latitude: float,
    longitude: float,
    radius_km: float = PLACE_RADIUS_KM,
    route: BaseGeometry | None = None,
) -> Extent:
    """
    Return the extent of a place: a disc around it, and the place itself as a camp.

    Parameters
    ----------
    latitude, longitude : float
        [degrees]
    radius_km : float
        How far round the place its camps lie. [km]
    route : shapely geometry, optional
        The whole route line.

    Returns
    -------
    Extent

    Raises
    ------
    ValueError
        As `disc`.
    """
    area = disc(latitude, longitude, radius_km)
    camp = shapely.MultiPoint([(longitude, latitude)])
    return Extent("place", (area,), _inside(route, area), camp)


def points_extent(
    points: Sequence[tuple[float, float]], radius_km: float = PLACE_RADIUS_KM
) -> Extent:
    """
    Return the extent of several camps: a disc around each, all of the same weight.

    Parameters
    ----------
    points : sequence of (float, float)
        Latitude and longitude. [degrees]
    radius_km : float
        Radius of the discs. [km]

    Returns
    -------
    Extent

    Raises
    ------
    ValueError
        As `disc`.
    """
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
    inside = abs(latitude) <= HIGHEST_LATITUDE and abs(longitude) <= 180 and 0 < radius_km <= 500
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
    return split_at_antimeridian(shapely.Polygon(np.column_stack([unwrapped(lon), lat])))


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
    if isinstance(shape, shapely.Point):
        return disc(shape.y, shape.x, radius_km)
    tolerance = radius_km / 1110.0  # A tenth of the radius, in degrees of latitude.
    while shapely.get_num_coordinates(shape) > _MOST_PIECES:
        shape = shapely.simplify(shape, tolerance)
        tolerance *= 2
    dense = shapely.segmentize(shape, _PIECE_DEGREES)
    pieces: list[BaseGeometry] = []
    for part in shapely.get_parts(dense):
        points = shapely.get_coordinates(part)
        pieces.extend(_widened(points[i : i + 2], radius_km) for i in range(len(points) - 1))
    return shapely.union_all(pieces)


def boxes(bounds: Box) -> BaseGeometry:
    """
    Return the area between four edges, over the antimeridian where east is less than west.

    Parameters
    ----------
    bounds : sequence of 4 float
        West, south, east, north. [degrees]

    Returns
    -------
    shapely geometry

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

    Parameters
    ----------
    shape : shapely geometry
        In degrees.

    Returns
    -------
    float
        [km2] Edges are straight in longitude and latitude.

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
    """
    Return the geodesic length of the lines in a shape.

    Parameters
    ----------
    line : shapely geometry
        In degrees; points and polygons in it have no length.

    Returns
    -------
    float
        [km]

    Examples
    --------
    >>> round(length_km(shapely.LineString([(0, 0), (1, 0)])), 1)
    111.3
    """
    lines = [part for part in shapely.get_parts(line) if shapely.get_dimensions(part) == 1]
    return float(sum(GEOD.geometry_length(part) for part in lines)) / 1000.0


def split_at_antimeridian(shape: BaseGeometry) -> BaseGeometry:
    """
    Return a shape with continuous longitudes as parts between -180 and 180.

    Parameters
    ----------
    shape : shapely Polygon or LineString
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
    if shapely.get_dimensions(shape) == 1:
        return _split_line(shapely.get_coordinates(shape))
    parts: list[BaseGeometry] = []
    for turn in range(int(np.floor((west + 180) / 360)), int(np.floor((east + 180) / 360)) + 1):
        moved = shapely.transform(shape, partial(_turned_back, turns=turn))
        part = shapely.intersection(moved, _WORLD)
        parts.extend(p for p in shapely.get_parts(part) if shapely.get_dimensions(p) == 2)
    return shapely.union_all(parts)


def unwrapped(longitude: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """
    Return longitudes without jumps: one over 180 degrees is a crossing of the antimeridian.

    Parameters
    ----------
    longitude : array_like, shape (points,)
        In the order of a line. [degrees]

    Returns
    -------
    numpy.ndarray of float, same shape
        [degrees, beyond -180 to 180 where the line goes on]

    Examples
    --------
    >>> unwrapped([170.0, -170.0]).tolist()
    [170.0, 190.0]
    """
    return np.unwrap(np.asarray(longitude, dtype=float), period=360.0)


def _turned_back(points: npt.NDArray[np.float64], turns: int) -> npt.NDArray[np.float64]:
    """Return positions that many turns of the globe further west."""
    return points - [360.0 * turns, 0.0]


def _split_line(points: npt.NDArray[np.float64]) -> BaseGeometry:
    """Return a line cut at the antimeridian, its pieces in order and none merged."""
    turns = (points[:, 0] + 180.0) / 360.0
    low, high = np.minimum(turns[:-1], turns[1:]), np.maximum(turns[:-1], turns[1:])
    positions = [np.arange(len(points), dtype=float)]
    for edge in range(int(np.floor(turns.min())) + 1, int(np.ceil(turns.max()))):
        segment = np.flatnonzero((low < edge) & (high > edge))
        way = (edge - turns[segment]) / (turns[segment + 1] - turns[segment])
        positions.append(segment + way)
    at = np.unique(np.concatenate(positions))
    index = np.arange(len(points))
    dense = np.column_stack([np.interp(at, index, points[:, axis]) for axis in (0, 1)])
    turn = np.floor(((dense[:-1, 0] + dense[1:, 0]) / 2 + 180.0) / 360.0)
    cuts = np.flatnonzero(np.diff(turn)) + 1
    lines = [
        dense[first : last + 1] - [360.0 * turn[first], 0.0]
        for first, last in zip([0, *cuts], [*cuts, len(turn)], strict=True)
    ]
    return shapely.MultiLineString(lines) if len(lines) > 1 else shapely.LineString(lines[0])


def _widened(segment: npt.NDArray[np.float64], radius_km: float) -> BaseGeometry:
    """Return the area within a radius of a short straight piece of a line."""
    longitude, latitude = segment.mean(axis=0)
    local = f"+proj=aeqd +lat_0={latitude} +lon_0={longitude} +ellps=WGS84 +units=km"
    there = Transformer.from_crs(4326, CRS.from_proj4(local), always_xy=True)
    flat = np.column_stack(there.transform(segment[:, 0], segment[:, 1]))
    ring = shapely.get_coordinates(shapely.LineString(flat).buffer(radius_km, quad_segs=8))
    back = np.column_stack(there.transform(ring[:, 0], ring[:, 1], direction="INVERSE"))
    back[:, 0] = unwrapped(back[:, 0])
    return split_at_antimeridian(shapely.Polygon(back))


def _inside(line: BaseGeometry | None, area: BaseGeometry) -> BaseGeometry | None:
    """Return the part of a line inside an area, or None where it doesn't enter."""
    if line is None:
        return None
    parts = shapely.get_parts(shapely.intersection(line, area))
    # A line that stays outside leaves one empty line, not none.
    lines = [part for part in parts if shapely.get_dimensions(part) == 1 and not part.is_empty]
    return shapely.MultiLineString(lines) if lines else None
