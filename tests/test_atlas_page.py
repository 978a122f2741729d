"""The atlas's pages without a browser: the headline, the search's names, the coast, the sizes."""

from __future__ import annotations

import base64
import json
import re
import zlib
from functools import cache

import handmade_atlas as handmade
import numpy as np
import pytest
import shapely
from handmade_atlas import ROOF, TENT

from sheltermap.atlas.area import Block
from sheltermap.atlas.coast import OUTLINES, boundaries, outline_script, outlines, stepped
from sheltermap.atlas.headlines import headlines
from sheltermap.atlas.land import Land
from sheltermap.atlas.page import page_files
from sheltermap.atlas.placenames import lines, place_script
from sheltermap.atlas.scored import ScoredBlock
from sheltermap.places.names import NamedPlace

WORLD = (-180.0, -85.0, 180.0, 85.0)


@cache
def files() -> dict[str, bytes]:
    """Return the files of the atlas made by hand."""
    return page_files(handmade.facts())


def content(script: bytes) -> str:
    """Return the text that a packed script hands over."""
    found = re.fullmatch(r'SM_ATLAS\("([\w/.]+)","(.*)"\);\n', script.decode())
    return zlib.decompress(base64.b64decode(found[2])).decode()


def said(kit: str, month: int) -> str:
    """Return the headline of a month of the atlas made by hand, spaces plain."""
    titles = {TENT.id: TENT.title, ROOF.id: ROOF.title}
    return headlines(handmade.LAND, titles, handmade.REGIONS)[kit][month].replace("\u202f", " ")


def test_headline_tells_how_much_land_and_where_danger_is():
    """January's shares are those of the land; 4000 km2 x 1 are more danger than 1000 x 0.15."""
    assert said("ground-tent", 0) == (
        "In January the ground tent is workable or better on 50 % of the land, sound on 0 %. At "
        "least 1 night in 50 could be dangerous on 75 %, above all in Westland and Égalia."
    )


def test_headline_names_no_region_below_the_bar():
    """In July only one region has danger; the other's is 0."""
    assert said("ground-tent", 6).endswith("could be dangerous on 25 %, above all in Westland.")
    assert said("roof-tent", 6).endswith(
        "In no cell, at its mean height, would 1 night in 50 be dangerous."
    )


def test_headline_of_unassessed_land_gives_no_share():
    """Unknown is never 0 %."""
    unknown = {"sound": [None] * 12, "workable": [None] * 12, "dangerous": [None] * 12}
    found = headlines({"x": unknown}, {"x": "My tent"}, ())["x"][0]
    assert found == "In January no land of this atlas could be assessed for the My tent."


def test_land_counts_cells_by_their_area():
    """Rows at 0 and 60 degrees: a cell counts 1 there and 0.5 here, by the cosine.

    First row sound (180 = 0.9), second row unfit and dangerous (4 = 0.02), a missing cell: of an
    assessed area of 2 x 1 + 1 x 0.5 = 2.5, sound 2 / 2.5 = 0.8 and dangerous 0.5 / 2.5 = 0.2.
    """
    share = np.array([[180, 180], [0, 255]], np.uint8)
    danger = np.array([[3, 0], [4, 255]], np.uint8)
    codes = {
        name: np.broadcast_to(layer, (1, 12, 2, 2))
        for name, layer in (("share", share), ("danger", danger), ("factor", share))
    }
    block = Block(0, 0, np.array([0.0, 60.0]), np.array([0.0, 1.0]))
    land = Land(["kit"])
    land.add(ScoredBlock(block, codes, np.zeros((2, 2)), share != 255))
    found = land.shares()["kit"]
    assert found["sound"] == pytest.approx([0.8] * 12)
    assert found["workable"] == pytest.approx([0.8] * 12)
    assert found["dangerous"] == pytest.approx([0.2] * 12)


def test_land_without_an_assessed_cell_has_no_share():
    """Nothing assessed is no share at all."""
    assert Land(["kit"]).shares()["kit"]["sound"] == [None] * 12


def test_places_are_those_inside_the_box():
    """Tbilisi lies between 40 and 45 degrees east, Osh at 72.8 does not."""
    names = content(place_script((40.0, 38.0, 50.0, 45.0)))
    assert "\nTbilisi" in names and "#Georgia\n" in names
    assert "\nOsh\t" not in names and "Kyrgyzstan" not in names


def test_box_across_the_meridian_finds_both_sides():
    """Suva (178.44 E) and Apia (171.76 W, 188.24 as counted) lie between 170 and 190."""
    names = content(place_script((170.0, -25.0, 190.0, -10.0)))
    assert re.search(r"^Suva\t", names, re.M) and re.search(r"^Apia\t", names, re.M)


def test_large_towns_bring_their_other_names():
    """A town of millions has them, each once when folded; a small one has not."""
    large = NamedPlace("Roma", "Italy", 41.89, 12.51, 2_318_895)
    small = NamedPlace("Osh", "Kyrgyzstan", 40.53, 72.8, 130_000)
    found = list(lines([(large, ("ROMA", "Rím", "Rim")), (small, ("Oš",))]))
    assert found == ["#Italy", "Roma|Rim\t4189\t1251\t2319", "#Kyrgyzstan", "Osh\t4053\t7280\t130"]


@pytest.mark.parametrize(("people", "names"), [(200_000, "Roma|Rim"), (199_999, "Roma")])
def test_a_town_is_large_from_two_hundred_thousand_people_on(people, names):
    """Thousands of people are rounded: both are 200."""
    town = NamedPlace("Roma", "Italy", 41.894, 12.516, people)
    assert list(lines([(town, ("Rim",))]))[1] == f"{names}\t4189\t1252\t200"


def test_coast_leaves_out_the_edge_of_the_world():
    """Shapes are cut at 180 degrees; no line runs along it or along the box."""
    found = outlines((170.0, 60.0, 190.0, 75.0))  # Chukotka lies on both sides.
    west, _, east, _ = found.bounds
    assert west < 180 < east
    along = shapely.intersection(found, shapely.box(179.9995, 60, 180.0005, 75))
    assert along.length < 0.01
    assert shapely.intersection(found, shapely.box(169.9, 60, 170.0005, 75)).length < 0.01


def test_coast_is_drawn_once():
    """Two squares share a border: their outline is 7 sides of 2 degrees, not 8."""
    squares = [shapely.box(0, 0, 2, 2), shapely.box(2, 0, 4, 2)]
    rebuilt = [
        np.cumsum(np.array(line).reshape(-1, 2), axis=0) / 100
        for line in stepped(boundaries(squares))
    ]
    assert sum(np.abs(np.diff(one, axis=0)).sum() for one in rebuilt) == pytest.approx(14.0)


def test_first_page_of_the_world_is_light():
    """All that loads at once, the world's coast among it, leaves 100 kB of 500 for a picture.

    The page itself is counted with what the world adds to it: 400 names of tiles, nine kits.
    """
    loaded = re.findall(
        r'(?:src|href)="((?:assets|vendor)/[^"]+)"', files()["index.html"].decode()
    )
    assert len(loaded) > 10
    size = sum(len(files()[name]) for name in loaded) + len(files()["index.html"])
    size += len(outline_script(WORLD)) + 400 * len('"10_10",') + 7 * 3_000
    assert size < 400_000, size


def test_pages_ask_for_nothing_that_is_not_there():
    """Every script, sheet and file that a page names lies in the atlas."""
    there = {*files(), "regions.csv"}
    for page in ("index.html", "regions.html"):
        named = re.findall(r'(?:src|href)="([^"#]+)"', files()[page].decode())
        assert set(named) <= there, set(named) - there
    block = re.search(r'id="atlas">(.*?)</script>', files()["index.html"].decode())[1]
    assert {json.loads(block)[key] for key in ("places", "outlines")} <= there
    assert OUTLINES in there


def test_pages_are_the_same_twice():
    """Two builds are the same bytes."""
    assert page_files(handmade.facts()) == files()
