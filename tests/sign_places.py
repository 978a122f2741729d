"""Climates of places for tests of signs: the embedded data at the height of the map."""

from functools import cache

import numpy as np
import xarray as xr
from climates import whole_world

from sheltermap.climate.altitude import at_elevation
from sheltermap.climate.calendar import by_day, by_month
from sheltermap.climate.grid import point
from sheltermap.climate.heights import heights_at
from sheltermap.dates import FIRST_DAYS


@cache
def climate(latitude, longitude, height=None):
    """Return the twelve months at a place."""
    if height is None:
        height = float(heights_at(latitude, longitude)["camp_elevation"])
    return at_elevation(point(whole_world(), latitude, longitude), height)


def months_at(latitude, longitude, height=None):
    """Return the season along months."""
    return by_month(climate(latitude, longitude, height))


def months_at_all(places):
    """Return the seasons of several places along months and cells."""
    cells = xr.concat([point(whole_world(), *place) for place in places], "cell")
    heights = heights_at(*np.transpose(places))["camp_elevation"].values
    return by_month(at_elevation(cells, xr.DataArray(heights, dims="cell")))


def days_at(latitude, longitude, height=None):
    """Return the season along days."""
    return by_day(climate(latitude, longitude, height))


def months_of(by_month_or_day):
    """Return the numbers of the months that are set, of days for most of the month."""
    values = np.asarray(by_month_or_day, dtype=float).ravel()
    if len(values) == 365:
        values = np.add.reduceat(values > 0, FIRST_DAYS) / np.diff([*FIRST_DAYS, 365]) > 0.5
    return {month for month in range(1, 13) if values[month - 1] > 0}
