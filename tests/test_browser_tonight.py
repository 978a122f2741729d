"""Tonight's forecast against a kit's own limits, typed on its card and on the Log page."""

from __future__ import annotations

from dataclasses import replace

import pytest
from browsing import BROWSER_MARKS, opened
from sample_report import BASE_MAP, sample_report

from sheltermap.website.pages import site
from sheltermap.website.write import write_site

pytestmark = BROWSER_MARKS


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Write a site whose kits hold 4 degC under a clear sky, 1 under cloud; danger below -9."""
    report = sample_report()
    cards = {
        name: replace(card, coldest=(4.0, 1.0), dangerous_below=-9.0)
        for name, card in report.cards.items()
    }
    files = site(replace(report, cards=cards), base_map=BASE_MAP)
    return write_site(files, tmp_path_factory.mktemp("tonight") / "build")


def told(page, text):
    """Return what the page says to a forecast low."""
    page.locator(".tonight input").fill(text)
    return page.locator(".tonight output")


ANSWERS = {
    "metric": (
        ("", "Unknown", False),
        ("mild", "Unknown", False),
        ("400", "Unknown", False),
        ("9", "5\u202f°C to spare", False),
        ("4", "0\u202f°C to spare", False),
        ("2,5", "Close", False),
        ("-3", "Too cold by 4\u202f°C", False),
        ("\u22129.5", "Dangerous: below \u22129\u202f°C", True),
        ("", "Unknown", False),
    ),
    "imperial": (
        ("50", "11\u202f°F to spare", False),  # 10 degC, 6 K: 10.8
        ("14", "Dangerous: below 16\u202f°F", True),  # -10 degC; -9 is 15.8
        ("", "Unknown", False),
    ),
}


@pytest.mark.parametrize("name", ["kit-roof-tent.html", "log.html"])
@pytest.mark.parametrize("units", ANSWERS)
def test_forecast_is_held_against_the_limits(browser, folder, name, units):
    """By hand from 4, 1 and -9 degC; nothing typed is unknown, and not 0, first and last."""
    with opened(browser, 390, units=units) as visit:
        page = visit(folder / name)
        assert page.locator(".tonight output").inner_text().startswith("Unknown")
        for text, expected, grave in ANSWERS[units]:
            answer = told(page, text)
            assert answer.inner_text().startswith(expected), text
            assert ("danger" in (answer.get_attribute("class") or "")) is grave, text


def test_nothing_typed_is_kept(browser, folder):
    """Neither stored nor sent: another visit begins empty, and `opened` sees every request."""
    with opened(browser, 390) as visit:
        told(visit(folder / "log.html"), "3")
        page = visit(folder / "log.html")
        assert page.locator(".tonight input").input_value() == ""
        assert (
            page.evaluate("Object.keys(localStorage).filter(k => !/scheme|units/.test(k))") == []
        )
