"""A browser without network for the tests that open the site.

In: a folder of pages. Out: tabs that fail a test on any outside request, error or warning.
"""

from __future__ import annotations

import fcntl
import os
import pickle
import shutil
from collections.abc import Iterable
from contextlib import contextmanager
from functools import cache
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
"""Of the sample's site, the one-file copy apart."""

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


@pytest.fixture(scope="session")
def browser():
    """Start Chromium once for each process that runs tests."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=CHROMIUM or "chromium", args=ARGUMENTS
        )
        yield started
        started.close()


@pytest.fixture(scope="session")
def ask(browser, tmp_path_factory):
    """Return a function that calls ``SM.<name>`` with arguments and returns its answer.

    A bare page has loaded the pages' scripts without starting them.
    """
    from sheltermap.website.html import MAP_SCRIPTS, SCRIPTS

    names = ("first.js", *(name for name in SCRIPTS if name != "display.js"), *MAP_SCRIPTS)
    page_file = bare_page(tmp_path_factory.mktemp("bare") / "bare.html", names)
    # A clock 13 hours ahead of UTC shifts every date that is not counted in UTC.
    with opened(browser, scheme=None, timezone_id="Pacific/Auckland") as visit:
        page = visit(page_file)
        yield lambda name, *given: page.evaluate(f"given => SM.{name}(...given)", list(given))


def bare_page(file: Path, scripts: Iterable[str], body: str = "") -> Path:
    """Write a page of little but scripts of the site and return its path."""
    assets = Path(__file__).parents[1] / "site_template" / "assets"
    sources = "".join(f'<script src="{(assets / name).as_uri()}"></script>' for name in scripts)
    head = '<!doctype html><meta charset="utf-8"><title>bare</title>'
    file.write_text(f"{head}<body>{body}{sources}", encoding="utf-8")
    return file


@pytest.fixture(scope="session")
def sample_site(tmp_path_factory) -> Path:
    """Write the sample's site once for each process; no test may change it."""
    from sample_report import BASE_MAP, sample_report

    from sheltermap.website.pages import site
    from sheltermap.website.write import write_site

    files = site(sample_report(), base_map=BASE_MAP, exports={"plan.csv": b"leg,nights\n"})
    return write_site(files, tmp_path_factory.mktemp("sample") / "build")


@pytest.fixture(scope="session")
def demo_of(tmp_path_factory):
    """Return a function from a bundled journey to folder and Report, which no test may change.

    Built once for all processes of a run, which share the folder above their own.
    """
    from sheltermap.pipeline import build
    from sheltermap.resources import bundled

    shared = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent

    @cache
    def demo(name):
        folder, kept = shared / f"demo-{name}", shared / f"demo-{name}.pickle"
        with (shared / f"demo-{name}.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if kept.exists():
                return folder, pickle.loads(kept.read_bytes())
            report = build(bundled("regions") / name, folder)
            kept.write_bytes(pickle.dumps(report))
        return folder, report

    return demo


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


# Marks elements that look like an earlier one all the way up to the page, and drawings, of
# whose text axe says nothing. What holds a text that looks like none before stays unmarked.
_MARK_TWINS = """() => {
  const seen = new Set();
  const look = e => { const s = getComputedStyle(e);
    return [e.tagName, e.getAttribute('class'), s.color, s.backgroundColor, s.backgroundImage,
      s.opacity, s.fontSize, s.fontWeight].join(); };
  const speaks = e => e.matches('input, select, textarea')
    || [...e.childNodes].some(node => node.nodeType === Node.TEXT_NODE && node.data.trim());
  const isNew = (e, above) => {
    const own = above + '>' + look(e), drawing = e.matches('svg');
    let found = !drawing && speaks(e) && e.checkVisibility() && !seen.has(own);
    if (found) seen.add(own);
    for (const child of drawing ? [] : e.children) found = isNew(child, own) || found;
    e.toggleAttribute('data-twin', !found);
    return found; };
  isNew(document.body, ''); }"""


def violations(page, scheme="light", within=None, contrast=True):
    """
    Return what axe finds, as rules with the elements that break them.

    Contrast takes most of its time, a few milliseconds for each text, so that it looks at one
    text of each look. Structure is the same in every scheme and is checked in the light one.

    Parameters
    ----------
    scheme : str
        The page's.
    within : str, optional
        A selector; else the whole page.
    contrast : bool
        False where another page shows the same colours.
    """
    from axe_playwright_python.sync_playwright import Axe

    context = {"include": [[within or "html"]]}
    # Naming every element that passes would take longer than finding those that do not.
    options = {"preload": False, "resultTypes": ["violations"]}
    found = []
    if scheme == "light":
        others = {**options, "rules": {"color-contrast": {"enabled": False}}}
        found += Axe().run(page, context, others).response["violations"]
    if contrast:
        page.evaluate(_MARK_TWINS)
        context["exclude"] = [["[data-twin]"]]
        colours = {**options, "runOnly": ["color-contrast"]}
        found += Axe().run(page, context, colours).response["violations"]
    return [(one["id"], [node["html"][:160] for node in one["nodes"][:3]]) for one in found]
