"""The arithmetic of the atlas's scripts, asked in a browser with inputs made by hand.

A bare page loads the scripts without starting them; every expected value is worked out beside
its check. `test_browser_atlas.py` opens whole pages.
"""

from __future__ import annotations

import pytest
from browsing import BROWSER_MARKS, bare_page, opened

pytestmark = BROWSER_MARKS

SCRIPTS = ("first", "words", "atlaspack", "atlassearch", "atlasstrip", "atlascells", "atlascell",
           "atlassaved")  # fmt: skip

GRID = {"south": 40, "west": 10, "rows": 8, "columns": 12, "step": [0.5, 1], "tile_cells": 4}
"""From 40 to 44 N and 10 to 22 E, cells of half a degree by one: tiles of 2 by 4 degrees."""


@pytest.fixture(scope="module")
def page(browser, tmp_path_factory):
    """Return a page with the scripts of the atlas."""
    names = [f"{name}.js" for name in SCRIPTS]
    file = bare_page(tmp_path_factory.mktemp("bare") / "bare.html", names)
    with opened(browser, scheme=None) as visit:
        yield visit(file)


@pytest.fixture(scope="module")
def ask(page):
    """Return a function that calls ``SM.<name>`` with arguments and returns its answer."""
    return lambda name, *given: page.evaluate(f"given => SM.{name}(...given)", list(given))


@pytest.mark.parametrize(
    ("longitude", "west", "expected"),
    [(190, -180, -170), (-190, -180, 170), (-180, -180, -180), (180, -180, -180),
     (179.5, -180, 179.5), (10, 170, 370), (730, 10, 10), (9, 10, 369)],
)  # fmt: skip
def test_longitudes_are_less_than_a_turn_east(ask, longitude, west, expected):
    """Whole turns of 360 degrees are added or taken away."""
    assert ask("atlascells.eastOf", longitude, west) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("latitude", "longitude", "cell"),
    [(40, 10, (0, 0)), (40.49, 10.99, (0, 0)), (40.5, 11, (1, 1)), (43.99, 21.99, (7, 11)),
     (41, 370.5, (2, 0)), (44, 15, None), (39.99, 15, None), (41, 22, None), (41, 9.99, None)],
)  # fmt: skip
def test_cell_of_a_point(ask, latitude, longitude, cell):
    """South-western edges belong to a cell, the others to the next; beyond the grid is none."""
    found = ask("atlascells.cellAt", GRID, {"lat": latitude, "lng": longitude})
    assert found == (None if cell is None else {"row": cell[0], "column": cell[1]})


@pytest.mark.parametrize(
    ("step", "cell"),
    [((1, -1), (4, 1)), ((0, 1), (3, 3)), ((-10, 0), (0, 2)), ((10, 0), (7, 2)),
     ((0, -10), (3, 0)), ((0, 10), (3, 11)), ((4, 9), (7, 11))],
)  # fmt: skip
def test_steps_are_held_at_the_edges(ask, step, cell):
    """From row 3 and column 2, of 8 rows and 12 columns."""
    found = ask("atlascells.moved", GRID, {"row": 3, "column": 2}, *step)
    assert (found["row"], found["column"]) == cell


def test_corners_and_middle_of_a_cell(ask):
    """Row 1 from 40.5 to 41 N, column 2 from 12 to 13 E."""
    cell = {"row": 1, "column": 2}
    assert ask("atlascells.bounds", GRID, cell) == [[40.5, 12], [41, 13]]
    assert ask("atlascells.middle", GRID, cell) == {"lat": 40.75, "lng": 12.5}


@pytest.mark.parametrize(
    ("row", "column", "name", "position"),
    [(0, 0, "0_0", 0), (3, 3, "0_0", 15), (4, 3, "1_0", 3), (3, 4, "0_1", 12), (5, 9, "1_2", 5)],
)
def test_tile_of_a_cell(ask, row, column, name, position):
    """Four cells to a side, counted row by row: 5 and 9 are in tile 1_2, at 1 * 4 + 1."""
    found = ask("atlascells.tileOf", GRID, {"row": row, "column": column})
    assert found == {"name": name, "position": position}


@pytest.mark.parametrize(
    ("south", "west", "north", "east", "names"),
    [
        (40.5, 11, 41, 12, ["0_0"]),
        (42, 11, 43, 13.9, ["1_0"]),
        (40.5, 14, 41, 15, ["0_1"]),
        (40.5, 11, 42, 14, ["0_0"]),
        (41.9, 13.9, 42.1, 14.1, ["0_0", "0_1", "1_0"]),
        (44, 11, 45, 12, []),
        (38, 11, 40, 12, []),
    ],
)
def test_tiles_in_view(page, south, west, north, east, names):
    """By hand: 0_0 from 40 to 42 N and 10 to 14 E, the others beside and above; edges alone no."""
    found = page.evaluate(
        """([grid, south, west, north, east]) => SM.atlassaved.inView(
            { grid, tiles: ["0_0", "0_1", "1_0"] },
            { getNorth: () => north, getSouth: () => south,
              getWest: () => west, getEast: () => east })""",
        [GRID, south, west, north, east],
    )
    assert found == names


@pytest.mark.parametrize(
    ("nights", "number"), [(-40, 0), (-1, 1), (-0.5, 2), (0.49, 2), (0.5, 3), (2, 4), (31, 4)]
)
def test_class_of_saved_nights(ask, nights, number):
    """A class begins at its floor."""
    classes = [{"floor": floor} for floor in (-31, -0.5, 0.5, 2)]
    assert ask("atlassaved.classOf", classes, nights) == number


def test_picture_rows_lie_where_mercator_puts_them(ask):
    """By hand from Snyder's eq. 7-2: 55 N lies 0.4900 from the top between 70 and 30 N."""
    grid = {"south": 30, "rows": 8, "step": [5, 5]}
    rows = ask("atlassaved.pictureRows", grid, 1000)
    assert sum(row >= 5 for row in rows) == pytest.approx(490, abs=1)
    assert (rows[0], rows[-1]) == (7, 0)
    assert rows == sorted(rows, reverse=True)
    assert ask("atlassaved.pictureRows", {"south": -60, "rows": 2, "step": [60, 60]}, 4) == [
        1, 1, 0, 0
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("share", "grade"), [(None, -1), (1, 0), (0.9, 0), (0.899, 1), (0.75, 1), (0.5, 2), (0, 3)]
)
def test_grade_of_a_share(ask, share, grade):
    """0.90, 0.75 and 0.50 begin a grade; unknown is none."""
    grades = [{"floor": floor} for floor in (0.9, 0.75, 0.5, 0)]
    assert ask("atlasstrip.gradeOf", grades, share) == grade


@pytest.mark.parametrize(
    ("months", "words"),
    [
        (range(12), "all year"),
        ([], "none"),
        ([3, 4, 5, 10], "April to June, November"),
        ([0, 1, 10, 11], "November to February"),
        ([0, 4, 11], "May, December to January"),
        ([0], "January"),
        (range(11), "January to November"),
    ],
)
def test_months_in_runs(ask, months, words):
    """Runs are drawn together, over the new year too; a single month stands alone."""
    flags = [month in months for month in range(12)]
    assert ask("atlasstrip.monthRuns", flags) == words


@pytest.mark.parametrize(
    ("latitude", "longitude", "words"),
    [
        (40.25, 190, "40.25° N 170° W"),
        (-0.5, 0, "0.5° S 0° E"),
        (50, 180, "50° N 180° W"),
        (0, 100, "0° N 100° E"),
        (12.125, -0.375, "12.125° N 0.375° W"),
        (10, 180.5, "10° N 179.5° W"),
    ],
)
def test_place_in_words(ask, latitude, longitude, words):
    """Hemispheres by sign, 180 degrees of longitude at most, no needless nought."""
    assert ask("atlascell.placeWords", {"lat": latitude, "lng": longitude}) == words


@pytest.mark.parametrize(
    ("shares", "expected"),
    [([0.9, 0.5, 0.9, 0.8], 200), ([0.9, 0.75, 0.9, 0.8], 100), ([0.76, 0.1, 1, None], 300),
     ([0.74, 0.1, 1, None], None)],
)  # fmt: skip
def test_cheapest_workable_kit(page, shares, expected):
    """Kits of 300, 100, no price and 200; from 0.75 a kit is workable, unknown is not."""
    found = page.evaluate(
        """shares => SM.atlascell.cheapest(
            { grades: [{ word: "sound", floor: 0.9 }, { word: "workable", floor: 0.75 }],
              kits: [300, 100, null, 200].map(price => ({ price })) },
            { sound: (kit, month) => month === 6 ? shares[kit] : 1 }, 6)""",
        shares,
    )
    assert (found and found["price"]) == expected


@pytest.mark.parametrize(
    ("month", "nights"), [(6, 9.3), (1, 8.4), (3, 9.0)], ids=["July", "February", "April"]
)
def test_saved_nights_of_a_month(page, month, nights):
    """0.3 of 31, of 28 and of 30 nights."""
    call = "([a, b, month]) => SM.atlascell.saved({ sound: kit => [a, b][kit] }, 0, 1, month)"
    assert page.evaluate(call, [0.5, 0.8, month]) == pytest.approx(nights)
    assert page.evaluate(call, [0.8, 0.5, month]) == pytest.approx(-nights)
    assert page.evaluate(call, [None, 0.8, month]) is None
    assert page.evaluate(call, [0.5, None, month]) is None


def test_differences_are_summed_and_wrap(page):
    """1, then 2 more, then 255 more, which is one less of 256."""
    call = "() => Array.from(SM.atlaspack.summed(new Uint8Array([1, 2, 255, 0])))"
    assert page.evaluate(call) == [1, 3, 2, 2]
