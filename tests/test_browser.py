"""The site in a real browser, networking off: every page, every control, every scheme."""

from __future__ import annotations

import re
from datetime import timedelta
from functools import cache

import numpy as np
import pytest
from browsing import BROWSER_MARKS, large_text, opened, unfold
from sample_report import BASE_MAP, HOSTILE, NIGHTS, infeasible_report, sample_report

from sheltermap.report.outline import cell_years, outline
from sheltermap.website.figures import percent
from sheltermap.website.pages import ONE_FILE, site
from sheltermap.website.publiccopy import public_page
from sheltermap.website.season import drawn, journey
from sheltermap.website.seasonaxis import NARROW, WIDE, whole_years
from sheltermap.website.write import write_site

pytestmark = BROWSER_MARKS

PAGES = (
    "index.html",
    "calendar.html",
    "maps.html",
    "region-high-valley.html",
    "region-lowland.html",
    "region-steppe.html",
    "kits.html",
    "kit-roof-tent.html",
    "kit-bedroll.html",
    "load.html",
    "log.html",
    "methods.html",
    "files.html",
)
WIDTHS = (360, 390, 1280)
_CONTROLS = (
    "a[href], button, select, input, summary, [tabindex]:not([tabindex='-1']), .leaflet-container"
)


@cache
def report():
    """Return the sample once more, for the expected numbers."""
    return sample_report()


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


def test_season_chart_tells_a_week(browser, sample_site):
    """Tap, pointer and arrow keys tell grade, share, reason, hazard and remedy in words."""
    with opened(browser, 360, has_touch=True) as visit:
        page = visit(sample_site / "index.html")
        tell = page.locator("#plan-season-tell")
        page.check(".season-all")
        chart = page.locator("svg.season-narrow:visible")
        box = chart.bounding_box()
        frame = drawn(report(), NARROW, whole_years(report()))
        scale = box["width"] / frame.width
        page.evaluate("document.querySelector('.season-touch').scrollLeft = 0")
        # The lowland is the first row; 10 January lies in its second week.
        box = chart.bounding_box()
        x, y = frame.x(9.5), frame.tops[0] + 5
        page.touchscreen.tap(box["x"] + x * scale, box["y"] + y * scale)
        week = report().places[0].weeks[1]
        text = tell.inner_text()
        assert text.startswith("Lowland, 8 January to 14 January. Sleep: unfit, ")
        assert f"{percent(week.sound_share)} of nights, limited by cold." in text
        assert "What would help: Warm bedding." in text
        page.locator(".season-touch").focus()
        page.keyboard.press("ArrowDown")
        assert tell.inner_text().startswith("High valley, 8 January to 14 January. Sleep: ")
        assert "Hazard: Road closed by snow or water, closed." in tell.inner_text()
        assert "What would help" not in tell.inner_text()
        page.keyboard.press("ArrowDown")
        page.keyboard.press("ArrowRight")
        assert tell.inner_text().startswith("Steppe, 15 January to 21 January")
        assert "Not every hazard was checked here." in tell.inner_text()


def test_departure_slider_agrees_with_python(browser, sample_site):
    """At all forty departure dates legs, dates, grades and sums are those of Python."""
    data = report()
    rough = {p.id: 1 - p.seasons["roof-tent"].sound_share for p in data.places}
    frame = drawn(data, WIDE, whole_years(data))
    with opened(browser, 1280) as visit:
        page = visit(sample_site / "calendar.html")
        slider = page.locator("#departure-day")
        for number, stays in enumerate(data.by_departure):
            slider.evaluate(
                "(e, v) => { e.value = v; e.dispatchEvent(new Event('input')); }", number
            )
            shown = page.locator("#departure-answer").get_attribute("data-rough")
            path = page.locator(".season-whole .season-wide .stair").get_attribute("d")
            if stays.rough_nights is None:
                assert shown == "" and path == ""
                assert "No plan fits" in page.locator("#departure-answer").inner_text()
                continue
            total = 0.0
            for place, arrive, nights in zip(stays.places, stays.arrive, NIGHTS, strict=True):
                days = [
                    (arrive + timedelta(days=n)).timetuple().tm_yday - 1 for n in range(nights)
                ]
                total += rough[place][days].sum()
            assert abs(float(shown) - total) < 1e-4
            assert abs(float(shown) - stays.rough_nights) < 0.01
            rows = [
                (n, arrive, leave)
                for n, (arrive, leave) in enumerate(zip(stays.arrive, stays.leave, strict=True))
            ]
            assert path == journey(rows, frame)[0]


def test_departure_buttons_and_leg_table(browser, sample_site):
    """A day earlier, later and back to the best; the table shows the legs of that day."""
    plan = report().best
    with opened(browser, 390) as visit:
        page = visit(sample_site / "calendar.html")
        cells = page.locator("#departure-legs tbody tr").all_inner_texts()
        for text, leg in zip(cells, plan.legs, strict=True):
            assert f"{leg.rough_nights:.1f} of {leg.nights}" in text
        page.click("#departure-earlier")
        assert "5 May 2027" in page.locator("#departure-date").inner_text()
        assert "5 May to 25 May" in page.locator("#departure-legs").inner_text()
        page.click("#departure-later")
        page.click("#departure-later")
        assert "7 May 2027" in page.locator("#departure-date").inner_text()
        page.click("#departure-best")
        assert "6 May 2027" in page.locator("#departure-date").inner_text()
        assert page.locator("#departure-legs tbody tr").all_inner_texts() == cells


def test_late_on_the_road(browser, sample_site):
    """Three days late at the second leg: the first stays as it was, the sum is Python's."""
    with opened(browser, 390) as visit:
        page = visit(sample_site / "calendar.html")
        page.select_option("#departure-from", "1")
        for _ in range(3):
            page.click("#departure-later")
        reached = report().replans[0]
        stays = reached.dates[reached.planned + 3]
        answer = page.locator("#departure-answer")
        assert answer.inner_text().startswith("Reach High valley on 31 May 2027")
        assert abs(float(answer.get_attribute("data-rough")) - stays.rough_nights) < 1e-4
        rows = page.locator("#departure-legs tbody tr").all_inner_texts()
        assert "6 May to 26 May" in rows[0] and "31 May to 15 Jun" in rows[1]
        page.select_option("#departure-from", "0")
        assert page.locator("#departure-date").inner_text() == "6 May 2027"


def test_map_month_chooser_and_value(browser, sample_site):
    """Month, kit and factor choose the image; the pointer tells the grid's value there."""
    grid = report().grid
    with opened(browser, 1280) as visit:
        loaded = []
        page = visit(sample_site / "maps.html")
        page.on("request", lambda r: loaded.append(r.url))
        image = page.locator(".leaflet-image-layer")
        assert image.get_attribute("src").endswith("overlays/roof-tent/sound_share/05.png")
        value = page.locator("#map-value")
        frame = page.locator(".map-frame").bounding_box()
        x, y = frame["x"] + frame["width"] * 0.55, frame["y"] + frame["height"] * 0.6

        def python_value(kit, factor, month):
            latitude, longitude = map(float, value.get_attribute("data-place").split())
            row = int((latitude - grid.south) / 0.5)
            column = int((longitude - grid.west) / 0.5)
            return grid.factors[kit][factor][month - 1, row, column]

        assert not page.evaluate("window.SM_VALUES")
        page.mouse.move(x, y)
        page.wait_for_selector("#map-value[data-value]:not([data-value=''])")
        for month in (1, 7, 12):
            page.locator("#map-month").evaluate(
                "(e, v) => { e.value = v; e.dispatchEvent(new Event('input')); }", month
            )
            assert image.get_attribute("src").endswith(f"sound_share/{month:02d}.png")
            shown = float(value.get_attribute("data-value"))
            assert abs(shown - python_value("roof-tent", "sound_share", month)) <= 0.0026
            assert f"about {percent(shown)} of nights sound" in value.inner_text()
        page.select_option("#map-factor", "cold")
        page.wait_for_selector("#map-value[data-value]:not([data-value=''])")
        shown = float(value.get_attribute("data-value"))
        assert abs(shown - python_value("roof-tent", "cold", 12)) <= 0.0026
        assert "too cold" in value.inner_text()
        page.select_option("#map-kit", "bedroll")
        assert page.locator("#map-factor").input_value() == "sound_share"
        assert page.locator("#map-note").inner_text()
        assert image.get_attribute("src").endswith("overlays/bedroll/sound_share/12.png")
        assert "closure" in page.locator("#map-regions").inner_text()
        again = [url for url in loaded if url.endswith("sound_share/07.png")]
        assert len(again) == 1


def test_map_overlay_lies_on_its_bounds(browser, sample_site):
    """The image's corners stand at the pixels of the box's corners on Mercator."""
    with opened(browser, 1280) as visit:
        page = visit(sample_site / "maps.html")
        page.wait_for_timeout(600)  # Leaflet glides to the box it shows first.
        gaps = page.evaluate(
            """() => { const image = document.querySelector('.leaflet-image-layer');
            const box = image.getBoundingClientRect();
            const name = Object.keys(window).find(k => /^map_/.test(k)), map = window[name];
            const frame = map.getContainer().getBoundingClientRect();
            const at = (place) => map.latLngToContainerPoint(place);
            const nw = at([44, 28]), se = at([38, 39]);
            return [box.left - frame.left - nw.x, box.top - frame.top - nw.y,
                    box.right - frame.left - se.x, box.bottom - frame.top - se.y]; }"""
        )
        assert max(abs(gap) for gap in gaps) < 1.6


def test_maps_show_without_a_script(browser, sample_site):
    """No dead controls over an empty frame: the twelve pictures, and why."""
    with opened(browser, 360, java_script_enabled=False, scheme=None) as visit:
        page = visit(sample_site / "maps.html")
        assert not page.locator(".map-frame").is_visible()
        assert not page.locator("#map-controls").is_visible()
        assert page.locator(".months img:visible").count() == 12
        assert page.get_by_text("without one, the pictures below").is_visible()
    with opened(browser, 360) as visit:
        page = visit(sample_site / "maps.html")
        assert page.locator("#map-controls").is_visible()
        assert page.locator(".months img:visible").count() == 0
        assert not page.get_by_text("without one, the pictures below").is_visible()


def test_no_dead_slider_without_a_script(browser, sample_site):
    """Without a script the slider and the chart's tap line are gone; the table is named."""
    with opened(browser, 360, java_script_enabled=False, scheme=None) as visit:
        page = visit(sample_site / "calendar.html")
        assert page.locator("#departure, .tell").count() == 2
        assert not page.locator("#departure").is_visible()
        assert not page.locator(".tell").is_visible()
        assert page.get_by_text("without one, the table below the curve").is_visible()
        assert page.locator("figure:has(#calendar-curve-t) table").count() == 1
    with opened(browser, 360) as visit:
        page = visit(sample_site / "calendar.html")
        assert page.locator("#departure").is_visible() and page.locator(".tell").is_visible()
        assert not page.get_by_text("without one, the table below the curve").is_visible()


def test_map_jumps_where_motion_is_unwanted(browser, sample_site):
    """With the system's wish for less motion no layer of the map glides."""
    timing = "e => getComputedStyle(e).transitionProperty"
    for wish, expected in (("reduce", "none"), ("no-preference", "transform")):
        with opened(browser, 390, reduced_motion=wish) as visit:
            page = visit(sample_site / "maps.html")
            page.wait_for_timeout(600)  # Leaflet glides to the box it shows first.
            page.evaluate(
                "document.querySelector('.leaflet-map-pane').classList.add('leaflet-zoom-anim')"
            )
            assert expected in page.locator(".leaflet-image-layer").evaluate(timing)


def test_map_answers_to_the_keyboard(browser, sample_site):
    """With the map in focus arrow keys move it and the line above tells its centre."""
    with opened(browser, 1280) as visit:
        page = visit(sample_site / "maps.html")
        page.locator(".leaflet-container").focus()
        page.keyboard.press("+")
        page.keyboard.press("ArrowRight")
        page.wait_for_selector("#map-value[data-value]:not([data-value=''])")
        assert "of nights sound" in page.locator("#map-value").inner_text()


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
