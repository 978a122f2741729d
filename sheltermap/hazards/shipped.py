"""The hazard layer that ships with the program.

In: nothing. Out: a checked layer. Assumes that it is coarse and says so in its notes.
"""

from __future__ import annotations

from sheltermap.hazards.layers import HazardLayer, read_layer
from sheltermap.resources import bundled


def shipped_layer() -> HazardLayer:
    """
    Return the world's tropical cyclone seasons.

    Returns
    -------
    HazardLayer

    Examples
    --------
    >>> {feature.kind for feature in shipped_layer().features}
    {'tropical-cyclone'}
    """
    return read_layer(bundled("regions") / "world" / "cyclones.geojson")
