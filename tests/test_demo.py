"""The bundled journeys: what their plans keep, and the first built and opened as people do."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from browsing import in_browser, opened, unfold
from told_figures import assert_figures_agree

from sheltermap.website.pages import ONE_FILE


@pytest.fixture(scope="module")
def demo(demo_of):
    """Return the folder and the Report of the first bundled journey."""
    return demo_of("silk-seeds")


@pytest.fixture(scope="module", params=["silk-seeds", "river-survey"])
def planned(request, demo_of):
    """Return a journey's name and its report."""
    return request.param, demo_of(request.param)[1]


def test_first_possible_departure_is_the_one_worked_out_by_hand(planned):
    """Closures, longest stays and permits leave no earlier day.

    Seeds: the highland tracks are barred to 5 April, so at the latest after 24 nights on
    the plateau the first night there is 6 April: leave on 13 March. Survey: the gorge is
    closed to 25 October and kept free for 5 days more; 24 nights in the uplands before
    31 October: leave on 7 October.
    """
    name, report = planned
    first = {"silk-seeds": date(2027, 3, 13), "river-survey": date(2027, 10, 7)}[name]
    possible = [s.depart for s in report.by_departure if s.rough_nights is not None]
    assert possible[0] == first
    assert report.by_departure[0].depart < first


def test_every_level_is_met_and_told_on_some_page(planned):
    """All four levels bind somewhere; what closes or forbids names days and a source."""
    _, report = planned
    found = [finding for place in report.places for finding in place.findings]
    met = {int(level) for finding in found for level in finding.level_by_day}
    assert met >= {1, 2, 3, 4}
    for finding in found:
        if finding.level_by_day.max() >= 3:
            assert finding.source and (finding.level_by_day < 3).any(), finding.title


def test_the_departure_matters(planned):
    """A bad day to leave costs at least five nights, or is too dangerous to be planned at all."""
    _, report = planned
    rough = [s.rough_nights for s in report.by_departure]
    known = [nights for nights in rough if nights is not None]
    assert max(known) >= min(known) + 5 or rough.count(None) >= 14


def test_kits_are_compared_on_the_planned_nights(planned):
    """The comparison knows every figure, and of the plan's own kit the same rough nights."""
    _, report = planned
    for row in report.comparison.rows:
        assert None not in (row.rough_nights, row.money, row.cost), row.title
    own = report.comparison.rows[0]
    assert own.rough_nights == pytest.approx(report.best.rough_nights, abs=1e-5)


@pytest.fixture(scope="module")
def site(planned, demo_of) -> Path:
    """Return the folder of a journey's site."""
    return demo_of(planned[0])[0]


def test_every_page_tells_the_figures_of_the_first_screen(site):
    """Nights, rough, dangerous, serious, margin, money, remedy, window: one figure each."""
    assert_figures_agree(
        {path.relative_to(site).as_posix(): path.read_bytes() for path in site.rglob("*.*")}
    )


@in_browser
def test_whole_answer_stands_on_one_phone_screen(site, browser):
    """Everything above the chart, header and chart's title included, on 390 x 844 px."""
    with opened(browser, 390) as visit:
        page = visit(site / "index.html")
        facts = page.locator(".answers dt").all_inner_texts()
        assert {"What helps", "Danger", "Load", "Money"} <= set(facts)
        foot = page.locator("#page-plan h2").first.evaluate(
            "e => e.getBoundingClientRect().bottom"
        )
        assert foot <= 844


def test_no_plan_spends_a_night_behind_a_closed_gate(planned):
    """For every departure: no night in the closed weeks of the leg that has them."""
    name, report = planned
    leg, first, last = {
        "silk-seeds": ("Alay valley", (10, 20), (6, 7)),
        "river-survey": ("Middle river gorge", (6, 15), (10, 30)),
    }[name]
    number = [one.name for one in report.trip.legs].index(leg)
    checked = 0
    for stays in report.by_departure:
        for where, arrive, leave in zip(stays.legs, stays.arrive, stays.leave, strict=True):
            if where != number:
                continue
            for night in range((leave - arrive).days):
                evening = arrive + timedelta(days=night)
                day = (evening.month, evening.day)
                closed = first <= day <= last if first <= last else day >= first or day <= last
                assert not closed
                checked += 1
    assert checked > 0


def test_the_survey_is_away_at_new_year(planned):
    """The best plan itself crosses New Year; the seed journey stays in one year."""
    name, report = planned
    crossed = report.best.finish.year - report.best.depart.year
    assert crossed == {"silk-seeds": 0, "river-survey": 1}[name]


@in_browser
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


@in_browser
def test_season_chart_and_month_map_are_there(browser, demo):
    """The two pictures that carry the product: the journey through the year, one month."""
    folder, report = demo
    with opened(browser, 360) as visit:
        page = visit(folder / "index.html")
        chart = page.locator("svg.season-narrow:visible")
        line = chart.locator(".stair").get_attribute("d")
        assert len(re.findall(r"M[0-9.]+ [0-9.]+H[0-9.]+", line)) == len(report.best.legs)
        top = chart.bounding_box()["y"]
        assert top < 2 * 800, "the chart begins on the first or second screen of a phone"
        page = visit(folder / "maps.html")
        image = page.locator(".leaflet-image-layer")
        assert re.search(r"/sound_share/\d\d\.png$", image.get_attribute("src"))
        assert image.evaluate("e => e.complete && e.naturalWidth > 0")


@in_browser
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
        words = ("sound", "workable", "hard", "unfit")
        for text, leg in zip(rows, report.best.legs, strict=True):
            assert f"{leg.rough_nights:.1f} of {leg.nights}" in text
            assert words[leg.grade] in text


@in_browser
def test_the_page_without_a_script_has_the_same_legs(browser, demo):
    """What Python wrote and what the slider writes for the plan's date are the same rows."""
    folder, report = demo
    with opened(browser, 360, java_script_enabled=False, scheme=None) as visit:
        written = visit(folder / "calendar.html").locator("#departure-legs tbody tr")
        expected = [text.replace("\u00ad", "") for text in written.all_inner_texts()]
    with opened(browser, 360) as visit:
        shown = visit(folder / "calendar.html").locator("#departure-legs tbody tr")
        assert [text.replace("\u00ad", "") for text in shown.all_inner_texts()] == expected
    assert len(expected) == len(report.best.legs)


@in_browser
@pytest.mark.parametrize("width", [360, 1280])
def test_no_name_covers_a_dot_of_the_map(browser, demo, width):
    """A name that would lie on another place gives way to its number, at every zoom."""
    folder, _ = demo
    with opened(browser, width) as visit:
        page = visit(folder / "maps.html")
        page.wait_for_timeout(600)  # Leaflet glides to the box it shows first.
        for zoom in (0, 1, 1):
            for _ in range(zoom):
                page.locator(".leaflet-control-zoom-in").click()
                page.wait_for_timeout(400)
            covered = page.evaluate(
                """() => {
                const map = window[Object.keys(window).find(k => /^map_/.test(k))];
                const frame = map.getContainer().getBoundingClientRect();
                const places = JSON.parse(document.getElementById("map-data").textContent).places;
                const dots = places.map(one => map.latLngToContainerPoint(one.point));
                return [...document.querySelectorAll(".place-name")].flatMap((name, own) => {
                  const box = name.getBoundingClientRect();
                  if (!/[^0-9]/.test(name.textContent)) return [];
                  return dots.map((dot, n) => [n, frame.left + dot.x, frame.top + dot.y])
                    .filter(([n, x, y]) => n !== own && x > box.left - 5 && x < box.right + 5
                      && y > box.top - 5 && y < box.bottom + 5).map(([n]) => name.textContent);
                }); }"""
            )
            assert covered == []


_BROKEN_WORDS = """() => {
  const broken = [], range = document.createRange();
  document.querySelectorAll('main th, main td').forEach(cell => {
    if (!cell.checkVisibility()) return;
    const walk = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT);
    for (let node = walk.nextNode(); node; node = walk.nextNode()) {
      for (const word of node.textContent.matchAll(/[A-Za-z\\u00ad]{2,}/g)) {
        if (word[0].includes('\\u00ad')) continue;
        range.setStart(node, word.index); range.setEnd(node, word.index + word[0].length);
        const tops = new Set([...range.getClientRects()].map(box => Math.round(box.top)));
        if (tops.size > 1) broken.push(word[0]);
      } } });
  return broken; }"""


@in_browser
def test_tables_break_no_word_on_a_phone(browser, demo):
    """In every table, unfolded, words stand whole or break where a hyphen may stand."""
    folder, _ = demo
    names = ("index", "calendar", "kits", "load", "methods", "region-karakum-kyzylkum")
    with opened(browser, 360) as visit:
        for name in names:
            page = visit(folder / f"{name}.html")
            unfold(page)
            assert page.evaluate(_BROKEN_WORDS) == [], name


@in_browser
def test_map_labels_cover_no_other(browser, demo):
    """Each place has its number on the map, and its name where there is room."""
    folder, report = demo
    with opened(browser, 1280) as visit:
        page = visit(folder / "maps.html")
        page.wait_for_timeout(600)  # Leaflet glides to the box it shows first.
        labels = page.locator(".place-name")
        texts = labels.all_inner_texts()
        assert [int(text.split()[0]) for text in texts] == [
            number for number, _ in enumerate(report.places, 1)
        ]
        assert sum(" " in text for text in texts) >= len(texts) / 2
        boxes = [label.bounding_box() for label in labels.all()]
        named = [box for box, text in zip(boxes, texts, strict=True) if " " in text]
        for box in named:
            for other in boxes:
                apart = (
                    box["x"] + box["width"] <= other["x"]
                    or other["x"] + other["width"] <= box["x"]
                    or box["y"] + box["height"] <= other["y"]
                    or other["y"] + other["height"] <= box["y"]
                )
                assert apart or box is other


@in_browser
def test_late_on_the_road_agrees_with_the_planner(browser, demo):
    """Nine days late at the fourth leg: the same sum as the planner's, three legs kept."""
    folder, report = demo
    reached = report.replans[2]
    late = reached.dates[reached.planned + 9]
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


@in_browser
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
    for name in (n for n in sizes if n.endswith(".html") and n != ONE_FILE):
        text = (folder / name).read_text("utf-8")
        asked = re.findall(r'<(?:script src|link rel="stylesheet" href)="(.+?)"', text)
        assert "assets/site.css" in asked and "assets/words.js" in asked
        load = sizes[name] + sum(sizes[path] for path in asked)
        if name == "maps.html":
            chosen = json.loads(re.search(r'id="map-data">(.*?)</script>', text, re.S)[1])[
                "chosen"
            ]
            first = [n for n in sizes if n.startswith(f"overlays/{chosen}/sound_share")]
            # The values behind the picture come when somebody points at the map.
            load += sum(sizes[n] for n in first if n.endswith("/01.png"))
        assert load <= 400_000, (name, load)
