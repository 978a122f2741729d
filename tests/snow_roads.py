"""High roads that snow closes: the days in print, and those that the embedded climate gives.

In: heights of the roads. Out: for each day in print the computed one, counted from 1 July in
the north and from 1 January in the south so that no winter is cut. Also draws them, as a part of
``make evaluate``.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
import xarray as xr
from climates import whole_world
from published_tables import published

from sheltermap.climate.altitude import at_elevation
from sheltermap.climate.calendar import by_day
from sheltermap.climate.grid import point
from sheltermap.dates import FIRST_DAYS
from sheltermap.hazards.snow import CLOSING, snow_shares
from sheltermap.spans import days_between
from sheltermap.vocabulary import MONTHS

ROADS = published("snow_roads", "roads")
OPEN_ROADS = published("snow_roads", "open_roads")
_JULY = FIRST_DAYS[6]
_MONTHS = {
    (FIRST_DAYS[(6 + month) % 12] - _JULY) % 365 + 365 * (month // 12): MONTHS[(6 + month) % 12]
    for month in range(14)
}
"""When months begin, counted from 1 July, with their names; two of the next summer too."""


class RoadDay(NamedTuple):
    """A day on which a road opens or closes, in print and computed (NaN: never snowed in)."""

    name: str
    north: bool
    what: str
    printed: float
    computed: float

    @property
    def miss(self) -> float:
        """Return by how many days it is missed, half a year where no snow lies."""
        return 182.0 if np.isnan(self.computed) else abs(self.computed - self.printed)


@cache
def _cells_of(table: str) -> xr.Dataset:
    """Return the climate cell of each road of a table."""
    climate = whole_world()
    read = published("snow_roads", table)
    at = read["columns"].index("latitude")
    rows = [point(climate, *row[at : at + 2]) for row in read["rows"]]
    return xr.concat(rows, "road")


def shares_of(table: str, heights: Sequence[float]) -> xr.DataArray:
    """Return the share of winters with snow that closes each road, by day, at heights. [m]"""
    places = at_elevation(_cells_of(table), xr.DataArray(heights, dims="road"))
    return snow_shares(by_day(places)).sel(water=CLOSING)


def road_days(heights: Sequence[float]) -> list[RoadDay]:
    """Return each day in print with the computed one, at heights of the roads. [m]"""
    shares = shares_of("roads", heights)
    found = []
    for number, row in enumerate(ROADS["rows"]):
        north = row[2] > 0
        start = _JULY if north else 0
        days = _closed(shares.isel(road=number).values)
        for what, text, end in (("closes", row[6], 0), ("opens", row[5], 1)):
            if text:
                printed = (int(np.flatnonzero(days_between(text, text))[0]) - start) % 365
                computed = np.nan if days is None else _nearest(days[end] - start, printed)
                found.append(RoadDay(row[0], north, what, printed, computed))
    return found


def misses_of(heights: Sequence[float]) -> np.ndarray:
    """Return by how many days each day in print is missed."""
    return np.array([row.miss for row in road_days(heights)])


def _nearest(day: int, printed: int) -> int:
    """Return a day of the year counted so that it lies within half a year of another."""
    return printed + (day - printed + 182) % 365 - 182


def _closed(share: np.ndarray) -> tuple[int, int] | None:
    """Return first day and end of the longest run of days with snow in half of the winters."""
    closed = share >= 0.5
    if closed.all() or not closed.any():
        return None
    starts = np.flatnonzero(closed & ~np.roll(closed, 1))
    lengths = [int(np.argmin(np.roll(closed, -start))) for start in starts]
    longest = int(np.argmax(lengths))
    return int(starts[longest]), int(starts[longest] + lengths[longest]) % 365


def picture(target: Path) -> None:
    """Write computed days over those in print, closing and opening apart, with three weeks."""
    import matplotlib as mpl

    mpl.use("Agg")
    import matplotlib.pyplot as plt

    days = [row for row in road_days([float(row[4]) for row in ROADS["rows"]]) if row.north]
    figure, panels = plt.subplots(1, 2, figsize=(10, 5.2), layout="constrained")
    for axes, what in zip(panels, ("closes", "opens"), strict=True):
        printed, computed = of_kind(days, what)
        axes.plot(printed, computed, "o", alpha=0.7)
        ends = np.array([min(*printed, *computed) - 5, max(*printed, *computed) + 5])
        axes.plot(ends, ends, color="grey", linewidth=0.8)
        axes.fill_between(ends, ends - 21, ends + 21, color="grey", alpha=0.15, linewidth=0)
        shown = {at: name for at, name in _MONTHS.items() if ends[0] <= at <= ends[1]}
        axes.set_xticks(list(shown), list(shown.values()))
        axes.set_yticks(list(shown), list(shown.values()))
        together = np.corrcoef(printed, computed)[0, 1]
        axes.set(
            xlabel="in print",
            ylabel="computed",
            title=f"{what}: {len(printed)} northern roads, correlation {together:.2f}",
        )
    figure.suptitle("High roads that snow closes (band: three weeks)")
    figure.savefig(target, dpi=110, metadata={"Software": None})


def of_kind(days: Sequence[RoadDay], what: str) -> np.ndarray:
    """Return the days in print and the computed ones of closings or openings, shape (2, n)."""
    return np.array([(row.printed, row.computed) for row in days if row.what == what]).T
