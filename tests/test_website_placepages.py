"""The page of a place and the tables of the map, by hand: what figures are called, at borders."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from sample_report import finding, sample_report

from sheltermap.website.placepages import maps_page, region_page
from sheltermap.website.shared import Shared

NAN, INFINITE = float("nan"), float("inf")


def context(report=None, **changed) -> dict:
    """Return what the page of the first place holds, with a changed place."""
    report = report or sample_report()
    place = replace(report.places[0], **changed)
    report = replace(report, places=(place, *report.places[1:]))
    return region_page(Shared(report), place).context


def daily(name: str, *values: float) -> list[dict]:
    """Return the first months of a place in which one row of its climate is other."""
    climate = sample_report().places[0].climate
    year = np.array([*values, *[values[-1]] * (12 - len(values))], dtype=float)
    return context(climate=replace(climate, **{name: year}))["daily"][: len(values)]


def test_when_it_becomes_cool_enough():
    """Hours count on from noon: 12 is all night, 22.5 half past ten, 25.25 a quarter past one."""
    told = [row["cool"] for row in daily("cool_hour", 12, 12.5, 22.5, 25.25, INFINITE, NAN)]
    assert told == [
        "all night",
        "from 12:30",
        "from 22:30",
        "from 01:15",
        "not before dawn",
        "unknown",
    ]


def test_a_sun_that_does_not_set_or_rise():
    """Without a sunset a day of light is midnight sun, and none is polar night."""
    climate = sample_report().places[0].climate
    hours = np.array([16.5, NAN, NAN, NAN, *[18.0] * 8])
    light = np.array([9.0, 24.0, 0.0, NAN, *[12.0] * 8])
    rows = context(climate=replace(climate, sunset_hour=hours, daylight_hours=light))["daily"]
    assert [row["sunset"] for row in rows[:5]] == [
        "16:30",
        "none (midnight sun)",
        "none (polar night)",
        "unknown",
        "18:00",
    ]


def test_hours_of_heat():
    """Half past ten to half past four where the sun brings it, nothing where it never does."""
    rows = context()["daily"]
    assert rows[6]["hot"] == "10:30 to 16:30"
    assert rows[0]["hot"] == "" and rows[0]["rest"] == ""


@pytest.mark.parametrize(
    ("correction", "spread", "word"),
    [
        (0.05, 0, "raised"),
        (-0.05, 0, "lowered"),
        (0.049, 0, ""),
        (-0.049, 0.05, "moved"),
        (0, 0.049, ""),
        (3.1, 2, "raised"),
    ],
)
def test_which_way_the_height_moved_temperatures(correction, spread, word):
    """From a twentieth of a kelvin on, which is what one decimal shows."""
    assert context(correction_k=correction, correction_spread_k=spread)["moved"] == word


def stays(**changed) -> list[str]:
    """Return what is told of the stays at the first place, its leg changed."""
    report = sample_report()
    first, *others = report.best.legs
    legs = (replace(first, **changed), *others)
    return context(replace(report, best=replace(report.best, legs=legs)))["stays"]


def test_a_stay_in_a_sentence():
    """Twenty nights from 6 to 26 May, and what a bad year would bring where it is more."""
    (told,) = stays(rough_nights=3.24, rough_bad_year=5.06)
    assert told.startswith(
        "Lowland: 6 May 2027 to 26 May 2027, 20 nights, about 3.2 (5.1 or more in one year of "
        "ten) of them rough; sleep "
    )
    for bad_year in (3.24, NAN):
        (told,) = stays(rough_nights=3.24, rough_bad_year=bad_year)
        assert "20 nights, about 3.2 of them rough" in told
    (told,) = stays(rough_nights=NAN, rough_bad_year=NAN)
    assert "about unknown of them rough" in told


def test_only_what_closes_or_forbids_is_said_first():
    """Closed in January, forbidden in February; serious in March comes with the other hazards."""
    level = np.zeros(365, dtype=np.uint8)
    level[:31], level[31:59], level[59:90] = 4, 3, 2
    (closed, forbidden) = context(findings=(finding("", level),))["forbidding"]
    assert closed[0] == "closed" and closed[1].startswith("Closed ")
    assert "January" in closed[1] and "February" not in closed[1]
    assert forbidden[0] == "danger" and forbidden[1].startswith("Forbidden ")
    assert "February" in forbidden[1] and "road closed by snow or water (source:" in forbidden[1]


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.6, "Concerns 60 % of the area."), (0.994, "Concerns over 99 % of the area."),
     (0.995, ""), (1.0, ""), (NAN, "")],
)  # fmt: skip
def test_how_much_of_the_area_a_hazard_concerns(share, words):
    """Nothing is said of the whole."""
    level = np.full(365, 2, dtype=np.uint8)
    one = replace(finding("", level), share=share)
    (told,) = context(findings=(one,))["hazards"]
    assert told["share_words"].replace("\u202f", " ") == words
    assert not told["forbids"]


@pytest.mark.parametrize(("level", "forbids"), [(0, False), (2, False), (3, True), (4, True)])
def test_what_forbids(level, forbids):
    """From "don't sleep here" on; what was looked at and not found says so."""
    one = finding("", np.full(365, level, dtype=np.uint8))
    (told,) = context(findings=(one,))["hazards"]
    assert bool(told["forbids"]) is forbids
    assert (told["worst"] == ("none", "looked at, nothing found")) is (level == 0)
    assert bool(told["caution"]) is (level > 0)


def maps(report) -> dict:
    """Return what the page of maps holds."""
    return maps_page(Shared(report), [], {}).context


def test_maps_open_in_the_month_of_departure():
    """The plan leaves in May; without one the year's middle is shown."""
    assert (maps(sample_report())["month"], maps(sample_report())["month_name"]) == (5, "May")
    none = replace(sample_report(), best=None)
    assert (maps(none)["month"], maps(none)["month_name"]) == (6, "June")


def test_regions_of_the_maps_are_numbered_and_graded_by_that_month():
    """From 1 on, in the order of the journey; the planned kit comes first."""
    report = sample_report()
    told = maps(report)
    assert [row["number"] for row in told["region_rows"]] == [1, 2, 3]
    assert [row["name"] for row in told["region_rows"]] == ["Lowland", "High valley", "Steppe"]
    assert told["kits"][0]["title"] == next(
        kit.title for kit in report.kits if kit.id == report.best.kit
    )
    page = maps_page(Shared(report), [], {})
    for row, place in zip(told["region_rows"], page.blocks["map-data"]["places"], strict=True):
        assert row["grade"] == place["months"]["grade"][4]  # May


def test_points_of_the_map_have_four_decimals():
    """Eleven metres."""
    report = sample_report()
    place = replace(report.places[0], latitude=40.123456, longitude=-30.98766)
    report = replace(report, places=(place, *report.places[1:]))
    found = maps_page(Shared(report), [], {}).blocks["map-data"]["places"][0]
    assert found["point"] == [40.1235, -30.9877]


def test_legend_of_shares_has_the_best_first():
    """And that of risks the least, each colour as six digits."""
    shares, risks = maps(sample_report())["shade_legends"]
    assert [row["word"].partition(",")[0] for row in shares[2]][:2] == ["sound", "workable"]
    assert risks[2][0]["word"] == "under 2 %"
    assert all(len(row["colour"]) == 7 for row in (*shares[2], *risks[2]))
    assert shares[2][0]["untinted"] and not shares[2][1]["untinted"]


def test_the_way_to_the_first_camp_is_told():
    """A leg arrived on 6 May whose camp is reached on the 8th."""
    (told,) = stays(camp_reached=date(2027, 5, 8))
    assert "to 26 May 2027, first camp on 8 May, 20 nights" in told
