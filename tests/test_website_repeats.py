"""What pages say once: what helps, one height, how long a permit lets stay, unknowns."""

from __future__ import annotations

import re
from dataclasses import replace

from sample_report import BASE_MAP, sample_report
from season_reports import hand_made_year

from sheltermap.trip.model import Permit
from sheltermap.website import seasonmarks
from sheltermap.website.pages import site
from sheltermap.website.shared import Shared


def page(report, name):
    """Return the words of a page on one line, without its tags."""
    text = site(report, base_map=BASE_MAP)[name].decode()
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


def test_what_helps_stands_once_a_place_with_its_weeks():
    """Weeks 10 to 19 and 30 to 34 are days 71 to 140 and 211 to 245 of the year."""
    report = hand_made_year()
    first, *others = report.places
    helped = {0, *range(10, 20), *range(30, 35)}  # Week 0 is closed: nothing helps there.
    weeks = tuple(
        replace(week, remedy="A room" if number in helped else "")
        for number, week in enumerate(first.weeks)
    )
    shared = Shared(replace(report, places=(replace(first, weeks=weeks), *others)))
    row = shared.season["table"][0]
    (note,) = [note for note in row["notes"] if "helps" in note]
    # By hand: 1 January is day 1, so day 71 is 12 March, 140 20 May, 211 30 July, 245 2 September.
    assert note == "helps from 12 March to 20 May and from 30 July to 2 September: a room"
    # Runs end where the grade or a hazard changes, and nowhere else.
    assert not any("helps" in run for run in row["runs"])
    # By hand: weeks 0, 2, 4, 5, 6, 7, 10, 20, 30 and 40 begin one.
    assert len(row["runs"]) == 10


def test_a_permit_without_dates_still_says_how_long():
    """It has no bracket, since its days begin with the arrival."""
    report = hand_made_year()
    legs = list(report.trip.legs)
    legs[2] = legs[2].model_copy(update={"permit": "East"})
    permits = {"East": Permit(longest_stay_days=30)}
    trip = report.trip.model_copy(update={"legs": tuple(legs), "permits": permits})
    told = seasonmarks.in_words(replace(report, trip=trip))
    assert [words for words in told.values() if "East" in words] == [
        "30 days at most on permit East"
    ]


def test_a_country_of_one_height_is_told_once():
    """One cell has no range."""
    report = sample_report()
    first, *others = report.places
    flat = replace(report, places=(replace(first, elevation_m=(210.0, 210.0, 210.0)), *others))
    slug = Shared(flat).place_slugs[first.id]
    text = page(flat, f"region-{slug}.html")
    height = re.search(r"Height of the country (.*?) (?:Height of the camps|What the)", text)[1]
    assert "210 m" in height and "on average" not in height and " to " not in height
    hilly = replace(report, places=(replace(first, elevation_m=(100.0, 210.0, 400.0)), *others))
    assert "on average" in page(hilly, f"region-{slug}.html")


def test_what_the_load_lacks_is_told_once():
    """The answer names it; the table of ratings need not again."""
    report = sample_report()
    lacking = "rated mass: needs vehicle.weighed_kg"
    load = report.load
    legs = tuple(
        replace(
            leg,
            limits=tuple(
                replace(one, load=None, missing="vehicle.weighed_kg") for one in leg.limits[:1]
            ),
        )
        for leg in load.legs
    )
    unknown = replace(
        load,
        legs=legs,
        status="unknown",
        unknown=(lacking,),
        sentence=f"Kit: whether the vehicle carries it is unknown: {lacking}.",
    )
    text = page(replace(report, load=unknown), "load.html")
    assert text.count("vehicle.weighed_kg") == 1
