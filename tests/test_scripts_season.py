"""The season chart's read-out on a page made by hand: what it tells, and what it brings into view.

One drawing of 1000 units for 500 days from 1 October 2026, shown at its size in a window of 200:
day d of the drawing stands at 2 d. Weeks are 0 to 99, 100 to 299 and the rest of the year.
"""

from __future__ import annotations

import json

import pytest
from browsing import BROWSER_MARKS, bare_page, opened

pytestmark = BROWSER_MARKS

OCTOBER = -92
"""1 October of the year before, counted from 1 January."""

WEEKS = {
    "grade": [0, 1, 2], "share": [0.95, 0.8, 0.6], "factor": [0, 0, 0], "hazard": [0, 0, 0],
    "level": [0, 0, 0], "checked": [1, 1, 1], "remedy": [0, 0, 0],
}  # fmt: skip
CHART = {
    "words": [""], "first": [0, 100, 300], "days": [100, 200, 65],
    "start": {"row": 0, "day": 200},
    "rows": [{"name": name, "weeks": WEEKS} for name in ("A", "B")],
}  # fmt: skip


def drawing(first: int, days: int) -> str:
    """Return a page's figure with one drawing of two rows."""
    layout = f'data-width="1000" data-first="{first}" data-days="{days}" data-year="2027"'
    return f"""<style>* {{ margin: 0; }}</style>
<figure class="season-figure" id="chart"><div class="season-touch" tabindex="0"
 style="width: 200px; overflow: auto">
<svg class="season" viewBox="0 0 1000 200" width="1000" height="200" style="display: block"
 {layout} data-cell="20" data-stair="1" data-rows="50,100"><rect class="pointed"/>
<path class="stair"/><path class="leg-dot"/>
<text class="at-label" data-row="1" data-end="420" x="400">label</text></svg></div>
<p class="tell"></p></figure>
<script type="application/json" id="season-data">{json.dumps(CHART)}</script>"""


@pytest.fixture(scope="module")
def shown(browser, tmp_path_factory):
    """Return a function that opens the chart from a day, over so many days."""
    folder = tmp_path_factory.mktemp("season")
    with opened(browser, scheme=None) as visit:

        def at(first: int = OCTOBER, days: int = 500):
            names = ("first.js", "words.js", "seasonplaces.js", "season.js")
            return visit(bare_page(folder / "bare.html", names, drawing(first, days)))

        yield at


def told(page) -> str:
    """Return the place and the days that the chart tells."""
    return page.locator(".tell").inner_text().partition(". Sleep")[0]


def scrolled(page) -> float:
    """Return how far the drawing is scrolled."""
    return page.evaluate("document.querySelector('.season-touch').scrollLeft")


def test_it_starts_where_the_journey_does(shown):
    """Day 200 stands at 2 x 292 = 584: 15 % of 200 are left before it."""
    page = shown()
    assert told(page) == "A, 11 April to 27 October 2027"
    assert scrolled(page) == 584 - 30


@pytest.mark.parametrize(
    ("first", "days", "year"),
    [(0, 365, ""), (1, 364, ""), (0, 366, " 2027"), (1, 365, " 2027"), (-1, 365, " 2027")],
)
def test_the_year_is_told_where_there_are_several(shown, first, days, year):
    """Days 0 to 364 are of one year."""
    assert told(shown(first, days)) == f"A, 11 April to 27 October{year}"


def test_a_tap_tells_its_week_and_frames_it(shown):
    """Seen from 554 on, 100 is at 654: day 327 - 92 = 235, of the week of day 100; row B."""
    page = shown()
    page.mouse.click(100, 110)
    assert told(page) == "B, 11 April to 27 October 2027"
    frame = page.locator(".pointed")
    assert frame.get_attribute("x") == "384.0"  # day 100 + 92
    assert (frame.get_attribute("y"), frame.get_attribute("width")) == ("98", "400.0")
    assert scrolled(page) == 384 - 30


def test_the_mouse_tells_as_it_moves_and_a_finger_does_not(shown):
    """A finger that moves scrolls."""
    page = shown()
    move = """kind => document.querySelector('.season-touch').dispatchEvent(
      new PointerEvent('pointermove', { pointerType: kind, clientX: 100, clientY: 110 }))"""
    page.evaluate(move, "touch")
    assert told(page).startswith("A")
    page.evaluate(move, "mouse")
    assert told(page).startswith("B")


def test_keys_scroll_no_further_than_they_must(shown):
    """The first 85 % of the window stay; what lies before or beyond is brought to 15 %."""
    page = shown()
    page.locator(".season-touch").focus()
    page.evaluate("document.querySelector('.season-touch').scrollLeft = 384")
    page.keyboard.press("ArrowDown")  # The frame begins at 384, just in view.
    assert scrolled(page) == 384
    page.evaluate("document.querySelector('.season-touch').scrollLeft = 385")
    page.keyboard.press("ArrowUp")
    assert scrolled(page) == 354
    page.evaluate("document.querySelector('.season-touch').scrollLeft = 214")  # 384 is at 170
    page.keyboard.press("ArrowDown")
    assert scrolled(page) == 214
    page.evaluate("document.querySelector('.season-touch').scrollLeft = 213")
    page.keyboard.press("ArrowUp")
    assert scrolled(page) == 354


def test_another_departure_is_drawn_and_told(shown):
    """On row B from 1 to 11 June, days 151 to 161 of 2027: 2 x 243 = 486 to 506, at 110 high."""
    page = shown()
    draw = """stays => SM.season.draw('chart', stays.map(([place, arrive, leave]) =>
      ({ place, arrive: new Date(arrive), leave: new Date(leave) })))"""
    page.evaluate(draw, [[1, "2027-06-01T00:00:00Z", "2027-06-11T00:00:00Z"]])
    assert page.locator(".stair").get_attribute("d") == "M486.0 110.0L506.0 110.0"
    assert told(page) == "B, 11 April to 27 October 2027"
    assert page.locator(".at-label").get_attribute("visibility") == "visible"
    # Down from A to B on 20 April, day 109: 2 x 201 = 402, within the label from 400 to 420.
    down = [[0, "2027-04-10T00:00:00Z", "2027-04-20T00:00:00Z"],
            [1, "2027-04-20T00:00:00Z", "2027-05-01T00:00:00Z"]]  # fmt: skip
    page.evaluate(draw, down)
    assert page.locator(".at-label").get_attribute("visibility") == "hidden"
    assert told(page) == "A, 1 January to 10 April 2027"
    page.evaluate(draw, [])
    assert page.locator(".stair").get_attribute("d") == ""
    assert told(page).startswith("A, ")
