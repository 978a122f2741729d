"""The map in a browser: the country shows, each scheme colours it, hazards are on a switch."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from browsing import BROWSER_MARKS, browser_fixture, opened
from PIL import Image
from sample_report import BASE_MAP, sample_report

from sheltermap.website.pages import site
from sheltermap.website.write import write_site

pytestmark = BROWSER_MARKS
_browser = browser_fixture()

SCHEMES = ("light", "dark", "night")

_AT = """(spots) => {
  const map = window[Object.keys(window).find(k => /^map_/.test(k))];
  return spots.map(([lat, lng]) => { const at = map.latLngToContainerPoint([lat, lng]);
    return [Math.round(at.x), Math.round(at.y)]; }); }"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """Write the sample's site."""
    files = site(sample_report(), base_map=BASE_MAP)
    return write_site(files, tmp_path_factory.mktemp("maps") / "build")


def shown(page) -> np.ndarray:
    """Return the map of a page as pixels, once it stands still."""
    page.wait_for_timeout(600)  # Leaflet glides to the box it shows first.
    picture = page.locator(".leaflet-container").screenshot()
    return np.asarray(Image.open(BytesIO(picture)).convert("RGB"), float)


def luminance(pixels: np.ndarray) -> np.ndarray:
    """Return relative luminance, WCAG 2.2 "relative luminance"."""
    part = pixels / 255
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    return linear @ (0.2126, 0.7152, 0.0722)


def around(pixels: np.ndarray, at: tuple[int, int], reach: int = 6) -> np.ndarray:
    """Return the pixels around a point of the map."""
    x, y = at
    return pixels[y - reach : y + reach, x - reach : x + reach].reshape(-1, 3)


def month(page, number: int) -> None:
    """Move the month."""
    page.locator("#map-month").evaluate(
        "(e, v) => { e.value = v; e.dispatchEvent(new Event('input')); }", number
    )
