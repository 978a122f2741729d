"""What every page does with units, screen and paper, and how the one-file copy turns its pages."""

from __future__ import annotations

import pytest
from browsing import BROWSER_MARKS, opened

from sheltermap.website.pages import ONE_FILE

pytestmark = BROWSER_MARKS

# A click as a person makes it; tells whether the page took it from the browser, which is then
# kept from following the link itself.
_CLICK = """([selector, keys]) => {
  let taken = null;
  window.addEventListener('click', event => { taken = event.defaultPrevented;
    event.preventDefault(); }, { once: true });
  document.querySelector(selector).dispatchEvent(
    new MouseEvent('click', { bubbles: true, cancelable: true, ...keys }));
  return [taken, document.querySelector('.page.shown').id]; }"""

KITS = 'nav a[href="#page-kits"]'


@pytest.fixture
def copy(browser, sample_site):
    """Return the one-file copy in a tab."""
    with opened(browser, 390) as visit:
        yield visit(sample_site / ONE_FILE)


@pytest.mark.parametrize("key", ["ctrlKey", "metaKey", "shiftKey"])
def test_a_link_clicked_for_a_tab_or_window_of_its_own_is_the_browsers(copy, key):
    """The page stays; the same click without a key turns it."""
    assert copy.evaluate(_CLICK, [KITS, {key: True}]) == [False, "page-plan"]
    assert copy.evaluate(_CLICK, [KITS, {}]) == [True, "page-kits"]


def test_what_is_no_link_to_a_page_is_left_alone(copy):
    """A click beside links, and on one to a place that is on no page."""
    assert copy.evaluate(_CLICK, ["h1", {}]) == [False, "page-plan"]
    copy.evaluate("""() => { const link = document.createElement('a');
      link.href = '#nowhere'; link.id = 'lost'; document.body.append(link); }""")
    assert copy.evaluate(_CLICK, ["#lost", {}]) == [False, "page-plan"]


def test_a_turned_page_is_marked_and_begins_at_its_top(copy):
    """Its link in the menu is the current one, alone; the menu is shut; Back has the other."""
    current = "all => all.map(one => one.dataset.page)"
    marked = "nav a[aria-current=page]"
    assert copy.eval_on_selector_all(marked, current) == ["plan"]
    copy.evaluate("window.scrollTo(0, 700)")
    copy.locator("button.menu").click()
    assert copy.evaluate("document.getElementById('menu').matches(':popover-open')")
    copy.locator(KITS).click()
    assert copy.eval_on_selector_all(marked, current) == ["kits"]
    assert not copy.evaluate("document.getElementById('menu').matches(':popover-open')")
    assert copy.evaluate("[window.scrollY, location.hash]") == [0, "#page-kits"]


def test_a_link_into_a_page_turns_it_and_goes_to_the_place(copy):
    """A place inside a page is scrolled to, and a place that takes the focus has it."""
    copy.evaluate("""() => { const heads = document.querySelectorAll('#page-methods h2');
      const place = heads[heads.length - 1]; place.id = 'a-place'; place.tabIndex = -1;
      const link = document.createElement('a'); link.href = '#a-place'; link.id = 'way';
      link.textContent = 'way'; document.querySelector('#page-plan').prepend(link); }""")
    assert copy.evaluate(_CLICK, ["#way", {}]) == [True, "page-methods"]
    assert copy.evaluate("window.scrollY") > 100
    assert copy.evaluate("document.getElementById('a-place').getBoundingClientRect().top") >= 0
    assert copy.evaluate("document.activeElement.id") == "page-methods"
    copy.evaluate("document.getElementById('a-place').tabIndex = 0")
    copy.evaluate(_CLICK, [KITS, {}])
    copy.evaluate(_CLICK, ["#way", {}])
    assert copy.evaluate("document.activeElement.id") == "a-place"


def test_paper_unfolds_legs_and_screens_fold_them_again(browser, sample_site):
    """What the reader had opened stays open; what printing opened shuts."""
    folds = "main .legs details"
    with opened(browser, 390) as visit:
        page = visit(sample_site / "index.html")
        assert page.locator(folds).count() >= 2
        page.evaluate(f"document.querySelector('{folds}').open = true")
        before = page.eval_on_selector_all(folds, "all => all.map(one => one.open)")
        assert True in before and False in before
        page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
        assert set(page.eval_on_selector_all(folds, "all => all.map(one => one.open)")) == {True}
        page.evaluate("window.dispatchEvent(new Event('afterprint'))")
        assert page.eval_on_selector_all(folds, "all => all.map(one => one.open)") == before


@pytest.mark.parametrize(
    ("kept", "units"), [(None, "metric"), ("imperial", "imperial"), ('"><b>', "metric")]
)
def test_only_a_choice_that_was_kept_is_taken(browser, sample_site, kept, units):
    """Nothing kept, or no word, leaves the page's own units."""
    with opened(browser, 390, scheme=None) as visit:
        page = visit(sample_site / "index.html")
        page.evaluate("kept => kept && localStorage.setItem('sheltermap-units', kept)", kept)
        page.reload()
        assert page.evaluate("document.documentElement.dataset.units") == units
        assert page.locator("#units").input_value() == units
