"""What pages owe a reader in a real browser: targets, focus, titles, one system of units."""

from __future__ import annotations

import re

import pytest
from browsing import BROWSER_MARKS, opened, unfold

from sheltermap.website.pages import ONE_FILE

pytestmark = BROWSER_MARKS


def pages(sample_site) -> list[str]:
    """Return the pages of a site, the one-file copy apart: it repeats them."""
    return sorted(file.name for file in sample_site.glob("*.html") if file.name != ONE_FILE)


# Links inside a sentence are as high as its line: WCAG 2.2, 2.5.8 leaves them out.
_SMALL = """() => [...document.querySelectorAll(
    'a[href], button, select, input, summary, textarea')]
  .filter(e => e.checkVisibility() && !e.matches('.skip'))
  .filter(e => getComputedStyle(e).display !== 'inline'
    || ![...e.parentElement.childNodes].some(n => n !== e && n.textContent.trim()))
  .map(e => [e.tagName, e.textContent.trim().slice(0, 30), e.getBoundingClientRect()])
  .filter(([, , box]) => box.width < 24 || box.height < 24)
  .map(([tag, text, box]) => `${tag} ${text} ${box.width} x ${box.height}`)"""


def test_tap_targets_are_large_enough(browser, sample_site):
    """Each control, and each link that is not part of a sentence, is 24 px at least."""
    with opened(browser, 390) as visit:
        for name in pages(sample_site):
            page = visit(sample_site / name)
            unfold(page)
            for width in (1280, 390):
                page.set_viewport_size({"width": width, "height": 900})
                assert page.evaluate(_SMALL) == [], (name, width)


# Text that a reader sees; parts of one line stand together, so that a unit meets its number.
_SEEN = """() => {
  for (const d of document.querySelectorAll('details')) d.open = true;
  const walker = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT);
  let text = '', last = null;
  for (let node; (node = walker.nextNode());) {
    const e = node.parentElement;
    if (e.closest('script, style, option, textarea, title, desc')) continue;
    // Of text in a hidden part of a drawing checkVisibility knows nothing.
    if (!e.checkVisibility() || !e.getBoundingClientRect().width) continue;
    text += (e.closest('text, td, th, dd, li, p, label') === last ? '' : ' | ') + node.data;
    last = e.closest('text, td, th, dd, li, p, label');
  }
  return text; }"""

_METRIC = re.compile(
    r"\d[^\S\n]?(?:kg|km/h|km|mm|m/s|m|metres?|kilometres?|L|litres?|°C|degC|K)\b(?! K/W)|°C|L/100"
)
"""A metric quantity, or a unit of one in the head of a column."""


_IMPERIAL = re.compile(r"\d[^\S\n]?(?:lb|mi|ft|US gal|mph|°F)\b|°F|mpg")


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_one_system_of_units_a_page(browser, sample_site, units):
    """Every table, sentence, axis, legend and label: no unit of the other system is left."""
    own, other = (_IMPERIAL, _METRIC) if units == "imperial" else (_METRIC, _IMPERIAL)
    told = 0
    with opened(browser, 1280, units=units) as visit:
        for name in pages(sample_site):
            seen = visit(sample_site / name).evaluate(_SEEN)
            left = [seen[max(0, m.start() - 40) : m.end() + 10] for m in other.finditer(seen)]
            assert not left, (name, left)
            told += len(own.findall(seen))
    assert told > 200  # The search sees what it looks for.


def test_slider_and_map_read_out_no_metric_unit(browser, sample_site):
    """What scripts write is told in the reader's units too."""
    with opened(browser, 1280, units="imperial") as visit:
        page = visit(sample_site / "index.html")
        page.locator(".season-touch").focus()
        for key in ("ArrowRight", "ArrowDown", "ArrowRight"):
            page.keyboard.press(key)
            assert not _METRIC.search(page.locator(".tell").inner_text())
        page = visit(sample_site / "calendar.html")
        page.click("#departure-later")
        assert not _METRIC.search(page.locator("main").inner_text())
        page = visit(sample_site / "maps.html")
        page.locator(".leaflet-container").focus()
        page.keyboard.press("+")
        page.wait_for_selector("#map-value[data-value]:not([data-value=''])")
        assert not _METRIC.search(page.locator("main").inner_text())


def test_log_takes_temperatures_as_the_reader_measures(browser, sample_site):
    """41 and 32 degF are 5 and 0 degC in the row, which the trip file has in degC."""
    with opened(browser, 390, units="imperial") as visit:
        page = visit(sample_site / "log.html")
        page.locator("#log-slept [name=nights]").fill("2")
        page.locator("#log-slept [name=low_c]").fill("41 32")
        page.click("#log-add-slept")
        assert "low_c = [5.0, 0.0]" in page.locator("#log-rows").input_value()


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour (WCAG 2.2, definition of relative luminance)."""
    channels = [float(part) / 255 for part in re.findall(r"[\d.]+", colour)[:3]]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(part * value for part, value in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours (WCAG 2.2, definition of contrast ratio)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_and_white():
    """21 to 1, as the definition's own example has it."""
    assert contrast("rgb(0, 0, 0)", "rgb(255, 255, 255)") == pytest.approx(21)


# The colour behind an element: of the nearest ancestor that paints one.
_OUTLINE = """e => {
  const painted = part => getComputedStyle(part).backgroundColor;
  let behind = e.parentElement;
  while (painted(behind) === 'rgba(0, 0, 0, 0)') behind = behind.parentElement;
  const own = getComputedStyle(e);
  return [own.outlineColor, painted(behind), own.outlineStyle]; }"""


@pytest.mark.parametrize("scheme", ["light", "dark", "night"])
def test_focus_is_seen_everywhere(browser, sample_site, scheme):
    """The ring around what has the focus stands out by 3 to 1 (WCAG 2.2, 1.4.11), header too."""
    with opened(browser, 390, scheme=scheme) as visit:
        page = visit(sample_site / "index.html")
        seen = set()
        for _ in range(25):
            page.keyboard.press("Tab")
            focused = page.locator(":focus-visible")
            if not focused.count():  # Past the last control the browser's own come.
                break
            ring, behind, style = focused.evaluate(_OUTLINE)
            where = focused.evaluate(
                "e => e.closest('header') ? 'header' : e.className || e.tagName"
            )
            if "skip" in where:
                behind = page.locator(".top").evaluate("e => getComputedStyle(e).backgroundColor")
            seen.add(where)
            assert style != "none" and contrast(ring, behind) >= 3, (where, ring, behind)
        assert {"header", "skip"} < seen


def test_one_file_copy_names_the_page_shown(browser, sample_site):
    """Title and focus follow, as after loading a file; Back too. The first page takes no focus."""
    with opened(browser, 390) as visit:
        page = visit(sample_site / ONE_FILE)
        assert page.title() == "Plan · Three valleys"
        assert page.evaluate("document.activeElement.tagName") == "BODY"
        page.locator("button.menu").click()
        page.locator("nav a", has_text="Kits").click()
        page.wait_for_selector("#page-kits.shown")
        assert page.title() == "Kits · Three valleys"
        assert page.evaluate("document.activeElement.id") == "page-kits"
        page.keyboard.press("Tab")
        assert page.evaluate("!!document.activeElement.closest('#page-kits')")
        page.go_back()
        page.wait_for_selector("#page-plan.shown")
        assert page.title() == "Plan · Three valleys"
