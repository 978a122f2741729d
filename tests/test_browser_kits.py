"""The trade-off of kits on a phone: it scrolls inside itself, and names stay in view."""

from __future__ import annotations

from browsing import BROWSER_MARKS, opened

pytestmark = BROWSER_MARKS

_LEFT = "e => e.getBoundingClientRect().left"


def test_names_stay_while_columns_pass(browser, sample_site):
    """By touch and by keys: the table moves, the first column and the page do not."""
    with opened(browser, 390) as visit:
        page = visit(sample_site / "kits.html")
        frame, rows = page.locator(".scroll"), page.locator(".trade tbody tr")
        name, last = rows.first.locator("th"), rows.first.locator("td").last
        assert last.evaluate(_LEFT) > 390
        before = name.evaluate(_LEFT)
        frame.focus()
        for _ in range(4):
            page.keyboard.press("ArrowRight")
        page.wait_for_timeout(500)  # Chromium glides.
        assert frame.evaluate("e => e.scrollLeft") > 40
        frame.evaluate("e => { e.scrollLeft = e.scrollWidth; }")
        assert last.evaluate("e => e.getBoundingClientRect().right") <= 390
        assert abs(name.evaluate(_LEFT) - before) < 1
        assert page.evaluate("[window.scrollX, document.documentElement.scrollWidth]") == [0, 390]


def test_everything_is_seen_at_once_on_a_screen(browser, sample_site):
    """At 1280 px no column is hidden."""
    with opened(browser, 1280) as visit:
        page = visit(sample_site / "kits.html")
        widths = page.locator(".scroll").evaluate("e => [e.scrollWidth, e.clientWidth]")
        assert widths[0] <= widths[1]
