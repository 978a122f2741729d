"""The map in a browser: the country shows, each scheme colours it, hazards are on a switch."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
from browsing import BROWSER_MARKS, opened
from PIL import Image

pytestmark = BROWSER_MARKS

SCHEMES = ("light", "dark", "night")

_AT = """(spots) => {
  const map = window[Object.keys(window).find(k => /^map_/.test(k))];
  return spots.map(([lat, lng]) => { const at = map.latLngToContainerPoint([lat, lng]);
    return [Math.round(at.x), Math.round(at.y)]; }); }"""


def shown(page) -> np.ndarray:
    """Return the map of a page as pixels, once its pictures are there."""
    page.locator(".leaflet-image-layer").evaluate("image => image.decode()")
    picture = page.locator(".leaflet-container").screenshot()
    return np.asarray(Image.open(BytesIO(picture)).convert("RGB"), float)


def luminance(pixels: np.ndarray) -> np.ndarray:
    """Return relative luminance, WCAG 2.2 "relative luminance"."""
    part = pixels / 255
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    return linear @ (0.2126, 0.7152, 0.0722)


def around(pixels: np.ndarray, at: tuple[int, int], reach: int = 28) -> np.ndarray:
    """Return the pixels around a point of the map."""
    x, y = at
    return pixels[y - reach : y + reach, x - reach : x + reach].reshape(-1, 3)


def month(page, number: int) -> None:
    """Move the month."""
    page.locator("#map-month").evaluate(
        "(e, v) => { e.value = v; e.dispatchEvent(new Event('input')); }", number
    )


# Latitude and longitude in the sample: inside its box of cells, and beyond it.
SEA, SOUND, UNASSESSED, BEYOND = (41.4, 28.4), (38.6, 37.6), (38.4, 28.8), (37.9, 34.0)
JANUARY, MAY, JULY = 1, 5, 7  # unfit everywhere; hard in the south; sound there


def colour(page, name: str) -> tuple[float, ...]:
    """Return a colour of the style sheet."""
    text = page.evaluate(
        "name => getComputedStyle(document.documentElement).getPropertyValue(name)", name
    ).strip()
    return tuple(int(text[at : at + 2], 16) for at in (1, 3, 5))


@pytest.mark.parametrize("scheme", SCHEMES)
def test_each_scheme_colours_the_map_itself(browser, sample_site, scheme):
    """Sea and untinted land have the scheme's colours; in the dark none of them is bright."""
    with opened(browser, 1280, scheme) as visit:
        page = visit(sample_site / "maps.html")
        month(page, JULY)
        pixels = shown(page)
        sea, sound, unassessed, beyond = (
            around(pixels, at) for at in page.evaluate(_AT, [SEA, SOUND, UNASSESSED, BEYOND])
        )
        assert np.median(sea, axis=0) == pytest.approx(colour(page, "--sea"), abs=1)
        assert np.median(sound, axis=0) == pytest.approx(colour(page, "--land"), abs=1)
        # What nobody assessed is marked, here and beyond the cells, and never the brightest.
        assert np.ptp(luminance(unassessed)) > 0.005 and np.ptp(luminance(beyond)) > 0.005
        month(page, MAY)
        hard = around(shown(page), page.evaluate(_AT, [SOUND])[0])
        if scheme == "light":
            assert luminance(unassessed).mean() < luminance(sound).mean()
        else:
            assert luminance(np.concatenate([sea, sound])).max() < 0.06
            assert luminance(unassessed).mean() < luminance(hard).mean()
            assert luminance(beyond).mean() < luminance(hard).mean()
        if scheme == "night":
            red, green, blue = pixels.reshape(-1, 3).T
            assert (np.maximum(green, blue) <= 0.62 * np.maximum(red, 1) + 2).all()


@pytest.mark.parametrize("scheme", SCHEMES)
def test_names_on_the_map_are_legible(browser, sample_site, scheme):
    """Places 4.5 to 1 on their own ground, towns on the land; 10 px at least."""
    with opened(browser, 390, scheme) as visit:
        page = visit(sample_site / "maps.html")
        style = "e => [getComputedStyle(e).color, getComputedStyle(e).fontSize]"
        for name, ground in ((".place-name", "--card"), (".town-name", "--land")):
            label = page.locator(name).first
            ink, size = label.evaluate(style)
            ink = [float(part) for part in ink.strip("rgb()").split(",")]
            pair = sorted(luminance(np.array([ink, colour(page, ground)], float)))
            assert (pair[1] + 0.05) / (pair[0] + 0.05) >= 4.5, name
            assert float(size.removesuffix("px")) >= 10


def test_cells_end_at_the_coast_and_under_the_rivers(browser, sample_site):
    """A month unfit everywhere is dark on land, not at sea, and a river still shows."""
    with opened(browser, 1280) as visit:
        page = visit(sample_site / "maps.html")
        month(page, JANUARY)
        pixels = shown(page)
        inland, sea, river = page.evaluate(_AT, [[38.6, 37.6], SEA, [39.5, 31.5]])
        assert luminance(around(pixels, inland)).mean() < 0.1
        assert np.median(around(pixels, sea), axis=0) == pytest.approx(
            colour(page, "--sea"), abs=1
        )
        drawn = np.abs(around(pixels, river, 3) - colour(page, "--water")).max(axis=1)
        assert drawn.min() < 60, "a pixel of the river's colour over the dark cells"


def test_places_tell_the_month_of_their_nights(browser, sample_site):
    """Each label has number, name and the months the plan sleeps there.

    The sample's stays: 6 to 26 May, 28 May to 12 June, 14 June to 9 July.
    """
    with opened(browser, 1280) as visit:
        page = visit(sample_site / "maps.html")
        texts = page.locator(".place-name").all_inner_texts()
        assert texts == ["1 Lowland · May", "2 High valley · May–Jun", "3 Steppe · Jun–Jul"]
        assert page.locator("#map-regions .fine").first.inner_text() == "May"


def test_hazards_are_outlines_on_a_switch(browser, sample_site):
    """The switch adds lines and their legend to whatever is shown, fills nothing, and goes."""
    with opened(browser, 390) as visit:
        page = visit(sample_site / "maps.html")
        regions = page.locator(".map-region.leaflet-interactive, path.map-region[data-level]")
        legend = page.locator("[data-legend=hazard]")
        style = "all => all.map(e => [getComputedStyle(e).fill, e.dataset.level])"
        on_map = page.locator(".leaflet-container path.map-region")
        assert regions.count() >= 3 and on_map.count() == 3
        assert on_map.evaluate_all(style) == [["none", "0"]] * 3
        assert not legend.is_visible()
        source = page.locator(".leaflet-image-layer").get_attribute("src")
        page.check("#map-hazards")
        levels = [level for _, level in on_map.evaluate_all(style)]
        assert max(levels) >= "3"
        assert {fill for fill, _ in on_map.evaluate_all(style)} == {"none"}
        assert legend.is_visible()
        assert page.locator(".leaflet-image-layer").get_attribute("src") == source
        page.uncheck("#map-hazards")
        assert on_map.evaluate_all(style) == [["none", "0"]] * 3


@pytest.mark.parametrize(("width", "height"), [(390, 844), (1280, 800), (1920, 1080)])
def test_no_map_is_taller_than_the_window(browser, sample_site, width, height):
    """Neither the one on the Plan nor the one of months."""
    with opened(browser, width) as visit:
        for name, map_element in (("index.html", ".drawn svg"), ("maps.html", ".map-frame")):
            page = visit(sample_site / name)
            page.set_viewport_size({"width": width, "height": height})
            assert 100 < page.locator(map_element).bounding_box()["height"] <= height, name


def test_values_are_loaded_once_and_when_asked_for(browser, sample_site):
    """No file before somebody points at the map, then one, however often the pointer moves."""
    loaded = "[...document.querySelectorAll('script[src^=overlays]')].map(one => one.src)"
    with opened(browser, 1280) as visit:
        page = visit(sample_site / "maps.html")
        month(page, JULY)
        assert page.evaluate(loaded) == []
        page.evaluate(
            """() => { const map = window[Object.keys(window).find(k => /^map_/.test(k))];
              for (const lng of [33, 34, 35]) map.fire('mousemove', { latlng: { lat: 40, lng } });
            }"""
        )
        page.wait_for_selector("#map-value[data-value]:not([data-value=''])")
        (source,) = page.evaluate(loaded)
        assert source.endswith("overlays/roof-tent/sound_share.js")
        assert page.locator("#map-value").get_attribute("data-place") == "40.00000 35.00000"
        assert "July" in page.locator("#map-value").inner_text()


def test_what_lies_on_the_map_takes_no_pointer(browser, sample_site):
    """The map under it is pointed at; places are 10 px across, towns 4."""
    with opened(browser, 1280) as visit:
        page = visit(sample_site / "maps.html")
        kinds = ".map-land, .map-sea, .map-beyond, .map-lake, .map-river, path.stop, path.town"
        assert page.locator(kinds).count() >= 7
        assert page.locator(f":is({kinds}).leaflet-interactive").count() == 0
        across = "all => [...new Set(all.map(one => Math.round(one.getBBox().width)))]"
        assert page.eval_on_selector_all("path.stop", across) == [10]
        assert page.eval_on_selector_all("path.town", across) == [4]
