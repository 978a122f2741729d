"""Maps: the only module that knows folium, and the drawn map for paper.

In: the Report's places, route and grid, and the base map. Out: the three pieces of a
Leaflet map for our own page, and an SVG drawing. Assumes that user text never reaches
folium: features carry numbers, and the page's script looks names up and writes them as
text. Element ids are renumbered in tree order so that two builds are the same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import folium
import xstatic.pkg.leaflet as leaflet
from branca.element import Element, Figure, MacroElement
from jinja2 import Template

from sheltermap.places.place import Place
from sheltermap.report.report import Report
from sheltermap.website.basemap import Bounds, Projection, clipped, positions
from sheltermap.website.environment import asset
from sheltermap.website.overlays import shown_rows

MARGIN = 4.0
"""Country shown around the overlay, so that its edge has a place. [degrees]"""

_WIDTH = 344  # of the drawn map, in its own units
_DISC_RADIUS = 9  # of a numbered stop with its edge, in the drawing's units
_PADDING = 0.6  # degrees around the places on the drawn map


@dataclass(frozen=True)
class MapParts:
    """A Leaflet map, to be put into a page of ours."""

    html: str
    style: str
    script: str
    aspect: float


class _Call(MacroElement):
    """A call of our own script, rendered after everything it names."""

    _template = Template("{% macro script(this, kwargs) %}{{ this.call() }}{% endmacro %}")

    def __init__(self, function: str, **elements: Element | None) -> None:
        super().__init__()
        self._name = "Call"
        self.function, self.elements = function, elements

    def call(self) -> str:
        """Return the call with the names that the elements have by now."""
        names = ", ".join(
            f"{key}: {'null' if element is None else element.get_name()}"
            for key, element in self.elements.items()
        )
        return f"{self.function}({{{names}}});"


def region_map(report: Report) -> MapParts:
    """
    Return the page's Leaflet map: overlay, regions, route and camps.

    Parameters
    ----------
    report : Report

    Returns
    -------
    MapParts
    """
    grid = report.grid
    _, south, north = shown_rows(len(grid.latitude), grid.south, grid.north)
    page_map, overlay = _overlaid((south, grid.west, north, grid.east), min_zoom=2, max_zoom=11)
    regions = folium.GeoJson(
        {
            "type": "FeatureCollection",
            "features": [
                {
                    "type": "Feature",
                    "id": number,
                    "properties": {"place": number},
                    "geometry": place.geometry,
                }
                for number, place in enumerate(report.places)
            ],
        },
        smooth_factor=1.5,
    )
    regions.add_to(page_map)
    route = None
    if len(report.route) > 1:
        route = folium.PolyLine([list(point) for point in report.route], weight=3)
        route.add_to(page_map)
    page_map.fit_bounds(overlay.bounds)
    page_map.add_child(
        _Call("SM.map", map=page_map, overlay=overlay, regions=regions, route=route)
    )
    return _parts(page_map, (south, grid.west, north, grid.east))


def atlas_map(bounds: Bounds) -> MapParts:
    """
    Return an atlas's Leaflet map: an overlay alone, which the page's script changes.

    Parameters
    ----------
    bounds : Bounds
        Of the overlay; east may pass 180. [degrees]

    Returns
    -------
    MapParts
    """
    # Arrow keys move the marked cell instead.
    page_map, overlay = _overlaid(bounds, min_zoom=0, max_zoom=9, keyboard=False)
    page_map.fit_bounds(overlay.bounds)
    page_map.add_child(_Call("SM.atlas", map=page_map, overlay=overlay))
    return _parts(page_map, bounds)


def _overlaid(
    bounds: Bounds, **options: Any
) -> tuple[folium.Map, folium.raster_layers.ImageOverlay]:
    """Return a map that shows a box with an overlay on it, and panes for what lies around that."""
    south, west, north, east = bounds
    # Ours is the only copy: pages load leaflet themselves, in their own order.
    page_map = folium.Map(
        [(south + north) / 2, (west + east) / 2],
        zoom_start=4,
        tiles=None,
        attribution_control=False,
        zoom_snap=0.125,
        max_bounds=True,
        min_lat=south - MARGIN,
        max_lat=north + MARGIN,
        min_lon=west - MARGIN,
        max_lon=east + MARGIN,
        **options,
    )
    page_map.default_js, page_map.default_css = [], []
    folium.map.CustomPane("base", z_index=250, pointer_events=False).add_to(page_map)
    folium.map.CustomPane("water", z_index=420, pointer_events=False).add_to(page_map)
    corners = [[south, west], [north, east]]
    overlay = folium.raster_layers.ImageOverlay(
        "data:,", corners, opacity=0.85, pixelated=True, alt="Month overlay"
    )
    overlay.add_to(page_map)
    return page_map, overlay


def _parts(page_map: folium.Map, bounds: Bounds) -> MapParts:
    """Return a map's pieces with stable ids and no link to another host."""
    root = page_map.get_root()
    assert isinstance(root, Figure)  # folium puts every map into one
    _renumber(root)
    root.render()
    header = root.header.render()
    styles = "\n".join(re.findall(r"<style>(.*?)</style>", header, re.S))
    aspect = round(1 / Projection(bounds, 1.0).height, 3)
    return MapParts(root.html.render(), styles, root.script.render(), aspect)


def _renumber(root: Element) -> None:
    """Give every element of a tree an id by its position."""
    waiting, number = [root], 0
    while waiting:
        element = waiting.pop(0)
        element._id = f"{number:04x}"
        number += 1
        waiting += list(element._children.values())


def leaflet_files() -> dict[str, bytes]:
    """
    Return Leaflet's own files and its conditions, by their path in the site.

    Returns
    -------
    dict of str to bytes
    """
    base = Path(leaflet.BASE_DIR)
    files = {
        f"vendor/leaflet/{name}": (base / name).read_bytes()
        for name in ("leaflet.js", "leaflet.css")
    }
    return files | {"vendor/leaflet/LICENSE.txt": asset("leaflet-licence.txt")}


@dataclass(frozen=True)
class DrawnPlace:
    """What the drawn map shows of a place: a number in travel order, a name, a shape."""

    number: int
    name: str
    latitude: float
    longitude: float
    geometry: dict


def drawn_places(places: Sequence[Place]) -> list[DrawnPlace]:
    """
    Return the places of a report as the drawn map shows them.

    Parameters
    ----------
    places : sequence of Place
        In travel order.

    Returns
    -------
    list of DrawnPlace
    """
    return [
        DrawnPlace(number, place.name, place.latitude, place.longitude, place.geometry)
        for number, place in enumerate(places, 1)
    ]


def drawn_map(
    places: Sequence[DrawnPlace],
    route: Sequence[tuple[float, float]],
    base: Mapping[str, dict],
) -> dict:
    """
    Return the journey on a drawn map, for the Plan page, for paper and for public copies.

    Parameters
    ----------
    places : sequence of DrawnPlace
        At least one.
    route : sequence of (latitude, longitude)
        A line; nothing is drawn of less than two points. [degrees]
    base : mapping
        Layers inside the box, from `basemap.clipped`.

    Returns
    -------
    dict
        SVG paths and points for the template.
    """
    bounds = drawn_bounds(places)
    projection = Projection(bounds, _WIDTH)
    base = clipped(base, bounds)
    layers = {
        layer: "".join(
            projection.path(f["geometry"]) for f in base.get(layer, {}).get("features", ())
        )
        for layer in ("countries", "lakes", "rivers")
    }
    stops = _spread(places, projection)
    line = [projection.point(*point) for point in route]
    return {
        "width": _WIDTH,
        "height": round(projection.height, 1),
        "layers": layers,
        "regions": [{"path": projection.path(place.geometry)} for place in places],
        "route": "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in line) if len(line) > 1 else "",
        "stops": stops,
        "towns": _towns(base, projection, stops),
    }


def drawn_bounds(places: Sequence[DrawnPlace]) -> tuple[float, float, float, float]:
    """
    Return the box of the drawing: the places with a margin that holds their discs whole.

    Parameters
    ----------
    places : sequence of DrawnPlace
        As for `drawn_map`.

    Returns
    -------
    tuple of float
        South, west, north, east. [degrees]
    """
    latitudes = [p.latitude for p in places]
    longitudes = [p.longitude for p in places]
    for place in places:
        for longitude, latitude, *_ in positions(place.geometry["coordinates"]):
            latitudes.append(latitude)
            longitudes.append(longitude)
    # Degrees of latitude are drawn at least as long as those of longitude.
    disc = (max(longitudes) - min(longitudes)) * _DISC_RADIUS / (_WIDTH - 2 * _DISC_RADIUS)
    padding = min(max(_PADDING, disc), MARGIN)
    return (
        max(-85.0, min(latitudes) - padding),
        max(-180.0, min(longitudes) - padding),
        min(85.0, max(latitudes) + padding),
        min(180.0, max(longitudes) + padding),
    )


def _spread(places: Sequence[DrawnPlace], projection: Projection) -> list[dict]:
    """Return numbered stops moved apart where their discs would overlap."""
    placed: list[dict] = []
    for place in places:
        x, y = projection.point(place.latitude, place.longitude)
        while any(abs(x - o["x"]) < 15 and abs(y - o["y"]) < 15 for o in placed):
            x += 15
        placed.append({"number": place.number, "name": place.name, "x": x, "y": y})
    return placed


def _towns(
    base: Mapping[str, dict], projection: Projection, stops: Sequence[dict], most: int = 12
) -> list[dict]:
    """Return the few towns that fit the drawing without touching each other or a stop."""
    towns: list[dict] = []
    for feature in base.get("places", {}).get("features", ()):
        if feature["geometry"]["type"] != "Point":
            continue
        longitude, latitude = feature["geometry"]["coordinates"][:2]
        x, y = projection.point(latitude, longitude)
        inside = 6 < x < projection.width - 60 and 10 < y < projection.height - 6
        name = feature["properties"]["name"]
        free = _clear(x, y, name, stops)
        if inside and free and all(abs(x - t["x"]) > 64 or abs(y - t["y"]) > 14 for t in towns):
            towns.append({"x": x, "y": y, "name": name})
        if len(towns) == most:
            break
    return towns


def _clear(x: float, y: float, name: str, stops: Sequence[dict]) -> bool:
    """Return whether a town's dot and name at a point of the drawing touch no stop."""
    # The name runs to the right of its dot, at most 16 letters of about 5.3 units.
    end = 4 + 5.3 * min(len(name), 16) + _DISC_RADIUS
    return all(
        not (-_DISC_RADIUS - 2 < stop["x"] - x < end) or abs(stop["y"] - y) > _DISC_RADIUS + 6
        for stop in stops
    )
