"""Remake the world layer of tropical cyclone seasons from coasts and published months.

In: the land share of the embedded climatology and the basins below. Out: the file
``cyclones.geojson`` beside this script.
Assumes that land within 300 km of a basin's coast is exposed (common practice). Months
are those of the US National Weather Service's JetStream school. The outlines of basins,
and where it is serious, are judgement: in the printed peaks and main months, within
100 km of coasts 10 to 40 degrees from the equator. All else in season is an advisory.

Run it from the repository: ``python regions/world/make_cyclones.py``
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from scipy import ndimage
from scipy.spatial import KDTree

from sheltermap.climate.world import world_climatology
from sheltermap.hazards.shapes import EARTH_RADIUS_KM

HERE = Path(__file__).parent

INLAND_KM = 300.0
CORE_INLAND_KM = 100.0  # Wind weakens within hours of reaching land.
OFFSHORE_KM = 60.0  # So that shores and small islands lie inside the drawn shapes.
CORE_LATITUDES = (10.0, 40.0)
SMOOTHING_DEGREES = 0.35
SOURCE = "NOAA National Weather Service, JetStream: tropical cyclone basins and seasons"


@dataclass(frozen=True)
class Basin:
    """A basin: its season, its peak, and rings round the coasts it touches."""

    name: str
    season: str
    peaks: tuple[str, ...]
    rings: tuple[tuple[tuple[float, float], ...], ...]
    rare: tuple[tuple[float, float, float, float], ...] = ()


BASINS = (
    Basin(
        "North Atlantic",
        "06-01..11-30",
        ("September",),
        (
            (
                (-100, 32), (-100, 22), (-97.5, 18.2), (-94, 17.2), (-91, 15.2), (-88, 14.4),
                (-85, 12.2), (-83.5, 10), (-45, 10), (-20, 12), (-20, 47.5), (-66, 47.5),
                (-72, 44.5), (-76.5, 41.5), (-79, 37.5), (-84, 32.5),
            ),
        ),
    ),
    Basin(
        "North-east Pacific",
        "05-15..11-30",
        (),
        (
            (
                (-125, 31), (-114.5, 31.8), (-109, 29), (-105, 23), (-101, 19), (-97, 17),
                (-94, 16.8), (-92, 15.5), (-89, 14), (-87, 13), (-86, 11.5), (-84.5, 9.8),
                (-84, 8), (-125, 8),
            ),
            ((-180, 8), (-125, 8), (-125, 31), (-180, 31)),
        ),
    ),
    Basin(
        "North-west Pacific",
        "all year",
        ("July..November",),
        (
            (
                (100.5, 4.5), (100, 7), (99, 9), (98.9, 14), (104, 24), (112, 30), (115, 41),
                (125, 46.5), (180, 46.5), (180, 4.5),
            ),
        ),
        ((98.0, 4.0, 104.9, 14.0),),
    ),
    Basin(
        "North Indian",
        "April..December",
        ("May", "November"),
        (
            (
                (44, 4), (44, 13.2), (46, 16), (53, 20), (56, 23.5), (56.2, 25.7), (57.5, 27.5),
                (67, 26.5), (73, 25), (85, 24.5), (92, 25), (97, 19), (98.9, 14), (98.9, 9),
                (100, 6.5), (100, 5), (78, 5), (52, 4),
            ),
        ),
        ((96.0, 4.0, 100.0, 15.5),),
    ),
    Basin(
        "South-west Indian",
        "10-25..05-31",
        ("01-08..01-22", "02-15..03-31"),
        (((30, -6), (100, -6), (100, -30), (30, -30)),),
    ),
    Basin(
        "South-east Indian",
        "10-25..05-31",
        (),
        (
            (
                (100, -8), (142, -8), (142, -18.5), (122, -26), (116.5, -29), (114.8, -32),
                (100, -32),
            ),
        ),
    ),
    Basin(
        "South-west Pacific",
        "10-25..05-10",
        ("February..March",),
        (
            (
                (142, -8), (142, -17), (146, -22), (150, -30), (152, -33), (165, -33), (171, -38),
                (180, -38), (180, -5.5), (155, -5.5), (150, -7),
            ),
            ((-180, -5.5), (-120, -5.5), (-120, -30), (-180, -38)),
        ),
    ),
)  # fmt: skip


def main() -> None:
    """Write the layer."""
    land = world_climatology()["land_fraction"].fillna(0.0)
    latitude, longitude = (land[name].values for name in ("latitude", "longitude"))
    ocean = _ocean(land.values)
    features = [
        feature
        for basin in BASINS
        for feature in _features(basin, land.values, ocean, latitude, longitude)
    ]
    layer = {
        "type": "FeatureCollection",
        "title": "Tropical cyclone seasons",
        "source": SOURCE,
        "covers": [{"kinds": ["tropical-cyclone"], "bbox": [-180, -90, 180, 90]}],
        "features": features,
    }
    lines = json.dumps(layer, ensure_ascii=False).replace(
        '{"type": "Feature",', '\n{"type": "Feature",'
    )
    (HERE / "cyclones.geojson").write_text(lines + "\n", encoding="utf-8", newline="\n")


def _ocean(land) -> np.ndarray:
    """Return the cells of the world's ocean, lakes and inner seas left out."""
    water = land <= 0.5
    labels, _ = ndimage.label(water, np.ones((3, 3)))
    return labels == np.bincount(labels[water]).argmax()


def _coast(land, ocean) -> np.ndarray:
    """Return the cells with land that touch the ocean."""
    # The grid goes round the globe, so the columns at its two ends are neighbours.
    around = np.concatenate([ocean[:, -1:], ocean, ocean[:, :1]], axis=1)
    near = ndimage.binary_dilation(around, np.ones((3, 3)))[:, 1:-1]
    return (land > 0) & near


def _features(basin: Basin, land, ocean, latitude, longitude):
    """Yield the core of a basin, then where cyclones are rarer."""
    y, x = np.meshgrid(latitude, longitude, indexing="ij")
    inside = np.zeros(land.shape, dtype=bool)
    for ring in basin.rings:
        inside |= shapely.contains_xy(shapely.Polygon(ring), x, y)
    lowest, highest = CORE_LATITUDES
    core = (np.abs(y) >= lowest) & (np.abs(y) <= highest)
    for west, south, east, north in basin.rare:
        core &= ~((x >= west) & (x <= east) & (y >= south) & (y <= north))
    season = {basin.season: "advisory"}
    peak = {span: "serious" for span in basin.peaks}
    if not peak:
        core = np.zeros_like(core)
    coast = _coast(land, ocean) & inside
    # The open sea belongs to it: many islands are smaller than a cell of the land share.
    core_band = _band(coast & core, land, x, y, CORE_INLAND_KM) | (ocean & inside & core)
    all_band = _band(coast, land, x, y, INLAND_KM) | (ocean & inside)
    for band, level, words in (
        (core_band, season | peak, "Most likely in the peak months."),
        (all_band & ~core_band, season, "Cyclones are possible in season."),
    ):
        if band.any():
            yield {
                "type": "Feature",
                "properties": {
                    "kind": "tropical-cyclone",
                    "level": level,
                    "note": f"{basin.name} basin. {words} Official seasons differ by weeks.",
                    "source": SOURCE,
                },
                "geometry": _outline(band, latitude, longitude),
            }


def _band(coast, land, longitude, latitude, inland_km) -> np.ndarray:
    """Return the cells near coast cells: land up to a distance, sea up to 60 km."""
    if not coast.any():
        return np.zeros_like(coast)
    points = _unit(latitude, longitude)
    chord, _ = KDTree(points[coast]).query(points.reshape(-1, 3))
    distance = 2 * EARTH_RADIUS_KM * np.arcsin(chord / 2).reshape(land.shape)
    return (distance <= OFFSHORE_KM) | ((land > 0.5) & (distance <= inland_km))


def _unit(latitude, longitude) -> np.ndarray:
    """Return points on the unit sphere."""
    lat, lon = np.radians(latitude), np.radians(longitude)
    return np.stack([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)], axis=-1)


def _outline(band, latitude, longitude):
    """Return cells as a smoothed MultiPolygon, coordinates to a tenth of a degree."""
    step = latitude[1] - latitude[0]
    row, column = np.nonzero(band)
    x, y = longitude[column], latitude[row]
    half = step / 2
    boxes = shapely.box(np.maximum(x - half, -180), y - half, np.minimum(x + half, 180), y + half)
    whole = shapely.union_all(boxes)
    # Closing joins islands of a group; simplifying keeps the file small.
    closed = whole.buffer(step, join_style="mitre").buffer(-step, join_style="mitre")
    within = shapely.intersection(closed, shapely.box(-180, -90, 180, 90))
    simple = shapely.simplify(within, SMOOTHING_DEGREES)
    rounded = shapely.make_valid(shapely.set_precision(simple, 0.1))
    parts = [p for p in shapely.get_parts(rounded) if p.geom_type == "Polygon"]
    return {
        "type": "MultiPolygon",
        "coordinates": [
            [[[round(a, 1), round(b, 1)] for a, b in ring.coords] for ring in _rings(part)]
            for part in parts
        ],
    }


def _rings(polygon):
    """Return the outer ring; holes of a few cells are filled."""
    kept = [ring for ring in polygon.interiors if shapely.Polygon(ring).area > 4.0]
    return [polygon.exterior, *kept]


if __name__ == "__main__":
    main()
