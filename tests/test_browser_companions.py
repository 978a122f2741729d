"""The one-file copy as companions open it: in a file viewer, without storage or any right."""

from __future__ import annotations

import pytest
from browsing import BROWSER_MARKS, opened
from sample_report import BASE_MAP, sample_report

from sheltermap.website.pages import one_file

pytestmark = BROWSER_MARKS


@pytest.fixture(scope="module")
def viewer(tmp_path_factory):
    """Return a page that shows the copy in a frame, as a viewer does, by what it allows."""
    folder = tmp_path_factory.mktemp("sent")
    (folder / "copy.html").write_bytes(one_file(sample_report(), base_map=BASE_MAP))

    def page(allowed):
        path = folder / f"viewer{len(allowed)}.html"
        frame = f'<iframe sandbox="{allowed}" src="copy.html" width="390" height="800"></iframe>'
        path.write_text(f"<!doctype html><title>viewer</title>{frame}", encoding="utf-8")
        return path

    return page


def test_copy_works_where_storage_throws(browser, viewer):
    """Pages turn, units and screen change; `opened` fails on any error in the console."""
    with opened(browser, 420, scheme=None) as visit:
        frame = visit(viewer("allow-scripts")).frames[1]
        frame.wait_for_selector("#page-plan.shown")
        told = frame.evaluate(
            "() => { try { return String(localStorage.length); } catch (e) { return e.name; } }"
        )
        assert told == "SecurityError"  # Else this would prove nothing.
        assert frame.locator("#page-plan").is_visible()
        assert not frame.locator("#page-load").is_visible()
        frame.locator("button.menu").click()
        frame.locator("nav a", has_text="Load").click()
        frame.wait_for_selector("#page-load.shown")
        assert not frame.locator("#page-plan").is_visible()
        frame.evaluate(
            "() => { for (const [id, value] of [['units', 'imperial'], ['scheme', 'dark']]) {"
            "const one = document.getElementById(id); one.value = value;"
            "one.dispatchEvent(new Event('change')); } }"
        )
        root = frame.locator("html")
        assert root.get_attribute("data-units") == "imperial"
        assert root.get_attribute("data-shown") == "dark"


def test_copy_can_be_read_where_scripts_are_forbidden(browser, viewer):
    """Every page stands below the one before, the answer on top."""
    context = browser.new_context(offline=True, java_script_enabled=False)
    page = context.new_page()
    page.goto(viewer("").as_uri())
    frame = page.frames[1]
    assert frame.locator("#page-plan .headline").is_visible()
    assert frame.locator("#page-load").is_visible()
    assert not frame.locator("select").first.is_visible()
    context.close()


def test_companion_reads_whose_plan_it_is(browser, viewer):
    """When it was made and for how many people, beside the chart."""
    with opened(browser, 390, scheme=None) as visit:
        frame = visit(viewer("allow-scripts")).frames[1]
        said = frame.get_by_text("You are reading a plan").inner_text()
        people = sample_report().trip.party.people
        assert f"for {people} " in said and sample_report().trip.title in said
