"""Countries that a line goes through, from the base map.

In: positions. Out: the country of each. Assumes borders as Natural Earth draws them, within
some kilometres; that takes no side in any dispute.
"""

from __future__ import annotations

import json
from functools import cache

import shapely

from sheltermap.resources import bundled
from sheltermap.vocabulary import Floats


def countries_at(longitude: Floats, latitude: Floats) -> list[str]:
    """
    Return the country of each of many positions.

    Parameters
    ----------
    longitude, latitude : numpy.ndarray of float, shape (positions,)
        [degrees]

    Returns
    -------
    list of str
        Empty at sea.

    Examples
    --------
    >>> countries_at([72.8, 0.0], [40.5, 0.0])
    ['Kyrgyzstan', '']
    """
    names, tree = _countries()
    found = [""] * len(longitude)
    positions, rows = tree.query(shapely.points(longitude, latitude), predicate="intersects")
    for position, row in zip(positions, rows, strict=True):
        found[position] = names[row]
    return found


@cache
def _countries() -> tuple[list[str], shapely.STRtree]:
    """Return the names of all countries, and their shapes."""
    text = (bundled("regions") / "world" / "basemap.json").read_text(encoding="utf-8")
    features = json.loads(text)["countries"]["features"]
    shapes = [shapely.from_geojson(json.dumps(one["geometry"])) for one in features]
    return [one["properties"]["name"] for one in features], shapely.STRtree(shapes)
