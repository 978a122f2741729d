"""The store: bytes of every kit, month and cell on disk while an atlas is made.

In: scored blocks, in any order. Out: one kit's month at a time, over the whole area. Assumes an
area too large for memory: blocks are written where they belong and months read as a whole.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from sheltermap.atlas.codes import Bytes
from sheltermap.atlas.scored import ScoredBlock
from sheltermap.vocabulary import Floats
from sheltermap.website.overlays import MISSING_CODE

_HEIGHT = "height"


class Store:
    """
    Bytes of an area in files.

    Parameters
    ----------
    folder : path
        New or empty; removed by who made it.
    shape : tuple of int
        Rows and columns of the area.
    """

    def __init__(self, folder: Path, shape: tuple[int, int]) -> None:
        folder.mkdir(exist_ok=True)
        self.folder, self.shape = folder, shape

    def write(self, scored: ScoredBlock) -> None:
        """Keep a block."""
        for layer, codes in scored.codes.items():
            for kit, of_kit in enumerate(codes):
                self._put(f"{layer}-{kit}", of_kit, scored.block.window, np.uint8)
        self._put(_HEIGHT, scored.height[np.newaxis], scored.block.window, np.float32)

    def month(self, layer: str, kit: int, month: int) -> Bytes:
        """
        Return one kit's month.

        Parameters
        ----------
        layer : str
            Of `codes.LAYERS`.
        kit, month : int
            From 0.

        Returns
        -------
        uint8 array, shape (rows, columns)
        """
        return self._read(f"{layer}-{kit}", month, np.uint8)

    def year(self, layer: str, kit: int) -> Bytes:
        """Return one kit's months, shape (12, rows, columns)."""
        return np.stack([self.month(layer, kit, month) for month in range(12)])

    def height(self) -> Floats:
        """Return the heights of the cells, shape (rows, columns). [m]"""
        return self._read(_HEIGHT, 0, np.float32).astype(float)

    def _put(self, name: str, values: np.ndarray, window: tuple[slice, slice], kind: type) -> None:
        """Write layers of a window into the file of that name."""
        path = self.folder / name
        shape = (len(values), *self.shape)
        if not path.exists():
            with path.open("wb") as file:
                missing = MISSING_CODE if kind is np.uint8 else np.nan
                for _ in range(shape[0]):
                    file.write(np.full(self.shape, missing, kind).tobytes())
        # Mapped anew each time: a mapping that stays counts all it has touched as memory.
        np.memmap(path, kind, "r+", shape=shape)[(slice(None), *window)] = values

    def _read(self, name: str, layer: int, kind: type) -> np.ndarray:
        """Return one layer of a file."""
        count = self.shape[0] * self.shape[1]
        offset = layer * count * np.dtype(kind).itemsize
        return np.fromfile(self.folder / name, kind, count, offset=offset).reshape(self.shape)
