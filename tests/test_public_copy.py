"""A public copy tells cells, months and kits, and the same bytes for all that must not be told."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import html5lib
from click.testing import CliRunner
from sample_report import BASE_MAP, sample_report

from sheltermap.cli import main
from sheltermap.report.outline import cell_of, cell_years, outline
from sheltermap.website.publiccopy import public_page

CLIMATE = {"title": "T", "source": "S.", "period": "P", "licence": "L"}

CANARY = "canaryword"

TRIP = """
title = "{canary} title"
note = "{canary} note"
[party]
people = {people}
preset = "{preset}"
bedding = {bedding}
sleep_from = "{sleep_from}"
[[party.sleepers]]
name = "{canary} sleeper"
cold_sleeper = true
[departure]
earliest = 2027-06-0{day}
latest = 2027-06-0{day}
finish_by = 2027-09-30
daily_km = 200
from_elevation_m = 1200
[shelter]
kits = ["ground-tent", "bedroll"]
[vehicle]
name = "{canary} vehicle"
[money]
currency = "EUR"
room_price = {price}
[files]
regions = "regions.geojson"
[[legs]]
name = "{canary} valley"
note = "{canary} camp"
place = [{latitude}, {longitude}]
nights = {nights}
kilometres = 40
camp_elevation_m = {height}
[[legs]]
name = "{canary} hills"
region = "{region}"
nights = 12
kilometres = 150
closed = [{{ first = 2027-01-01, last = 2027-01-0{day}, note = "{canary} closed" }}]
[[hazards]]
legs = ["{canary} hills"]
kind = "flood"
level = "advisory"
note = "{canary} hazard"
source = "{canary} source"
"""

RING = "[[{w}, {s}], [{e}, {s}], [{e}, {n}], [{w}, {n}], [{w}, {s}]]"
REGION = """{{"type": "FeatureCollection", "features": [{{"type": "Feature",
"properties": {{"id": "{region}", "name": "{canary} region"}},
"geometry": {{"type": "Polygon", "coordinates": [RING]}}}}]}}""".replace("RING", RING)


def built(folder: Path, **values) -> bytes:
    """Return the public copy of a trip, built by the command."""
    folder.mkdir()
    folder.joinpath("trip.toml").write_text(TRIP.format(**values), encoding="utf-8")
    folder.joinpath("regions.geojson").write_text(REGION.format(**values), encoding="utf-8")
    output = folder / "site"
    arguments = ["build", str(folder / "trip.toml"), "-q", "--public", "-o", str(output)]
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 0, result.output
    return (output / "index.html").read_bytes()


def test_trips_that_differ_only_in_what_is_hidden_give_the_same_bytes(tmp_path):
    """Place, height, outline, dates, names, notes, sources, hours, people, prices, vehicle."""
    one = {
        "canary": CANARY, "people": 2, "preset": "usual", "bedding": '"three-season"',
        "sleep_from": "22:00", "day": 3, "price": 30, "latitude": 39.8, "longitude": 32.8,
        "nights": 6, "height": 1100, "region": "hills",
        "w": 33.3, "s": 38.8, "e": 33.6, "n": 39.1,
    }  # fmt: skip
    other = {
        "canary": "Elsewhere", "people": 3, "preset": "careful", "bedding": "-4",
        "sleep_from": "23:00", "day": 7, "price": 95, "latitude": 40.2, "longitude": 33.2,
        "nights": 5, "height": 1460, "region": "uplands",
        "w": 33.4, "s": 38.9, "e": 33.7, "n": 39.2,
    }  # fmt: skip
    page = built(tmp_path / "one", **one)
    assert CANARY not in page.decode().lower()
    assert page == built(tmp_path / "other", **other)
    text = re.sub(r"<style>.*?</style>", "", page.decode(), flags=re.DOTALL)  # Widths of screens.
    assert not re.search(r"2027|EUR|22:00|1,?100|39\.8\d", text)


def test_fifty_journeys_within_the_same_cells_and_months_have_one_outline():
    """Whatever moves within a half-degree cell and a month, and whatever is called how."""
    report, rng = sample_report(), random.Random(5)
    told = outline(report)
    others = [sample_report(f"name {number}") for number in range(5)]
    for other in others * 10:
        places = tuple(_moved(place, rng) for place in report.places)
        months = [leg.month for leg in told.legs]
        legs = [_dated(*pair, rng) for pair in zip(report.best.legs, months, strict=True)]
        best = replace(other.best, legs=tuple(legs), rough_nights=rng.random())
        kits = report.kits
        assert outline(replace(other, places=places, best=best, kits=kits)) == told


def _moved(place, rng):
    """Return a place somewhere else in its cell."""
    row, column = cell_of(place.latitude, place.longitude)
    return replace(
        place,
        name=f"name {rng.random()}",
        latitude=row + rng.uniform(-0.249, 0.249),
        longitude=column + rng.uniform(-0.249, 0.249),
    )


def _dated(leg, month, rng):
    """Return a leg of other dates and nights, most of them in the same month."""
    arrive, nights = date(2027, month, rng.randint(1, 14)), rng.randint(1, 20)
    return replace(
        leg, name="other", arrive=arrive, leave=arrive + timedelta(days=nights), nights=nights
    )


def test_a_kit_of_the_travellers_own_is_not_told():
    """Its name and its figures are theirs."""
    report = sample_report()
    own = report.kits[0].model_copy(update={"what": "Grandfather's wagon"})
    told = outline(replace(report, kits=(own, *report.kits[1:])))
    assert told.kit == "" and own.id not in told.kits
    page = public_page(told, cell_years(told), BASE_MAP, CLIMATE).decode()
    assert "wagon" not in page and "the traveller's own kit is not told" in page


def test_the_page_is_valid_and_says_what_it_is_not():
    """One file of its own, without a script, with the cautions of every copy."""
    told = outline(sample_report())
    page = public_page(told, cell_years(told), BASE_MAP, CLIMATE)
    parser = html5lib.HTMLParser()
    parser.parse(page)
    assert not parser.errors
    text = page.decode()
    assert "<script" not in text
    assert "Climate is not a forecast" in text and "Not checked:" in text
