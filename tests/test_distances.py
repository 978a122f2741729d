"""Kilometres that no road keeps are doubted, and nothing else is."""

from __future__ import annotations

import pytest
from small_trips import leg, saved, trip

from sheltermap.journey.distances import short_ways
from sheltermap.journey.inputs import read_inputs

NORTH = (43.0, 29.0)
"""Three degrees of latitude, 333.6 km, from the usual place at 40 north."""


def doubts(folder, *parts, **options):
    """Return what is doubted in a trip of these legs."""
    return list(short_ways(read_inputs(saved(folder, trip(*parts, **options))).trip))


@pytest.mark.parametrize(("kilometres", "doubted"), [(280, True), (290, False), (900, False)])
def test_fewer_kilometres_than_the_straight_line_are_doubted(tmp_path, kilometres, doubted):
    """Both places reach 25 km: 333.6 - 50 = 283.6 km is the least that can be driven."""
    found = doubts(tmp_path, leg("A"), leg("B", NORTH, more=f"kilometres = {kilometres}"))
    assert bool(found) is doubted
    assert all("B lies 334 km in a straight line from A" in doubt for doubt in found)


def test_swapped_coordinates_are_named(tmp_path):
    """58 north 22 east written the other way round lies thousands of kilometres off."""
    lake = leg("Lake", (53.85, 21.70), more="kilometres = 2050")
    (found,) = doubts(tmp_path, lake, leg("Isle", (22.40, 58.35), more="kilometres = 820"))
    assert found.startswith("Isle lies 4,") and "latitude and longitude in order" in found


def test_unstated_kilometres_are_not_doubted(tmp_path):
    """Nothing was said that could be wrong."""
    assert doubts(tmp_path, leg("A"), leg("B", NORTH)) == []
