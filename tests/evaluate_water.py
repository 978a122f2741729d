"""How rain and humidity of the embedded climatology do, by kind of place.

In: the climatology and the tables in ``tests/published``. Out: rows of a Markdown table, each
with bias, root mean square error and how many of the misses the stated error covers. Part of
``make evaluate``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import xarray as xr

from sheltermap.air import dewpoint
from sheltermap.climate import grid
from sheltermap.climate.altitude import at_elevation
from sheltermap.climate.rain_height import rain_factor
from sheltermap.climate.water_errors import dewpoint_error, rainfall_error

MONSOON_SITES = ("Chiang Mai", "Plains of San Agustín")
WINTER = (11, 12, 1, 2, 3, 4)
HIGH, BELOW_CELL = 3000.0, -300.0
"""Heights of mountain stations, and of valley stations above their cells. [m]"""


@dataclass(frozen=True)
class Misses:
    """Estimates, observations and stated errors of a kind of place.

    Attributes
    ----------
    kind, units : str
    said, seen, error : float array
        One value a month.
    """

    kind: str
    units: str
    said: np.ndarray
    seen: np.ndarray
    error: np.ndarray

    @property
    def row(self) -> str:
        """Return a row of the table."""
        miss = self.said - self.seen
        covered = (np.abs(miss) <= self.error).mean()
        numbers = f"{miss.mean():+.1f}|{np.sqrt((miss**2).mean()):.1f}|{100 * covered:.0f} %"
        return f"|{self.kind}|{self.units}|{miss.size}|{numbers}|"


def rain_at(world, members: list[list[dict]]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return stations' rain and its error at their heights, and these over their cells."""
    latitude, longitude, altitude = (
        xr.DataArray([float(rows[0][column]) for rows in members], dims="station")
        for column in ("lat", "lon", "altitude_m")
    )
    places = zip(latitude.values, longitude.values, strict=True)
    cells = [grid.point(world, *place) for place in places]
    rainfall, warmth, elevation = (
        xr.DataArray(np.stack([cell[name] for cell in cells]), dims=("station", "month")[:count])
        for name, count in (("rainfall", 2), ("air_temperature", 2), ("elevation", 1))
    )
    height = altitude - elevation
    rain = rainfall * rain_factor(world["month"], height, latitude)
    error = rainfall_error(warmth, rain, height)
    in_order = ("station", "month")
    return rain.transpose(*in_order).values, error.transpose(*in_order).values, height.values


def dewpoint_at(world, rows: list[dict], corrected: bool) -> tuple[np.ndarray, np.ndarray]:
    """Return a site's dewpoint and its error, for its own height if asked."""
    climate = grid.point(world, float(rows[0]["lat"]), float(rows[0]["lon"]))
    if corrected:
        climate = at_elevation(climate, float(rows[0]["altitude_m"]))
    error = dewpoint_error(climate["air_temperature"], climate["vapour_pressure"])
    return dewpoint(climate["vapour_pressure"].values), error.values


def stations(places: dict[str, list[dict]]) -> Iterator[list[dict]]:
    """Return the twelve rows of each station; some of one name stand side by side."""
    for rows in places.values():
        for first in range(0, len(rows), 12):
            yield rows[first : first + 12]


def rain_misses(world, places: Callable) -> Iterator[Misses]:
    """Return the misses of rain by kind of place."""
    found, world = [], world[["air_temperature", "rainfall", "elevation"]]
    for table in ("dry_interior_normals.csv", "station_months.csv"):
        members = list(stations(places(table)))
        for rows, said, error, height in zip(members, *rain_at(world, members), strict=True):
            seen = [float(row["rain_mm"] or "nan") for row in rows]
            kinds = [table[:3], float(rows[0]["altitude_m"]), height]
            months = zip(range(1, 13), said, seen, error, strict=True)
            found += [(*kinds, *month) for month in months if np.isfinite(month[2])]
    source, altitude, height, month, said, seen, error = map(np.array, zip(*found, strict=True))
    dry, high = source == "dry", altitude >= HIGH
    for kind, wanted in (
        ("Rain: dry interior, all", dry),
        ("Rain: above 3,000 m, November to April", dry & high & np.isin(month, WINTER)),
        ("Rain: valleys 300 m and more below their cell", dry & (height < BELOW_CELL)),
        ("Rain: five stations on four continents", ~dry),
    ):
        yield Misses(kind, "mm", said[wanted], seen[wanted], error[wanted])


def dewpoint_misses(world, places: Callable) -> Iterator[Misses]:
    """Return the misses of dewpoint by kind of place."""
    kinds = {
        "Dewpoint: monsoon country": [],
        "Dewpoint: other reanalysis sites": [],
        "Dewpoint: temperate country": [],
    }
    monsoon, other, temperate = kinds.values()
    world = world[["air_temperature", "vapour_pressure", "elevation", "land_fraction"]]
    for name, rows in places("site_months.csv").items():
        if not rows[0]["excluded_from_fit"]:
            (monsoon if name.startswith(MONSOON_SITES) else other).append((rows, False))
    temperate += [(rows, True) for rows in places("temperate_reference_years.csv").values()]
    for kind, members in kinds.items():
        said, error = zip(*(dewpoint_at(world, *member) for member in members), strict=True)
        seen = [[float(row["dewpoint_c"]) for row in rows] for rows, _ in members]
        yield Misses(kind, "K", np.array(said), np.array(seen), np.array(error))


def water_table(world, places: Callable) -> list[str]:
    """
    Return the rows of a table of rain and humidity by kind of place.

    Parameters
    ----------
    world : Dataset
        The embedded climatology.
    places : callable
        From the name of a published table to its rows by place.

    Returns
    -------
    list of str
    """
    misses = [*rain_misses(world, places), *dewpoint_misses(world, places)]
    return [
        "|Kind of place|Units|Months|Bias|RMSE|Within the stated error|",
        "|---|---|---|---|---|---|",
        *(miss.row for miss in misses),
    ]
