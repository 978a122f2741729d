"""Signs of places: what their climate tells of roads, passes, heat, cold, fire and pests.

In: the climate and nights of camps, or of one place. Out: signs. Assumes the embedded map's
heights for the highest point of a route, or of a region where no route is known.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import xarray as xr

from sheltermap.climate.calendar import by_day, by_month
from sheltermap.hazards.sign import Sign
from sheltermap.hazards.signs import HEAVY_DAY_MM, ClimateOfCamps, signs_of, strengths
from sheltermap.night.conditions import conditions
from sheltermap.night.rain import heavy_day


def signs_at(cell: xr.Dataset, relief: float) -> tuple[Sign, ...]:
    """
    Return the signs of one place.

    Parameters
    ----------
    cell : Dataset, dim month
        The climate at the place's height, as from ``altitude.at_elevation``.
    relief : float
        Standard deviation of the heights around, from ``heights.heights_at``. [m]

    Returns
    -------
    tuple of Sign
        Of the kinds that hold on some day, in the order of ``sign_kinds.SIGN_KINDS``.
    """
    cells = cell.expand_dims("cell")
    days, months = by_day(cells), by_month(cells)
    climate = ClimateOfCamps(
        days,
        months,
        conditions(days),
        conditions(months),
        heavy_day(months["rain_per_day"], months["wet_share"], HEAVY_DAY_MM),
        xr.DataArray([relief], dims="cell"),
    )
    return signs_of(strengths(climate), np.ones(1), float(cell["elevation"]))
