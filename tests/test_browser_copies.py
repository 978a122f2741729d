"""Copies of the site in a browser: one file, the public page, another host, and paper."""

from __future__ import annotations

import numpy as np
from browsing import BROWSER_MARKS, PAGES, opened
from sample_report import BASE_MAP, sample_report

from sheltermap.report.outline import cell_years, outline
from sheltermap.website.pages import ONE_FILE
from sheltermap.website.publiccopy import public_page

pytestmark = BROWSER_MARKS


def test_the_public_copy_opens(browser, tmp_path):
    """One page without a script, on the smallest phone."""
    told = outline(sample_report())
    climate = dict.fromkeys(("title", "source", "period", "licence"), "words")
    page_file = tmp_path / "public.html"
    page_file.write_bytes(public_page(told, cell_years(told), BASE_MAP, climate))
    with opened(browser, 360) as visit:
        page = visit(page_file)
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        assert page.locator("script").count() == 0
        assert page.locator("table").first.locator("tbody tr").count() == len(told.legs)


def test_one_file_turns_its_pages(browser, sample_site, tmp_path):
    """Alone in a folder the one-file copy shows each page, the map and the slider."""
    alone = tmp_path / "sent.html"
    alone.write_bytes((sample_site / ONE_FILE).read_bytes())
    with opened(browser, 390) as visit:
        page = visit(alone)
        assert page.locator("article.shown").get_attribute("id") == "page-plan"
        for identity in page.eval_on_selector_all(".page", "all => all.map(e => e.id)"):
            page.evaluate(f"location.hash = '#{identity}'")
            page.wait_for_selector(f"#{identity}.shown")
            assert page.locator("article.shown").count() == 1
            assert page.evaluate("document.documentElement.scrollWidth") <= 390, identity
            # The browser scrolls to what an address names, sometimes after our script ran.
            page.evaluate(f"void document.getElementById('{identity}').scrollIntoView()")
            assert page.evaluate("window.scrollY") == 0, identity
        page.evaluate("location.hash = '#page-maps'")
        page.wait_for_selector("#page-maps.shown .leaflet-image-layer")
        assert page.locator(".leaflet-image-layer").get_attribute("src").startswith("data:image")
        page.evaluate("location.hash = '#page-calendar'")
        page.click("#departure-earlier")
        assert "5 May 2027" in page.locator("#departure-date").inner_text()
        page.go_back()
        page.wait_for_selector("#page-maps.shown")


def test_one_file_lays_out_one_page(browser, sample_site):
    """While the copy is still being read only its first page is laid out: slow phones wait."""
    watch = """window.seen = {}; new MutationObserver(() => {
      document.querySelectorAll('.page').forEach(page => {
        if (!(page.id in seen)) seen[page.id] = page.checkVisibility(); });
    }).observe(document, {childList: true, subtree: true});"""
    context = browser.new_context(offline=True)
    context.add_init_script(watch)
    page = context.new_page()
    page.goto((sample_site / ONE_FILE).resolve().as_uri())
    seen = page.evaluate("seen")
    context.close()
    assert len(seen) == len(PAGES)
    assert [identity for identity, visible in seen.items() if visible] == ["page-plan"]


def test_any_host_and_sub_path_serves_it(browser, sample_site):
    """Under a sub-path of a web host every page finds its files and asks nobody else."""
    context = browser.new_context(viewport={"width": 390, "height": 900})
    page = context.new_page()
    errors, asked = [], []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda m: errors.append(m.text) if m.type == "error" else None)
    kinds = {
        ".html": "text/html",
        ".css": "text/css",
        ".js": "text/javascript",
        ".png": "image/png",
    }

    def serve(route):
        url = route.request.url
        asked.append(url)
        path = sample_site / url.removeprefix("https://host.invalid/a/b/").partition("#")[0]
        if not url.startswith("https://host.invalid/a/b/") or not path.is_file():
            route.fulfill(status=404)
        else:
            route.fulfill(
                body=path.read_bytes(), content_type=kinds.get(path.suffix, "text/plain")
            )

    page.route("**/*", serve)
    for name in PAGES:
        page.goto(f"https://host.invalid/a/b/{name}")
    page.goto("https://host.invalid/a/b/maps.html")
    page.wait_for_selector(".leaflet-image-layer")
    context.close()
    strangers = [u for u in asked if not u.startswith(("https://host.invalid/a/b/", "data:"))]
    assert not strangers
    assert not [error for error in errors if "favicon" not in error], errors


def test_booklet_prints_plan_first(browser, sample_site, tmp_path):
    """On paper the one-file copy is a booklet: the plan first, all pages, controls gone."""
    with opened(browser, 1280, scheme="dark") as visit:
        page = visit(sample_site / ONE_FILE)
        page.emulate_media(media="print")
        shown = page.eval_on_selector_all(
            ".page", "all => all.filter(e => e.checkVisibility()).map(e => e.id)"
        )
        assert shown[0] == "page-plan"
        assert {"page-calendar", "page-maps", "page-kits", "page-load"} <= set(shown)
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == (
            "rgb(255, 255, 255)"
        )
        for selector in ("nav", "#departure", "#map-controls", ".map-frame", ".tell"):
            assert not page.locator(selector).first.is_visible(), selector
        assert page.locator(".months img").first.is_visible()
        # No table's head at the foot of a sheet, no month table on two.
        for selector, rule in (("thead", "breakAfter"), (".pair table", "breakInside")):
            told = page.eval_on_selector_all(
                selector, f"all => all.map(e => getComputedStyle(e).{rule})"
            )
            assert told and set(told) == {"avoid"}, selector
        paper = page.pdf(format="A4", path=str(tmp_path / "booklet.pdf"))
        assert paper.startswith(b"%PDF") and paper.count(b"/Type /Page\n") >= 8


def test_danger_is_darkest_on_grey_paper(browser, sample_site):
    """Printed in grey, unfit cells are darker than every better grade."""
    from io import BytesIO

    from PIL import Image

    with opened(browser, 1280) as visit:
        page = visit(sample_site / "index.html")
        page.emulate_media(media="print")
        means = []
        for grade in range(4):
            chip = page.locator(f'.legend .chip:has(use[href="#c-g{grade}"])').first
            picture = Image.open(BytesIO(chip.screenshot())).convert("L")
            means.append(np.asarray(picture, dtype=float)[2:-2, 2:-2].mean())
        assert means[3] < min(means[:3]) - 20, means
