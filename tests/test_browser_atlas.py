"""The atlas in a real browser, from the file system, networking off: every control.

The atlas is made by hand, so every expected figure stands in `handmade_atlas` or is worked out
beside its check.
"""

from __future__ import annotations

import base64
import io
import re
from pathlib import Path

import handmade_atlas as handmade
import numpy as np
import pytest
from browsing import BROWSER_MARKS, large_text, opened, unfold, violations
from PIL import Image
from playwright.sync_api import expect

from sheltermap.suitability.titles import in_sentence

pytestmark = BROWSER_MARKS

NORTH_WEST = "40.5,10.5"  # the cell with a January of its own
ROOF = in_sentence(handmade.ROOF.title)
PICTURE = "img.leaflet-image-layer"


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """Write the atlas made by hand."""
    return handmade.write(tmp_path_factory.mktemp("atlas") / "atlas")


def link(month=1, show="share", at=NORTH_WEST, kit="ground-tent") -> str:
    """Return the part of an address after the page's name."""
    return f"#kit={kit}&month={month}&show={show}" + (f"&at={at}" if at else "")


def text(page, selector) -> str:
    """Return what an element says, with plain spaces."""
    return re.sub(r"\s+", " ", page.locator(selector).text_content())


def source(page) -> str:
    """Return the picture's path in the atlas."""
    return page.locator(PICTURE).get_attribute("src")


def set_month(page, month):
    """Move the slider."""
    slider = page.locator("#atlas-month")
    slider.evaluate("(s, m) => { s.value = m; s.dispatchEvent(new Event('input')); }", month)


def cells(page, row) -> list[str]:
    """Return the twelve shares of a row of the cell's table."""
    return (
        page.locator("#cell-table tbody tr")
        .nth(row)
        .locator("td > :nth-child(2)")
        .all_inner_texts()
    )


@pytest.mark.parametrize("width", [360, 390, 1280])
def test_no_page_scrolls_sideways(browser, folder, width):
    """Nothing sticks out, with a cell chosen and all unfolded."""
    with opened(browser, width) as visit:
        for name in ("index.html", "regions.html"):
            page = visit(folder / name, link())
            page.wait_for_selector("table tbody tr")
            unfold(page)
            assert page.evaluate("document.documentElement.scrollWidth") <= width, name
            assert page.evaluate("document.querySelector('table').scrollWidth") <= width, name


def test_text_twice_as_large_fits_a_phone(browser, folder):
    """With the browser's text at 200 % nothing sticks out of a phone."""
    with large_text(browser) as large, opened(large, 360) as visit:
        for name in ("index.html", "regions.html"):
            page = visit(folder / name, link())
            page.wait_for_selector("table tbody tr")
            unfold(page)
            assert page.evaluate("document.documentElement.scrollWidth") <= 360, name


@pytest.mark.parametrize("scheme", ["light", "dark", "night"])
def test_axe_finds_nothing(browser, folder, scheme):
    """No violation on either page in any scheme; contrast is among them."""
    with opened(browser, 390, scheme) as visit:
        for name in ("index.html", "regions.html"):
            page = visit(folder / name, link())
            page.wait_for_selector("table tbody tr")
            unfold(page)
            assert violations(page, scheme) == [], name


def test_month_kit_and_layer_change_the_map_and_the_headline(browser, folder):
    """Each control leads to the picture of its name; a month's change asks for one file."""
    asked = []
    with opened(browser) as visit:
        page = visit(folder / "index.html", link(at=""))
        assert source(page) == "maps/ground-tent/share-01.png"
        assert text(page, "#atlas-headline").startswith(
            "In January the ground tent is workable or better on 50 % of the land"
        )
        page.on("request", lambda request: asked.append(request.url.rpartition("/atlas/")[2]))
        set_month(page, 7)
        assert source(page) == "maps/ground-tent/share-07.png"
        assert page.locator("#atlas-month").get_attribute("aria-valuetext") == "July"
        assert text(page, "#atlas-headline").startswith(
            "In July the ground tent is workable or better on 75 % of the land, sound on 25 %."
        )
        page.wait_for_timeout(100)
        assert asked == ["maps/ground-tent/share-07.png"]
        page.select_option("#atlas-kit", "roof-tent")
        assert source(page) == "maps/roof-tent/share-07.png"
        assert ROOF in text(page, "#atlas-headline")
        assert page.locator("[data-kit]:not([hidden])").count() == 1
        for show, path in (
            ("factor", "maps/roof-tent/factor-07.png"),
            ("danger", "maps/roof-tent/danger-07.png"),
            ("months", "maps/roof-tent/months.png"),
            ("best", "maps/roof-tent/best.png"),
            ("cheapest", "maps/cheapest-07.png"),
            ("hazard-tropical-cyclone", "maps/hazard/tropical-cyclone-07.png"),
        ):
            page.select_option("#atlas-show", show)
            assert source(page) == path
            assert page.locator("#atlas-legend li").count() > 3, show
            assert "July" in page.locator(PICTURE).get_attribute("alt")


def test_legend_has_one_row_for_each_grade(browser, folder):
    """Twenty shades stand in four rows: 5 % each, so that sound (90 to 100 %) has two."""
    with opened(browser) as visit:
        page = visit(folder / "index.html", link(at=""))
        rows = page.locator("#atlas-legend li")
        assert rows.count() == 5  # and one for no data
        assert text(page, "#atlas-legend li:first-child") == "sound 90 % to 100 %"
        shades = [rows.nth(row).locator(".shades i").count() for row in range(5)]
        assert shades == [2, 3, 5, 10, 0]


def test_cell_is_told_by_its_link(browser, folder):
    """The link names the cell; its tile's figures are told as they were written."""
    with opened(browser) as visit:
        page = visit(folder / "index.html", link())
        page.wait_for_selector("#cell-table tbody tr")
        assert text(page, "#atlas-told") == (
            "40.5° N 10.5° E, January, ground tent: unfit, about 20 % of nights sound; cold "
            "spoils most of the rest; about 15 % of nights could be dangerous."
        )
        assert cells(page, 0) == ["20", *["95"] * 11]
        assert cells(page, 1) == ["80"] * 12
        assert text(page, "#cell-title .metric") == "100 m"
        assert text(page, "#cell-command") == "sheltermap night 40.5 10.5 --elevation 100"
        january = page.locator("#cell-table tbody tr").first.locator("td").first
        assert "g3" in january.get_attribute("class")
        titles = january.locator("small abbr").evaluate_all("all => all.map(one => one.title)")
        assert titles == ["cold", "15\u202f% of nights could be dangerous"]


def test_heights_follow_the_units(browser, folder):
    """100 m are 328 ft."""
    with opened(browser, units="imperial") as visit:
        page = visit(folder / "index.html", link())
        page.wait_for_selector("#cell-table tbody tr")
        assert not page.locator("#cell-title .metric").is_visible()
        assert text(page, "#cell-title .imperial") == "328 ft"


def test_what_is_missing_is_unknown_and_never_nothing(browser, folder):
    """Code 255 is no data: no share, no danger, no saved nights; the height is unknown too."""
    with opened(browser) as visit:
        page = visit(folder / "index.html", link(at="41.5,11.5", kit="roof-tent", month=5))
        page.wait_for_selector("#cell-table tbody tr")
        assert text(page, "#atlas-told").endswith(f"{ROOF}: not assessed here.")
        assert cells(page, 0) == ["75"] * 12 and cells(page, 1) == ["?"] * 12
        assert page.locator("#cell-table tbody tr").nth(1).locator("td.gx").count() == 12
        assert text(page, "#cell-command") == "sheltermap night 41.5 11.5"
        page.select_option("#atlas-kit", "ground-tent")
        page.select_option("#atlas-show", "saved")
        expect(page.locator("#atlas-told")).to_contain_text("saved")
        assert text(page, "#atlas-told").endswith("Nights saved: unknown.")


def test_sea_has_no_data(browser, folder):
    """A cell that no tile holds is told as such."""
    with opened(browser) as visit:
        page = visit(folder / "index.html", link(at="40.5,20.5"))
        expect(page.locator("#cell-none")).to_contain_text("No data here")
        assert text(page, "#atlas-told") == "40.5° N 20.5° E, January: no data."
        assert not page.locator("#cell-part").is_visible()


def test_arrow_keys_move_the_cell(browser, folder):
    """One cell north and one east of 40.5 N 10.5 E lies 41.5 N 11.5 E; Shift leaps ten."""
    with opened(browser) as visit:
        page = visit(folder / "index.html", link())
        page.wait_for_selector("#cell-table tbody tr")
        page.focus("#atlas-frame")
        for key in ("ArrowUp", "ArrowRight"):
            page.keyboard.press(key)
        expect(page.locator("#atlas-told")).to_contain_text(re.compile(r"41\.5°\sN\s11\.5°\sE"))
        assert text(page, "#atlas-told").startswith(
            "41.5° N 11.5° E, January, ground tent: workable"
        )
        page.keyboard.press("ArrowUp")  # The grid ends here.
        for key in ("Shift+ArrowRight", "Shift+ArrowRight", "ArrowRight", "ArrowRight"):
            page.keyboard.press(key)
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowDown")
        expect(page.locator("#atlas-told")).to_contain_text(re.compile(r"40\.5°\sN\s35\.5°\sE"))
        assert text(page, "#atlas-told").startswith(
            "40.5° N 35.5° E, January, ground tent: unfit, 0 % of nights sound"
        ) or "about 0 %" in text(page, "#atlas-told")
        before = page.locator(".leaflet-image-layer").bounding_box()["width"]
        page.keyboard.press("+")
        page.wait_for_timeout(50)
        assert page.locator(".leaflet-image-layer").bounding_box()["width"] > 1.5 * before


def test_tap_marks_the_cell_under_it(browser, folder):
    """The middle of the picture's first cell is 40.5 N (nearly) 10.5 E."""
    with opened(browser) as visit:
        page = visit(folder / "index.html", link(at=""))
        box = page.locator(PICTURE).bounding_box()
        page.mouse.click(box["x"] + box["width"] * 0.5 / 40, box["y"] + box["height"] * 0.75)
        page.wait_for_selector("#cell-table tbody tr")
        assert text(page, "#atlas-told").startswith("40.5° N 10.5° E")
        assert "at=40.5%2C10.5" in page.url
        assert page.locator("path.leaflet-interactive").count() == 0


def test_tiles_are_loaded_when_asked_for(browser, folder):
    """The first page loads no tile and no name of a place."""
    with opened(browser) as visit:
        page = visit(folder / "index.html", link(at=""))
        loaded = "() => [...document.scripts].map(one => one.getAttribute('src')).filter(Boolean)"
        first = page.evaluate(loaded)
        assert not [one for one in first if "tiles/" in one or "places" in one]
        page.focus("#atlas-place")
        expect(page.locator("script[src='data/places.js']")).to_have_count(1)


def test_search_finds_a_place_whatever_its_accents(browser, folder):
    """Names inside the box are found by beginnings, accents or not, and by country."""
    with opened(browser) as visit:
        page = visit(folder / "index.html", link(at=""))
        page.fill("#atlas-place", "TIRANE")  # 41.33 N 19.82 E
        page.wait_for_selector("#atlas-found button")
        assert text(page, "#atlas-found li:first-child") == "Tirana, Albania"
        page.fill("#atlas-place", "durres")
        expect(page.locator("#atlas-found")).to_contain_text("Durr")
        assert text(page, "#atlas-found li:first-child") == "Durrës, Albania"
        page.fill("#atlas-place", "tirana, italy")
        expect(page.locator("#atlas-found li")).to_have_count(0)
        assert "No place" in text(page, "#atlas-search-told")
        page.fill("#atlas-place", "naples")  # 40.85 N 14.27 E
        page.wait_for_selector("#atlas-found button")
        page.keyboard.press("ArrowDown")
        assert page.evaluate("document.activeElement.textContent") == "Naples, Italy"
        page.keyboard.press("Enter")
        expect(page.locator("#atlas-told")).to_contain_text("14.5")
        assert text(page, "#cell-title").startswith("Naples, Italy: 40.5° N 14.5° E")
        assert page.input_value("#atlas-place") == "Naples, Italy"


def test_search_takes_coordinates(browser, folder):
    """Latitude and longitude lead to their cell; what lies outside is told."""
    with opened(browser) as visit:
        page = visit(folder / "index.html", link(at=""))
        page.fill("#atlas-place", "40.9, 10.1")
        page.keyboard.press("Enter")
        page.wait_for_selector("#cell-table tbody tr")
        assert text(page, "#atlas-told").startswith("40.5° N 10.5° E")
        page.fill("#atlas-place", "10, 10")
        page.keyboard.press("Enter")
        assert text(page, "#atlas-told") == "That place lies outside this atlas."


def painted(page) -> np.ndarray:
    """Return the picture that the page painted, as RGBA."""
    expect(page.locator(PICTURE)).to_have_attribute("src", re.compile("^data:image/png"))
    packed = page.locator(PICTURE).get_attribute("src").partition(",")[2]
    return np.asarray(Image.open(io.BytesIO(base64.b64decode(packed))).convert("RGBA"))


def test_nights_saved_are_painted_from_the_tiles(browser, folder):
    """In January the roof tent has 160 - 40 = 120 of 200 parts more: 0.6 x 31 = 18.6 nights.

    In July 160 - 190: 4.65 nights fewer. At 35.5 E it has 100 parts of 200 more: 15.5 nights.
    """
    with opened(browser) as visit:
        page = visit(folder / "index.html", link(show="saved"))
        page.wait_for_selector("#cell-table tbody tr")
        shown = painted(page)
        colours = {
            words: tuple(int(colour[at : at + 2], 16) for at in (1, 3, 5))
            for words, colour in page.evaluate(
                "JSON.parse(document.querySelector('#atlas').textContent).legends.saved"
                ".map(one => [one.words, one.colour])"
            )
        }
        assert shown.shape[1] == 40 and shown.shape[0] >= 2
        assert tuple(shown[-1, 0, :3]) == colours["10 to 20 nights"]
        assert tuple(shown[-1, 25, :3]) == colours["10 to 20 nights"]
        assert shown[0, 1, 3] == 0  # 255 is no data
        assert shown[-1, 1, 3] == 0 and shown[0, 0, 3] == 0  # sea
        assert text(page, "#atlas-told").endswith(f"The {ROOF} saves 18.6 of 31 nights.")
        set_month(page, 7)
        page.wait_for_timeout(300)
        assert tuple(painted(page)[-1, 0, :3]) == colours["more rough nights"]
        page.select_option("#atlas-kit", "roof-tent")
        assert "No dearer kit" in text(page, "#atlas-note")


@pytest.mark.parametrize(
    ("show", "said"),
    [
        ("months", "This map is of the whole year: it does not change with the month."),
        ("best", "This map is of the whole year: it does not change with the month."),
        ("cheapest", "This map is of all kits: it does not change with the kit."),
    ],
)
def test_maps_say_what_they_do_not_follow(browser, folder, show, said):
    """The share of sound nights follows both, and says nothing."""
    with opened(browser) as visit:
        page = visit(folder / "index.html", link(show=show))
        expect(page.locator("#atlas-note")).to_have_text(said)
        page.select_option("#atlas-show", "share")
        expect(page.locator("#atlas-note")).to_have_text("")


def test_other_layers_tell_what_they_map(browser, folder):
    """750 EUR are less than 2200, but in January only the roof tent is workable in the cell."""
    with opened(browser) as visit:
        page = visit(folder / "index.html", link(show="cheapest"))
        page.wait_for_selector("#cell-table tbody tr")
        assert f"Cheapest workable kit: {ROOF}." in text(page, "#atlas-told")
        assert text(page, "#cell-hazards") == "Hazards in January: Tropical cyclone: serious."
        set_month(page, 2)
        assert (
            text(page, "#cell-hazards") == "Hazards in February: Tropical cyclone: not looked at."
        )
        assert "Cheapest workable kit: ground tent." in text(page, "#atlas-told")
        page.select_option("#atlas-show", "months")
        assert "Workable: February to December." in text(page, "#atlas-told")


def test_cautions_stand_on_the_page(browser, folder):
    """What was not checked and not assessed is said, and that climate is no forecast."""
    with opened(browser, 360) as visit:
        page = visit(folder / "index.html")
        said = text(page, "main") + text(page, "footer")
        for words in (
            "Climate alone; hazards not checked here, but for tropical cyclone, a map of its own.",
            "Flash flood",
            "not the same as safe",
            "Cells are 1° wide, 111 km from south to north, each at its mean height",
            "Not assessed anywhere: wind.",
            "Climate is not a forecast.",
        ):
            assert words in said, words


def names(page) -> list[str]:
    """Return the regions in the order of the table."""
    found = page.locator("#regions-table tbody th").all_inner_texts()
    return [re.split(r"\n|(?= cold| condens)", name)[0].strip() for name in found]


def test_regions_sort_and_filter(browser, folder):
    """Names sort without accents first; a column sorts by its month, high first."""
    with opened(browser) as visit:
        page = visit(folder / "regions.html")
        page.wait_for_selector("#regions-table tbody tr")
        assert names(page) == ["Égalia", "Westland"]
        page.click("[data-column=name]")
        assert names(page) == ["Westland", "Égalia"]
        page.click("[data-column='0']")
        head = page.locator("th[aria-sort]")
        assert head.count() == 1 and head.get_attribute("aria-sort") == "descending"
        assert names(page) == ["Égalia", "Westland"]
        page.keyboard.press("Enter")  # The button that was pressed keeps the focus.
        assert names(page) == ["Westland", "Égalia"]
        page.fill("#regions-filter", "egal")
        assert names(page) == ["Égalia"]
        assert text(page, "#regions-told") == "1 of 2 regions"


def test_regions_tell_their_year(browser, folder):
    """The middle of the land, its worst tenth, the months that are workable and why others not."""
    with opened(browser) as visit:
        page = visit(folder / "regions.html")
        page.wait_for_selector("#regions-table tbody tr")
        row = page.locator("#regions-table tbody tr").first
        shares = row.locator("td > :nth-child(2)")
        assert shares.all_inner_texts() == ["20", *["95"] * 11]
        months = page.locator("#regions-table thead .month-head").all_inner_texts()
        assert "".join(months) == "JFMAMJJASOND"
        assert row.locator(".count").inner_text() == "11"
        assert row.locator("th .fine").inner_text() == "cold 1"
        page.select_option("#regions-measure", "worst")
        assert shares.all_inner_texts() == ["10", *["90"] * 11]
        page.select_option("#regions-measure", "median")
        page.select_option("#regions-kit", "roof-tent")
        second = page.locator("#regions-table tbody tr").nth(1)
        assert second.locator("td > :nth-child(2)").all_inner_texts() == ["?", *["50"] * 11]
        assert second.locator(".count").inner_text() == "?"
        page.select_option("#regions-beside", "ground-tent")
        heads = page.locator("#regions-table [scope=rowgroup]").all_inner_texts()
        assert heads == ["Égalia", "Westland"]
        assert page.locator("#regions-table tbody tr").count() == 6


def test_paper_holds_figures_and_no_control(browser, folder):
    """Printed, the tables and the map stay and what one would press goes."""
    with opened(browser) as visit:
        for name, table in (("index.html", "#cell-table"), ("regions.html", "#regions-table")):
            page = visit(folder / name, link())
            page.wait_for_selector(f"{table} tbody tr")
            page.emulate_media(media="print")
            assert page.locator(f"{table} td").first.is_visible()
            assert not page.locator(".map-controls").is_visible()
            assert page.locator(f"{table} td").first.locator("i").bounding_box()["height"] > 4
            assert page.locator(".map-frame").count() == page.locator(".map-frame:visible").count()
            page.emulate_media(media="screen")


def test_forced_colours_keep_the_strips(browser, folder):
    """Where the system sets all colours, grades still differ."""
    with opened(browser, 390, forced_colors="active") as visit:
        page = visit(folder / "index.html", link())
        page.wait_for_selector("#cell-table tbody tr")
        look = "i => getComputedStyle(i).backgroundColor + getComputedStyle(i).backgroundImage"
        january = page.locator("#cell-table tbody tr").first.locator("td i").first
        others = page.locator("#cell-table tbody tr").first.locator("td i").nth(1)
        assert january.evaluate(look) != others.evaluate(look)


def test_a_missing_file_is_told(browser, folder, tmp_path):
    """A copy without its tiles says so, and the rest of the page works."""
    import shutil

    copy = tmp_path / "copy"
    shutil.copytree(folder, copy)
    shutil.rmtree(copy / "tiles")
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.goto(copy.joinpath("index.html").as_uri() + link())
    expect(page.locator("#atlas-told")).to_contain_text("missing")
    assert "tiles/0_0.js is missing from this copy." in text(page, "#atlas-told")
    set_month(page, 3)
    assert source(page) == "maps/ground-tent/share-03.png"
    context.close()


def test_without_a_script_the_page_names_the_table(browser, folder):
    """The headline and where the figures are stand there without a script."""
    with opened(browser, java_script_enabled=False) as visit:
        page = visit(folder / "index.html")
        assert "ground tent is workable" in text(page, "#atlas-headline")
        assert page.locator(".without-script a").is_visible()
        assert not page.locator("#atlas-controls").is_visible()
