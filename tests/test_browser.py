"""The site in a real browser, networking off: every page, every width, every scheme."""

from __future__ import annotations

import re

import numpy as np
import pytest
from browsing import BROWSER_MARKS, PAGES, large_text, opened, unfold
from sample_report import BASE_MAP, HOSTILE, infeasible_report, sample_report

from sheltermap.website.pages import site
from sheltermap.website.write import write_site

pytestmark = BROWSER_MARKS

WIDTHS = (360, 390, 1280)
_CONTROLS = (
    "a[href], button, select, input, summary, [tabindex]:not([tabindex='-1']), .leaflet-container"
)


def test_no_page_scrolls_sideways(browser, sample_site):
    """From phone to desktop width nothing sticks out, also with everything unfolded."""
    with opened(browser, WIDTHS[0]) as visit:
        for name in PAGES:
            page = visit(sample_site / name)
            for _ in range(2):
                for width in WIDTHS:
                    page.set_viewport_size({"width": width, "height": 900})
                    reach = page.evaluate("document.documentElement.scrollWidth")
                    assert reach <= width, (name, reach)
                unfold(page)
            page.set_viewport_size({"width": WIDTHS[0], "height": 900})


def test_text_twice_as_large_fits_a_phone(browser, sample_site):
    """With the browser's text at 200 % nothing sticks out of a phone, all unfolded."""
    with large_text(browser) as large, opened(large, 360) as visit:
        for name in PAGES:
            page = visit(sample_site / name)
            unfold(page)
            assert page.evaluate("getComputedStyle(document.documentElement).fontSize") == "32px"
            assert page.evaluate("document.documentElement.scrollWidth") <= 360, name


def test_forced_colours_keep_what_colour_tells(browser, sample_site):
    """Where the system sets all colours, the page one is on and the chart's key stay."""
    with opened(browser, 390, forced_colors="active") as visit:
        page = visit(sample_site / "region-steppe.html")
        border = "e => getComputedStyle(e).borderBottomColor"
        paper = page.evaluate("getComputedStyle(document.body).backgroundColor")
        assert page.locator("nav a:not([aria-current])").first.evaluate(border) == paper
        assert page.locator("nav a[aria-current]").first.evaluate(border) != paper
        key = page.locator(".key-range").first
        assert key.evaluate("e => getComputedStyle(e).backgroundColor") != paper


def test_night_slider_is_dim_red(browser, sample_site):
    """At night no part of a slider is grey or white: its brightest green is the text's."""
    from io import BytesIO

    from PIL import Image

    with opened(browser, 390, scheme="night") as visit:
        for name in ("calendar.html", "maps.html"):
            slider = visit(sample_site / name).locator("input[type=range]")
            pixels = np.asarray(Image.open(BytesIO(slider.screenshot())).convert("RGB"), int)
            assert pixels[..., 0].max() > 200, name  # The handle is there.
            assert (pixels[..., 1] <= pixels[..., 0] / 2).all(), name


@pytest.mark.parametrize("name", ["index.html", "calendar.html", "maps.html", "kits.html"])
def test_keyboard_reaches_every_control(browser, sample_site, name):
    """Tab alone visits each link, button, chooser, slider, fold, chart and the map."""
    with opened(browser, 1280) as visit:
        page = visit(sample_site / name)
        page.evaluate("document.querySelector('.display').open = true")
        wanted = page.evaluate(
            f"""() => {{ let n = 0; const kept = [];
            document.querySelectorAll("{_CONTROLS}").forEach(e => {{
              if (e.checkVisibility({{contentVisibilityAuto: true}}) && !e.disabled) {{
                e.dataset.wanted = n++; kept.push(e.outerHTML.slice(0, 80)); }} }});
            return kept; }}"""
        )
        reached = set()
        for _ in range(len(wanted) + 10):
            page.keyboard.press("Tab")
            reached.add(page.evaluate("document.activeElement.dataset.wanted"))
        missed = [text for n, text in enumerate(wanted) if str(n) not in reached]
        assert not missed, missed


def _until_kept(page, scheme):
    """Load a page again until the browser has handed it the choice made on another.

    Two files can be shown by two processes; what one stores reaches the other a moment
    later, which a person who turns the page does not notice and a script outruns.
    """
    for _ in range(20):
        if page.evaluate("localStorage.getItem('sheltermap-scheme')") == scheme:
            return
        page.wait_for_timeout(250)
        page.reload()


def test_units_and_scheme_are_remembered(browser, sample_site):
    """A choice on one page holds on the next, and the figures agree with the conversion."""
    with opened(browser, 390, scheme=None) as visit:
        page = visit(sample_site / "kit-roof-tent.html")
        assert "31" in page.locator(".limits").inner_text()
        page.click(".display summary")
        page.select_option("#units", "imperial")
        page.select_option("#scheme", "night")
        # By hand: 31 degC is 87.8 degF, -4 degC is 24.8 degF.
        text = page.locator(".limits").inner_text()
        assert "88" in text and "25" in text and "°C" not in text
        page = visit(sample_site / "region-lowland.html")
        _until_kept(page, "night")
        assert page.evaluate("document.documentElement.dataset.shown") == "night"
        # Not by its text: a browser tells that of drawings too where it is not shown.
        assert not page.locator("main").get_by_text("°C").locator("visible=true").count()
        # Dim red: no pixel channel but red is bright, on any text or surface.
        colours = page.evaluate(
            """() => [...document.querySelectorAll('body, main *')].flatMap(e => {
            const s = getComputedStyle(e); return [s.color, s.backgroundColor]; })"""
        )
        for colour in set(colours):
            red, green, blue, *alpha = (float(v) for v in re.findall(r"[\d.]+", colour))
            assert alpha == [0] or (max(green, blue) <= 0.62 * max(red, 1) and green < 160), colour


def test_device_scheme_is_followed(browser, sample_site):
    """Left to the device, a dark device gets the dark scheme."""
    with opened(browser, 390, scheme="auto", color_scheme="dark") as visit:
        page = visit(sample_site / "index.html")
        assert page.evaluate("document.documentElement.dataset.shown") == "dark"


@pytest.mark.parametrize("text", HOSTILE, ids=("tags", "script-ends", "long"))
def test_hostile_text_never_runs(browser, tmp_path, text):
    """Markup and script in every field: nothing runs, nothing breaks, nothing sticks out."""
    files = site(sample_report(text), base_map=BASE_MAP)
    target = write_site(files, tmp_path / "hostile")
    # A leg and a kit with less to say have no field that their sisters lack.
    twins = ("region-lowland.html", "kit-bedroll.html")
    with opened(browser, 360) as visit:
        for name in (n for n in files if n.endswith(".html") and n not in twins):
            page = visit(target / name)
            unfold(page)
            if name in ("index.html", "calendar.html"):
                page.locator(".season-touch").focus()
                page.keyboard.press("ArrowDown")
            if name == "maps.html":
                page.mouse.move(180, 700)
            told = page.evaluate(
                "[window.hit, document.documentElement.scrollWidth,"
                "document.querySelectorAll('footer').length]"
            )
            assert told == [None, 360, 1], name


# The place of each stretch of text, as the eye meets it.
_LEFT_EDGES = """(element, pieces) => {
  const walker = document.createTreeWalker(element, NodeFilter.SHOW_TEXT);
  let text = "", spots = [];
  for (let node; (node = walker.nextNode());) {
    for (let at = 0; at < node.length; at += 1) spots.push([node, at]);
    text += node.data;
  }
  return pieces.map(piece => {
    const range = document.createRange(), [node, at] = spots[text.indexOf(piece)];
    range.setStart(node, at);
    range.setEnd(node, at + 1);
    return range.getBoundingClientRect().left;
  });
}"""


def test_right_to_left_name_leaves_the_date_alone(browser, tmp_path):
    """After a name in Arabic script the day stands between the name and the month."""
    name = "\u067e\u0627\u0645\u06cc\u0631"
    target = write_site(site(sample_report(name), base_map=BASE_MAP), tmp_path / "build")
    with opened(browser, 1280) as visit:
        page = visit(target / "index.html")
        page.locator(".season-touch").focus()
        page.keyboard.press("ArrowDown")
        told = page.locator(".tell")
        day, month = re.search(
            name + "\u2069?, ([0-9]+) ([A-Z][a-z]+)", told.inner_text()
        ).groups()
        edges = told.evaluate(_LEFT_EDGES, [name, f"{day} {month}", f"{month} to"])
        assert edges == sorted(edges)
        page = visit(target / "region-steppe.html")
        headline = page.locator(".opening").first
        day, month = re.search(
            name + "\u2069?: ([0-9]+) ([A-Z][a-z]+)", headline.inner_text()
        ).groups()
        edges = headline.evaluate(_LEFT_EDGES, [name, f"{day} {month}", f"{month} "])
        assert edges == sorted(edges)


def test_a_site_without_a_plan_opens_too(browser, tmp_path):
    """Every page, no error, and no journey drawn."""
    files = site(infeasible_report(), base_map=BASE_MAP)
    target = write_site(files, tmp_path / "build")
    with opened(browser, 360) as visit:
        for name in (n for n in files if n.endswith(".html")):
            page = visit(target / name)
            assert page.evaluate("document.documentElement.scrollWidth") <= 360, name
        assert not visit(target / "index.html").locator(".stair[d*='L']").count()
