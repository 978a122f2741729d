"""The departure slider of a journey with a long way to a camp, in a browser, against dates
worked by hand in `test_road_dates`."""

from __future__ import annotations

import json

import pytest
from browsing import BROWSER_MARKS, opened
from small_trips import saved, stored
from test_road_dates import BY_DAY, journey

from sheltermap import pipeline

pytestmark = BROWSER_MARKS

TWO_DAYS = [
    ("earliest = 2027-05-01", "earliest = 2027-04-30"),
    ("latest = 2027-05-10", "latest = 2027-05-01"),
]
"""The slider needs a choice of days; May gets warmer, so the later one is the plan's."""


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """Return the folder of the journey's site."""
    folder = tmp_path_factory.mktemp("road")
    pipeline.build(
        saved(folder, journey(changed=TWO_DAYS)), output=folder / "site", climate=stored(folder)
    )
    return folder / "site"


def test_slider_tells_the_stays_of_each_day_of_reaching_a_camp(browser, site):
    """As `--on` does: the way there lies before it, and the camp before is left for it."""
    with opened(browser) as visit:
        page = visit(site / "calendar.html")
        page.select_option("#departure-from", "1")
        assert page.locator("#departure-date").inner_text() == "8 May 2027"
        first = json.loads(page.locator("#departure-data").inner_text())["sets"][1]["day"]
        for day, stays in BY_DAY.items():
            page.locator("#departure-day").evaluate(
                "(one, day) => { one.value = day; one.dispatchEvent(new Event('input')); }",
                day - first,
            )
            assert page.locator("#departure-date").inner_text() == f"{day} May 2027"
            rows = page.locator("#departure-legs tbody tr").all_inner_texts()
            told = [" ".join(row.split()) for row in rows]
            for name, row, (arrive, leave, _) in zip("ABC", told, stays, strict=True):
                assert row.startswith(f"{name} {arrive} May to {leave} May"), (day, row)
