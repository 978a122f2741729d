"""Make README's pictures: phone, season chart, map and kits of the demo, and the world's atlas.

Run by hand, as ``make pictures``, when pages have changed on purpose. In: the demo trip, the world
in one kit. Out: small palette PNG files in ``regions/pictures``. Assumes Chromium, as the browser
tests do; its fonts are the machine's, so bytes differ from machine to machine.
"""

from __future__ import annotations

import sys
import tempfile
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

sys.path.insert(0, str(Path(__file__).parent))
from browsing import ARGUMENTS, CHROMIUM

from sheltermap import pipeline
from sheltermap.atlas.asked import asked
from sheltermap.atlas.build import build

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "regions" / "pictures"
COLOURS = 48
PICTURES = (
    ("phone", "demo/index.html", (390, 780), None),
    ("chart", "demo/index.html", (1000, 900), ".season-body"),
    ("map", "demo/maps.html", (900, 900), ".map-frame"),
    ("kits", "demo/kits.html", (1120, 900), ".scroll"),
    ("atlas", "atlas/index.html#month=7", (840, 900), ".map-frame"),
)
"""Name, page, window and the part of the page that is shown; None is the window. [px]"""


def main() -> None:
    """Build the demo and an atlas, and write their pictures."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        sites = Path(folder)
        pipeline.build(ROOT / "regions" / "silk-seeds" / "trip.toml", sites / "demo")
        build(asked(kit_ids=["ground-tent"]), sites / "atlas")
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM or "chromium", args=ARGUMENTS
        )
        FOLDER.mkdir(exist_ok=True)
        for name, page, size, part in PICTURES:
            seen = taken(browser, f"{sites.as_uri()}/{page}", size, part)
            file = FOLDER / f"{name}.png"
            light(seen).save(file, optimize=True)
            print(f"{file.relative_to(ROOT)}: {file.stat().st_size / 1000:.0f} kB")
        browser.close()


def taken(browser, page: str, size: tuple[int, int], part: str | None) -> bytes:
    """Return a picture of a page or of a part of it, without a network."""
    window = {"width": size[0], "height": size[1]}
    context = browser.new_context(offline=True, viewport=window, color_scheme="light")
    tab = context.new_page()
    tab.goto(page)
    tab.wait_for_timeout(1500)  # Leaflet glides to the box it shows first.
    seen = tab.screenshot() if part is None else tab.locator(part).first.screenshot()
    context.close()
    return seen


def light(picture: bytes) -> Image.Image:
    """Return a picture in a palette: pages have few colours."""
    return Image.open(BytesIO(picture)).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)


if __name__ == "__main__":
    main()
