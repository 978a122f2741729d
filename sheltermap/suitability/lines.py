"""How far a line runs through each cell of a regular grid.

In: lines in degrees and the edges of a grid. Out: cells with kilometres.
Assumes straight segments in longitude and latitude; lengths are geodesics of WGS84.
"""

from __future__ import annotations

import numpy as np
import shapely

from sheltermap.hazards.shapes import GEOD


def cell_lengths(line, rows, columns) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """
    Return the length of a line in each cell it crosses.

    Parameters
    ----------
    line : shapely LineString or MultiLineString
        In degrees.
    rows, columns : tuple of (float, float)
        First edge and step of the latitudes and of the longitudes. [degrees]

    Returns
    -------
    row, column : numpy.ndarray of int
        Cell of each piece, counted from the first edges; negative before them. A cell may
        come several times.
    kilometres : numpy.ndarray
        Length of each piece. [km]

    Examples
    --------
    >>> road = shapely.LineString([(0.5, 0.0), (1.5, 0.0)])
    >>> row, column, kilometres = cell_lengths(road, (-0.5, 1.0), (0.0, 1.0))
    >>> row.tolist(), column.tolist(), kilometres.round(1).tolist()
    ([0, 0], [0, 1], [55.7, 55.7])
    """
    pieces = [
        _cut(points, rows, columns)
        for points in map(shapely.get_coordinates, shapely.get_parts(line))
    ]
    starts = np.concatenate([piece[:-1] for piece in pieces])
    ends = np.concatenate([piece[1:] for piece in pieces])
    middle = (starts + ends) / 2
    row = np.floor((middle[:, 1] - rows[0]) / rows[1]).astype(int)
    column = np.floor((middle[:, 0] - columns[0]) / columns[1]).astype(int)
    metres = GEOD.inv(starts[:, 0], starts[:, 1], ends[:, 0], ends[:, 1])[2]
    return row, column, np.asarray(metres) / 1000.0


def _cut(points: np.ndarray, rows, columns) -> np.ndarray:
    """Return a line's points with one more wherever it crosses an edge of the grid."""
    positions = [np.arange(len(points), dtype=float)]
    for axis, (first, step) in ((1, rows), (0, columns)):
        scaled = (points[:, axis] - first) / step
        low = np.floor(np.minimum(scaled[:-1], scaled[1:])).astype(int) + 1
        high = np.ceil(np.maximum(scaled[:-1], scaled[1:])).astype(int)
        counts = np.maximum(high - low, 0)
        segment = np.repeat(np.arange(len(counts)), counts)
        offset = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
        edge = low[segment] + offset
        way = (edge - scaled[segment]) / (scaled[segment + 1] - scaled[segment])
        positions.append(segment + way)
    at = np.unique(np.concatenate(positions))
    index = np.arange(len(points))
    return np.column_stack([np.interp(at, index, points[:, axis]) for axis in (0, 1)])
