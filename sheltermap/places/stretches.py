"""A route cut into stretches of one country and one climate.

In: the steps of a route line. Out: the first and last step of each stretch. Assumes the
embedded climatology at the height where people are likely to camp; borders as
``places.lands`` has them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import xarray as xr

from sheltermap.climate.altitude import at_elevation
from sheltermap.climate.grid import cells
from sheltermap.climate.heights import heights_at
from sheltermap.climate.world import world_climatology
from sheltermap.distance import great_circle
from sheltermap.places.lands import countries_at
from sheltermap.places.route import Line
from sheltermap.vocabulary import Floats

STEP_KM = 15.0

NOTICED_K, NOTICED_MM = 4.0, 60.0
"""Differences of a month's lows and of its rain that make another climate. [K, mm] judgement:
bedding words are 5 to 7 K apart"""

LEG_WORTH_KM = 100.0
"""A cut must save as much as this many kilometres of a climate off by one such difference.
[km] judgement"""

SHORTEST_KM, LONGEST_KM = 60.0, 1000.0
"""judgement: a leg is a day's drive at the least, a fortnight's at the most"""

_BORDER_KM = 40.0  # judgement: a road that crosses and comes back follows the border.
_EDGE_DEGREES = 1.5


@dataclass(frozen=True)
class Stretch:
    """Some steps of a line.

    Attributes
    ----------
    country : str
        Empty at sea.
    first, last : int
        Its steps, both included.
    """

    country: str
    first: int
    last: int


def stretches(line: Line, most: int) -> list[Stretch]:
    """
    Return a line cut where the climate or the country changes.

    Parameters
    ----------
    line : Line
    most : int
        How many stretches there may be. [1]

    Returns
    -------
    list of Stretch
        In the order of the line; together they hold all of its steps.
    """
    lands = _lands(line)
    climate = _climate(line)
    worth = LEG_WORTH_KM
    while True:
        found = [
            Stretch(land.country, land.first + first, land.first + last)
            for land in lands
            for first, last in _alike(climate[land.first : land.last + 1], line.step_km, worth)
        ]
        if len(found) <= most or len(found) == len(lands):
            return found[:most]
        worth *= 2


def _lands(line: Line) -> list[Stretch]:
    """Return the stretches of one country; water and short ones belong to the one before."""
    found: list[Stretch] = []
    number = 0
    for country, steps in groupby(countries_at(line.longitude, line.latitude)):
        first, number = number, number + len(list(steps))
        short = (number - first) * line.step_km < _BORDER_KM or not country
        if found and (short or found[-1].country == country):
            found[-1] = Stretch(found[-1].country, found[-1].first, number - 1)
        elif found and not found[-1].country:
            found[-1] = Stretch(country, found[-1].first, number - 1)
        else:
            found.append(Stretch(country, first, number - 1))
    return found


def _climate(line: Line) -> Floats:
    """Return each step's months: lows and rain, in differences that are noticed."""
    box = (
        max(float(line.longitude.min()) - _EDGE_DEGREES, -180.0),
        max(float(line.latitude.min()) - _EDGE_DEGREES, -90.0),
        min(float(line.longitude.max()) + _EDGE_DEGREES, 180.0),
        min(float(line.latitude.max()) + _EDGE_DEGREES, 90.0),
    )
    known = cells(world_climatology(box))
    away = great_circle(
        line.latitude[:, np.newaxis],
        line.longitude[:, np.newaxis],
        known["latitude"].values,
        known["longitude"].values,
    )
    height = heights_at(line.latitude, line.longitude)["camp_elevation"].values
    there = known.isel(cell=np.asarray(away).argmin(axis=1))
    camps = at_elevation(there, xr.DataArray(height, dims="cell"))
    lows = camps["air_temperature_min"].transpose("cell", "month").values / NOTICED_K
    rain = camps["rainfall"].transpose("cell", "month").values / NOTICED_MM
    return np.nan_to_num(np.concatenate([lows, rain], axis=1) / np.sqrt(12))


def _alike(climate: Floats, step_km: float, worth: float) -> Sequence[tuple[int, int]]:
    """Return the first and last step of pieces whose climates are alike.

    The pieces whose squared differences from their means, over all kilometres, are least with
    `worth` added for each piece: exact, by way of the best ends before each step.
    """
    count = len(climate)
    sums = np.vstack([np.zeros(climate.shape[1]), np.cumsum(climate, axis=0)])
    squares = np.append(0.0, np.cumsum((climate**2).sum(axis=1)))
    shortest = min(int(np.ceil(SHORTEST_KM / step_km)), count)
    longest = max(int(LONGEST_KM / step_km), 2 * shortest)
    best = np.full(count + 1, np.inf)
    before = np.zeros(count + 1, dtype=int)
    best[0] = 0.0
    for end in range(shortest, count + 1):
        start = np.arange(max(end - longest, 0), end - shortest + 1)
        spread = squares[end] - squares[start]
        spread -= ((sums[end] - sums[start]) ** 2).sum(axis=1) / (end - start)
        total = best[start] + spread * step_km + worth
        least = int(np.argmin(total))
        best[end], before[end] = total[least], start[least]
    pieces: list[tuple[int, int]] = []
    end = count
    while end > 0:
        pieces.append((int(before[end]), end - 1))
        end = int(before[end])
    return pieces[::-1]
