"""The base map: coast, borders, lakes, rivers and towns, cut to the journey's box.

In: a box in degrees, and layers as GeoJSON feature collections: those that ship, or others.
Out: the layers inside the box, with short coordinates, and SVG paths for the drawn map.
Assumes WGS84; shapes are only cut and thinned for showing.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any, TypeAlias

import shapely
from shapely.geometry import box as rectangle
from shapely.geometry import mapping, shape
from shapely.geometry.base import BaseGeometry

from sheltermap.resources import bundled
from sheltermap.website.overlays import MERCATOR_LIMIT

Bounds: TypeAlias = tuple[float, float, float, float]
"""South, west, north, east. [degrees]"""

BaseMap: TypeAlias = Callable[[Bounds], dict[str, dict]]
"""Gives the layers inside a box, as `shipped` and `clipped` do."""

MARGIN = 4.0
"""Country shown around what a map is about, so that its edge has a place. [degrees]"""

LAYERS = ("countries", "lakes", "rivers", "places")
"""Layers a base map may have, from bottom to top."""


@lru_cache(maxsize=4)
def shipped(bounds: Bounds) -> dict[str, dict]:
    """
    Return the layers of the shipped base map inside a box.

    Parameters
    ----------
    bounds : Bounds

    Returns
    -------
    dict of str to dict
        As from `clipped`; the same object for the same box, so do not write into it.

    Examples
    --------
    >>> layers = shipped((40.0, 28.0, 42.0, 30.0))
    >>> [one["properties"]["name"] for one in layers["places"]["features"]]
    ['Istanbul']
    """
    south, west, north, east = bounds

    def near(found: dict) -> dict | None:
        # A shape elsewhere goes as soon as it is read: the whole world takes 12 MB, and as long
        # to build as all the rest.
        if "coordinates" not in found:
            return found
        points = positions(found["coordinates"])
        longitudes, latitudes = [point[0] for point in points], [point[1] for point in points]
        beyond = max(longitudes) < west or min(longitudes) > east
        return None if beyond or max(latitudes) < south or min(latitudes) > north else found

    text = (bundled("regions") / "world" / "basemap.json").read_text("utf-8")
    return clipped(json.loads(text, object_hook=near), bounds)


def surroundings(bounds: Bounds) -> Bounds:
    """
    Return a box with its margin, no larger than a web map.

    Examples
    --------
    >>> surroundings((38.0, 28.0, 84.0, 179.0))
    (34.0, 24.0, 85.0, 180.0)
    """
    south, west, north, east = bounds
    return (
        max(-MERCATOR_LIMIT, south - MARGIN),
        max(-180.0, west - MARGIN),
        min(MERCATOR_LIMIT, north + MARGIN),
        min(180.0, east + MARGIN),
    )


def clipped(base_map: Mapping[str, dict], bounds: Bounds) -> dict[str, dict]:
    """
    Return the layers inside a box.

    Parameters
    ----------
    base_map : mapping of str to dict
        GeoJSON feature collections by layer name; absent layers stay absent.
    bounds : Bounds

    Returns
    -------
    dict of str to dict
        Features keep `name` only, coordinates two decimals.
    """
    south, west, north, east = bounds
    window = rectangle(west, south, east, north)
    return {
        layer: {
            "type": "FeatureCollection",
            "features": list(_inside(base_map[layer]["features"], window)),
        }
        for layer in LAYERS
        if layer in base_map
    }


def _inside(
    features: Iterable[Mapping[str, Any]], window: BaseGeometry
) -> Iterator[dict[str, Any]]:
    """Yield features cut to a window."""
    for feature in features:
        if not feature.get("geometry"):
            continue
        geometry = shape(feature["geometry"])
        if not geometry.intersects(window):
            continue
        if not geometry.is_valid:
            geometry = shapely.make_valid(geometry)
        # Where an area only touches the window, lines and points of it are left.
        part = geometry.intersection(window)
        pieces = shapely.get_parts(part)
        alike = shapely.get_dimensions(pieces) == shapely.get_dimensions(geometry)
        if not alike.any():
            continue
        if not alike.all():
            part = shapely.union_all(pieces[alike])
        part = shapely.set_precision(part, 0.01, mode="pointwise")
        name = (feature.get("properties") or {}).get("name", "")
        yield {
            "type": "Feature",
            "properties": {"name": name or ""},
            "geometry": _rounded(mapping(part)),
        }


def positions(coordinates: Sequence[Any]) -> list[Sequence[float]]:
    """Return every position of GeoJSON coordinates: longitude, latitude, perhaps more."""
    if coordinates and isinstance(coordinates[0], (int, float)):
        return [coordinates]
    if coordinates and coordinates[0] and isinstance(coordinates[0][0], (int, float)):
        return list(coordinates)
    return [position for part in coordinates for position in positions(part)]


def _rounded(geometry: Mapping[str, Any]) -> dict[str, Any]:
    """Return a GeoJSON geometry with two decimals, repeats dropped."""

    def walk(part: Sequence[Any]) -> list[Any]:
        if part and isinstance(part[0], (int, float)):
            return [round(float(part[0]), 2), round(float(part[1]), 2)]
        done = [walk(one) for one in part]
        return [one for n, one in enumerate(done) if n == 0 or one != done[n - 1] or len(done) < 5]

    return {"type": geometry["type"], "coordinates": walk(geometry["coordinates"])}


def script(layers: Mapping[str, dict]) -> bytes:
    """
    Return the base map as a script that sets one global, for pages opened from a file.

    Parameters
    ----------
    layers : mapping
        From `clipped`.

    Returns
    -------
    bytes
    """
    text = json.dumps(layers, separators=(",", ":"), ensure_ascii=True, sort_keys=True)
    return f"window.SM_BASE={text};\n".replace("</", "<\\/").encode()


def northing(latitude: float) -> float:
    """Return how far north of the equator Mercator draws a latitude, in degrees of longitude."""
    return math.degrees(math.asinh(math.tan(math.radians(latitude))))


def latitude_at(north: float) -> float:
    """
    Return the latitude that Mercator draws so far north; the inverse of `northing`.

    Examples
    --------
    >>> round(latitude_at(northing(41.5)), 6)
    41.5
    """
    return math.degrees(math.atan(math.sinh(math.radians(north))))


class Projection:
    """Mercator coordinates of a box, for drawings of a given width.

    Parameters
    ----------
    bounds : Bounds
    width : float
        Of the drawing, in its own units.
    """

    def __init__(self, bounds: Bounds, width: float):
        south, west, north, east = bounds
        self.west, self.width = west, width
        self.scale = width / (east - west)
        self.top = northing(min(north, 84.9))
        self.height = (self.top - northing(max(south, -84.9))) * self.scale

    def point(self, latitude: float, longitude: float) -> tuple[float, float]:
        """Return x and y of a place."""
        latitude = max(-84.9, min(84.9, latitude))
        return (
            (longitude - self.west) * self.scale,
            (self.top - northing(latitude)) * self.scale,
        )

    def path(self, geometry: dict, tolerance: float = 0.4) -> str:
        """
        Return a GeoJSON geometry as SVG path data, points closer than `tolerance` dropped.

        Points give no path.
        """
        kind, parts = geometry["type"], geometry["coordinates"]
        if kind == "Polygon":
            return "".join(self._ring(ring, tolerance, True) for ring in parts)
        if kind == "MultiPolygon":
            return "".join(self._ring(ring, tolerance, True) for poly in parts for ring in poly)
        if kind == "LineString":
            return self._ring(parts, tolerance, False)
        if kind == "MultiLineString":
            return "".join(self._ring(line, tolerance, False) for line in parts)
        return ""

    def _ring(self, points: Iterable[Sequence[float]], tolerance: float, closed: bool) -> str:
        """Return one ring or line."""
        kept: list[tuple[float, float]] = []
        for longitude, latitude, *_ in points:
            x, y = self.point(latitude, longitude)
            if not kept or math.hypot(x - kept[-1][0], y - kept[-1][1]) >= tolerance:
                kept.append((x, y))
        if len(kept) < (3 if closed else 2):
            return ""
        return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in kept) + ("Z" if closed else "")
