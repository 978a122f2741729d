"""Borders of what the tables of a trip must be to each other: the last that passes, the next."""

from __future__ import annotations

import pytest
from small_trips import leg, saved, trip

from sheltermap.trip.doubts import unit_doubts
from sheltermap.trip.model import read_trip
from sheltermap.vocabulary import InputError

FREE = 'order = "free"'


def told(folder, text):
    """Return what is wrong with a trip, one line a problem."""
    try:
        read_trip(saved(folder, text))
    except InputError as error:
        return [str(problem).partition(": ")[2] for problem in error.problems]
    return []


@pytest.mark.parametrize(
    "text",
    [
        trip(leg("A"), "\n[money]\neuro = 1\n"),
        trip(leg("A"), "\n[vehicle]\nweighed_kg = 2150\nweighed_rear_kg = 2150\n"),
        trip(leg("A", nights="40"), leg("B", nights="21")),  # 1 May to 1 July are 61 days.
        trip(*(leg(f"L{n}", nights="1") for n in range(12)), departure=FREE),
        trip(leg("A", more="kilometres = 300\napproach_km = 300")),
    ],
)
def test_the_most_that_fits_passes(tmp_path, text):
    """A euro is a euro, all mass may stand on the rear axle, every day may be a night."""
    assert told(tmp_path, text) == []


def test_one_night_more_than_days_is_refused(tmp_path):
    """1 May to 1 July are 61 days."""
    (found,) = told(tmp_path, trip(leg("A", nights="40"), leg("B", nights="22")))
    assert found.startswith("departure.finish_by: expected at least 62 days after 2027-05-01")


def links(*pairs):
    """Return links of one kilometre."""
    return "".join(
        f'\n[[links]]\nlegs = ["{one}", "{other}"]\nkilometres = 1\n' for one, other in pairs
    )


def test_legs_in_two_parts_are_not_joined(tmp_path):
    """A to B and C to D: nothing leads from the first pair to the second."""
    text = trip(*map(leg, "ABCD"), links("AB", "CD"), departure=FREE)
    (found,) = told(tmp_path, text)
    assert "got none to 'C', 'D'." in found


def test_a_chain_of_links_joins_all(tmp_path):
    """D is reached over C and B, each link read in either sense."""
    assert told(tmp_path, trip(*map(leg, "ABCD"), links("BA", "CB", "DC"), departure=FREE)) == []


def test_the_leg_outside_a_permit_is_named(tmp_path):
    """Of two outside the first between them."""
    east = 'permit = "East"'
    legs = leg("Z"), leg("A", more=east), leg("B"), leg("C"), leg("D", more=east)
    (found,) = told(tmp_path, trip(*legs, "\n[permits.East]\nlongest_stay_days = 30\n"))
    assert found.startswith("permits.East: expected legs that follow each other, got 'B' between")


@pytest.mark.parametrize(
    ("heights", "direction", "asked"),
    [
        ((2600, 100, 200), "forward", "A"),
        ((100, 2600, 200), "forward", None),
        ((100, 200, 2600), "forward", None),
        ((100, 200, 2600), "reverse", "C"),
        ((100, 2600, 200), "reverse", None),
        ((2600, 100, 200), "reverse", None),
        ((100, 200, 2600), "either", "C"),
        ((2600, 100, 200), "either", "A"),
    ],
)
def test_the_height_of_home_is_asked_for_the_leg_that_may_be_first(
    tmp_path, heights, direction, asked
):
    """The first leg forward, the last one in reverse; the others never."""
    legs = (
        leg(name, nights="9", more=f"camp_elevation_m = {height}")
        for name, height in zip("ABC", heights, strict=True)
    )
    found = told(tmp_path, trip(*legs, departure=f'direction = "{direction}"'))
    assert len(found) == (asked is not None)
    assert all(f"The first camp may be '{asked}' at 2,600 m" in one for one in found)


def test_the_height_of_home_is_asked_where_any_leg_may_be_first(tmp_path):
    """In a free order each may be, the middle one too; a height that is stated answers it."""
    legs = [leg(name, nights="9") for name in "AC"]
    legs.insert(1, leg("B", nights="9", more="camp_elevation_m = 2600"))
    ways = links("AB", "BC")
    (found,) = told(tmp_path, trip(*legs, ways, departure=FREE))
    assert found.startswith("departure.from_elevation_m: expected")
    assert "The first camp may be 'B' at 2,600 m" in found
    assert told(tmp_path, trip(*legs, ways, departure=f"{FREE}\nfrom_elevation_m = 900")) == []


def test_home_counts_from_the_sea_where_no_height_is_stated(tmp_path):
    """At most 3,000 + 500 m after it."""
    asked, refused = told(tmp_path, trip(leg("A", nights="30", more="camp_elevation_m = 4400")))
    assert asked.startswith("departure.from_elevation_m: expected")
    assert "expected at most 3,500 m after a camp at 0 m, got 4,400 m." in refused


@pytest.mark.parametrize(
    ("ways", "direction", "needed"),
    [
        ("", "forward", 3),
        ("approach_km = 200", "forward", 3),  # The first day's way ends in the camp.
        ("approach_km = 201", "forward", 4),
        ("approach_km = 401", "forward", 5),
        ("approach_km = 401", "reverse", 3),
        ("kilometres = 401", "forward", 5),
        ("kilometres = 601\napproach_km = 201", "forward", 4),
        ("kilometres = 601\napproach_km = 201", "reverse", 6),
    ],
)
def test_evenings_on_the_way_come_on_top_of_those_of_a_climb(tmp_path, ways, direction, needed):
    """By hand: 3,500 m from 2,500 m takes two nights and one of rest.

    Of 200 km a day the last ends in the camp. In reverse all the leg's kilometres are on the
    way, and an approach alone says nothing of them.
    """
    departure = f'direction = "{direction}"\nfrom_elevation_m = 2500'
    more = f"camp_elevation_m = 3500\n{ways}"
    few, enough = (
        told(tmp_path, trip(leg("A", nights=f"{nights}", more=more), departure=departure))
        for nights in (needed - 1, needed)
    )
    assert enough == []
    assert few[0].startswith(f"legs[1].nights: expected {needed} nights or more, 1 of them for")


def test_a_climb_is_told_where_both_ways_round_are_too_fast(tmp_path):
    """Down to 100 m and up again the other way: the last leg of the reverse counts."""
    legs = (
        leg(name, nights="1", more=f"camp_elevation_m = {height}")
        for name, height in (("A", 3500), ("B", 100))
    )
    found = told(tmp_path, trip(*legs, departure='direction = "either"\nfrom_elevation_m = 0'))
    assert [one.partition(":")[0] for one in found] == ["legs[1].nights"]


def test_camps_of_two_heights_share_a_hazard_of_their_leg(tmp_path):
    """A leg without heights in a list keeps its own name."""
    hazard = (
        '\n[[hazards]]\nlegs = ["Lake", "Pass"]\nkind = "flood"\nlevel = "none"\nsource = "x"\n'
    )
    pass_ = leg("Pass", nights="9", more="camp_elevation_m = [300, 700]")
    read = read_trip(saved(tmp_path, trip(leg("Lake"), pass_, hazard)))
    assert read.hazards[0].legs == ("Lake", "Pass, camp 1", "Pass, camp 2")


@pytest.mark.parametrize("heights", ['[300, "x"]', "[300, true]"])
def test_heights_that_are_no_numbers_are_told(tmp_path, heights):
    """Such a list is not spread over camps."""
    (found,) = told(tmp_path, trip(leg("A", more=f"camp_elevation_m = {heights}")))
    assert found.startswith("legs[1].camp_elevation_m: expected")


def test_a_trip_without_legs_is_told(tmp_path):
    """Nothing is spread, and the key is named."""
    (found,) = told(tmp_path, trip())
    assert found.startswith("legs: expected")


@pytest.mark.parametrize(
    ("line", "doubt"),
    [
        ("[party]\nbody_mass_kg = 120", None),
        (
            "[party]\nbody_mass_kg = 176",
            "party.body_mass_kg is 176 kg. If that is in pounds, write 79.83.",
        ),
        ("[vehicle]\nweighed_kg = 4500", None),
        (
            "[vehicle]\nrated_kg = 6500",
            "vehicle.rated_kg is 6,500 kg. If that is in pounds, write 2948.",
        ),
    ],
)
def test_masses_like_pounds_are_doubted(tmp_path, line, doubt):
    """176 lb of 0.45359237 kg are 79.83 kg, 6,500 lb are 2,948 kg; what is plausible passes."""
    read = read_trip(saved(tmp_path, trip(leg("A"), f"\n{line}\n")))
    assert list(unit_doubts(read)) == ([] if doubt is None else [doubt])
