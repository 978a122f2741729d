"""How high a camp lies, and on what that rests.

In: a stated height, or what a map says. Out: a CampHeight and words for it. Assumes nothing
of legs or shapes, see ``places.height``: one place is asked without them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import xarray as xr


@dataclass(frozen=True)
class CampHeight:
    """How high the camps of a leg lie.

    Attributes
    ----------
    elevation_m : float
        Mean over the camps; missing where nothing knows it. [m]
    error_m : float or None
        Standard error of a height of the map, in tens. [m]
    basis : {"stated", "map", "cells"}
        The traveller's word, the map of 5 minutes, or the mean of the climate cells.
    """

    elevation_m: float
    error_m: float | None
    basis: Literal["stated", "map", "cells"]

    @property
    def words(self) -> str:
        """Return what a height that nobody stated rests on."""
        return basis_words(self.basis, self.error_m)


def basis_words(basis: str, error_m: float | None) -> str:
    """
    Return what a camp's height rests on, in words.

    Parameters
    ----------
    basis : {"stated", "map", "cells"}
    error_m : float or None
        Of a height of the map. [m]

    Returns
    -------
    str
        Empty where it was stated.

    Examples
    --------
    >>> basis_words("map", 140.0)
    'read from a 5-minute map, within about 140 m two times in three'
    """
    if basis == "map":
        return f"read from a 5-minute map, within about {error_m:,.0f} m two times in three"
    return "the climate cells' own" if basis == "cells" else ""


def of_map(elevation: xr.DataArray, error: xr.DataArray) -> CampHeight | None:
    """
    Return a height of the map as people are told of it.

    Parameters
    ----------
    elevation, error : DataArray, scalar
        Of `sheltermap.climate.heights.heights_at`. [m]

    Returns
    -------
    CampHeight or None
        In whole metres, its error in tens; None where the map knows no height.
    """
    if not np.isfinite(elevation):
        return None
    return CampHeight(round(float(elevation)), round(float(error), -1), "map")
