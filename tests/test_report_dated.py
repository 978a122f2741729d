"""Plans as dated legs: nights by date, reasons, hazards met, remedies, late arrivals."""

from __future__ import annotations

from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from small_trips import leg, saved, stored, trip

from sheltermap import pipeline
from sheltermap.hazards.layers import HazardFinding
from sheltermap.report.dated import _met
from sheltermap.suitability.grade import grade
from sheltermap.vocabulary import DAYS_IN_YEAR, FACTORS, Grade

ROWS = """
[[hazards]]
legs = ["Hills"]
kind = "large-animals"
level = "serious"
first = "05-10"
last = "05-12"
note = "bears come down"
source = "ranger"

[[hazards]]
legs = ["Hills"]
kind = "lightning"
level = "advisory"
first = "08-01"
last = "08-31"
source = "herders"

[[hazards]]
legs = ["Plain"]
kind = "flood"
level = "none"
source = "river office"
"""


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    """Return a plan of a mild plain and of hills 10 K colder, each with dates to keep."""
    folder = tmp_path_factory.mktemp("dated")
    mean = np.full((12, 11, 15), 18.0)
    mean[:, 6] = 8.0  # The row at 41 north.
    world = stored(folder, mean=mean, vapour=0.6)
    text = trip(
        leg("Plain", nights="3", more="be_there = [2027-05-07]"),
        leg("Hills", (41.0, 31.0), nights="[4, 4, 5]"),
        ROWS,
    )
    return pipeline.plan(saved(folder, text), climate=world)


def nights(report, stay):
    """Return the positions in the year of a stay's evenings, counted by the calendar."""
    first = stay.arrive.timetuple().tm_yday - 1  # 2027 has no leap day.
    return np.arange(first, first + stay.nights)


def test_figures_of_a_leg_are_sums_over_its_evenings(report):
    """Rough nights, dangerous nights and causes, evening by evening."""
    for stay in report.best.legs:
        place = next(one for one in report.places if one.id == stay.place)
        season, days = place.seasons["bedroll"], nights(report, stay)
        assert stay.rough_nights == pytest.approx((1 - season.sound_share[days]).sum(), abs=1e-5)
        assert stay.dangerous_nights == pytest.approx(season.dangerous[days].sum(), abs=1e-5)
        for name in FACTORS:
            total = getattr(season, name)[days].sum()
            expected = None if np.isnan(total) else pytest.approx(total)
            assert stay.nights_by_factor[name] == expected


def test_wind_without_data_is_no_nought(report):
    """Not assessed is None, and never the limiting cause."""
    for stay in report.best.legs:
        assert stay.nights_by_factor["wind"] is None
        assert stay.limiting_factor in {"cold", "condensation"}


def test_fixed_evening_is_kept(report):
    """7 May is slept on the plain."""
    plain = report.best.legs[0]
    assert plain.arrive <= date(2027, 5, 7) < plain.leave


def test_hazard_met_is_told_in_full_beside_the_grade(report):
    """Animals from 10 to 12 May are met whenever the plan leaves; August is not."""
    plain, hills = report.best.legs
    assert hills.arrive <= date(2027, 5, 12) and plain.hazards == ()
    (met,) = hills.hazards
    assert (met.kind, met.level, met.note, met.source) == (
        "large-animals",
        2,
        "bears come down",
        "ranger",
    )
    assert hills.grade == grade(1 - hills.rough_nights / hills.nights)
    assert any("food" in words.lower() for words in hills.cautions)


@pytest.mark.parametrize(
    ("part", "stated", "told"),
    [("", False, 1), ("", True, 1), ("in part of the area only", True, 4), ("in part", False, 1)],
)
def test_hazard_in_part_is_told_as_bad_as_it_is_there(part, stated, told):
    """A closed core zone is an advisory to who stays out, and still a closure on the page."""
    closed = np.full(DAYS_IN_YEAR, 4, dtype=np.uint8)
    finding = HazardFinding(
        kind="permit",
        title="Permits and protected areas",
        level_by_day=np.minimum(closed, 1),
        share=0.02,
        note="",
        source="rangers",
        part=part,
        stated_level_by_day=closed if stated else None,
    )
    (met,) = _met(SimpleNamespace(findings=[finding]), np.arange(10), ())
    assert (met.level, met.stated_level, met.part) == (1, told, part)


def test_looked_at_and_found_nothing_is_checked(report):
    """Level none takes the kind off the list of the leg it names, and only there."""
    plain, hills = report.best.legs
    assert "flood" not in plain.not_checked and "flood" in hills.not_checked
    assert "flood" in report.not_checked


def test_sound_leg_needs_no_remedy(report):
    """What is sound is left alone; what is not has a remedy or none that helps."""
    plain, _ = report.best.legs
    assert plain.grade == Grade.SOUND and plain.remedy is None


def test_every_departure_has_its_stays_or_none(report):
    """Ten days, each with dates that follow each other, ready for the slider."""
    assert [stays.depart for stays in report.by_departure] == [
        date(2027, 5, 1) + timedelta(days=n) for n in range(10)
    ]
    feasible = [stays for stays in report.by_departure if stays.rough_nights is not None]
    # 7 May is one of three evenings from the departure on: leave on 5, 6 or 7 May.
    assert [stays.depart.day for stays in feasible] == [5, 6, 7]
    for stays in feasible:
        assert stays.arrive[0] == stays.depart and stays.arrive[1] == stays.leave[0]
        assert stays.legs == (0, 1) and len(stays.places) == 2
    least = min(stays.rough_nights for stays in feasible)
    assert report.best.rough_nights >= least - 1e-9


def test_range_holds_the_expected_nights(report):
    """And a count of nights is neither negative nor more than there are."""
    best = report.best
    assert 0 <= best.rough_low <= best.rough_nights <= best.rough_high <= best.nights


def test_alternatives_differ(report):
    """Same direction, order and kit within two weeks is the same plan a day later."""
    assert report.alternatives == ()


def test_a_leg_says_that_its_way_forces_nights(tmp_path):
    """900 km at 200 km a day are five driving days, more than the four nights preferred."""
    far = leg("B", nights="[4, 4, 9]", more="kilometres = 900")
    (tmp_path / "trip.toml").write_text(trip(leg("A"), far))
    report = pipeline.plan(tmp_path, climate=stored(tmp_path))
    first, second = report.best.legs
    assert not any("driving days" in caution for caution in first.cautions)
    assert any("take 5 driving days" in caution for caution in second.cautions)
    assert second.nights == 5
