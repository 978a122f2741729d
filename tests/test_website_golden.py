"""The whole site of the sample against what it said when somebody last looked at it.

To accept a deliberate change, look at the site, then run

    SHELTERMAP_ACCEPT=1 python -m pytest tests/test_website_golden.py

and commit the difference of ``tests/golden/site.txt`` with the change.
"""

from __future__ import annotations

import difflib
import os
import re
from pathlib import Path

import html5lib
import pytest
from sample_report import BASE_MAP, sample_report

from sheltermap.website.pages import ONE_FILE, site

GOLDEN = Path(__file__).parent / "golden" / "site.txt"
_BLOCKS = frozenset(
    {"p", "h1", "h2", "h3", "li", "tr", "dt", "dd", "div", "section", "article", "label"}
    | {"figcaption", "caption", "summary", "option"}
)


def lines_of(page: str) -> list[str]:
    """Return what a reader meets on a page, a line for each block, links with their target."""
    pieces: list[str] = []

    def walk(element):
        if element.tag in ("script", "style", "defs"):
            return
        if element.tag in _BLOCKS:
            pieces.append("\n")
        if element.tag == "a" and element.get("href"):
            pieces.append(f"[{element.get('href')}] ")
        if element.tag == "path" and "stair" in (element.get("class") or ""):
            pieces.append(f"\nstair {element.get('d')}\n")
        pieces.append(element.text or "")
        for child in element:
            walk(child)
            pieces.append(child.tail or "")
        pieces.append("\n" if element.tag in _BLOCKS else " ")

    walk(html5lib.parse(page, namespaceHTMLElements=False))
    text = "".join(pieces).replace("\u202f", " ").replace("\u00a0", " ")
    text = re.sub(r"\b\d+ kB", "… kB", text)  # sizes follow every change of the style sheet
    lines = (re.sub(r"[ \t\n]+", " ", line).strip() for line in text.split("\n"))
    return [line for line in lines if line]


def whole_site() -> str:
    """Return the site as text: every path, then every page but the one that repeats them."""
    files = site(sample_report(), base_map=BASE_MAP)
    parts = ["== files", *sorted(files)]
    for name in sorted(files):
        if name.endswith(".html") and name != ONE_FILE:
            parts += ["", f"== {name}", *lines_of(files[name].decode())]
    return "\n".join(parts) + "\n"


def test_the_site_says_what_it_said():
    """No page changes its words, figures, links or the journey's line unnoticed."""
    now = whole_site()
    if os.environ.get("SHELTERMAP_ACCEPT"):
        GOLDEN.parent.mkdir(exist_ok=True)
        GOLDEN.write_text(now, encoding="utf-8")
        pytest.skip("accepted; commit tests/golden/site.txt")
    before = GOLDEN.read_text(encoding="utf-8")
    change = list(difflib.unified_diff(before.splitlines(), now.splitlines(), lineterm="", n=1))
    assert not change, "\n".join([*change[:60], "see this file's first lines to accept"])
