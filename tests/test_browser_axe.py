"""Axe on every kind of page in every scheme, and the contrast that it does not look at."""

from __future__ import annotations

import pytest
from browsing import BROWSER_MARKS, opened, unfold, violations

from sheltermap.website.pages import ONE_FILE

pytestmark = BROWSER_MARKS

# One of each template, and a second leg, which is a place and not a region.
PAGES = (
    "index.html",
    "calendar.html",
    "maps.html",
    "region-high-valley.html",
    "region-steppe.html",
    "kits.html",
    "kit-roof-tent.html",
    "load.html",
    "log.html",
    "methods.html",
    "files.html",
    ONE_FILE,
)
COLOURED = ("index", "calendar", "maps", "region-high-valley", "kits", "load")
SCHEMES = ("light", "dark", "night")


@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(browser, sample_site, name):
    """No violation, folded parts open; the one-file copy's colours are those of the others."""
    with opened(browser, 390) as visit:
        page = visit(sample_site / name)
        unfold(page)
        assert violations(page, contrast=name != ONE_FILE) == []


@pytest.mark.parametrize("scheme", ["dark", "night"])
def test_other_schemes_have_contrast(browser, sample_site, scheme):
    """On the pages that have every colour; nothing else differs from scheme to scheme."""
    with opened(browser, 390, scheme) as visit:
        for name in COLOURED:
            page = visit(sample_site / f"{name}.html")
            unfold(page)
            assert violations(page, scheme) == [], name


def test_planted_faults_are_found(browser, sample_site):
    """Pale text in the last cell of a table, and a button without a name."""
    with opened(browser, 390) as visit:
        page = visit(sample_site / "load.html")
        unfold(page)
        page.evaluate(
            """() => { [...document.querySelectorAll('main td')].findLast(cell =>
              cell.checkVisibility() && cell.textContent.trim()).style.color = '#ddd';
            document.querySelector('main').append(document.createElement('button')); }"""
        )
        assert [rule for rule, _ in violations(page)] == ["button-name", "color-contrast"]


_CONTRAST = """() => {
  const light = (c) => { const [r, g, b] = c.map(v => { v /= 255;
      return v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4; });
    return .2126 * r + .7152 * g + .0722 * b; };
  const parse = (s) => s.match(/[\\d.]+/g).map(Number);
  const paper = parse(getComputedStyle(document.body).backgroundColor).slice(0, 3);
  const out = [];
  document.querySelectorAll('svg text').forEach(t => {
    if (!t.textContent.trim() || t.closest('.leaflet-container')) return;
    if (t.matches('.stop-number, .town-name')) return;
    const ink = parse(getComputedStyle(t).fill).slice(0, 3);
    const a = light(ink), b = light(paper);
    out.push([(Math.max(a, b) + .05) / (Math.min(a, b) + .05), t.textContent.slice(0, 20)]);
  });
  return out; }"""


@pytest.mark.parametrize("scheme", SCHEMES)
def test_chart_text_has_contrast(browser, sample_site, scheme):
    """Axe does not look into drawings: their labels keep 4.5 to 1 against the page too."""
    with opened(browser, 390, scheme) as visit:
        for name in ("index.html", "calendar.html", "region-lowland.html", "kits.html"):
            page = visit(sample_site / name)
            unfold(page)
            found = page.evaluate(_CONTRAST)
            assert found
            assert not [one for one in found if one[0] < 4.5], name
