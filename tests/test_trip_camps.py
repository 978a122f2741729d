"""A list of heights is a camp for each, one after the other."""

from __future__ import annotations

import pytest
from small_trips import leg, saved, trip

from sheltermap import pipeline
from sheltermap.report.departures import departures
from sheltermap.report.exports import exported_files
from sheltermap.trip.model import read_trip
from sheltermap.vocabulary import InputError

HEIGHTS = "camp_elevation_m = [2700, 3150, 3500]"


def read(folder, text):
    """Return a trip."""
    return read_trip(saved(folder, text))


def only(folder, text):
    """Return the one problem of a trip."""
    with pytest.raises(InputError) as caught:
        read(folder, text)
    (problem,) = caught.value.problems
    return str(problem).partition(": ")[2]


def test_camps_are_legs_of_their_own(tmp_path):
    """By hand: 7, 8, 11 nights in three camps are 2, 2, 3 each, with 1, 2 and 2 left over.

    What is left over goes to the lowest, then to the next.
    """
    more = f"{HEIGHTS}\nkilometres = 300\nbe_there = [2027-05-12]\nnote = 'slowly'"
    hazard = "\n[[hazards]]\nlegs = ['Pass']\nkind = 'altitude'\nlevel = 'serious'\nsource = 'x'\n"
    found = read(
        tmp_path,
        trip(
            leg("Plain"),
            leg("Pass", nights="[7, 8, 11]", more=more),
            hazard,
            departure="from_elevation_m = 2500",
        ),
    )
    assert [one.name for one in found.legs] == [
        "Plain", "Pass, camp 1", "Pass, camp 2", "Pass, camp 3"
    ]  # fmt: skip
    nights = [(one.nights.least, one.nights.preferred, one.nights.most) for one in found.legs[1:]]
    assert nights == [(3, 3, 4), (2, 3, 4), (2, 2, 3)]
    assert [one.camp_elevation_m for one in found.legs[1:]] == [2700, 3150, 3500]
    assert [one.kilometres for one in found.legs[1:]] == [300, 0, 0]
    assert [len(one.be_there) for one in found.legs[1:]] == [0, 0, 1]
    assert {one.note for one in found.legs[1:]} == {"slowly"}
    assert found.hazards[0].legs == ("Pass, camp 1", "Pass, camp 2", "Pass, camp 3")


def test_problems_name_the_leg_of_the_file(tmp_path):
    """The second leg of the file, though the program sees four; and each problem once."""
    more = f"{HEIGHTS}\nsite = 'cave'"
    text = trip(
        leg("A", nights="9", more=HEIGHTS),
        leg("B", nights="9", more=more),
        departure="from_elevation_m = 2500",
    )
    assert only(tmp_path, text).startswith("legs[2].site: expected")


@pytest.mark.parametrize(
    ("nights", "departure", "said"),
    [
        ("2", "", "legs[1].nights: expected at least 3 nights for 3 camps, got 2."),
        ("9", "\norder = 'free'", "legs[1].camp_elevation_m: expected one height in a free order"),
    ],
)
def test_lists_that_cannot_be_spread_are_told(tmp_path, nights, departure, said):
    """With what to do about it."""
    text = trip(
        leg("A", nights=nights, more=HEIGHTS), departure=f"from_elevation_m = 2500{departure}"
    )
    assert only(tmp_path, text).startswith(said)


def test_the_rule_holds_from_camp_to_camp(tmp_path):
    """2,700 to 3,600 m in one step is refused, and the list's own leg is named."""
    text = trip(
        leg("A", nights="9", more="camp_elevation_m = [2700, 3600]"),
        departure="from_elevation_m = 2500\ndirection = 'forward'",
    )
    assert only(tmp_path, text).startswith("legs[1].camp_elevation_m: expected at most 3,500 m")


def test_any_rising_nights_can_be_spread(tmp_path):
    """8, 9, 9 over three camps: 3, 3, 2 nights of eight, three each of nine."""
    text = trip(leg("A", nights="[8, 9, 9]", more=HEIGHTS), departure="from_elevation_m = 2500")
    nights = [(one.nights.least, one.nights.most) for one in read(tmp_path, text).legs]
    assert nights == [(3, 3), (3, 3), (2, 3)]


@pytest.mark.parametrize("nights", ["2", "3", "4"])
def test_nights_of_a_list_are_told_in_one_round(tmp_path, nights):
    """2,700 to 3,250 m takes two nights, so the lower two of three camps need two each: five."""
    heights = "camp_elevation_m = [2700, 3250, 3700]"
    departure = "from_elevation_m = 2500"
    with pytest.raises(InputError) as caught:
        read(tmp_path, trip(leg("A", nights=nights, more=heights), departure=departure))
    assert "legs[1].nights: expected 5 nights or more for its 3 camps, got fewer" in str(
        caught.value.problems[-1]
    )
    read(tmp_path, trip(leg("A", nights="5", more=heights), departure=departure))


def test_heights_are_told_evening_by_evening(tmp_path):
    """On the plan's pages, in JSON and in the calendar."""
    text = trip(leg("Pass", nights="9", more=HEIGHTS), departure="from_elevation_m = 2500")
    report = pipeline.plan(saved(tmp_path, text))
    if report.best is None:
        text += "accept = ['dangerous-nights']\n"
        report = pipeline.plan(saved(tmp_path, text))
    legs = departures(report)["best"]["legs"]
    assert [(one["camp"], one["camp_elevation_m"]) for one in legs] == [
        (1, 2700), (2, 3150), (3, 3500)
    ]  # fmt: skip
    calendar = exported_files(report)["plan.ics"].decode().replace("\r\n ", "")
    for height in ("2\\,700 m", "3\\,150 m", "3\\,500 m"):
        assert f"camp at {height}" in calendar


@pytest.mark.parametrize(
    ("name", "hazards", "key"),
    [
        ("['a']", "[]", "legs[1].name: expected text"),
        ("", "[]", "legs[1].name: expected a value, got nothing"),
        ("'A'", "5", "hazards: expected a list"),
        ("'A'", "[{ legs = [['a'], 'A'] }]", "hazards[1].legs[1]: expected text"),
    ],
)
def test_what_is_no_leg_and_no_hazard_is_left_to_the_model(tmp_path, name, hazards, key):
    """Lists of heights are spread before anything is checked."""
    text = f"hazards = {hazards}\n" + trip(leg("A", nights="9", more=HEIGHTS))
    with pytest.raises(InputError) as caught:
        read(tmp_path, text.replace('name = "A"', f"name = {name}" if name else ""))
    assert key in str(caught.value)
