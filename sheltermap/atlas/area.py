"""The area of an atlas: which cells it has, and how they are cut into tiles and blocks.

In: the nodes of a climatology, a box. Out: an AtlasGrid and its blocks. Assumes a regular grid
whose cells reach half a step to each side of their node. Tiles and blocks are counted in cells
from the south-western one, so that any grid is cut without remainders of degrees.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import xarray as xr

from sheltermap.places.grid import grid_of
from sheltermap.vocabulary import Box, Floats, InputError, Problem
from sheltermap.website.overlays import MERCATOR_LIMIT

TILE_CELLS = 20
"""Rows and columns of a tile: 10 degrees of the embedded data; some 25 kB in nine kits."""

BLOCK_TILES = 8
"""Rows and columns of tiles that are scored at once. They bound the memory: 25,600 cells of
twelve months are 60 MB of nights and, in nine kits, 70 MB of results."""

WORLD: Box = (-180.0, -90.0, 180.0, 90.0)


@dataclass(frozen=True, eq=False)
class AtlasGrid:
    """
    The cells of an atlas.

    Attributes
    ----------
    latitude : array
        Nodes from the south. [degrees]
    longitude : array
        Nodes eastwards, each from -180 to 180: over the 180th meridian they jump. [degrees]
    step : tuple of float
        Height and width of a cell. [degrees]
    """

    latitude: Floats
    longitude: Floats
    step: tuple[float, float]

    @property
    def shape(self) -> tuple[int, int]:
        """Return the number of rows and columns."""
        return self.latitude.size, self.longitude.size

    @cached_property
    def box(self) -> Box:
        """Return west, south, east, north of the outer edges; east may pass 180. [degrees]"""
        rows, columns = self.shape
        south = float(self.latitude[0]) - self.step[0] / 2
        west = float(self.longitude[0]) - self.step[1] / 2
        edges = west, south, west + columns * self.step[1], south + rows * self.step[0]
        return tuple(round(edge, 6) for edge in edges)  # type: ignore[return-value]

    def blocks(self) -> Iterator[Block]:
        """Yield the blocks from the south-west, row by row."""
        size = TILE_CELLS * BLOCK_TILES
        rows, columns = self.shape
        for row in range(0, rows, size):
            for column in range(0, columns, size):
                yield Block(
                    row, column, self.latitude[row:][:size], self.longitude[column:][:size]
                )


@dataclass(frozen=True, eq=False)
class Block:
    """
    A rectangle of cells that are scored at once.

    Attributes
    ----------
    row, column : int
        Of its south-western cell in the atlas.
    latitude, longitude : array
        As in an `AtlasGrid`. [degrees]
    """

    row: int
    column: int
    latitude: Floats
    longitude: Floats

    @property
    def shape(self) -> tuple[int, int]:
        """Return the number of rows and columns."""
        return self.latitude.size, self.longitude.size

    @property
    def window(self) -> tuple[slice, slice]:
        """Return where it lies in the atlas, as rows and columns."""
        rows, columns = self.shape
        return slice(self.row, self.row + rows), slice(self.column, self.column + columns)

    @property
    def box(self) -> Box:
        """Return west, south, east, north of its nodes; west passes east at 180. [degrees]"""
        return (
            float(self.longitude[0]),
            float(self.latitude[0]),
            float(self.longitude[-1]),
            float(self.latitude[-1]),
        )

    def tiles(self) -> Iterator[tuple[str, slice, slice]]:
        """Yield the tiles: the name, and its rows and columns in the block."""
        for row in range(0, self.shape[0], TILE_CELLS):
            for column in range(0, self.shape[1], TILE_CELLS):
                name = f"{(self.row + row) // TILE_CELLS}_{(self.column + column) // TILE_CELLS}"
                yield name, slice(row, row + TILE_CELLS), slice(column, column + TILE_CELLS)


def grid_in(climatology: xr.Dataset, box: Box, file: str = "") -> AtlasGrid:
    """
    Return the cells of a climatology whose nodes lie in a box.

    Parameters
    ----------
    climatology : Dataset
        With latitude and longitude, ascending.
    box : tuple of four floats
        West, south, east, north; west beyond east crosses the 180th meridian. [degrees]
    file : str
        Where it came from, for messages.

    Returns
    -------
    AtlasGrid
        Without the rows around the poles that web maps don't show.

    Raises
    ------
    InputError
        If the grid is not regular, or no node lies in the box.
    """
    try:
        whole = grid_of(climatology)
    except ValueError as error:
        expected = "a regular grid with two rows and columns or more"
        mend = "Bring the climatology onto a regular grid."
        raise InputError([Problem(file, "", expected, str(error), mend)]) from None
    west, south, east, north = box
    latitude, longitude = whole.latitude, whole.longitude
    inside = (latitude >= south) & (latitude <= north)
    rows = latitude[inside & (np.abs(latitude) + whole.step_latitude / 2 <= MERCATOR_LIMIT)]
    if west <= east:
        columns = longitude[(longitude >= west) & (longitude <= east)]
    else:
        columns = np.concatenate([longitude[longitude >= west], longitude[longitude <= east]])
    if not rows.size or not columns.size:
        expected = "west,south,east,north with a cell of the climatology in it"
        covers = (
            f"It covers latitudes {latitude[0]:g} to {latitude[-1]:g} and longitudes "
            f"{longitude[0]:g} to {longitude[-1]:g}, in steps of {whole.step_latitude:g}."
        )
        got = ",".join(f"{edge:g}" for edge in box)
        raise InputError([Problem(file, "box", expected, got, covers)])
    return AtlasGrid(rows, columns, (whole.step_latitude, whole.step_longitude))
