"""Signs of places: what their climate tells of roads, passes, heat, cold, fire and pests.

In: the climate and nights of camps, or of one place. Out: signs. Assumes the embedded map's
heights for the highest point of a route, or of a region where no route is known.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import xarray as xr

from sheltermap.climate.calendar import by_day, by_month
from sheltermap.climate.heights import heights_at
from sheltermap.hazards.sign import Sign
from sheltermap.hazards.signs import (
    HEAVY_DAY_MM,
    ClimateOfCamps,
    in_order,
    pass_sign,
    river_sign,
    signs_of,
    strengths,
)
from sheltermap.hazards.snow import snow_shares
from sheltermap.night.conditions import conditions
from sheltermap.night.rain import heavy_day
from sheltermap.places.rivers import River, river_of
from sheltermap.remembered import remembered
from sheltermap.vocabulary import Floats

if TYPE_CHECKING:
    from sheltermap.places.ground import Ground

LEAST_RISE_M = 200.0
"""How far above the camps a highest point must lie to have a sign of its own. [m] judgement"""

_OF_SNOW = ("air_temperature", "rainfall", "night_low_spread")


def signs_of_places(
    days: xr.Dataset,
    months: xr.Dataset,
    night: xr.Dataset,
    grounds: Sequence[Ground],
    where: Sequence[slice],
) -> list[tuple[Sign, ...]]:
    """
    Return the signs of several places.

    Parameters
    ----------
    days, months : Dataset, dims day or month, and cell
        The seasons of all camps, with ``weight`` along ``cell``.
    night : Dataset
        The nights of the days.
    grounds : sequence of Ground
    where : sequence of slice
        The cells of each.

    Returns
    -------
    list of tuple of Sign
        One each a ground; snow on its highest point follows that at its camps.
    """
    relief = heights_at(days["latitude"], days["longitude"])["relief"].fillna(0.0)
    climate = _climate(days, months, night, relief)
    heights = [ground.height.elevation_m for ground in grounds]
    by_place = _of_camps(climate, days["weight"].values, heights, where)
    tops = _on_top(grounds)
    result = []
    for ground, of_camps in zip(grounds, by_place, strict=True):
        with_river = in_order((*of_camps, *_of_river(river_of(ground.extent))))
        result.append((*tops.get(ground.id, ()), *with_river))
    return result


def signs_at(cell: xr.Dataset, relief: float, river: River | None = None) -> tuple[Sign, ...]:
    """
    Return the signs of one place.

    Parameters
    ----------
    cell : Dataset, dim month
        The climate at the place's height, as from ``altitude.at_elevation``.
    relief : float
        Standard deviation of the heights around, from ``heights.heights_at``. [m]
    river : River, optional
        The large river near.

    Returns
    -------
    tuple of Sign
        Of the kinds that hold on some day, in the order of ``sign_kinds.SIGN_KINDS``.
    """
    return in_order((*_of_cell(cell, relief), *_of_river(river)))


@remembered(size=4)
def _of_cell(cell: xr.Dataset, relief: float) -> tuple[Sign, ...]:
    """Return the signs of one cell."""
    cells = cell.expand_dims("cell")
    days, months = by_day(cells), by_month(cells)
    around = xr.DataArray([relief], dims="cell")
    found = strengths(_climate(days, months, conditions(days), around))
    return signs_of(found, np.ones(1), float(cell["elevation"]))


@remembered(size=4)
def _of_camps(
    climate: ClimateOfCamps, weight: Floats, heights: Sequence[float], where: Sequence[slice]
) -> list[tuple[Sign, ...]]:
    """Return the signs of the camps of each place, whose heights and cells these are."""
    found = strengths(climate)
    return [
        signs_of(found.isel(cell=cells), weight[cells], height)
        for height, cells in zip(heights, where, strict=True)
    ]


def _of_river(river: River | None) -> tuple[Sign, ...]:
    return () if river is None else river_sign(river.flow, river.words)


def _climate(
    days: xr.Dataset,
    months: xr.Dataset,
    night: xr.Dataset,
    relief: xr.DataArray,
) -> ClimateOfCamps:
    heavy = heavy_day(months["rain_per_day"], months["wet_share"], HEAVY_DAY_MM)
    return ClimateOfCamps(days, months, night, heavy, relief)


def _on_top(grounds: Sequence[Ground]) -> dict[str, tuple[Sign, ...]]:
    """Return the sign of snow on the highest point of each ground that has one."""
    tops = {
        ground.id: ground.top
        for ground in grounds
        if ground.top is not None
        and not ground.top.elevation_m < ground.height.elevation_m + LEAST_RISE_M
    }
    if not tops:
        return {}
    climates = [top.climate[list(_OF_SNOW)] for top in tops.values()]
    shares = snow_shares(by_day(xr.concat(climates, "cell", coords="minimal", compat="override")))
    return {
        name: pass_sign(shares.isel(cell=row), top.words)
        for row, (name, top) in enumerate(tops.items())
    }
