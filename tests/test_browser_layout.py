"""Room and rows: one row of header on a phone, space used on large screens, readable lines."""

from __future__ import annotations

import pytest
from browsing import BROWSER_MARKS, opened

from sheltermap.website.pages import ONE_FILE

pytestmark = BROWSER_MARKS

_TEXT_SIZES = """() => [...document.querySelectorAll('main svg text')]
  .filter(e => e.getBoundingClientRect().width)
  .map(e => [parseFloat(getComputedStyle(e).fontSize) * e.getScreenCTM().a, e.textContent])
  .filter(([size]) => size < 9.95)"""


@pytest.mark.parametrize("script", [True, False])
def test_a_phone_has_one_row_of_header_and_a_menu(browser, sample_site, script):
    """Title, menu and display stand in one row; keys open the menu, also with no script."""
    with opened(browser, 390, java_script_enabled=script, scheme=None) as visit:
        page = visit(sample_site / "index.html")
        assert page.locator(".top").bounding_box()["height"] <= 52
        assert not page.locator("nav a").first.is_visible()
        page.locator("button.menu").focus()
        page.keyboard.press("Enter")
        assert page.locator("nav a:visible").count() == 8
        page.keyboard.press("Escape")
        assert not page.locator("nav a").first.is_visible()


def test_the_menu_closes_when_the_one_file_copy_turns(browser, sample_site):
    """A page of the copy is no new file: its menu would stay open over it."""
    with opened(browser, 390) as visit:
        page = visit(sample_site / ONE_FILE)
        page.click("button.menu")
        page.click("nav a[data-page=maps]")
        page.wait_for_selector("#page-maps.shown")
        assert not page.locator("nav a").first.is_visible()


@pytest.mark.parametrize("width", [1280, 1920])
def test_the_map_stands_beside_the_opening(browser, sample_site, width):
    """On a large screen the Plan's map needs no scrolling, and little is left empty beside it."""
    with opened(browser, width) as visit:
        page = visit(sample_site / "index.html")
        opening, drawn = (page.locator(one).bounding_box() for one in (".opening", ".drawn svg"))
        assert drawn["x"] >= opening["x"] + opening["width"]
        assert drawn["y"] + drawn["height"] <= 900
        assert drawn["x"] + drawn["width"] - opening["x"] >= 0.6 * width


@pytest.mark.parametrize("width", [390, 1280, 1920])
def test_text_of_drawings_has_ten_pixels(browser, sample_site, width):
    """Every chart and drawn map, as scaled on the page."""
    with opened(browser, width) as visit:
        for name in ("index", "calendar", "region-lowland", "kits", "load"):
            page = visit(sample_site / f"{name}.html")
            assert page.evaluate(_TEXT_SIZES) == [], name
