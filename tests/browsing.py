"""A browser without network for the tests that open the site.

In: a folder of pages. Out: tabs that fail a test on any outside request, error or warning.
"""

from __future__ import annotations

import os
import shutil
from contextlib import contextmanager
from pathlib import Path

import pytest

# Without a window to draw, tabs open four times and pages twice as fast.
_PROGRAMS = ("chromium-headless-shell", "chromium", "chromium-browser")
CHROMIUM = next(filter(None, map(shutil.which, _PROGRAMS)), None)
_REQUIRED = os.environ.get("SHELTERMAP_BROWSER") == "required"

BROWSER_MARKS = [
    pytest.mark.browser,
    pytest.mark.skipif(
        CHROMIUM is None and not _REQUIRED,
        reason="no Chromium here; SHELTERMAP_BROWSER=required makes this an error",
    ),
]

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-quic",
]


def in_browser(test):
    """Return a test marked with all of them, where not a whole file needs the browser."""
    for mark in BROWSER_MARKS:
        test = mark(test)
    return test


def browser_fixture():
    """Return a fixture ``browser`` that starts Chromium once for a module."""

    @pytest.fixture(scope="module", name="browser")
    def started():
        from playwright.sync_api import sync_playwright

        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=CHROMIUM or "chromium", args=ARGUMENTS
            )
            yield browser
            browser.close()

    return started


@contextmanager
def large_text(browser):
    """Start a second browser whose user has set text to twice its size."""
    large = browser.browser_type.launch(
        executable_path=CHROMIUM or "chromium",
        args=[*ARGUMENTS, "--blink-settings=defaultFontSize=32"],
    )
    yield large
    large.close()


@contextmanager
def opened(browser, width=1280, scheme="light", units="metric", **settings):
    """
    Open a tab without network that fails on any outside request or error.

    Yields a function from a path to the loaded page. Scheme and units are chosen before
    each page; with `scheme` None only the page itself chooses and remembers.
    """
    context = browser.new_context(
        offline=True, viewport={"width": width, "height": 900}, **settings
    )
    if scheme is not None:
        context.add_init_script(
            "try { if (!localStorage.getItem('sheltermap-scheme')) {"
            f"localStorage.setItem('sheltermap-scheme', '{scheme}');"
            f"localStorage.setItem('sheltermap-units', '{units}'); }} }} catch (e) {{}}"
        )
    page = context.new_page()
    outside, errors = [], []
    page.on(
        "request",
        lambda r: None if r.url.startswith(("file:", "data:", "blob:")) else outside.append(r.url),
    )
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on(
        "console",
        lambda m: errors.append(m.text) if m.type in ("error", "warning") else None,
    )

    def visit(path: Path, fragment=""):
        page.goto(path.resolve().as_uri() + fragment)
        return page

    yield visit
    context.close()
    assert not outside, outside
    assert not errors, errors


def unfold(page):
    """Open every folded part."""
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
