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

_SHORE_DEGREES = 0.1  # The base map rounds coasts; towns on them belong to the land.


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
        Empty far out at sea.

    Examples
    --------
    >>> import numpy as np
    >>> countries_at(np.array([72.8, 0.0]), np.array([40.5, 0.0]))
    ['Kyrgyzstan', '']
    """
    names, tree = _countries()
    found = [""] * len(longitude)
    there = shapely.points(longitude, latitude)
    near = tree.query_nearest(there, max_distance=_SHORE_DEGREES, all_matches=False)
    for position, row in near.T:
        found[position] = names[row]
    return found


@cache
def _countries() -> tuple[list[str], shapely.STRtree]:
    """Return the names of all countries, and their shapes."""
    text = (bundled("regions") / "world" / "basemap.json").read_text(encoding="utf-8")
    features = json.loads(text)["countries"]["features"]
    shapes = [shapely.from_geojson(json.dumps(one["geometry"])) for one in features]
    return [one["properties"]["name"] for one in features], shapely.STRtree(shapes)
