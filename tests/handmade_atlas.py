"""An atlas made by hand for the tests of its page: three cells in two tiles, two kits, regions.

Everything is packed here a second time, after what ``atlaspack.js`` and ``atlascells.js`` say they
read; only the pages themselves come from the program.
"""

from __future__ import annotations

import base64
import io
import json
import zlib
from pathlib import Path

import numpy as np
from PIL import Image

from sheltermap.atlas.area import AtlasGrid
from sheltermap.atlas.facts import AtlasFacts
from sheltermap.atlas.page import page_files
from sheltermap.atlas.regions import KitYear, RegionRow
from sheltermap.shelters.kit import Sleeper, load_kits

TENT, ROOF = (load_kits()[one] for one in ("ground-tent", "roof-tent"))

BOTH = ("cheapest", "hazard/tropical-cyclone")

NO_DATA, NOTHING = 255, 5
COLD, HEAT, CONDENSATION = 0, 1, 4

# Of each cell its tile, its place there (rows of 20) and its height; then of each kit the share,
# danger [1/200] and factor of January and of every other month.
CELLS = (
    # 40.5 N 10.5 E
    ("0_0", 0, 100, ((40, 30, COLD), (190, 0, NOTHING)), ((160, 0, CONDENSATION),) * 2),
    # 41.5 N 11.5 E: nobody knows how the roof tent does there.
    ("0_0", 21, None, ((150, 0, HEAT),) * 2, ((NO_DATA,) * 3,) * 2),
    # 40.5 N 35.5 E
    ("0_1", 5, 2000, ((0, 200, COLD),) * 2, ((100, 2, COLD),) * 2),
)


def packed(values: list[int]) -> str:
    """Return bytes as differences, deflated, in base64."""
    steps = bytes(
        (value - before) % 256 for before, value in zip([0, *values], values, strict=False)
    )
    return base64.b64encode(zlib.compress(steps)).decode()


def tile(name: str) -> bytes:
    """Return a tile's script."""
    inside = [cell for cell in CELLS if cell[0] == name]
    content = {"cells": [cell[1] for cell in inside], "height": [cell[2] for cell in inside]}
    for layer, key in enumerate(("share", "danger", "factor")):
        content[key] = packed(
            [
                cell[3 + kit][0 if month == 0 else 1][layer]
                for kit in range(2)
                for month in range(12)
                for cell in inside
            ]
        )
    # Serious in January, unknown from February on, over every cell.
    content["hazard"] = packed([2] * len(inside) + [NO_DATA] * 11 * len(inside))
    return f'SM_ATLAS_TILE("{name}",{json.dumps(content)});\n'.encode()


def year(january: float, rest: float) -> np.ndarray:
    """Return twelve months, of which January differs."""
    return np.array([january, *[rest] * 11])


def kit_year(median, worst, dangerous, why) -> KitYear:
    """Return a region's year from values of January and of the other months."""
    return KitYear(year(*median), year(*worst), year(*dangerous), (why[0], *[why[1]] * 11))


REGIONS = (
    RegionRow(
        "Égalia",
        1000.0,
        2,
        {
            TENT.id: kit_year((0.2, 0.95), (0.1, 0.9), (0.15, 0.0), ("cold", None)),
            ROOF.id: kit_year((0.8, 0.8), (0.6, 0.6), (0.0, 0.0), ("condensation",) * 2),
        },
    ),
    RegionRow(
        "Westland",
        4000.0,
        1,
        {
            TENT.id: kit_year((0.0, 0.0), (0.0, 0.0), (1.0, 1.0), ("cold", "cold")),
            ROOF.id: kit_year((np.nan, 0.5), (np.nan, 0.4), (np.nan, 0.01), (None, "cold")),
        },
    ),
)

LAND = {
    TENT.id: {
        "sound": [0.0, *[0.25] * 11],
        "workable": [0.5, *[0.75] * 11],
        "dangerous": [0.75, *[0.25] * 11],
    },
    ROOF.id: {"sound": [0.0] * 12, "workable": [0.5] * 12, "dangerous": [0.0] * 12},
}


def facts() -> AtlasFacts:
    """Return the facts of the atlas: 2 rows and 40 columns of one degree."""
    return AtlasFacts(
        title="Two tiles",
        grid=AtlasGrid(np.array([40.5, 41.5]), np.arange(40) + 10.5, (1.0, 1.0)),
        kits=(TENT, ROOF),
        sleeper=Sleeper(),
        bedding="",
        tiles=("0_0", "0_1"),
        regions=REGIONS,
        land=LAND,
        hazards=("tropical-cyclone",),
        not_checked=("flash-flood",),
        not_assessed=("wind",),
        climatology={"source": "made by hand", "period": "", "estimated": []},
        files=("regions.csv",),
    )


def picture() -> bytes:
    """Return a picture of one colour."""
    stream = io.BytesIO()
    Image.new("P", (40, 2), 1).save(stream, "PNG")
    return stream.getvalue()


def pictures() -> list[str]:
    """Return the paths of all pictures."""
    months = [f"{month:02}" for month in range(1, 13)]
    kits = [
        f"maps/{kit.id}/{layer}-{month}.png"
        for kit in (TENT, ROOF)
        for layer in ("share", "factor", "danger")
        for month in months
    ]
    years = [f"maps/{kit.id}/{layer}.png" for kit in (TENT, ROOF) for layer in ("months", "best")]
    both = [f"maps/{name}-{month}.png" for name in BOTH for month in months]
    return [*kits, *years, *both]


def write(folder: Path) -> Path:
    """Write the atlas and return its folder."""
    files = page_files(facts())
    files |= {f"tiles/{name}.js": tile(name) for name in ("0_0", "0_1")}
    files |= dict.fromkeys(pictures(), picture())
    files["regions.csv"] = b"region\n"
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    return folder
