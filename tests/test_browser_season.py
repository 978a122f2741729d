"""The season chart in a browser: sizes, marks, names and the journey, read-out and switch."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from browsing import BROWSER_MARKS, opened, violations
from sample_report import BASE_MAP, sample_report
from season_reports import with_marks

from sheltermap.website.pages import site
from sheltermap.website.write import write_site

pytestmark = BROWSER_MARKS

SCHEMES = ("light", "dark", "night")


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """Write the sample's site with a permit, a fixed evening and one stay cut short."""
    permit = {"first": date(2027, 5, 1), "last": date(2027, 9, 1)}
    report = with_marks(sample_report(), date(2027, 5, 30), permit)
    legs = list(report.trip.legs)
    nights = legs[2].nights.model_copy(update={"preferred": 30, "most": 40})
    legs[2] = legs[2].model_copy(update={"nights": nights})
    report = replace(report, trip=report.trip.model_copy(update={"legs": tuple(legs)}))
    files = site(report, base_map=BASE_MAP)
    return write_site(files, tmp_path_factory.mktemp("season") / "build")


_SIZES = """() => { const out = {text: 1e9, week: 1e9, wide: document.documentElement.scrollWidth};
  document.querySelectorAll('.season-body svg').forEach(svg => {
    if (!svg.getBoundingClientRect().width) return;
    const scale = svg.getScreenCTM().a, { width, days } = svg.dataset;
    svg.querySelectorAll('text, tspan').forEach(text => {
      out.text = Math.min(out.text, scale * parseFloat(getComputedStyle(text).fontSize)); });
    if (width) out.week = Math.min(out.week, scale * width / days * 7);
  });
  const touch = document.querySelector('.season-touch');
  return {...out, scrolls: touch.scrollWidth > touch.clientWidth + 1}; }"""


def test_text_and_weeks_are_large_enough(browser, folder):
    """Text is 10 px at least, a phone's week 9 px; only the whole year makes a phone scroll."""
    with opened(browser, 320) as visit:
        page = visit(folder / "index.html")
        for width in (320, 360, 390, 480, 768, 840, 1024, 1280, 1920):
            page.set_viewport_size({"width": width, "height": 900})
            for whole in (False, True):
                page.set_checked(".season-all", whole)
                found = page.evaluate(_SIZES)
                assert found["text"] >= 10, width
                assert found["week"] >= (9 if width < 840 else 5), width
                assert found["wide"] <= width, width
                assert found["scrolls"] is (whole and width < 840), width


# Texts that the drawn journey goes through, its edge counted: 3 px around each word.
_CROSSED = """() => { const out = [];
  const texts = [...document.querySelectorAll('.season-body text')].filter(one =>
    one.getBoundingClientRect().width && getComputedStyle(one).visibility !== 'hidden');
  document.querySelectorAll('.season-body .stair, .season-body .leg-dot').forEach(path => {
    if (!path.getBoundingClientRect().width && !path.getBoundingClientRect().height) return;
    const place = path.getScreenCTM(), length = path.getTotalLength();
    for (let at = 0; at <= length; at += 1) {
      const spot = path.getPointAtLength(at).matrixTransform(place);
      texts.forEach(text => { const box = text.getBoundingClientRect();
        if (spot.x > box.left - 3 && spot.x < box.right + 3 && spot.y > box.top - 3
          && spot.y < box.bottom + 1) out.push(text.textContent); });
    } });
  return {crossed: [...new Set(out)], shown: texts.length}; }"""


@pytest.mark.parametrize("width", [360, 1280])
def test_the_journey_crosses_no_text(browser, folder, width):
    """Neither names nor labels, on the Plan and for every departure of the Calendar."""
    with opened(browser, width) as visit:
        found = visit(folder / "index.html").evaluate(_CROSSED)
        assert found["crossed"] == [] and found["shown"] > 6
        page = visit(folder / "calendar.html")
        for number in range(0, 40, 3):
            page.locator("#departure-day").evaluate(
                "(e, v) => { e.value = v; e.dispatchEvent(new Event('input')); }", number
            )
            assert page.evaluate(_CROSSED)["crossed"] == [], number


def test_labels_give_way_to_the_stair(browser, folder):
    """What stands where another departure's stair goes down is hidden, and comes back."""
    with opened(browser, 1280) as visit:
        page = visit(folder / "calendar.html")
        label = page.locator(".season-part .season-wide .at-label", has_text="be there")
        seen = []
        for number in range(5, 40):
            page.locator("#departure-day").evaluate(
                "(e, v) => { e.value = v; e.dispatchEvent(new Event('input')); }", number
            )
            seen.append(label.get_attribute("visibility"))
        assert set(seen) == {"visible", "hidden"}
        page.click("#departure-best")
        assert label.get_attribute("visibility") == "visible"


def test_read_out_starts_at_the_departure(browser, folder):
    """The plan leaves on 6 May, which lies in the week of 30 April, day 119."""
    with opened(browser, 390) as visit:
        page = visit(folder / "index.html")
        told = page.locator("#plan-season-tell")
        assert told.inner_text().startswith("Lowland, 30 April to 6 May. Sleep: ")
        page.locator(".season-touch").focus()
        page.keyboard.press("ArrowRight")
        assert told.inner_text().startswith("Lowland, 7 May to 13 May. Sleep: ")
        page = visit(folder / "calendar.html")
        for _ in range(3):
            page.click("#departure-later")
        told = page.locator("#calendar-season-tell")
        assert told.inner_text().startswith("Lowland, 7 May to 13 May. Sleep: ")


def test_keys_bring_the_week_onto_the_screen(browser, folder):
    """On a phone the whole year is wider than the screen: the pointed week is always on it."""
    with opened(browser, 360) as visit:
        page = visit(folder / "index.html")
        page.check(".season-all")
        page.locator(".season-touch").focus()
        for key in ("End", "Home", "ArrowDown", "End"):
            page.keyboard.press(key)
            inside = page.evaluate(
                """() => { const box = document.querySelector('.season-touch')
                  .getBoundingClientRect();
                const week = [...document.querySelectorAll('.pointed')]
                  .map(e => e.getBoundingClientRect()).find(e => e.width);
                return week.left >= box.left - 3 && week.right <= box.right + 3; }"""
            )
            assert inside, key


def test_a_date_beyond_the_weeks_shown_shows_the_year(browser, folder):
    """The chart turns to the whole year where a departure's stays need it."""
    with opened(browser, 1280) as visit:
        page = visit(folder / "calendar.html")
        assert not page.is_checked(".season-all")
        page.evaluate(
            """() => SM.season.draw('calendar-season', [{place: 0,
              arrive: new Date('2027-02-01T00:00:00Z'),
              leave: new Date('2027-02-05T00:00:00Z')}])"""
        )
        assert page.is_checked(".season-all")
        line = page.locator(".season-whole .season-wide .stair").get_attribute("d")
        # Days 31 and 35 of 365 across 700 units.
        assert line.startswith("M59.5 ") and "L67.1 " in line


def test_cut_stays_are_said_for_plan_and_date(browser, folder):
    """25 of 30 nights in the steppe, by Python on the Plan and by the script on the Calendar."""
    said = "Shorter than you prefer: Steppe (25 of 30 nights)."
    with opened(browser, 390) as visit:
        assert visit(folder / "index.html").locator("#plan-season-cut").inner_text() == said
        page = visit(folder / "calendar.html")
        assert page.locator("#calendar-season-cut").inner_text() == said


def test_marks_are_named_in_words(browser, folder):
    """Legend and table say what a bracket and a triangle are, and when."""
    with opened(browser, 390) as visit:
        text = visit(folder / "index.html").locator("#plan-season").text_content()
        assert "permit holds" in text and "be there that evening" in text
        assert "permit from 1 May 2027 to 1 September 2027" in text
        assert "be there on 30 May 2027" in text


# Contrast of each mark with what is around it, by WCAG 2.2's formula: 3 to 1 for graphics.
_MARKS = """() => { const light = ([r, g, b]) => [r, g, b].map(v => v / 255)
    .map(v => v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4)
    .reduce((sum, v, n) => sum + v * [.2126, .7152, .0722][n], 0);
  const rgb = text => text.match(/[0-9.]+/g).slice(0, 3).map(Number);
  const of = (selector, name) => rgb(getComputedStyle(document.querySelector(selector))[name]);
  const ratio = (a, b) => { const [x, y] = [light(a), light(b)];
    return (Math.max(x, y) + .05) / (Math.min(x, y) + .05); };
  const paper = of('body', 'backgroundColor'), out = {};
  for (const [name, one, other] of [
    ['permit', of('.at-permit', 'stroke'), paper], ['evening', of('.at-evening', 'fill'), paper],
    ['stair', of('.stair', 'stroke'), of('.stair-case', 'stroke')],
    ['dot', of('.leg-dot', 'stroke'), of('.dot-case', 'stroke')],
    ['sign', of('.sg', 'stroke'), paper], ['closed', of('path.h4', 'fill'), paper],
    ['crosses', of('path.hx', 'stroke'), of('path.h4', 'fill')],
    ['forbidden', of('path.h3', 'fill'), paper], ['serious', of('.chip .h2', 'fill'), paper],
    ['label', of('.at-label', 'fill'), paper]]) out[name] = ratio(one, other);
  return out; }"""


@pytest.mark.parametrize("scheme", [*SCHEMES, "print"])
def test_marks_have_contrast(browser, folder, scheme):
    """Each mark keeps 3 to 1 to its ground, a label 4.5, in every scheme and on paper."""
    with opened(browser, 1280, "light" if scheme == "print" else scheme) as visit:
        page = visit(folder / "index.html")
        if scheme == "print":
            page.emulate_media(media="print")
        found = page.evaluate(_MARKS)
        assert not {name: ratio for name, ratio in found.items() if ratio < 3}
        assert found["label"] >= 4.5


@pytest.mark.parametrize("scheme", SCHEMES)
def test_axe_finds_nothing_in_the_chart(browser, folder, scheme):
    """With marks and with the whole year, scrolling inside the chart."""
    with opened(browser, 390, scheme) as visit:
        page = visit(folder / "index.html")
        page.check(".season-all")
        for width in (390, 1280):
            page.set_viewport_size({"width": width, "height": 900})
            assert violations(page, scheme, "#plan-season") == [], width


def test_paper_shows_the_weeks_that_matter(browser, folder):
    """In print the names stand beside the weeks, and no control is left."""
    with opened(browser, 1280) as visit:
        page = visit(folder / "index.html")
        page.emulate_media(media="print")
        assert page.locator(".season-part .season-wide").is_visible()
        assert page.locator(".names-wide").is_visible()
        for selector in (".season-switch", ".season-narrow", ".names-narrow"):
            assert not page.locator(selector).first.is_visible(), selector
