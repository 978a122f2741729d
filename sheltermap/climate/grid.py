"""Parts of a climatology: a box, the cell nearest to a place, the cells with values.

In: a dataset that keeps the contract, and where. Out: the part of it. Assumes a regular or
irregular grid of centres.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.distance import great_circle
from sheltermap.vocabulary import Box, InputError, Problem

NEAREST_LIMIT = 75.0
"""Farthest a cell may lie from a place that it stands for. [km]

judgement: one and a half cells of the embedded data; farther off, coast and relief make
another climate."""


def box(
    climatology: xr.Dataset, west: float, south: float, east: float, north: float
) -> xr.Dataset:
    """
    Return the part of a climatology inside a box, with one more cell on each side.

    Parameters
    ----------
    climatology : Dataset, with ``latitude`` and ``longitude`` dimensions
    west, south, east, north : float
        Edges. [degrees, longitudes -180 to 180] A box with `west` beyond `east` crosses the
        180th meridian; its longitudes stay ascending, with a gap.

    Returns
    -------
    Dataset

    Raises
    ------
    InputError
        If the box holds no cell.
    """
    latitude, longitude = climatology["latitude"].values, climatology["longitude"].values
    rows = _inside(latitude, south, north)
    if west <= east:
        columns = _inside(longitude, west, east)
    else:
        columns = _inside(longitude, west, 180.0) | _inside(longitude, -180.0, east)
    if not rows.any() or not columns.any():
        expected = "west,south,east,north that the climatology covers"
        got = f"{west:g},{south:g},{east:g},{north:g}"
        mend = _extent(climatology)
        raise InputError([Problem(_name(climatology), "box", expected, got, mend)])
    return climatology.isel(latitude=_indexer(rows), longitude=_indexer(columns))


def box_around(latitude: float, longitude: float, degrees: float) -> Box:
    """
    Return the box around a position, across the 180th meridian where it lies there.

    Parameters
    ----------
    latitude, longitude : float
        [degrees]
    degrees : float
        From the position to each edge.

    Returns
    -------
    tuple of four floats
        West, south, east, north. [degrees]

    Examples
    --------
    >>> box_around(89.0, -179.0, 1.5)
    (179.5, 87.5, -177.5, 90.0)
    """
    west, east = ((longitude + step + 180.0) % 360.0 - 180.0 for step in (-degrees, degrees))
    return west, max(latitude - degrees, -90.0), east, min(latitude + degrees, 90.0)


def point(
    climatology: xr.Dataset, latitude: float, longitude: float, limit: float = NEAREST_LIMIT
) -> xr.Dataset:
    """
    Return the nearest cell that has a climate.

    Parameters
    ----------
    climatology : Dataset, month x latitude x longitude
    latitude, longitude : float
        [degrees]
    limit : float
        Farthest centre accepted. [km]

    Returns
    -------
    Dataset, along ``month``
        With scalar coordinates ``latitude`` and ``longitude`` of the cell, and its
        ``distance``. [km]

    Raises
    ------
    InputError
        If no valid cell lies within `limit`.
    """
    distance = great_circle(
        latitude, longitude, climatology["latitude"], climatology["longitude"]
    ).values
    near = np.flatnonzero(distance.ravel() <= limit)
    temperature = climatology["air_temperature"].isel(month=0)
    for flat in near[np.argsort(distance.ravel()[near], kind="stable")]:
        row, column = np.unravel_index(flat, distance.shape)
        if np.isfinite(temperature.isel(latitude=row, longitude=column).values):
            cell = climatology.isel(latitude=row, longitude=column)
            away = xr.DataArray(distance[row, column], attrs={"units": "km"})
            return cell.assign_coords(distance=away)
    got = f"{latitude:g}, {longitude:g}"
    mend = f"Check latitude and longitude (in that order). {_extent(climatology)}"
    raise InputError(
        [Problem(_name(climatology), "place", f"land within {limit:g} km of a cell", got, mend)]
    )


def cells(climatology: xr.Dataset) -> xr.Dataset:
    """
    Return the cells that have a climate along one dimension.

    Parameters
    ----------
    climatology : Dataset, month x latitude x longitude

    Returns
    -------
    Dataset, along ``cell`` and ``month``
        With coordinates ``latitude`` and ``longitude`` along ``cell``; cells where the
        temperature is missing in any month are dropped.
    """
    flat = climatology.stack(cell=("latitude", "longitude"), create_index=False)
    valid = flat["air_temperature"].notnull().all("month").values
    return flat.isel(cell=np.flatnonzero(valid)).transpose("month", "cell", missing_dims="ignore")


def _inside(values: np.ndarray, low: float, high: float) -> np.ndarray:
    """Return which centres lie within limits, with one more on each side."""
    first = max(int(np.searchsorted(values, low, "left")) - 1, 0)
    last = min(int(np.searchsorted(values, high, "right")) + 1, values.size)
    chosen = np.zeros(values.size, bool)
    step = float(np.median(np.diff(values))) if values.size > 1 else 1.0
    if low <= values[-1] + step and high >= values[0] - step:
        chosen[first:last] = True
    return chosen


def _indexer(chosen: np.ndarray) -> slice | np.ndarray:
    """Return a slice where the chosen places adjoin: backends read slices fastest."""
    places = np.flatnonzero(chosen)
    if places[-1] - places[0] + 1 == places.size:
        return slice(int(places[0]), int(places[-1]) + 1)
    return places


def _extent(climatology: xr.Dataset) -> str:
    """Return where a climatology reaches, in words."""
    latitude, longitude = climatology["latitude"].values, climatology["longitude"].values
    return (
        f"It covers latitudes {latitude.min():g} to {latitude.max():g} and longitudes "
        f"{longitude.min():g} to {longitude.max():g}, land only."
    )


def _name(climatology: xr.Dataset) -> str:
    return str(climatology.attrs.get("title", "climatology"))
