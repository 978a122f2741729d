"""Permits that limit nothing or everything are doubted before anything is planned."""

from __future__ import annotations

import pytest
from click.testing import CliRunner
from small_trips import leg, saved, trip

from sheltermap.cli import main
from sheltermap.journey.permits import permit_doubts
from sheltermap.journey.trip import read_trip

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
