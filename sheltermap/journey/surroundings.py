"""Camps far above or below the country around them, and coordinates with no land near.

In: a leg, its extent and footprint, a climatology with heights and shares of land; or a
height and the country's alone. Out: sentences for the traveller, never a refusal: a mountain
may stand alone in its cell, and an island may be too small for one. Assumes nothing where
heights or land are not known.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
import xarray as xr

from sheltermap.climate.grid import NEAREST_LIMIT, great_circle
from sheltermap.hazards.shapes import Extent
from sheltermap.journey.trip import Leg
from sheltermap.suitability.regional import Footprint, cells

_HILLS_M = 500.0
_RELIEF_INSIDE = 2.0
"""How far a camp may lie above the highest cell, or below the lowest: so much, and so many
times what the cells differ by. [m], [1] judgement: cells are means of tens of kilometres,
whose own hills grow with the country's. It doubts camps 600 m above a plain and lets roads
over most ranges be; lone volcanoes are doubted."""

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


def height_doubts(height: float, heights: np.ndarray, whose: str, key: str) -> Iterator[str]:
    """
    Yield that a camp lies beyond any relief the country around is likely to have.

    Parameters
    ----------
    height : float
        Of the camp. [m]
    heights : numpy.ndarray
        Of the climate cells around; missing where they are not known. [m]
    whose : str
        Subject and verb of the sentence.
    key : str
        Where the height was stated.

    Yields
    ------
    str

    Examples
    --------
    >>> plain = np.array([80.0, 90.0])
    >>> [len(list(height_doubts(h, plain, "It lies", "height_m"))) for h in (500.0, 1640.0)]
    [0, 1]
    """
    heights = heights[np.isfinite(heights)]
    if not heights.size:
        return
    low, high = float(heights.min()), float(heights.max())
    beyond = _HILLS_M + _RELIEF_INSIDE * (high - low)
    if not low - beyond <= height <= high + beyond:
        yield (
            f"{whose} at {height:,.0f} m, but the climate cells around, which are means of tens "
            f"of kilometres, at {low:,.0f} to {high:,.0f} m. Is {key} in metres, and the place "
            "right?"
        )


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


def around(field: xr.DataArray, rows: np.ndarray, columns: np.ndarray) -> np.ndarray:
    """
    Return the values of the cells that some span, and of one more on each side.

    Parameters
    ----------
    field : DataArray, latitude x longitude
    rows, columns : numpy.ndarray of int
        Positions of those cells in the grid.

    Returns
    -------
    numpy.ndarray
    """
    spans = {
        name: slice(max(int(index.min()) - 1, 0), int(index.max()) + 2)
        for name, index in (("latitude", rows), ("longitude", columns))
    }
    return field.isel(spans).values
