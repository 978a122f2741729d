"""Heights beyond any relief that the country around is likely to have.

In: a height, and the heights of the climate cells around. Out: sentences for the traveller,
never a refusal: a mountain may stand alone in its cell. Apart from the other doubts, which
need the trip's geometry: one place is asked without it.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import xarray as xr

from sheltermap.slips import other_unit

_HILLS_M = 500.0
_RELIEF_INSIDE = 2.0
"""How far a camp may lie above the highest cell, or below the lowest: so much, and so many
times what the cells differ by. [m], [1] judgement: cells are means of tens of kilometres,
whose own hills grow with the country's. It doubts camps 600 m above a plain and lets roads
over most ranges be; lone volcanoes are doubted."""


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
            f"right? {other_unit('elevation_m', height, low - beyond, high + beyond)}".rstrip()
        )


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
