"""Slips in a trip alone are doubted before anything is planned, and nothing else is."""

from __future__ import annotations

import pytest
from click.testing import CliRunner
from small_trips import leg, saved, trip

from sheltermap.cli import main
from sheltermap.trip.doubts import permit_doubts, short_ways
from sheltermap.trip.inputs import read_inputs
from sheltermap.trip.model import read_trip

INSIDE = 'permit = "East"'


def doubts(folder, days, *legs):
    """Return what is doubted in a trip with a permit of so many days."""
    permit = f"\n[permits.East]\nlongest_stay_days = {days}\n"
    return list(permit_doubts(read_trip(saved(folder, trip(*legs, permit)))))


def test_a_permit_that_no_leg_names_is_doubted(tmp_path):
    """Whoever forgets the key would overstay in good faith."""
    (found,) = doubts(tmp_path, 30, leg("A"))
    assert "The permit East limits nothing" in found and 'permit = "East"' in found


@pytest.mark.parametrize(("days", "doubted"), [(7, True), (8, False), (300, False)])
def test_a_permit_shorter_than_its_shortest_stays_is_doubted(tmp_path, days, doubted):
    """3 and 4 nights are 8 days with those of entry and of leaving; longer permits are fine."""
    inside = (
        leg(name, nights=least, more=INSIDE) for name, least in (("A", 3), ("B", "[4, 5, 9]"))
    )
    found = doubts(tmp_path, days, *inside, leg("C"))
    assert bool(found) is doubted
    assert all("allows 7 days" in one and "(A, B) take 8" in one for one in found)


def test_check_says_it_and_passes(tmp_path):
    """The planner, not the check, tells what must give."""
    permit = "\n[permits.East]\nlongest_stay_days = 3\n"
    path = saved(tmp_path, trip(leg("A", more=INSIDE), permit))
    result = CliRunner().invoke(main, ["check", str(path)])
    assert result.exit_code == 0
    assert result.stderr.startswith("Look again: The permit East allows 3 days")


NORTH = (43.0, 29.0)
"""Three degrees of latitude, 333.6 km, from the usual place at 40 north."""


def ways(folder, *parts, **options):
    """Return what is doubted in a trip of these legs."""
    return list(short_ways(read_inputs(saved(folder, trip(*parts, **options))).trip))


@pytest.mark.parametrize(("kilometres", "doubted"), [(280, True), (290, False), (900, False)])
def test_fewer_kilometres_than_the_straight_line_are_doubted(tmp_path, kilometres, doubted):
    """Both places reach 25 km: 333.6 - 50 = 283.6 km is the least that can be driven."""
    found = ways(tmp_path, leg("A"), leg("B", NORTH, more=f"kilometres = {kilometres}"))
    assert bool(found) is doubted
    assert all("B lies 334 km in a straight line from A" in doubt for doubt in found)


def test_swapped_coordinates_are_named(tmp_path):
    """58 north 22 east written the other way round lies thousands of kilometres off."""
    lake = leg("Lake", (53.85, 21.70), more="kilometres = 2050")
    (found,) = ways(tmp_path, lake, leg("Isle", (22.40, 58.35), more="kilometres = 820"))
    assert found.startswith("Isle lies 4,") and "latitude and longitude in order" in found


def test_unstated_kilometres_are_not_doubted(tmp_path):
    """Nothing was said that could be wrong."""
    assert ways(tmp_path, leg("A"), leg("B", NORTH)) == []
