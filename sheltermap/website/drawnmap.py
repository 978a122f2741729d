"""The drawn map: the journey as an SVG picture, for the Plan, for paper and public copies.

In: places, a route, the base map inside the box. Out: paths, discs and texts for the template.
Assumes Mercator and a width of its own units. Texts that would cover something are left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from sheltermap.report.report import Report
from sheltermap.website.basemap import (
    MARGIN,
    Bounds,
    Projection,
    clipped,
    latitude_at,
    northing,
    positions,
)
from sheltermap.website.words import months_visited

_WIDTH = 344  # of the drawing, in its own units
_DISC_RADIUS = 9  # of a numbered stop with its edge, in the drawing's units
_PADDING = 0.6  # degrees around the places
_FLATTEST, _TALLEST = 0.45, 1.3  # height to width: room for names, and no taller than a screen
_LETTER, _BOLD, _LINE = 5.6, 7.0, 11.0  # letters' mean width and a line's height, as drawn
_LONGEST = 16  # letters of a town's name that are shown
_MOST_TOWNS = 12

Box: TypeAlias = tuple[float, float, float, float]
"""Left, top, right, bottom, in the drawing's units."""


@dataclass(frozen=True)
class DrawnPlace:
    """What the drawn map shows of a place: a number in travel order, names, a shape."""

    number: int
    name: str
    latitude: float
    longitude: float
    geometry: dict
    when: str = ""


def drawn_places(report: Report) -> list[DrawnPlace]:
    """
    Return the places of a report as the drawn map shows them.

    Parameters
    ----------
    report : Report
        Its places in travel order.

    Returns
    -------
    list of DrawnPlace
    """
    return [
        DrawnPlace(
            number,
            place.name,
            place.latitude,
            place.longitude,
            place.geometry,
            months_visited(report, place.id),
        )
        for number, place in enumerate(report.places, 1)
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
    stops = _spread(places, projection)
    taken = [_around(stop["x"], stop["y"], _DISC_RADIUS + 1) for stop in stops]
    for stop in stops:
        stop["label"] = _label(stop, projection, taken)
    line = [projection.point(*point) for point in route]
    return {
        "width": _WIDTH,
        "height": round(projection.height, 1),
        "layers": paths(base, projection),
        "regions": [{"path": projection.path(place.geometry)} for place in places],
        "route": "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in line) if len(line) > 1 else "",
        "stops": stops,
        "dated": any(stop["label"] for stop in stops),
        "towns": list(_towns(base, projection, taken)),
    }


def paths(
    base: Mapping[str, dict], projection: Projection, tolerance: float = 0.4
) -> dict[str, str]:
    """
    Return the country of a drawing as SVG path data, by layer.

    Parameters
    ----------
    base : mapping
        Layers inside the box, from `basemap.clipped`.
    projection : Projection
    tolerance : float
        Points closer than this are dropped, in units of the drawing.

    Returns
    -------
    dict of str to str
    """
    return {
        layer: "".join(
            projection.path(f["geometry"], tolerance)
            for f in base.get(layer, {}).get("features", ())
        )
        for layer in ("countries", "lakes", "rivers")
    }


def drawn_bounds(places: Sequence[DrawnPlace]) -> Bounds:
    """
    Return the box of the drawing: the places with a margin that holds their discs whole.

    A journey along a line gets more country to its sides, so that the drawing is neither
    taller than a screen nor too flat for names.

    Parameters
    ----------
    places : sequence of DrawnPlace
        As for `drawn_map`.

    Returns
    -------
    Bounds
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
    bottom = northing(max(-85.0, min(latitudes) - padding))
    top = northing(min(85.0, max(latitudes) + padding))
    west, east = min(longitudes) - padding, max(longitudes) + padding
    higher = max(0.0, _FLATTEST * (east - west) - (top - bottom)) / 2
    wider = max(0.0, (top - bottom) / _TALLEST - (east - west)) / 2
    return (
        max(-85.0, latitude_at(bottom - higher)),
        max(-180.0, west - wider),
        min(85.0, latitude_at(top + higher)),
        min(180.0, east + wider),
    )


def _spread(places: Sequence[DrawnPlace], projection: Projection) -> list[dict]:
    """Return numbered stops moved apart where their discs would overlap."""
    placed: list[dict] = []
    for place in places:
        x, y = projection.point(place.latitude, place.longitude)
        while any(abs(x - o["x"]) < 15 and abs(y - o["y"]) < 15 for o in placed):
            x += 15
        placed.append(
            {"number": place.number, "name": place.name, "when": place.when, "x": x, "y": y}
        )
    return placed


def _label(stop: Mapping, projection: Projection, taken: list[Box]) -> dict | None:
    """Return where a stop's month stands beside its disc, and take that room; None without."""
    wide, reach = _BOLD * len(stop["when"]), _DISC_RADIUS + 3
    for x, y, anchor, left in (
        (stop["x"] + reach, stop["y"], "start", 0.0),
        (stop["x"] - reach, stop["y"], "end", wide),
        (stop["x"], stop["y"] + reach + _LINE / 2, "middle", wide / 2),
        (stop["x"], stop["y"] - reach - _LINE / 2, "middle", wide / 2),
    ):
        box = (x - left, y - _LINE / 2, x - left + wide, y + _LINE / 2)
        if wide and _free(box, projection, taken):
            taken.append(box)
            return {"x": x, "y": y + 4, "anchor": anchor}
    return None


def _towns(
    base: Mapping[str, dict], projection: Projection, taken: Sequence[Box]
) -> Iterator[dict]:
    """Yield the few towns that fit the drawing without touching a text or a stop."""
    held = list(taken)
    for feature in base.get("places", {}).get("features", ()):
        if feature["geometry"]["type"] != "Point":
            continue
        longitude, latitude = feature["geometry"]["coordinates"][:2]
        x, y = projection.point(latitude, longitude)
        name = feature["properties"]["name"]
        # The name runs to the right of its dot.
        right = x + 4 + _LETTER * min(len(name), _LONGEST)
        box = (x - 3, y - _LINE / 2, right, y + _LINE / 2)
        if len(held) < len(taken) + _MOST_TOWNS and _free(box, projection, held):
            held.append(box)
            yield {"x": x, "y": y, "name": name}


def _around(x: float, y: float, reach: float) -> Box:
    """Return the box around a point."""
    return (x - reach, y - reach, x + reach, y + reach)


def _free(box: Box, projection: Projection, taken: Sequence[Box]) -> bool:
    """Return whether a box lies inside the drawing and apart from all others."""
    left, top, right, bottom = box
    inside = left > 2 and top > 2 and right < projection.width - 2
    return (
        inside
        and bottom < projection.height - 2
        and all(
            right < other[0] or other[2] < left or bottom < other[1] or other[3] < top
            for other in taken
        )
    )
