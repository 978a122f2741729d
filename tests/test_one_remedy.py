"""One remedy for a journey: Plan, legs, region pages, Kits, JSON and lines name the same."""

from __future__ import annotations

import numpy as np
import pytest
from sample_report import BASE_MAP
from small_trips import LATITUDE, LONGITUDE, leg, saved, stored, trip
from told_figures import assert_figures_agree

from sheltermap import pipeline
from sheltermap.report.departures import departures, departures_in_words
from sheltermap.report.exports import exported_files
from sheltermap.suitability.candidates import LEAST_DANGER
from sheltermap.suitability.grade import grade
from sheltermap.website.pages import site

YEAR = np.cos(2 * np.pi * (np.arange(12) - 6.5) / 12)  # Coldest in January, warmest in July.


def journey(folder, mean):
    """Return a plan of two legs in May, the north 3 K colder than the south."""
    field = np.broadcast_to(np.reshape(mean, (12, 1, 1)), (12, LATITUDE.size, LONGITUDE.size))
    field = field - 3.0 * (LATITUDE >= 41.0)[:, None]
    world = stored(folder, mean=field, vapour=0.5)
    text = trip(leg("Plain"), leg("Hills", (42.0, 31.0)))
    return pipeline.plan(saved(folder, text), climate=world)


@pytest.fixture(scope="module")
def cool(tmp_path_factory):
    """Return a journey of cool nights, without danger, in a year of bitter winters."""
    return journey(tmp_path_factory.mktemp("cool"), 4 + 10 * YEAR)


@pytest.fixture(scope="module")
def colder(tmp_path_factory):
    """Return the same journey with nights 2 K colder: on some of them danger remains."""
    return journey(tmp_path_factory.mktemp("colder"), 2 + 10 * YEAR)


def place_of(report, stay):
    """Return the place of a planned leg, and its nights as positions in the year."""
    first = stay.arrive.timetuple().tm_yday - 1  # 2027 has no leap day.
    place = next(one for one in report.places if one.id == stay.place)
    return place, slice(first, first + stay.nights)


def most_danger(report, name=None):
    """Return the largest chance of danger on a planned night, in the kit or with a remedy."""
    chances = []
    for stay in report.best.legs:
        place, days = place_of(report, stay)
        nights = place.seasons[report.best.kit]
        if name is not None:
            nights = next(one for one in place.remedies if one.id == name)
        chances.append(nights.dangerous[days].max())
    return max(chances)


def prices(report):
    """Return the price of each add-on."""
    return {one.id: one.price for one in report.places[0].remedies if one.paid is None}


@pytest.mark.parametrize("name", ["cool", "colder"])
def test_same_remedy_everywhere(name, request):
    """In sentences, weeks, rows and keys."""
    report = request.getfixturevalue(name)
    named = report.remedy.id
    title = report.remedy.title.lower()
    assert {stay.remedy.id for stay in report.best.legs if stay.remedy} == {named}
    assert report.comparison.rows[1].kit == f"{report.best.kit}+{named}"
    answer = departures(report)
    assert answer["remedy"]["id"] == named and answer["helps_a_little"] is None
    assert {leg["remedy"] for leg in answer["best"]["legs"]} <= {named, None}
    assert any(title in line.lower() for line in departures_in_words(report))
    pages = site(report, base_map=BASE_MAP, exports=exported_files(report))
    assert_figures_agree(pages)
    others = [one.title.lower() for one in report.places[0].remedies if one.id != named]
    for page in ("index.html", "calendar.html"):
        text = pages[page].decode().lower()
        assert title in text and not [other for other in others if f"{other} would save" in text]
    assert f"with {title}" in pages["kits.html"].decode().lower()


@pytest.mark.parametrize("name", ["cool", "colder"])
def test_weeks_do_not_flip(name, request):
    """Weeks have the journey's remedy, or a room where it would leave danger."""
    report = request.getfixturevalue(name)
    for place in report.places:
        assert {week.remedy for week in place.weeks} <= {"", report.remedy.title, "A room"}
        season = place.seasons[report.best.kit]
        left = next(one for one in place.remedies if one.id == report.remedy.id).dangerous
        for week in place.weeks:
            days = slice(week.first_day_of_year - 1, week.first_day_of_year + 6)
            if left[days].max() >= LEAST_DANGER:
                assert week.remedy == "A room" and season.dangerous[days].max() >= LEAST_DANGER


def test_remedy_without_danger_is_the_cheapest_that_lifts_a_grade(cool):
    """No leg is in danger; nothing cheaper lifts the grade of either."""
    assert most_danger(cool) < LEAST_DANGER and not cool.remedy.ends_danger
    lifting = set()
    for stay in cool.best.legs:
        place, days = place_of(cool, stay)
        before = grade(place.seasons[cool.best.kit].sound_share[days].mean())
        for one in place.remedies:
            if one.paid is None and grade(one.sound_share[days].mean()) < before:
                lifting.add(one.id)
    assert len(lifting) > 1  # Else "cheapest" would be no choice.
    assert cool.remedy.id == min(lifting, key=prices(cool).get)


def test_remedy_in_danger_is_the_cheapest_that_ends_it(colder):
    """Of the add-ons, by their printed prices."""
    assert most_danger(colder) >= LEAST_DANGER and colder.remedy.ends_danger
    ending = [name for name in prices(colder) if most_danger(colder, name) < LEAST_DANGER]
    assert len(ending) > 1  # Else "cheapest" would be no choice.
    assert colder.remedy.id == min(ending, key=prices(colder).get)
