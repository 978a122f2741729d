"""Tiles: the figures behind the pictures, as scripts that a page opened from a file can load.

In: a scored block. Out: scripts by path. Assumes a page that inflates: neighbours are alike, so
a byte is stored as its difference to the one before and the whole deflated, which takes four
fifths off.
"""

from __future__ import annotations

import base64
import json
import math
import zlib
from collections.abc import Iterator

import numpy as np

from sheltermap.atlas.area import TILE_CELLS
from sheltermap.atlas.codes import Bytes
from sheltermap.atlas.scored import ScoredBlock

CALL = "SM_ATLAS_TILE"
"""The page's function that takes a tile."""

_EFFORT = 6  # of zlib; 9 takes three times as long for a hundredth of the bytes


def packed(values: Bytes) -> str:
    """
    Return bytes as a page unpacks them.

    Parameters
    ----------
    values : uint8 array
        Read in the order of the last dimension.

    Returns
    -------
    str
        Base64 of deflated differences: each byte less the one before, modulo 256.

    Examples
    --------
    >>> zlib.decompress(base64.b64decode(packed(np.array([3, 5, 4], np.uint8))))
    b'\\x03\\x02\\xff'
    """
    steps = np.diff(values.ravel(), prepend=np.uint8(0))
    return base64.b64encode(zlib.compress(steps.tobytes(), _EFFORT)).decode()


def tile_scripts(scored: ScoredBlock) -> Iterator[tuple[str, bytes]]:
    """
    Yield the tiles of a block.

    Parameters
    ----------
    scored : ScoredBlock

    Yields
    ------
    str
        Name; only of tiles in which some cell has a climate.
    bytes
        A script that calls `CALL` with the name and the figures of those cells.
    """
    for name, rows, columns in scored.block.tiles():
        known = scored.known[rows, columns]
        row, column = np.nonzero(known)
        if not row.size:
            continue
        height = scored.height[rows, columns][known]
        tile = {
            "cells": (row * TILE_CELLS + column).tolist(),
            "height": [_metres(metres) for metres in height.tolist()],
            **{
                layer: packed(values[:, :, rows, columns][..., known])
                for layer, values in scored.codes.items()
            },
        }
        text = json.dumps(tile, separators=(",", ":"))
        yield name, f'{CALL}("{name}",{text});\n'.encode()


def _metres(height: float) -> float | None:
    """Return a height to 0.1 m, which no result tells from the height itself."""
    if math.isnan(height):
        return None
    tenths = round(height, 1)
    return int(tenths) if tenths.is_integer() else tenths
