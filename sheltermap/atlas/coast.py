"""Coast and borders of an atlas, as one packed script.

In: the shipped base map, a box. Out: lines in steps of a hundredth of a degree. Assumes that a
border is the same line in both countries' shapes, so that it is drawn once; what lies along the
edge of the box, such as the 180th meridian, is no coast.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from sheltermap.atlas.scripts import packed_script
from sheltermap.places.lands import countries
from sheltermap.vocabulary import Box

OUTLINES = "data/outlines.js"
"""Where the page's coast and borders lie."""

_LINES_ACROSS = 6000  # steps of the box's width that a line may miss; judgement: a third of a px
_FINEST = 0.01  # degrees; the base map has no finer
_EDGE = 1e-3  # degrees; lines so near the edge lie on it


def outline_script(box: Box) -> bytes:
    """
    Return the coast and borders inside a box as a script.

    Parameters
    ----------
    box : Box
        West, south, east, north; east may pass 180. [degrees]

    Returns
    -------
    bytes
    """
    return packed_script(OUTLINES, json.dumps(list(stepped(outlines(box))), separators=(",", ":")))


def outlines(box: Box) -> BaseGeometry:
    """
    Return the coast and borders inside a box.

    Parameters
    ----------
    box : Box
        As for `outline_script`. [degrees]

    Returns
    -------
    shapely geometry
        Lines, thinned to what the width of the box can show.
    """
    west, south, east, north = box
    _, shapes = countries()
    drawn = boundaries(shapes)
    turned = [drawn, translate(drawn, 360.0)] if east > 180.0 else [drawn]
    inside = shapely.box(west + _EDGE, south + _EDGE, east - _EDGE, north - _EDGE)
    kept = shapely.intersection(shapely.union_all(turned), inside)
    within = shapely.difference(kept, _meridian(south, north))
    finest = max(_FINEST, (east - west) / _LINES_ACROSS)
    return shapely.simplify(shapely.line_merge(within), finest, preserve_topology=False)


def boundaries(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """
    Return the lines around shapes, each once where two share it.

    Parameters
    ----------
    shapes : sequence of shapely geometry
        Polygons.

    Returns
    -------
    shapely geometry
        Lines.
    """
    return shapely.line_merge(shapely.union_all(shapely.boundary(shapes)))


def _meridian(south: float, north: float) -> BaseGeometry:
    """Return where shapes are cut in two: a narrow strip along the 180th meridian."""
    return shapely.box(180.0 - _EDGE, south, 180.0 + _EDGE, north)


def stepped(lines: BaseGeometry) -> Iterator[list[int]]:
    """
    Yield lines as whole hundredths of a degree, each position the step from the one before.

    Parameters
    ----------
    lines : shapely geometry

    Yields
    ------
    list of int
        Longitude and latitude in turn, the first from 0.

    Examples
    --------
    >>> list(stepped(shapely.linestrings([(10.0, 50.0), (10.02, 49.99), (10.02, 49.991)])))
    [[1000, 5000, 2, -1]]
    """
    for line in shapely.get_parts(lines):
        found: list[int] = []
        last = (0, 0)
        for position in shapely.get_coordinates(line).tolist():
            here = round(position[0] * 100), round(position[1] * 100)
            if not found or here != last:
                found += [here[0] - last[0], here[1] - last[1]]
                last = here
        if len(found) > 2:
            yield found
