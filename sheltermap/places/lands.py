"""Countries that a line goes through, from the base map.

In: positions. Out: the country of each. Assumes borders as Natural Earth draws them, within
some kilometres; that takes no side in any dispute.
"""

from __future__ import annotations

import json
from functools import cache

import shapely
from shapely.geometry.base import BaseGeometry

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
    names, _ = countries()
    found = [""] * len(longitude)
    there = shapely.points(longitude, latitude)
    near = _tree().query_nearest(there, max_distance=_SHORE_DEGREES, all_matches=False)
    for position, row in near.T:
        found[position] = names[row]
    return found


@cache
def countries() -> tuple[list[str], list[BaseGeometry]]:
    """
    Return all countries of the base map.

    Returns
    -------
    list of str
        Names.
    list of shapely geometry
        Their shapes, in degrees. Do not write into either.

    Examples
    --------
    >>> names, shapes = countries()
    >>> len(names) == len(shapes), names[0]
    (True, 'Afghanistan')
    """
    text = (bundled("regions") / "world" / "basemap.json").read_text(encoding="utf-8")
    features = json.loads(text)["countries"]["features"]
    shapes = [shapely.from_geojson(json.dumps(one["geometry"])) for one in features]
    return [one["properties"]["name"] for one in features], shapes


@cache
def _tree() -> shapely.STRtree:
    """Return the shapes of all countries, to be searched."""
    return shapely.STRtree(countries()[1])
