"""The Log page: its rows are read back by ``check``, and nothing leaves the page."""

import re
from datetime import date

import pytest
from browsing import BROWSER_MARKS, opened
from click.testing import CliRunner
from small_trips import leg, saved, stored, trip

from sheltermap.cli import main
from sheltermap.pipeline import build
from sheltermap.trip.model import read_trip

pytestmark = BROWSER_MARKS

PARTY = """
[party]
people = 2
[[party.sleepers]]
name = 'Ana "K"'
[[party.sleepers]]
name = "B"
"""
LEGS = leg("Hills", nights="6"), leg('Lake \\"west\\" <b>', (41.0, 30.0), "6")
HEAD = (("latest = 2027-05-10", "latest = 2027-05-01"),)


@pytest.fixture(scope="module")
def journey(tmp_path_factory):
    """Return the folder of a trip, its climate, and its site."""
    folder = tmp_path_factory.mktemp("log")
    world = stored(folder)
    path = saved(folder, trip(*LEGS, PARTY, kits="ground-tent bedroll", changed=HEAD))
    build(path, folder / "site", climate=world)
    return path, world, folder / "site"


def on_day(visit, folder, day):
    """Return the log as it opens on a day."""
    page = visit(folder / "log.html")
    page.clock.set_fixed_time(day)
    page.reload()
    return page


def test_rows_of_the_form_are_read_back_by_check(browser, journey, tmp_path):
    """A leg that is done, one that is not, and nights of two people."""
    path, world, folder = journey
    with opened(browser, 390) as visit:
        page = on_day(visit, folder, "2027-05-08T12:00:00")
        done, slept = page.locator("#log-done"), page.locator("#log-slept")
        assert done.locator("[name=leg]").input_value() == 'Lake "west" <b>'
        assert done.locator("[name=arrived]").input_value() == "2027-05-08"
        done.locator("[name=leg]").select_option("Hills")
        done.locator("[name=arrived]").fill("2027-05-01")
        done.locator("[name=left]").fill("2027-05-07")
        page.click("#log-add-done")
        done.locator("[name=leg]").select_option('Lake "west" <b>')
        done.locator("[name=arrived]").fill("2027-05-08")
        done.locator("[name=left]").fill("")
        page.click("#log-add-done")

        slept.locator("[name=leg]").select_option("Hills")
        slept.locator("[name=first]").fill("2027-05-01")
        for name, value in {"nights": "6", "cold": "1", "cool": "2", "rain": "1"}.items():
            slept.locator(f"[name={name}]").fill(value)
        slept.locator("[name=low_c]").fill("-3.5 2 1 0 4 5")
        slept.locator("[name=measured]").select_option("inside")
        page.click("#log-add-slept")
        slept.locator("[name=who]").select_option("B")
        slept.locator("[name=place]").fill("39.5, 28.25")
        slept.locator("[name=kit]").select_option("bedroll")
        slept.locator("[name=low_c]").fill("")
        page.click("#log-add-slept")
        rows = page.locator("#log-rows").input_value()
        with page.expect_download() as got:
            page.click("#log-download")
        assert got.value.suggested_filename == "rows.toml"
        assert (tmp_path / "rows.toml").write_text(rows) and rows == _text(got.value)
        page.click("#log-copy")
        assert page.locator("#log-copied").inner_text()

    mended = saved(tmp_path, path.read_text() + "\n" + rows)
    result = CliRunner().invoke(main, ["check", str(mended), "--climate", str(world)])
    assert result.exit_code == 0, result.output
    read = read_trip(mended)
    assert [(row.leg, row.arrived, row.left, row.kit) for row in read.done] == [
        ("Hills", date(2027, 5, 1), date(2027, 5, 7), "ground-tent"),
        ('Lake "west" <b>', date(2027, 5, 8), None, "ground-tent"),
    ]
    ana, other = read.slept
    assert (ana.who, ana.nights, ana.cold, ana.cool, ana.rain) == ('Ana "K"', 6, 1, 2, 1)
    assert (ana.low_c, ana.measured) == ((-3.5, 2, 1, 0, 4, 5), "inside")
    assert (other.who, other.place, other.kit) == ("B", (39.5, 28.25), "bedroll")
    assert other.low_c is None


def _text(download):
    """Return what was downloaded."""
    return download.path().read_text(encoding="utf-8")


def test_what_cannot_be_is_told_before_it_is_added(browser, journey):
    """More cold nights than nights: a sentence, and no row."""
    *_, folder = journey
    with opened(browser) as visit:
        page = on_day(visit, folder, "2027-04-01T12:00:00")
        slept = page.locator("#log-slept")
        assert slept.locator("[name=leg]").input_value() == "Hills"
        slept.locator("[name=cold]").fill("2")
        page.click("#log-add-slept")
        assert "count each night once" in slept.locator(".log-wrong").inner_text()
        assert page.locator("#log-rows").input_value() == ""


def test_one_file_copy_has_the_form_too(browser, journey):
    """Most people carry that one."""
    *_, folder = journey
    with opened(browser, 390) as visit:
        page = visit(folder / "one-file.html", "#page-log")
        page.click("#log-add-done")
        assert re.match(r"\[\[done\]\]\nleg = ", page.locator("#log-rows").input_value())
