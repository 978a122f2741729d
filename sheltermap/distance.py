"""Distance between places on the globe, as the crow flies.

In: latitudes and longitudes. Out: kilometres. Assumes a sphere with the area of the WGS84
ellipsoid, which is within 0.6 % of it.
"""

from __future__ import annotations

import numpy as np

from sheltermap.elementwise import elementwise
from sheltermap.vocabulary import EARTH_RADIUS_KM, Floats, Values

DEGREE_KM = float(np.radians(EARTH_RADIUS_KM))
"""Length of a degree of latitude. [km]"""


def great_circle(
    latitude: Values | float,
    longitude: Values | float,
    other_latitude: Values | float,
    other_longitude: Values | float,
) -> Values:
    """
    Return the distance between places.

    Parameters
    ----------
    latitude, longitude, other_latitude, other_longitude : any shapes that broadcast
        [degrees]

    Returns
    -------
    broadcast shape
        [km]

    Examples
    --------
    A degree of latitude:

    >>> round(float(great_circle(10.0, 20.0, 11.0, 20.0)), 1)
    111.2
    """
    return elementwise(
        _great_circle, latitude, longitude, other_latitude, other_longitude, units="km"
    )


def _great_circle(
    latitude: Floats, longitude: Floats, other_latitude: Floats, other_longitude: Floats
) -> Floats:
    phi, other_phi = np.radians(latitude), np.radians(other_latitude)
    half_step = np.radians(other_longitude - longitude) / 2
    haversine = (
        np.sin((other_phi - phi) / 2) ** 2
        + np.cos(phi) * np.cos(other_phi) * np.sin(half_step) ** 2
    )
    return 2 * EARTH_RADIUS_KM * np.arcsin(np.sqrt(np.minimum(haversine, 1.0)))
