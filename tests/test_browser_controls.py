"""What answers on a page in a browser, against Python's figures: chart, slider and map."""

from __future__ import annotations

from datetime import timedelta
from functools import cache

from browsing import BROWSER_MARKS, opened
from sample_report import NIGHTS, sample_report

from sheltermap.website.figures import percent
from sheltermap.website.season import drawn, journey
from sheltermap.website.seasonaxis import NARROW, WIDE, whole_years

pytestmark = BROWSER_MARKS


@cache
def report():
    """Return the sample once more, for the expected numbers."""
    return sample_report()


def test_season_chart_tells_a_week(browser, sample_site):
    """Tap, pointer and arrow keys tell grade, share, reason, hazard and remedy in words."""
    with opened(browser, 360, has_touch=True) as visit:
        page = visit(sample_site / "index.html")
        tell = page.locator("#plan-season-tell")
        page.check(".season-all")
        chart = page.locator("svg.season-narrow:visible")
        box = chart.bounding_box()
        frame = drawn(report(), NARROW, whole_years(report()))
        scale = box["width"] / frame.width
        page.evaluate("document.querySelector('.season-touch').scrollLeft = 0")
        # The lowland is the first row; 10 January lies in its second week.
        box = chart.bounding_box()
        x, y = frame.x(9.5), frame.tops[0] + 5
        page.touchscreen.tap(box["x"] + x * scale, box["y"] + y * scale)
        week = report().places[0].weeks[1]
        text = tell.inner_text()
        assert text.startswith("Lowland, 8 January to 14 January. Sleep: unfit, ")
        assert f"{percent(week.sound_share)} of nights, limited by cold." in text
        assert "What would help: Warm bedding." in text
        page.locator(".season-touch").focus()
        page.keyboard.press("ArrowDown")
        assert tell.inner_text().startswith("High valley, 8 January to 14 January. Sleep: ")
        assert "Hazard: Road closed by snow or water, closed." in tell.inner_text()
        assert "What would help" not in tell.inner_text()
        page.keyboard.press("ArrowDown")
        page.keyboard.press("ArrowRight")
        assert tell.inner_text().startswith("Steppe, 15 January to 21 January")
        assert "Not every hazard was checked here." in tell.inner_text()


def test_departure_slider_agrees_with_python(browser, sample_site):
    """At all forty departure dates legs, dates, grades and sums are those of Python."""
    data = report()
    rough = {p.id: 1 - p.seasons["roof-tent"].sound_share for p in data.places}
    frame = drawn(data, WIDE, whole_years(data))
    with opened(browser, 1280) as visit:
        page = visit(sample_site / "calendar.html")
        slider = page.locator("#departure-day")
        for number, stays in enumerate(data.by_departure):
            slider.evaluate(
                "(e, v) => { e.value = v; e.dispatchEvent(new Event('input')); }", number
            )
            shown = page.locator("#departure-answer").get_attribute("data-rough")
            path = page.locator(".season-whole .season-wide .stair").get_attribute("d")
            if stays.rough_nights is None:
                assert shown == "" and path == ""
                assert "No plan fits" in page.locator("#departure-answer").inner_text()
                continue
            total = 0.0
            for place, arrive, nights in zip(stays.places, stays.arrive, NIGHTS, strict=True):
                days = [
                    (arrive + timedelta(days=n)).timetuple().tm_yday - 1 for n in range(nights)
                ]
                total += rough[place][days].sum()
            assert abs(float(shown) - total) < 1e-4
            assert abs(float(shown) - stays.rough_nights) < 0.01
            rows = [
                (n, arrive, leave)
                for n, (arrive, leave) in enumerate(zip(stays.arrive, stays.leave, strict=True))
            ]
            assert path == journey(rows, frame)[0]


def test_departure_buttons_and_leg_table(browser, sample_site):
    """A day earlier, later and back to the best; the table shows the legs of that day."""
    plan = report().best
    with opened(browser, 390) as visit:
        page = visit(sample_site / "calendar.html")
        cells = page.locator("#departure-legs tbody tr").all_inner_texts()
        for text, leg in zip(cells, plan.legs, strict=True):
            assert f"{leg.rough_nights:.1f} of {leg.nights}" in text
        page.click("#departure-earlier")
        assert "5 May 2027" in page.locator("#departure-date").inner_text()
        assert "5 May to 25 May" in page.locator("#departure-legs").inner_text()
        page.click("#departure-later")
        page.click("#departure-later")
        assert "7 May 2027" in page.locator("#departure-date").inner_text()
        page.click("#departure-best")
        assert "6 May 2027" in page.locator("#departure-date").inner_text()
        assert page.locator("#departure-legs tbody tr").all_inner_texts() == cells


def test_the_slider_ends_with_the_dates(browser, sample_site):
    """Past the first or the last date a button changes nothing, for each start of its own."""
    with opened(browser, 390) as visit:
        page = visit(sample_site / "calendar.html")
        shown = page.locator("#departure-date")
        for choice, dates in (("0", report().by_departure), ("1", report().replans[0].dates)):
            page.select_option("#departure-from", choice)
            page.locator("#departure-day").evaluate("e => { e.value = e.max; }")
            page.click("#departure-later")
            last = dates[-1].depart
            assert shown.inner_text() == f"{last.day} {last:%B %Y}"
            page.locator("#departure-day").evaluate("e => { e.value = 0; }")
            page.click("#departure-earlier")
            first = dates[0].depart
            assert shown.inner_text() == f"{first.day} {first:%B %Y}"


def test_the_line_on_the_curve_is_that_of_departures(browser, sample_site):
    """It goes with the slider, and is not there for the day on which a leg is reached."""
    cursor = "#page-calendar .chart svg .cursor"
    with opened(browser, 390) as visit:
        page = visit(sample_site / "calendar.html")
        before = page.locator(cursor).get_attribute("d")
        page.click("#departure-later")
        after = page.locator(cursor).get_attribute("d")
        # 344 - 30 - 10 units are 39 days.
        moved = float(after[1:].partition(" ")[0]) - float(before[1:].partition(" ")[0])
        assert abs(moved - 304 / 39) < 0.11
        page.select_option("#departure-from", "1")
        assert not page.locator(cursor).get_attribute("d")


def test_late_on_the_road(browser, sample_site):
    """Three days late at the second leg: the first stays as it was, the sum is Python's."""
    with opened(browser, 390) as visit:
        page = visit(sample_site / "calendar.html")
        page.select_option("#departure-from", "1")
        for _ in range(3):
            page.click("#departure-later")
        reached = report().replans[0]
        stays = reached.dates[reached.planned + 3]
        answer = page.locator("#departure-answer")
        assert answer.inner_text().startswith("Reach High valley on 31 May 2027")
        assert abs(float(answer.get_attribute("data-rough")) - stays.rough_nights) < 1e-4
        rows = page.locator("#departure-legs tbody tr").all_inner_texts()
        assert "6 May to 26 May" in rows[0] and "31 May to 15 Jun" in rows[1]
        page.select_option("#departure-from", "0")
        assert page.locator("#departure-date").inner_text() == "6 May 2027"


def test_map_month_chooser_and_value(browser, sample_site):
    """Month, kit and factor choose the image; the pointer tells the grid's value there."""
    grid = report().grid
    with opened(browser, 1280) as visit:
        loaded = []
        page = visit(sample_site / "maps.html")
        page.on("request", lambda r: loaded.append(r.url))
        image = page.locator(".leaflet-image-layer")
        assert image.get_attribute("src").endswith("overlays/roof-tent/sound_share/05.png")
        value = page.locator("#map-value")
        frame = page.locator(".map-frame").bounding_box()
        x, y = frame["x"] + frame["width"] * 0.55, frame["y"] + frame["height"] * 0.6

        def python_value(kit, factor, month):
            latitude, longitude = map(float, value.get_attribute("data-place").split())
            row = int((latitude - grid.south) / 0.5)
            column = int((longitude - grid.west) / 0.5)
            return grid.factors[kit][factor][month - 1, row, column]

        assert not page.evaluate("window.SM_VALUES")
        page.mouse.move(x, y)
        page.wait_for_selector("#map-value[data-value]:not([data-value=''])")
        for month in (1, 7, 12):
            page.locator("#map-month").evaluate(
                "(e, v) => { e.value = v; e.dispatchEvent(new Event('input')); }", month
            )
            assert image.get_attribute("src").endswith(f"sound_share/{month:02d}.png")
            shown = float(value.get_attribute("data-value"))
            assert abs(shown - python_value("roof-tent", "sound_share", month)) <= 0.0026
            assert f"about {percent(shown)} of nights sound" in value.inner_text()
        page.select_option("#map-factor", "cold")
        page.wait_for_selector("#map-value[data-value]:not([data-value=''])")
        shown = float(value.get_attribute("data-value"))
        assert abs(shown - python_value("roof-tent", "cold", 12)) <= 0.0026
        assert "too cold" in value.inner_text()
        page.select_option("#map-kit", "bedroll")
        assert page.locator("#map-factor").input_value() == "sound_share"
        assert page.locator("#map-note").inner_text()
        assert image.get_attribute("src").endswith("overlays/bedroll/sound_share/12.png")
        assert "closure" in page.locator("#map-regions").inner_text()
        again = [url for url in loaded if url.endswith("sound_share/07.png")]
        assert len(again) == 1


def test_map_overlay_lies_on_its_bounds(browser, sample_site):
    """The image's corners stand at the pixels of the box's corners on Mercator."""
    with opened(browser, 1280) as visit:
        page = visit(sample_site / "maps.html")
        gaps = page.evaluate(
            """() => { const image = document.querySelector('.leaflet-image-layer');
            const box = image.getBoundingClientRect();
            const name = Object.keys(window).find(k => /^map_/.test(k)), map = window[name];
            const frame = map.getContainer().getBoundingClientRect();
            const at = (place) => map.latLngToContainerPoint(place);
            const nw = at([44, 28]), se = at([38, 39]);
            return [box.left - frame.left - nw.x, box.top - frame.top - nw.y,
                    box.right - frame.left - se.x, box.bottom - frame.top - se.y]; }"""
        )
        assert max(abs(gap) for gap in gaps) < 1.6


def test_maps_show_without_a_script(browser, sample_site):
    """No dead controls over an empty frame: the twelve pictures, and why."""
    with opened(browser, 360, java_script_enabled=False, scheme=None) as visit:
        page = visit(sample_site / "maps.html")
        assert not page.locator(".map-frame").is_visible()
        assert not page.locator("#map-controls").is_visible()
        assert page.locator(".months img:visible").count() == 12
        assert page.get_by_text("without one, the pictures below").is_visible()
    with opened(browser, 360) as visit:
        page = visit(sample_site / "maps.html")
        assert page.locator("#map-controls").is_visible()
        assert page.locator(".months img:visible").count() == 0
        assert not page.get_by_text("without one, the pictures below").is_visible()


def test_no_dead_slider_without_a_script(browser, sample_site):
    """Without a script the slider and the chart's tap line are gone; the table is named."""
    with opened(browser, 360, java_script_enabled=False, scheme=None) as visit:
        page = visit(sample_site / "calendar.html")
        assert page.locator("#departure, .tell").count() == 2
        assert not page.locator("#departure").is_visible()
        assert not page.locator(".tell").is_visible()
        assert page.get_by_text("without one, the table below the curve").is_visible()
        assert page.locator("figure:has(#calendar-curve-t) table").count() == 1
    with opened(browser, 360) as visit:
        page = visit(sample_site / "calendar.html")
        assert page.locator("#departure").is_visible() and page.locator(".tell").is_visible()
        assert not page.get_by_text("without one, the table below the curve").is_visible()


def test_map_jumps_where_motion_is_unwanted(browser, sample_site):
    """With the system's wish for less motion no layer of the map glides."""
    timing = "e => getComputedStyle(e).transitionProperty"
    for wish, expected in (("reduce", "none"), ("no-preference", "transform")):
        with opened(browser, 390, reduced_motion=wish) as visit:
            page = visit(sample_site / "maps.html")
            page.evaluate(
                "document.querySelector('.leaflet-map-pane').classList.add('leaflet-zoom-anim')"
            )
            assert expected in page.locator(".leaflet-image-layer").evaluate(timing)


def test_map_answers_to_the_keyboard(browser, sample_site):
    """With the map in focus arrow keys move it and the line above tells its centre."""
    with opened(browser, 1280) as visit:
        page = visit(sample_site / "maps.html")
        page.locator(".leaflet-container").focus()
        page.keyboard.press("+")
        page.keyboard.press("ArrowRight")
        page.wait_for_selector("#map-value[data-value]:not([data-value=''])")
        assert "of nights sound" in page.locator("#map-value").inner_text()
