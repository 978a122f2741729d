"""What the pages say agrees from page to page, and says no more than is known."""

from __future__ import annotations

import re
from dataclasses import replace

import html5lib
import numpy as np
import pytest
from page_text import metric_text
from sample_report import BASE_MAP, loads, sample_report

from sheltermap.hazards.kinds import hazard_kind
from sheltermap.report.report import MetHazard, RefusedKit
from sheltermap.website.pages import site
from sheltermap.website.words import level_phrase, level_sentences

_LATEST = []


def files_of(report) -> dict[str, bytes]:
    """Return the site of a report, made once while page after page of it is asked for."""
    if not _LATEST or _LATEST[0] is not report:
        _LATEST[:] = report, site(report, base_map=BASE_MAP)
    return _LATEST[1]


def text_of(report, page: str) -> str:
    """Return what a page says, on one line."""
    tree = html5lib.parse(files_of(report)[page].decode(), namespaceHTMLElements=False)
    text = metric_text(tree.find("body").find("main"))
    return re.sub(r"[\s\u202f\u00a0]+", " ", text).replace("\u00ad", "")


def test_mass_margin_is_one_number():
    """Sentence, table of ratings and legs: rating less load, whatever the fractions."""
    report = sample_report()
    fraction = report.load.legs[0].aboard_kg % 1
    vehicle = report.trip.vehicle
    # 0.4 kg above a whole number: to the nearest, load and margin would be a kilogram apart.
    weighed = {"weighed_kg": vehicle.weighed_kg - fraction - 0.6}
    lighter = vehicle.model_copy(update=weighed | {"roof_moving_kg": 100, "roof_parked_kg": 320})
    trip = report.trip.model_copy(update={"vehicle": lighter})
    load, comparison = loads(trip, report.by_departure[35])
    assert load.legs[0].aboard_kg % 1 == pytest.approx(0.4)
    text = text_of(replace(report, trip=trip, load=load, comparison=comparison), "load.html")
    said = re.search(r"([\d ]+) kg on board, ([\d ]+) kg under the rated mass", text).groups()
    aboard, margin = (int(part.replace(" ", "")) for part in said)
    assert aboard + margin == vehicle.rated_kg
    ratings = text[text.index("Every rating") : text.index("Water and fuel by leg")]
    row = re.search(r"rated mass([\d ]+) kg([\d ]+) kg([\d ]+) kg", ratings).groups()
    told = [int(part.replace(" ", "")) for part in row]
    assert told == [aboard, vehicle.rated_kg, margin]


@pytest.mark.parametrize(
    ("part", "words"),
    [
        ("", "prohibitive; serious while you lie high; bears climb"),
        ("in part of the area only (about 2 %)", "prohibitive, in part of the area only"),
    ],
)
def test_hazard_in_part_is_not_lowered_by_the_kit(part, words):
    """Who stays out of the part meets an advisory; in it the kit is as good as elsewhere."""
    report = sample_report()
    level = 1 if part else 2
    met = MetHazard(
        "large-animals",
        "Large animals",
        level,
        3,
        "while you lie high; bears climb",
        part,
        "",
        "rangers",
    )
    first, *others = report.best.legs
    legs = (replace(first, hazards=(met,)), *others)
    text = text_of(replace(report, best=replace(report.best, legs=legs)), "index.html")
    assert f"Large animals, {words}" in text
    assert ". Source: rangers" in text
    assert ("while you lie high" in text) == (not part)


def test_refused_kit_is_called_by_its_title():
    """Nobody has to know the ids of the kit file."""
    refused = {"load-bed": RefusedKit("Mattress in the load bed", ("It is too short.",))}
    report = replace(sample_report(), refused=refused)
    text = text_of(report, "kits.html")
    assert "Mattress in the load bed does not fit and is left out. It is too short." in text
    assert "load-bed" not in text


def test_wind_known_on_one_leg_is_not_called_unknown_there():
    """The first page, the methods and each region's page tell the same."""
    report = sample_report()
    known, *others = report.places
    seasons = {kit: replace(one, wind=np.zeros(365)) for kit, one in known.seasons.items()}
    some = replace(report, places=(replace(known, seasons=seasons), *others))
    pages = {name: f"region-{name}.html" for name in ("lowland", "steppe")}
    left_out = "Not assessed, so left out of every share: wind"
    assert "wind, so left out of every figure" in text_of(report, "index.html")
    assert left_out in text_of(report, pages["lowland"])
    assert "Not assessed on every leg: wind" in text_of(some, "index.html")
    assert left_out not in text_of(some, pages["lowland"])
    assert left_out in text_of(some, pages["steppe"])
    methods = text_of(some, "methods.html")
    assert "Not assessed in any share" not in methods
    assert "Not assessed on one leg at least, so left out of its shares: wind." in methods


def test_leg_tells_its_rough_nights_once():
    """The sentence has the decimals of the line above it: 1.47 is not 1.5 and then 1."""
    report = sample_report()
    first, *others = report.best.legs
    legs = (replace(first, rough_nights=1.47), *others)
    text = text_of(replace(report, best=replace(report.best, legs=legs)), "index.html")
    assert f"1.5 of {first.nights} rough" in text
    assert f"About 1.5 of {first.nights} nights rough" in text


def test_region_list_of_the_maps_gives_the_reason_of_a_grade():
    """An advisory beside "unfit" is not what made it unfit."""
    text = text_of(sample_report(), "maps.html")
    rows = text[text.index("Regions in") :]
    assert re.search(r"3\. Steppe [\w–]+ \w+ rain", rows)
    assert re.search(
        r"2\. High valley [\w–]+ \w+ heat; hazard: road closed by snow or water, prohibitive", rows
    )


def test_money_is_one_text_in_sentence_and_table():
    """The Kits page's opening and the chart's table give one amount in the same words."""
    report = sample_report()
    chosen = report.comparison.rows[0]
    assert chosen.money > 1000
    text = text_of(report, "kits.html")
    amount = re.search(r"nights are rough, for ([\d ]+ EUR) over", text)[1]
    rows = text[text.index("against money") :]
    assert re.search(rf"{chosen.title} ?[\d.]+ ?{amount}", rows)


@pytest.mark.parametrize("currency", ["EUR", "USD"])
def test_kit_price_has_one_currency_on_every_page(currency):
    """Card and comparison print the same label, and say where it is not the kit files' own."""
    report = sample_report()
    money = report.trip.money.model_copy(update={"currency": currency})
    trip = report.trip.model_copy(update={"money": money})
    _, comparison = loads(trip, report.by_departure[35])
    report = replace(report, trip=trip, comparison=comparison)
    note = "in EUR there; nothing is converted"
    for page in ("index.html", "kits.html", "kit-roof-tent.html"):
        assert (note in text_of(report, page)) == (currency != "EUR"), page
        price = f"{report.kits[0].price:,.0f} {currency}".replace(",", " ")
    assert f"Price, newabout {price}" in text_of(report, "kit-roof-tent.html")
    assert price in text_of(report, "kits.html").split("Roof tent planned with")[1]


def test_name_of_a_users_kit_stays_as_written():
    """No sentence writes a name small."""
    report = sample_report()
    own = report.kits[0].model_copy(update={"title": "Hammock-Bivouac"})
    report = replace(report, kits=(own, *report.kits[1:]))
    for page in ("index.html", "calendar.html", "maps.html"):
        text = text_of(report, page)
        assert "ith the Hammock-Bivouac" in text and "hammock" not in text, page


def test_caution_stands_where_a_hazard_is_met():
    """A kind that somebody looked at and did not find needs no advice."""
    report = sample_report()
    lowland, high, steppe = report.places
    (road,) = high.findings
    nothing = np.zeros(365, np.uint8)
    cyclone = replace(
        road, kind="tropical-cyclone", title="Tropical cyclone", level_by_day=nothing
    )
    inner = replace(
        cyclone,
        kind="permit",
        title="Permits",
        part="in part of the area only",
        stated_level_by_day=nothing + 4,
    )
    report = replace(
        report, places=(lowland, replace(high, findings=(road, cyclone, inner)), steppe)
    )
    text = text_of(report, "region-high-valley.html")
    assert "Tropical cyclone: looked at, nothing found" in text
    assert hazard_kind("tropical-cyclone").caution not in text
    assert hazard_kind("road-closed").caution in text
    # It binds nobody who stays out, and is a closure inside.
    assert hazard_kind("permit").caution in text


def test_a_place_tells_each_caution_once():
    """Kinds met twice point to where it stands."""
    report = sample_report()
    lowland, high, steppe = report.places
    (road,) = high.findings
    findings = (road, road, replace(road, kind="wildfire", title="Wildfire"))
    report = replace(report, places=(lowland, replace(high, findings=findings), steppe))
    text = text_of(report, "region-high-valley.html")
    assert text.count(hazard_kind("road-closed").caution) == 1
    assert text.count("Cautions: as above.") == 1
    assert text.count(hazard_kind("wildfire").caution) == 1


def test_sun_that_does_not_set_is_told():
    """Summer and winter far north, where no hour can stand; missing data stay unknown."""
    report = sample_report()
    first, *others = report.places
    sunset, light = first.climate.sunset_hour.copy(), first.climate.daylight_hours.copy()
    sunset[[0, 2, 5]] = np.nan
    light[[0, 2, 5]] = 0.0, np.nan, 24.0
    far = replace(first, climate=replace(first.climate, sunset_hour=sunset, daylight_hours=light))
    text = text_of(replace(report, places=(far, *others)), "region-lowland.html")
    rows = text[text.index("mid-month; cool enough") :]
    assert re.search(r"Jan ?none \(polar night\) ?0.0 h", rows)
    assert re.search(r"Mar ?unknown ?unknown", rows)
    assert re.search(r"Jun ?none \(midnight sun\) ?24.0 h", rows)


def test_range_of_rough_nights_says_why_it_is_wide():
    """In the order of the report, which puts the largest first; nothing where one is unknown."""
    report = sample_report()
    words = (
        "Why the range is wide: the weather from night to night counts most, then errors of the "
        "climate data, then differences between years, then differences between people."
    )
    numbers = "the weather from night to night 3.0, errors of the climate data 2.5, differences"
    assert words in text_of(report, "index.html")
    assert numbers in text_of(report, "methods.html")
    parts = report.best.rough_parts | {"weather": np.nan}
    unknown = replace(report, best=replace(report.best, rough_parts=parts))
    assert "Why the range" not in text_of(unknown, "index.html")


def test_a_bad_year_is_told_for_the_journey_and_for_each_leg():
    """One year of ten: on the Plan, on the page of each leg; not where none is expected."""
    report = sample_report()
    best = report.best
    said = f"{round(best.rough_bad_year)} or more rough nights in one year of ten"
    assert said in text_of(report, "index.html")
    leg = best.legs[0]
    files = site(report, base_map=BASE_MAP)
    page = next(name for name in files if leg.place in name and name.endswith(".html"))
    told = f"about {leg.rough_nights:.1f} ({leg.rough_bad_year:.1f} or more in one year of ten)"
    assert told in text_of(report, page)
    sound = replace(report, best=replace(best, rough_nights=0.0, rough_bad_year=0.2))
    assert "in one year of ten" not in text_of(sound, "index.html")


def test_good_window_is_told_on_the_plan():
    """Three days in the sample; one day alone is told as that."""
    report = sample_report()
    first, last = report.good_window
    words = f"Good window: {first.day} {first:%B %Y} to {last.day} {last:%B %Y} (3 days)"
    assert words in text_of(report, "index.html")
    alone = replace(report, good_window=(first, first))
    assert f"{first:%B %Y} alone" in text_of(alone, "index.html")


def test_levels_in_words_the_worst_first():
    """Each of the four has its own; a closure is no hazard but a closed gate."""
    assert [level_phrase(level) for level in (1, 2, 3, 4)] == [
        "advisory hazard", "serious hazard", "prohibitive hazard", "closure"
    ]  # fmt: skip
    levels = [1] * 31 + [0] * 28 + [3] * 31 + [4] * 30 + [2] * 31 + [0] * 214
    assert level_sentences(levels) == [
        ("closure", "in April"),
        ("prohibitive", "in March"),
        ("serious", "in May"),
        ("advisory", "in January"),
    ]
    assert level_sentences([0] * 365) == []
