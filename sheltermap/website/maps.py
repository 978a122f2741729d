"""Leaflet maps, of the Maps page and of an atlas: the only module that knows folium.

In: the Report's places, route and grid, or an atlas's box. Out: the pieces of a map for our
own page. Assumes that user text never reaches folium: features carry numbers, and the page's
script looks names up and writes them as text; that colours are the style sheet's, by class and
pane. Element ids are renumbered in tree order so that two builds are the same bytes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import folium
import xstatic.pkg.leaflet as leaflet
from branca.element import Element, Figure

from sheltermap.report.report import Report
from sheltermap.website.basemap import MARGIN, Bounds, Projection, clipped
from sheltermap.website.drawnmap import paths
from sheltermap.website.environment import asset
from sheltermap.website.overlays import MERCATOR_LIMIT, shown_rows

_PANES = (("land", 250), ("cells", 300), ("water", 350))
"""Panes below the journey, with their order: the month's cells lie on land and under the sea,
coasts, borders, lakes and rivers."""

_PRINTED_WIDTH = 220  # of a printed month, in its own units


@dataclass(frozen=True)
class MapParts:
    """A Leaflet map, to be put into a page of ours.

    Attributes
    ----------
    html, script : str
        The map's element, and what makes it.
    names : dict of str to str
        Names that the script gives to what our own script needs.
    aspect : float
        Width to height.
    """

    html: str
    script: str
    names: Mapping[str, str]
    aspect: float


def region_map(report: Report) -> MapParts:
    """
    Return the page's Leaflet map: the month's cells, regions and route.

    Parameters
    ----------
    report : Report

    Returns
    -------
    MapParts
    """
    box = shown_box(report)
    page_map, overlay = _overlaid(box, minZoom=2, maxZoom=11)
    for style in ("route-case", "route") if len(report.route) > 1 else ():
        line = [list(point) for point in report.route]
        folium.PolyLine(line, class_name=style, interactive=False).add_to(page_map)
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
        class_name="map-region",
        interactive=False,
    )
    regions.add_to(page_map)
    return _parts(box, map=page_map, overlay=overlay, regions=regions)


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
    page_map, overlay = _overlaid(bounds, minZoom=0, maxZoom=9, keyboard=False)
    return _parts(bounds, map=page_map, overlay=overlay)


def _overlaid(
    bounds: Bounds, **options: Any
) -> tuple[folium.Map, folium.raster_layers.ImageOverlay]:
    """
    Return a map that shows a box with an overlay on it, and panes for what lies around that.

    Zooms are Leaflet's options by Leaflet's names: folium's own words go to tiles, of which
    there are none.
    """
    south, west, north, east = bounds
    page_map = folium.Map(
        [(south + north) / 2, (west + east) / 2],
        zoom_start=4,
        tiles=None,
        attribution_control=False,
        zoom_snap=0.125,
        max_bounds=True,
        min_lat=max(-MERCATOR_LIMIT, south - MARGIN),
        max_lat=min(MERCATOR_LIMIT, north + MARGIN),
        min_lon=west - MARGIN,
        max_lon=east + MARGIN,
        **options,
    )
    # Ours is the only copy: pages load leaflet themselves, in their own order.
    page_map.default_js, page_map.default_css = [], []
    for name, order in _PANES:
        folium.map.CustomPane(name, z_index=order, pointer_events=False).add_to(page_map)
    corners = [[south, west], [north, east]]
    overlay = folium.raster_layers.ImageOverlay(
        "data:,", corners, pixelated=False, alt="Month overlay", pane="cells"
    )
    overlay.add_to(page_map)
    fitted = folium.FitBounds(corners)
    fitted.options["animate"] = False  # Who taps a map that still moves hits another cell.
    fitted.add_to(page_map)
    return page_map, overlay


def _parts(bounds: Bounds, **named: Element) -> MapParts:
    """Return the pieces of a finished map with stable ids and no link to another host."""
    root = named["map"].get_root()
    assert isinstance(root, Figure)  # folium puts every map into one
    _renumber(root)
    root.render()
    return MapParts(
        root.html.render(),
        root.script.render(),
        {name: element.get_name() for name, element in named.items()},
        round(1 / Projection(bounds, 1.0).height, 3),
    )


def shown_box(report: Report) -> Bounds:
    """Return the box of the month's cells as far as a web map shows it."""
    grid = report.grid
    _, south, north = shown_rows(len(grid.latitude), grid.south, grid.north)
    return south, grid.west, north, grid.east


def _renumber(root: Element) -> None:
    """Give every element of a tree an id by its position."""
    waiting, number = [root], 0
    while waiting:
        element = waiting.pop(0)
        element._id = f"{number:04x}"
        number += 1
        waiting += list(element._children.values())


def month_frame(report: Report, base: Mapping[str, dict]) -> dict:
    """
    Return what is drawn over each printed month: sea, coasts, water and the journey.

    Parameters
    ----------
    report : Report
    base : mapping
        Layers around the box, from `basemap.clipped`.

    Returns
    -------
    dict
        Size and SVG paths for the template.
    """
    box = shown_box(report)
    projection = Projection(box, _PRINTED_WIDTH)
    return {
        "width": _PRINTED_WIDTH,
        "height": round(projection.height, 1),
        "layers": paths(clipped(base, box), projection, 1.2),
        "regions": "".join(projection.path(place.geometry) for place in report.places),
    }


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
