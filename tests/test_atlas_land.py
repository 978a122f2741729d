"""The land of an atlas and its headline by hand: bars at their borders, places by their danger."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from sheltermap.atlas.area import Block
from sheltermap.atlas.headlines import headlines
from sheltermap.atlas.land import Land
from sheltermap.atlas.scored import ScoredBlock


def of_cells(share, danger) -> ScoredBlock:
    """Return a block of two rows, at 0 and 60 degrees, in one kit, all months alike."""
    found = {
        name: np.broadcast_to(np.array(layer), (1, 12, *np.shape(layer))).astype(np.uint8)
        for name, layer in (("share", share), ("danger", danger))
    }
    columns = np.arange(float(np.shape(share)[1]))
    block = Block(0, 0, np.array([0.0, 60.0]), columns)
    return ScoredBlock(block, found, np.zeros(block.shape), np.array(share) != 255)


def test_land_reaches_a_bar_from_its_floor_on():
    """90 % is 180 of 200, 75 % 150, 2 % of danger 4; one less does not count.

    A cell of the first row is 1, of the second 0.5. Sound 1 of 4.5; workable 1 + 1 + 0.5 of it.
    Danger is unknown in one cell of the second row: 1 + 0.5 of 4.
    """
    land = Land(["tent"])
    land.add(of_cells([[180, 179, 149], [150, 0, 10]], [[4, 3, 0], [200, 0, 255]]))
    found = land.shares()["tent"]
    assert found["sound"] == pytest.approx([1 / 4.5] * 12)
    assert found["workable"] == pytest.approx([2.5 / 4.5] * 12)
    assert found["dangerous"] == pytest.approx([1.5 / 4] * 12)


def test_blocks_of_land_add_up():
    """One whole cell sound, then a block of two with none: 1 of 4.5."""
    land = Land(["tent"])
    land.add(of_cells([[200], [200]], [[0], [0]]))
    land.add(of_cells([[0, 0], [0, 0]], [[0, 0], [0, 0]]))
    assert land.shares()["tent"]["sound"] == pytest.approx([1.5 / 4.5] * 12)


def headline(workable, sound, dangerous, regions=()) -> str:
    """Return January's headline for shares of the land, spaces plain."""
    land = {
        "x": {"workable": [workable] * 12, "sound": [sound] * 12, "dangerous": [dangerous] * 12}
    }
    rows = [
        SimpleNamespace(
            name=name,
            area_km2=area,
            kits={"x": SimpleNamespace(dangerous=np.full(12, danger))},
        )
        for name, area, danger in regions
    ]
    return headlines(land, {"x": "Tent"}, rows)["x"][0].replace("\u202f", " ")


def test_headline_names_the_three_regions_with_most_danger():
    """Danger by area: 30, 40, 20, 40 and 10; two alike by name. Below 1 in 50 none is named."""
    regions = [
        ("Ash", 1000.0, 0.03),
        ("Elm", 80.0, 0.5),
        ("Fir", 1000.0, 0.02),
        ("Box", 400.0, 0.1),
        ("Oak", 90000.0, 0.019),
        ("Yew", 70000.0, np.nan),
        ("Bay", 100.0, 0.1),
    ]
    said = headline(0.5, 0.25, 0.75, regions)
    assert said == (
        "In January the Tent is workable or better on 50 % of the land, sound on 25 %. At least "
        "1 night in 50 could be dangerous on 75 %, above all in Box, Elm and Ash."
    )
    assert headline(0.5, 0.25, 0.75).endswith("could be dangerous on 75 %.")


def test_headline_says_no_more_than_is_known():
    """Nothing workable is not sound either; an unknown danger is no safety."""
    assert headline(0.0, 0.0, 0.0).startswith(
        "In January the Tent is workable or better on 0 % of the land. "
    )
    assert headline(0.5, 0.1, None).endswith("sound on 10 %. Danger was not assessed.")
    assert "In no cell, at its mean height, would 1 night in 50 be dangerous." in headline(
        0.5, 0.1, 0.0
    )
