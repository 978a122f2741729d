"""Hazards over an atlas's cells: levels by month, parts of cells, and what nobody looked at.

Layers are drawn so that coverage is known by hand; whether a hazard binds is asked of
``hazards.findings`` too, which answers it for one place by another way.
"""

from __future__ import annotations

import json

import numpy as np
import pytest
from atlases import Cells, tile, unpacked
from click.testing import CliRunner

from sheltermap.atlas.area import Block
from sheltermap.atlas.hazards import Hazards, monthly
from sheltermap.cli import main
from sheltermap.hazards.findings import binding_levels, findings
from sheltermap.hazards.kinds import hazard_kind
from sheltermap.hazards.layers import read_layer
from sheltermap.hazards.shapes import boxes, region_extent
from sheltermap.vocabulary import Level

STEP = (0.5, 0.5)
BLOCK = Block(0, 0, np.array([50.0, 50.5]), np.array([20.0, 20.5, 21.0]))
"""Cells from 49.75 to 50.75 north and 19.75 to 21.25 east."""


def layer(tmp_path, *features, covers=(), name="layer.geojson"):
    """Return a layer of boxes: (kind, levels, west, south, east, north)."""
    drawn = [
        {
            "type": "Feature",
            "properties": {"kind": kind, "level": levels, "source": "by hand"},
            "geometry": {
                "type": "Polygon",
                "coordinates": [[[w, s], [e, s], [e, n], [w, n], [w, s]]],
            },
        }
        for kind, levels, w, s, e, n in features
    ]
    document = {"type": "FeatureCollection", "features": drawn, "covers": list(covers)}
    path = tmp_path / name
    path.write_text(json.dumps(document), encoding="utf-8")
    return read_layer(path)


def test_a_hazard_binds_from_a_tenth_of_a_cell_on(tmp_path):
    """A strip 0.06 wide covers 12 % of the first cell, one of 0.04 covers 8 % of the last."""
    flood = {"July": "serious"}
    drawn = layer(
        tmp_path,
        ("flood", flood, 19.75, 49.0, 19.81, 52.0),
        ("flood", flood, 21.21, 49.0, 21.25, 52.0),
    )
    (levels,) = Hazards([drawn], STEP).levels(BLOCK)
    assert levels[6].tolist() == [[2, 255, 1], [2, 255, 1]]
    # Looked at where it binds; a part of a cell says nothing of the rest, but in its months.
    assert levels[0].tolist() == [[0, 255, 255], [0, 255, 255]]


def test_pieces_of_one_kind_bind_together(tmp_path):
    """Two pieces of 7 % each are 14 %: findings of one place say the same."""
    drawn = layer(
        tmp_path,
        ("wildfire", {"all year": "prohibitive"}, 19.75, 49.75, 19.785, 50.25),
        ("wildfire", {"June": "serious"}, 20.1, 49.75, 20.135, 50.25),
    )
    (levels,) = Hazards([drawn], STEP).levels(BLOCK)
    assert levels[:, 0, 0].tolist() == [3] * 12
    place = region_extent(boxes((19.75, 49.75, 20.25, 50.25)))
    assert (binding_levels(findings([drawn], place), ())[0] == Level.PROHIBITIVE).all()


def test_the_highest_of_two_counts_in_a_month(tmp_path):
    """Half of July serious, all of it advisory: serious is what it can be."""
    drawn = layer(
        tmp_path,
        ("flood", {"all year": "advisory", "07-20..08-02": "serious"}, 19.0, 49.0, 22.0, 52.0),
    )
    (levels,) = Hazards([drawn], STEP).levels(BLOCK)
    assert levels[:, 0, 0].tolist() == [1, 1, 1, 1, 1, 1, 2, 2, 1, 1, 1, 1]


def test_looked_at_and_found_nothing_is_not_unchecked(tmp_path):
    """A layer that covers two columns and half of the third looked at the two."""
    covers = {"kinds": ["flood"], "bbox": [19.0, 49.0, 21.0, 52.0]}
    far = ("wildfire", {"all year": "serious"}, 40.0, 49.0, 41.0, 52.0)
    hazards = Hazards([layer(tmp_path, far, covers=[covers])], STEP)
    assert hazards.kinds == ("flood", "wildfire")
    flood, fire = hazards.levels(BLOCK)
    assert flood[3].tolist() == [[0, 0, 255], [0, 0, 255]]
    assert (fire == 255).all()


def test_months_of_days():
    """New Year's Eve belongs to December, the day after to January."""
    days = np.zeros(365, np.uint8)
    days[[0, 364]] = 3, 1
    assert monthly(days).tolist() == [3, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1]


def test_a_layer_reaches_the_page(tmp_path):
    """Kinds in the block, levels in the tile, a picture each; all others are not checked."""
    layer(tmp_path, ("flood", {"May": "closure"}, 41.0, 42.0, 44.0, 44.0))
    words = ["atlas", "--box", "42,43,42.5,43", "--kits", "bedroll", "-q"]
    words += ["--hazards", str(tmp_path / "layer.geojson"), "-o", str(tmp_path / "site")]
    done = CliRunner().invoke(main, words, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    cells = Cells(tmp_path / "site")
    kinds = [one["kind"] for one in cells.block["hazards"]]
    assert set(kinds) == {"flood", "tropical-cyclone"}
    unchecked = cells.block["not_checked"]
    assert hazard_kind("flood").title not in unchecked
    assert hazard_kind("wildfire").title in unchecked
    found = tile(tmp_path / "site", "0_0")
    levels = unpacked(found["hazard"], 2, 12, len(found["cells"]))
    assert levels[kinds.index("flood"), 4].tolist() == [4, 4]
    assert not levels[kinds.index("flood"), 3].any()
    assert (tmp_path / "site" / "maps" / "hazard" / "flood-05.png").is_file()


def test_a_broken_layer_is_told_before_anything_is_written(tmp_path):
    """With its file."""
    broken = tmp_path / "broken.geojson"
    broken.write_text("{}", encoding="utf-8")
    words = ["atlas", "--world", "--hazards", str(broken), "-o", str(tmp_path / "site")]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 2 and "broken.geojson" in done.stderr
    assert not (tmp_path / "site").exists()


@pytest.mark.parametrize("west", [179.0, -180.0])
def test_a_hazard_at_180_degrees_covers_the_cell_on_both_sides(tmp_path, west):
    """The cell whose node is 180 reaches a quarter of a degree over it."""
    drawn = layer(tmp_path, ("flood", {"all year": "serious"}, west, 49.0, west + 1, 52.0))
    both = Block(0, 0, np.array([50.0]), np.array([-180.0, -179.5]))
    (levels,) = Hazards([drawn], STEP).levels(both)
    assert levels[0, 0, 0] == 2
