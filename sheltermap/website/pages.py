"""The whole site as bytes: pages, assets, overlays, and the one-file copy.

In: a finished Report, a base map, exported files. Out: {path: bytes}, the same bytes
for the same input: no clock, no random number. Assumes nothing about where the site will
lie: every link is relative and no page asks another host for anything.
"""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from markupsafe import Markup

from sheltermap.report.report import Report
from sheltermap.vocabulary import MONTHS, NARROW_SPACE
from sheltermap.website import basemap, drawnmap, environment, maps, overlays
from sheltermap.website.basemap import BaseMap, Bounds
from sheltermap.website.content import arranged_pages, contents, files_page
from sheltermap.website.html import MAP_SCRIPTS, SCRIPTS, Html, page_path
from sheltermap.website.placepages import maps_page
from sheltermap.website.shared import Page, Shared, arranged, chosen_kit

ONE_FILE = "one-file.html"
"""Path of the one-file copy inside the site."""

_SHARE = "sound_share"

_FILE_WORDS = {
    "ics": "calendar: one all-day event a leg",
    "gpx": "route and waypoints for navigation",
    "csv": "legs as a table",
    "geojson": "legs as shapes",
    "json": "the plan as data",
    "html": "the whole site in one file",
}


def site(
    report: Report,
    *,
    base_map: BaseMap,
    exports: Mapping[str, bytes] | None = None,
) -> dict[str, bytes]:
    """
    Return every file of the site.

    Parameters
    ----------
    report : Report
    base_map : callable
        Gives the layers inside a box, as ``basemap.shipped``.
    exports : mapping of str to bytes, optional
        Plan files to offer, by path.

    Returns
    -------
    dict of str to bytes
        By relative path with forward slashes.
    """
    exports = dict(exports or {})
    report = arranged(report)
    base, drawn = _base_and_drawing(report, base_map)
    slugs = environment.slugs(kit.id for kit in report.kits)
    kit = slugs[chosen_kit(report).id]
    pictures = [
        {"src": f"overlays/{kit}/{_SHARE}/{month:02d}.png", "month": name}
        for month, name in enumerate(MONTHS, 1)
    ]
    overlaid = _overlay_files(report, slugs)
    images = [overlaid[picture["src"]] for picture in pictures]
    shared, html = Shared(report), Html(report)
    pages = contents(shared, drawn)
    whole = _one_file(shared, html, pages, base, images)
    offered = files_page(_offered({**exports, ONE_FILE: whole}))
    files = dict(exports)
    frame = maps.month_frame(report, base)
    for page in arranged_pages(pages, maps_page(shared, pictures, frame), offered):
        files[page_path(page.id)] = html.alone(page)
    files[ONE_FILE] = whole
    for name in ("site.css", "first.js", *SCRIPTS, *MAP_SCRIPTS):
        files[f"assets/{name}"] = environment.asset(name)
    files |= maps.leaflet_files()
    files["data/base.js"] = basemap.script(base)
    return files | overlaid


def one_file(report: Report, *, base_map: BaseMap) -> bytes:
    """
    Return the site as one page, for sending by messenger and for printing as a booklet.

    Parameters
    ----------
    report : Report
    base_map : callable
        As for `site`.

    Returns
    -------
    bytes
        HTML; its maps show the chosen kit's share of sound nights only.
    """
    report = arranged(report)
    cube = report.grid.factors[chosen_kit(report).id][_SHARE]
    base, drawn = _base_and_drawing(report, base_map)
    shared = Shared(report)
    return _one_file(
        shared,
        Html(report),
        contents(shared, drawn),
        base,
        _images(report, cube, _SHARE),
    )


def _base_and_drawing(report: Report, base_map: BaseMap) -> tuple[dict[str, dict], dict]:
    """Return the base map inside the journey's box, and the drawn map made of it."""
    places = drawnmap.drawn_places(report)
    box, drawing = basemap.surroundings(_box(report)), drawnmap.drawn_bounds(places)
    south, west, north, east = zip(box, drawing, strict=True)
    whole = base_map((min(south), min(west), max(north), max(east)))
    return basemap.clipped(whole, box), drawnmap.drawn_map(places, report.route, whole)


def _one_file(
    shared: Shared, html: Html, pages: list[Page], base: dict[str, dict], images: list[bytes]
) -> bytes:
    """Return the one-file copy from pages, base map cut to size and the twelve months."""
    report, kit = shared.report, shared.kit
    cube = report.grid.factors[kit.id][_SHARE]
    small = replace(report, grid=replace(report.grid, factors={kit.id: {_SHARE: cube}}))
    pictures = [
        {"src": f"data:image/png;base64,{base64.b64encode(image).decode()}", "month": name}
        for image, name in zip(images, MONTHS, strict=True)
    ]
    slug = shared.kit_slugs[kit.id]
    leaflet = maps.leaflet_files()
    inline = {
        "css": Markup(
            leaflet["vendor/leaflet/leaflet.css"].decode() + environment.asset("site.css").decode()
        ),
        "first": environment.inline_script(environment.asset("first.js")),
        "scripts": {
            name: environment.inline_script(environment.asset(name))
            for name in (*SCRIPTS, *MAP_SCRIPTS)
        },
        "leaflet": environment.inline_script(_with_conditions(leaflet)),
        "base": environment.inline_script(basemap.script(base)),
        "grid": environment.inline_script(
            overlays.value_script(f"{slug}/{_SHARE}", cube, _box(report))
        ),
    }
    frame = maps.month_frame(report, base)
    its_own = maps_page(Shared(small), pictures, frame), files_page(None)
    brief = [_brief(one, slug) if one.id.startswith("region-") else one for one in pages]
    return html.together(arranged_pages(brief, *its_own), inline)


def _brief(region: Page, slug: str) -> Page:
    """Return a region's page with the year of the plan's kit alone, named by its slug."""
    kits = [kit for kit in region.context["kits"] if kit["slug"] == slug]
    return replace(region, context=region.context | {"kits": kits, "brief": True})


def _with_conditions(leaflet: dict[str, bytes]) -> str:
    """Return Leaflet's script under the conditions that each copy of it must carry."""
    conditions = leaflet["vendor/leaflet/LICENSE.txt"].decode()
    return f"/*!\n{conditions}*/\n{leaflet['vendor/leaflet/leaflet.js'].decode()}"


def _box(report: Report) -> Bounds:
    """Return the box of the maps: south, west, north, east."""
    grid = report.grid
    return grid.south, grid.west, grid.north, grid.east


def _images(report: Report, cube: np.ndarray, factor: str) -> list[bytes]:
    """Return twelve months as PNG."""
    grid = report.grid
    return [overlays.image(month, factor, grid.south, grid.north) for month in cube]


def _overlay_files(report: Report, slugs: dict[str, str]) -> dict[str, bytes]:
    """Return every month's overlay and the values behind them."""
    files = {}
    for kit, factors in report.grid.factors.items():
        if kit not in slugs:
            continue
        for factor, cube in factors.items():
            folder = f"overlays/{slugs[kit]}/{factor}"
            for month, image in enumerate(_images(report, cube, factor), 1):
                files[f"{folder}/{month:02d}.png"] = image
            files[f"{folder}.js"] = overlays.value_script(
                f"{slugs[kit]}/{factor}", cube, _box(report)
            )
    return files


def _offered(files: Mapping[str, bytes]) -> list[dict]:
    """Return the files to offer, with what they are and how large."""
    return [
        {
            "path": path,
            "what": _FILE_WORDS.get(path.rsplit(".", 1)[-1], "a file"),
            "size": _size(len(content)),
        }
        for path, content in files.items()
    ]


def _size(count: int) -> str:
    """Return a number of bytes as people read it."""
    if count >= 1_000_000:
        return f"{count / 1e6:.1f}{NARROW_SPACE}MB"
    return f"{max(1, round(count / 1000))}{NARROW_SPACE}kB"
