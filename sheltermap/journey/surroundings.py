"""Camps far above or below the country around them, and coordinates with no land near.

In: a leg, its extent and footprint, a climatology with heights and shares of land. Out:
sentences for the traveller, never a refusal: an island may be too small for a cell. Assumes
nothing where heights or land are not known.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
import xarray as xr

from sheltermap.climate.grid import NEAREST_LIMIT, great_circle
from sheltermap.hazards.shapes import Extent
from sheltermap.journey.heights import around, height_doubts
from sheltermap.journey.trip import Leg
from sheltermap.suitability.regional import Footprint, cells

_REACH_DEGREES = 1.0  # Latitudes between which all of NEAREST_LIMIT lies.


def surrounding_doubts(
    leg: Leg, extent: Extent, footprint: Footprint, climatology: xr.Dataset
) -> Iterator[str]:
    """
    Yield what does not fit the country around a leg.

    Parameters
    ----------
    leg : Leg
    extent : Extent
    footprint : Footprint
        Of `extent` on the climatology's grid.
    climatology : Dataset, month x latitude x longitude
        ``elevation`` [m] and ``land_fraction`` [1] are optional.

    Yields
    ------
    str
    """
    at_sea = []
    if "land_fraction" in climatology:
        at_sea = list(_at_sea(leg, extent, footprint, climatology))
        yield from at_sea
    # In the wrong place the height is wrong too: one slip is told once.
    if leg.camp_elevation_m is not None and "elevation" in climatology and not at_sea:
        heights = around(
            climatology["elevation"], footprint.latitude_index, footprint.longitude_index
        )
        whose = f"{leg.name}: its camps lie"
        yield from height_doubts(leg.camp_elevation_m, heights, whose, "camp_elevation_m")


def _at_sea(
    leg: Leg, extent: Extent, footprint: Footprint, climatology: xr.Dataset
) -> Iterator[str]:
    """Yield the stated coordinates, or the region, that no cell with land is near."""
    if extent.camps is None:
        if _landless(cells(climatology, footprint)["land_fraction"].values):
            yield (
                f"{leg.name}: the climate data know no land in its region. Is it drawn right, "
                "longitude first?"
            )
        return
    everywhere = climatology["land_fraction"].transpose("latitude", "longitude")
    for longitude, latitude in shapely.get_coordinates(extent.camps):
        land = everywhere[np.abs(everywhere["latitude"].values - latitude) <= _REACH_DEGREES]
        away = great_circle(latitude, longitude, land["latitude"], land["longitude"])
        if _landless(land.values[away.values <= NEAREST_LIMIT]):
            yield (
                f"{leg.name}: the climate data know no land within {NEAREST_LIMIT:.0f} km of "
                f"{latitude:g}, {longitude:g}. Are latitude and longitude in order? Only small "
                "islands are missing there."
            )


def _landless(shares: np.ndarray) -> bool:
    """Return whether shares of land are known and all nought."""
    known = shares[np.isfinite(shares)]
    return bool(known.size) and not known.any()
