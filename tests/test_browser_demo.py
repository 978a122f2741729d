"""The bundled journey, built as people build it and opened as they open it."""

from __future__ import annotations

import json
import re

import pytest
from browsing import BROWSER_MARKS, browser_fixture, opened, unfold

from sheltermap.pipeline import build
from sheltermap.resources import bundled
from sheltermap.website.pages import ONE_FILE

pytestmark = BROWSER_MARKS
_browser = browser_fixture()


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """Build the first bundled journey once; give its folder and its Report."""
    folder = tmp_path_factory.mktemp("demo") / "build"
    return folder, build(bundled("regions") / "silk-seeds", folder)


def test_every_page_of_the_demo_opens(browser, demo):
    """On a phone, networking off: no request, no error, nothing sticks out."""
    folder, _ = demo
    pages = sorted(path.name for path in folder.glob("*.html"))
    assert len(pages) > 15
    with opened(browser, 360) as visit:
        for name in pages:
            page = visit(folder / name)
            if name != ONE_FILE:
                unfold(page)
            assert page.evaluate("document.documentElement.scrollWidth") <= 360, name
            assert "not a forecast" in page.locator("footer").inner_text()


def test_season_chart_and_month_map_are_there(browser, demo):
    """The two pictures that carry the product: the stair through the year, one month."""
    folder, report = demo
    with opened(browser, 360) as visit:
        page = visit(folder / "index.html")
        assert page.locator("svg.season-narrow").is_visible()
        stair = page.locator("svg.season-narrow .stair").get_attribute("d")
        assert len(re.findall(r"[ML]", stair)) == 2 * len(report.best.legs)
        top = page.locator("svg.season-narrow").bounding_box()["y"]
        assert top < 2 * 800, "the chart begins on the first or second screen of a phone"
        page = visit(folder / "maps.html")
        image = page.locator(".leaflet-image-layer")
        assert re.search(r"/sound_share/\d\d\.png$", image.get_attribute("src"))
        assert image.evaluate("e => e.complete && e.naturalWidth > 0")


def test_slider_agrees_with_the_planner(browser, demo):
    """At thirty departures over the whole window: the planner's rough nights to 0.01."""
    folder, report = demo
    dates = report.by_departure
    step = max(1, len(dates) // 30)
    with opened(browser, 1280) as visit:
        page = visit(folder / "calendar.html")
        for number in range(0, len(dates), step):
            page.locator("#departure-day").evaluate(
                "(e, v) => { e.value = v; e.dispatchEvent(new Event('input')); }", number
            )
            shown = page.locator("#departure-answer").get_attribute("data-rough")
            if dates[number].rough_nights is None:
                assert shown == ""
            else:
                assert abs(float(shown) - dates[number].rough_nights) < 0.01
        page.click("#departure-best")
        rows = page.locator("#departure-legs tbody tr").all_inner_texts()
        words = ("sound", "workable", "rough", "unfit", "closed")
        for text, leg in zip(rows, report.best.legs, strict=True):
            assert f"{leg.rough_nights:.1f} of {leg.nights}" in text
            assert words[leg.grade] in text


def test_late_on_the_road_agrees_with_the_planner(browser, demo):
    """Nine days late at the fourth leg: the same sum as the planner's, three legs kept."""
    folder, report = demo
    late = report.replans[2][9]
    with opened(browser, 1280) as visit:
        page = visit(folder / "calendar.html")
        page.select_option("#departure-from", "3")
        before = page.locator("#departure-legs tbody tr").all_inner_texts()[:3]
        for _ in range(9):
            page.click("#departure-later")
        shown = page.locator("#departure-answer").get_attribute("data-rough")
        if late.rough_nights is None:
            assert shown == ""
        else:
            assert abs(float(shown) - late.rough_nights) < 0.01
            assert page.locator("#departure-legs tbody tr").all_inner_texts()[:3] == before


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_each_kit_card_is_one_printed_page(browser, demo, paper):
    """The card, where it serves and its sources: one page a kit, the limits in large print."""
    folder, report = demo
    cards = sorted(folder.glob("kit-*.html"))
    assert len(cards) == len(report.kits)
    with opened(browser, 1280) as visit:
        for card in cards:
            page = visit(card)
            printed = page.pdf(format=paper)
            assert printed.count(b"/Type /Page\n") == 1, card.name
            page.emulate_media(media="print")
            for selector, points in ((".limits td", 11), (".card dd", 9), ("footer p", 7)):
                size = page.locator(selector).last.evaluate("e => getComputedStyle(e).fontSize")
                assert float(size.removesuffix("px")) * 0.75 >= points, (card.name, selector)


def test_demo_sizes(demo):
    """Folder at most 8 MB, a page with its first load 400 kB, an overlay 40 kB, one file 3 MB."""
    folder, _ = demo
    sizes = {p.relative_to(folder).as_posix(): p.stat().st_size for p in folder.rglob("*")}
    sizes = {name: size for name, size in sizes.items() if (folder / name).is_file()}
    assert sum(sizes.values()) <= 8_000_000
    assert sizes[ONE_FILE] <= 3_000_000
    assert max(size for name, size in sizes.items() if name.endswith(".png")) <= 40_000
    shared = sum(sizes[f"assets/{name}"] for name in ("site.css", "first.js", "site.js"))
    for name in (n for n in sizes if n.endswith(".html") and n != ONE_FILE):
        load = sizes[name] + shared
        if name == "maps.html":
            text = (folder / name).read_text("utf-8")
            chosen = json.loads(re.search(r'id="map-data">(.*?)</script>', text, re.S)[1])[
                "chosen"
            ]
            first = [n for n in sizes if n.startswith(f"overlays/{chosen}/sound_share")]
            load += sum(sizes[n] for n in first if n.endswith((".js", "/01.png")))
            load += sizes["vendor/leaflet/leaflet.js"] + sizes["vendor/leaflet/leaflet.css"]
            load += sizes["assets/map.js"] + sizes["data/base.js"]
        assert load <= 400_000, (name, load)
