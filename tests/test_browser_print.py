"""Both demos on paper: few sheets, with patterns that a grey printer keeps."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from browsing import BROWSER_MARKS, opened
from PIL import Image

from sheltermap.website.pages import ONE_FILE

pytestmark = BROWSER_MARKS


@pytest.fixture(scope="module", params=["silk-seeds", "river-survey"])
def folder(request, demo_of) -> Path:
    """Return the site of a bundled journey."""
    return demo_of(request.param)[0]


def sheets(page) -> int:
    """Return how many A4 sheets a page takes: a PDF has one object of this type for each."""
    return page.pdf(format="A4").count(b"/Type /Page\n")


def test_few_sheets(browser, folder):
    """The Plan on two sheets of A4, the one-file copy as a booklet of at most twenty."""
    with opened(browser, 1280) as visit:
        assert sheets(visit(folder / "index.html")) <= 2
        assert sheets(visit(folder / ONE_FILE)) <= 20


def test_patterns_survive_on_grey_paper(browser, folder):
    """Workable is plain and hard is lined: their greys are near, their marks are not."""
    with opened(browser, 1280) as visit:
        page = visit(folder / "index.html")
        page.emulate_media(media="print")
        spreads = []
        for grade in (1, 2, 3):
            chip = page.locator(f'.legend .chip:has(use[href="#c-g{grade}"])').first
            picture = Image.open(BytesIO(chip.screenshot())).convert("L")
            spreads.append(np.asarray(picture, float)[3:-3, 3:-3].std())
        assert spreads[0] < 3 and min(spreads[1:]) > 12, spreads
