"""Shapes over the cells of a block: which cells each covers, and how much of them.

In: shapes in degrees, a block. Out: rows, columns and covered parts. Assumes that shapes stop at
the 180th meridian, as ours do, and cells do not: those of nodes at 180 degrees lie on both sides.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from sheltermap.atlas.area import Block
from sheltermap.places.grid import Grid, coverages
from sheltermap.vocabulary import Floats


@dataclass(frozen=True, eq=False)
class Covered:
    """
    The cells of a block that a shape touches.

    Attributes
    ----------
    shape : int
        Its position among the shapes.
    row, column : int arrays
        In the block.
    part : array
        Of each cell. [0 to 1]
    area : array
        Of that part. [sr]
    """

    shape: int
    row: np.ndarray
    column: np.ndarray
    part: Floats
    area: Floats


class Shapes:
    """
    Shapes that are laid over blocks.

    Parameters
    ----------
    shapes : sequence of shapely geometry
        Polygons in degrees.
    step : tuple of float
        Height and width of a cell. [degrees]
    """

    def __init__(self, shapes: Sequence[BaseGeometry], step: tuple[float, float]) -> None:
        self._step = step
        self._shapes = [_over_180(shape, step[1]) for shape in shapes]
        self._tree = shapely.STRtree(self._shapes)

    def over(self, block: Block) -> Iterator[Covered]:
        """Yield the shapes that touch a block; one comes twice where the block crosses 180."""
        for columns in _unbroken(block.longitude, self._step[1]):
            grid = Grid(block.latitude, block.longitude[columns], *self._step, padding=0)
            window = shapely.box(grid.west, grid.south, grid.east, grid.north)
            there = sorted(self._tree.query(window, predicate="intersects").tolist())
            if not there:
                continue
            for shape, (cell, part) in zip(
                there, coverages(grid, [self._shapes[one] for one in there]), strict=True
            ):
                # Rasters start in the north.
                row = grid.latitude.size - 1 - cell // grid.columns
                area = part * grid.cell_shares[0][row]
                yield Covered(shape, row, cell % grid.columns + columns.start, part, area)


def _over_180(shape: BaseGeometry, step: float) -> BaseGeometry:
    """Return a shape that goes on as far over the 180th meridian as a cell may."""
    found = [shape]
    for edge, turn in ((180.0, -360.0), (-180.0, 360.0)):
        strip = shapely.box(edge - step, -90.0, edge + step, 90.0)
        if shapely.intersects(shape, strip):
            near = shapely.intersection(shape, strip)
            parts = [part for part in shapely.get_parts(near) if part.geom_type == "Polygon"]
            found += [translate(part, turn) for part in parts]
    return shape if len(found) == 1 else shapely.union_all(found)


def _unbroken(longitude: Floats, step: float) -> list[slice]:
    """Return the parts of a block's columns between which longitudes jump over 180."""
    breaks = np.flatnonzero(np.abs(np.diff(longitude) - step) > 0.5 * step) + 1
    edges = [0, *breaks.tolist(), longitude.size]
    return [slice(first, last) for first, last in pairwise(edges)]
