"""Pictures, searches and tables that the atlas's scripts make, asked with inputs made by hand.

A bare page has the scripts, and hands them tiles that are made here; every expected value is
worked out beside its check.
"""

from __future__ import annotations

import base64
import io
import zlib

import numpy as np
import pytest
from browsing import BROWSER_MARKS, bare_page, opened
from PIL import Image
from test_browser_atlas_figures import GRID, SCRIPTS

pytestmark = BROWSER_MARKS

CLASSES = [{"floor": -31, "colour": "#110000"}, {"floor": -0.5, "colour": "#002200"},
           {"floor": 0.5, "colour": "#000033"}, {"floor": 2, "colour": "#445566"}]  # fmt: skip


def layer(shares: dict[tuple[int, int], list[int]], cells: int) -> str:
    """Return two kits' shares of twelve months as a tile packs them; other months are 0."""
    values = [0] * (2 * 12 * cells)
    for (kit, month), codes in shares.items():
        start = (kit * 12 + month) * cells
        values[start : start + cells] = codes
    steps = bytes((b - a) % 256 for a, b in zip([0, *values], values, strict=False))
    return base64.b64encode(zlib.compress(steps)).decode()


TILES = {
    # Rows of four: place 11 of the south-western tile is row 2, column 3.
    "tiles/0_0.js": {"cells": [11], "height": [0],
                     "share": layer({(0, 1): [50], (1, 1): [40]}, 1)},
    # Place 5 of this one is row 4 + 1, column 8 + 1; place 0 its corner, where nothing is known.
    "tiles/1_2.js": {"cells": [5, 0], "height": [0, 0],
                     "share": layer({(0, 1): [100, 255], (1, 1): [150, 200]}, 2)},
}  # fmt: skip
"""February: 0.25 more of 28 nights, 7 of them, in the one cell; 0.05 fewer, 1.4, in the other."""

_TILES = """tiles => { document.body.appendChild = script => {
  const path = script.getAttribute('src');
  window.SM_ATLAS(path, tiles[path] ?? { cells: [], height: [] }); }; }"""

_VIEW = "{ getNorth: () => 80, getSouth: () => -80, getWest: () => -1e6, getEast: () => 1e6 }"


@pytest.fixture(scope="module")
def page(browser, tmp_path_factory):
    """Return a page with the scripts of the atlas and the tiles from above."""
    names = [f"{name}.js" for name in (*SCRIPTS, "atlasmap", "atlasregions")]
    file = bare_page(tmp_path_factory.mktemp("painted") / "bare.html", names)
    with opened(browser, scheme=None) as visit:
        visited = visit(file)
        visited.evaluate(_TILES, TILES)
        yield visited


@pytest.fixture(scope="module")
def ask(page):
    """Return a function that calls ``SM.<name>`` with arguments and returns its answer."""
    return lambda name, *given: page.evaluate(f"given => SM.{name}(...given)", list(given))


def picture(page, grid: dict, tiles: list[str]) -> np.ndarray | None:
    """Return the picture of February's saved nights as RGBA, north first."""
    address = page.evaluate(
        f"""([grid, tiles, saved]) => SM.atlassaved.picture(
          {{ grid, tiles, legends: {{ saved }} }}, {_VIEW}, {{ kit: 0, dearer: 1, month: 1 }})""",
        [grid, tiles, CLASSES],
    )
    if address is None:
        return None
    packed = address.partition(",")[2]
    return np.asarray(Image.open(io.BytesIO(base64.b64decode(packed))).convert("RGBA"))


def test_classes_of_saved_nights_lie_in_their_cells(page):
    """7 nights more are the fourth class, 1.4 fewer the first; unknown and absent are none."""
    found = page.evaluate(
        """async ([grid, saved]) => Array.from(await SM.atlassaved.classified(
          { grid, legends: { saved } }, ["0_0", "1_2"], { kit: 0, dearer: 1, month: 1 }))""",
        [GRID, CLASSES],
    )
    assert len(found) == 8 * 12
    assert {at: code for at, code in enumerate(found) if code} == {2 * 12 + 3: 1, 5 * 12 + 9: 4}


def test_picture_of_saved_nights(page):
    """By Snyder's eq. 7-2 40 to 44 N are 5.385 degrees of longitude high: five lines of twelve.

    Their middles lie at 43.6, 42.8, 42.0, 41.2 and 40.4 N: rows 7, 5, 4, 2 and 0.
    """
    shown = picture(page, GRID, ["0_0", "1_2"])
    assert shown.shape == (5, 12, 4)
    marked = {(y, x): tuple(shown[y, x]) for y, x in np.argwhere(shown[..., 3]).tolist()}
    assert marked == {(1, 9): (0x44, 0x55, 0x66, 255), (3, 3): (0x11, 0, 0, 255)}


def test_pictures_are_900_px_wide_at_most(page):
    """0 to 20 N on a globe of 360 degrees: 20.419 degrees high, 900 / 360 px a degree: 51."""
    grid = {"south": 0, "west": 0, "rows": 2, "columns": 1000, "step": [10, 0.36], "tile_cells": 4}
    assert picture(page, grid, []).shape[:2] == (51, 900)
    assert picture(page, grid | {"columns": 900}, []).shape[1] == 900


def test_a_view_of_too_many_tiles_has_no_picture(page):
    """600 are loaded, one more is not."""
    names = [f"9_{number}" for number in range(601)]
    assert picture(page, GRID, names) is None
    assert picture(page, GRID, names[:600]) is not None


def test_lines_are_unfolded_from_their_steps(ask):
    """Hundredths of a degree, longitude first; each line begins anew."""
    found = ask("atlasmap.unfolded", [[1050, 4000, -25, 100, 5, -1], [-300, 7]])
    assert found == [[[40, 10.5], [41, 10.25], [40.99, 10.3]], [[0.07, -3]]]


@pytest.mark.parametrize(
    ("show", "path"),
    [
        ("share", "maps/tent/share-09.png"),
        ("months", "maps/tent/months.png"),
        ("best", "maps/tent/best.png"),
        ("cheapest", "maps/cheapest-09.png"),
        ("hazard-flood", "maps/hazard/flood-09.png"),
    ],
)
def test_picture_of_a_choice(ask, show, path):
    """September is the ninth month, counted from 0 the eighth."""
    atlas = {"kits": [{"id": "other"}, {"id": "tent"}]}
    assert ask("atlasmap.pictureOf", atlas, {"kit": 1, "month": 8, "show": show}) == path


def test_legend_of_grades_and_of_classes(ask):
    """A grade's shades share a row, the best first; other classes have one each."""
    shades = [("unfit", 0, "a"), ("unfit, 25", 0.25, "b"), ("hard", 0.5, "c"), ("sound", 0.9, "d")]
    classes = [{"words": words, "floor": floor, "colour": c} for words, floor, c in shades]
    rows = ask("atlasmap.legendRows", classes, True)
    assert [
        (row["words"], row["colours"], row["fine"].replace("\u202f", " ")) for row in rows
    ] == [
        ("sound", ["d"], "90 % to 100 %"),
        ("hard", ["c"], "50 % to 90 %"),
        ("unfit", ["a", "b"], "0 % to 50 %"),
    ]
    assert ask("atlasmap.legendRows", classes, False) == [
        {"words": words, "colours": [colour]} for words, _, colour in shades
    ]


def test_months_that_a_factor_spoils(ask):
    """Below the floor of 0.75 alone, the most frequent first; "wet" is told as rain."""
    entry = {"why": ["wet", "cold", "cold", "cold", None, "heat", "wet"],
             "median": [0.7, 0.5, 0.74, 0.75, 0.2, None, 0]}  # fmt: skip
    assert ask("atlasregions.reasons", entry, 0.75) == "rain 2, cold 2"
    entry["median"][6] = 0.9
    assert ask("atlasregions.reasons", entry, 0.75) == "cold 2, rain 1"


@pytest.mark.parametrize(
    ("column", "down", "names"),
    [
        ("name", False, ["Aland", "Éland", "Zland"]),
        ("name", True, ["Zland", "Éland", "Aland"]),
        (1, True, ["Zland", "Aland", "Éland"]),
        (1, False, ["Éland", "Aland", "Zland"]),
        (0, True, ["Aland", "Zland", "Éland"]),  # alike by name, whatever the order before
        ("months", True, ["Zland", "Aland", "Éland"]),
    ],
)
def test_regions_in_order(ask, column, down, names):
    """What is unknown comes last of the high ones first."""

    def region(name, january, february, workable):
        median = [january, february]
        return {"name": name, "kits": {"tent": {"median": median, "workable": workable}}}

    regions = [region("Zland", 0.5, 0.9, 3), region("Éland", None, None, None),
               region("Aland", 0.5, 0, 0)]  # fmt: skip
    found = ask("atlasregions.sorted", regions, "tent", "median", column, down)
    assert [one["name"] for one in found] == names


LIST = (
    "#France\nLyon\t4576\t484\t520000\nOld Lyon\t100\t-50\t9000\n"
    "#Cuba\nLyons|Liones\t1\t2\t10000\n"
)


def test_places_of_a_packed_list(ask):
    """Hundredths of a degree; the largest first."""
    places = ask("atlassearch.parsed", LIST)
    assert [(one["name"], one["country"], one["lat"], one["lng"]) for one in places] == [
        ("Lyon", "France", 45.76, 4.84),
        ("Lyons", "Cuba", 0.01, 0.02),
        ("Old Lyon", "France", 1, -0.5),
    ]


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("lyon", ["Lyon", "Lyons", "Old Lyon"]),
        ("Lyons", ["Lyons"]),
        ("liones", ["Lyons"]),
        ("lyon, fr", ["Lyon", "Old Lyon"]),
        ("yon", []),
        (", France", []),
    ],
)
def test_whole_names_come_before_beginnings(ask, text, names):
    """And beginnings of a name before those of a later word; the country narrows it."""
    places = ask("atlassearch.parsed", LIST)
    assert [one["name"] for one in ask("atlassearch.matches", places, text)] == names


def test_eight_places_are_offered(ask):
    """Of ten that are called the same the eight largest."""
    text = "#Here\n" + "".join(f"Ash\t{number}\t0\t{number}\n" for number in range(10))
    found = ask("atlassearch.matches", ask("atlassearch.parsed", text), "ash")
    assert [one["people"] for one in found] == list(range(9, 1, -1))


_TOLD = """([share, danger, code, show, dearer]) => SM.atlascell.told(
  { grades: [{ word: "sound", floor: 0.9 }, { word: "workable", floor: 0.75 },
             { word: "unfit", floor: 0 }],
    factors: ["cold", "wet"], hazards: [],
    kits: [{ in_sentence: "tent", price: 300 }, { in_sentence: "van", price: 200 }] },
  { lat: 40, lng: 10 },
  { sound: kit => kit ? share + 0.125 : share, danger: () => danger, factor: () => code },
  { kit: 0, month: 8, show, dearer })"""


@pytest.mark.parametrize(
    ("share", "danger", "code", "words"),
    [
        (0.9, 0, 1, "sound, about 90 % of nights sound; rain spoils most of the rest."),
        (0.75, 0, 2, "workable, about 75 % of nights sound."),
        (1, 0, 0, "sound, about 100 % of nights sound."),
        (0.5, 0.02, 0, "unfit, about 50 % of nights sound; cold spoils most of the rest; "
                       "about 2 % of nights could be dangerous."),
        (0.5, 0.019, 2, "unfit, about 50 % of nights sound."),
        (0.995, None, 2, "sound, over 99 % of nights sound; danger not assessed."),
    ],
)  # fmt: skip
def test_a_night_in_words(page, share, danger, code, words):
    """Danger from 2 % on; what spoils the rest where there is a rest and a known factor."""
    told = page.evaluate(_TOLD, [share, danger, code, "share", -1]).replace("\u202f", " ")
    assert told == f"40° N 10° E, September, tent: {words}"


@pytest.mark.parametrize(
    ("show", "dearer", "words"),
    [
        ("saved", 1, " The van saves 3.8 of 30 nights."),  # 0.125 of them: 3.75
        ("saved", 0, " The tent saves 0.0 of 30 nights."),
        ("saved", -1, ""),
        ("cheapest", -1, " Cheapest workable kit: van."),
        ("months", -1, " Workable: none."),
        ("best", -1, " Workable: none."),
    ],
)
def test_what_the_shown_map_adds(page, show, dearer, words):
    """At 0.7 the tent is not workable, at 0.825 the van is."""
    told = page.evaluate(_TOLD, [0.7, 0, 2, show, dearer]).replace("\u202f", " ")
    assert told == f"40° N 10° E, September, tent: unfit, about 70 % of nights sound.{words}"


@pytest.mark.parametrize(("west", "names"), [(17.9, ["0_0", "0_1"]), (18, ["0_1"]), (26, [])])
def test_tiles_of_wide_cells_in_view(page, west, names):
    """Four cells of 2 degrees a tile: from 10 to 18 E and from 18 to 26 E."""
    found = page.evaluate(
        """([grid, west]) => SM.atlassaved.inView({ grid, tiles: ["0_0", "0_1"] },
          { getNorth: () => 41, getSouth: () => 40.5, getWest: () => west, getEast: () => 90 })""",
        [GRID | {"step": [0.5, 2]}, west],
    )
    assert found == names
