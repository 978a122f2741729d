"""Reading an atlas back: what its page's scripts do, written a second time for tests."""

from __future__ import annotations

import base64
import json
import re
import zlib
from pathlib import Path

import numpy as np


def block(folder: Path) -> dict:
    """Return the data block of an atlas's page."""
    page = (folder / "index.html").read_text(encoding="utf-8")
    found = re.search(r'<script type="application/json" id="atlas">(.*?)</script>', page, re.S)
    assert found
    return json.loads(found[1])


def unpacked(text: str, *shape: int) -> np.ndarray:
    """Return packed bytes: inflated, and each the sum of the differences up to it."""
    total, values = 0, []
    for step in zlib.decompress(base64.b64decode(text)):
        total = (total + step) % 256
        values.append(total)
    return np.array(values).reshape(shape)


def tile(folder: Path, name: str) -> dict:
    """Return what a tile's script hands to the page."""
    script = (folder / "tiles" / f"{name}.js").read_text(encoding="utf-8")
    found = re.fullmatch(r'SM_ATLAS_TILE\("(\w+)",(.*)\);\n', script)
    assert found and found[1] == name
    return json.loads(found[2])


class Cells:
    """The cells of an atlas by position.

    Parameters
    ----------
    folder : path
    """

    def __init__(self, folder: Path) -> None:
        self.folder, self.block = folder, block(folder)
        self.kits = [kit["id"] for kit in self.block["kits"]]

    def at(self, latitude: float, longitude: float) -> dict:
        """Return a cell's height, and its shares, dangers and factors as (kit, month)."""
        grid = self.block["grid"]
        row = int((latitude - grid["south"]) // grid["step"][0])
        column = int((longitude - grid["west"]) // grid["step"][1])
        size = grid["tile_cells"]
        found = tile(self.folder, f"{row // size}_{column // size}")
        place = found["cells"].index(row % size * size + column % size)
        shape = (len(self.kits), 12, len(found["cells"]))
        layers = {
            name: unpacked(found[name], *shape)[..., place]
            for name in ("share", "danger", "factor")
        }
        return {"height": found["height"][place], **layers}
