"""Weeks of the season chart: the worst day decides, danger is never averaged away."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from sheltermap.hazards.layers import stated_finding
from sheltermap.places.place import NightSeason
from sheltermap.places.weeks import CLOSED_BY_TRIP, weeks
from sheltermap.suitability.candidates import Candidate
from sheltermap.suitability.remedy import Advice, Remedy
from sheltermap.vocabulary import FACTORS, MISSING_FACTOR, NO_FACTOR, Grade, Level

FLOOD = stated_finding("flood", "prohibitive", source="river office")
WEEK_2 = slice(7, 14)


def season(**changed):
    """Return a year of perfect nights with some fields or days replaced."""
    year = {field.name: np.zeros(365) for field in dataclasses.fields(NightSeason)}
    year |= {
        "sound_share": np.ones(365),
        "wind": np.full(365, np.nan),
        "limiting_factor": np.full(365, NO_FACTOR, np.int8),
        "grade": np.zeros(365, np.int8),
        "hazard_level": np.zeros(365, np.uint8),
        "hazard": np.full(365, -1, np.int16),
        "grade_shares": np.zeros((12, 4)),
    }
    return NightSeason(**year | changed)


def values(default, dtype=float, **days):
    """Return a year of one value, with days replaced: ``d8=2`` is the eighth of January."""
    year = np.full(365, default, dtype)
    for day, value in days.items():
        year[int(day[1:]) - 1] = value
    return year


def test_fifty_two_weeks_hold_the_year():
    """Each starts seven days after the one before; the last has the odd day."""
    found = weeks(season(grade=values(0, np.int8, d365=3)), (), (), ())
    assert [week.first_day_of_year for week in found] == list(range(1, 365, 7))
    assert found[-1].grade == Grade.UNFIT and found[-2].grade == Grade.SOUND


def test_worst_day_gives_the_grade_and_the_mean_the_share():
    """One unfit day of seven: the week is unfit, its share 6/7."""
    found = weeks(
        season(grade=values(0, np.int8, d10=3), sound_share=values(1.0, d10=0.0)), (), (), ()
    )
    assert found[1].grade == Grade.UNFIT
    assert found[1].sound_share == pytest.approx(6 / 7)
    assert found[0].grade == found[2].grade == Grade.SOUND


def test_missing_day_leaves_the_week_without_a_grade():
    """Nothing known is never a good verdict, and no reason is made up for it."""
    missing = season(
        grade=values(0, np.int8, d10=-1),
        sound_share=values(1.0, d10=np.nan),
        limiting_factor=values(NO_FACTOR, np.int8, d10=MISSING_FACTOR),
    )
    week = weeks(missing, (), (), ())[1]
    assert week.grade == -1 and np.isnan(week.sound_share)
    assert (week.factor, week.remedy) == ("", "")


@pytest.mark.parametrize("level", [3, 4])
def test_hazard_is_told_of_a_week_with_missing_days(level):
    """A flood is a flood whatever the climate data lack; the grade stays unknown."""
    week = weeks(
        season(
            grade=values(0, np.int8, d10=-1),
            hazard_level=values(0, np.uint8, d10=level),
            hazard=values(-1, np.int16, d10=0),
        ),
        (FLOOD,),
        (),
        (),
    )[1]
    assert (week.grade, week.hazard, week.hazard_level) == (-1, "Flood", level)


def test_week_names_the_hazard_of_its_worst_day():
    """Of two hazards in a week the one that forbids more is named."""
    animals = stated_finding("large-animals", "advisory")
    week = weeks(
        season(
            hazard_level=values(0, np.uint8, d8=1, d9=3),
            hazard=values(-1, np.int16, d8=0, d9=1),
        ),
        (animals, FLOOD),
        (),
        (),
    )[1]
    assert (week.hazard, week.hazard_level) == ("Flood", 3)


def test_week_without_hazard_names_none():
    """Position -1 must not read as the last finding of the list."""
    assert {week.hazard for week in weeks(season(), (FLOOD,), (), ())} == {""}


@pytest.mark.parametrize(("unchecked", "checked"), [((), True), (("flood",), False)])
def test_week_is_checked_when_every_kind_was_looked_at(unchecked, checked):
    """One kind nobody looked at hatches the chart."""
    assert {week.checked for week in weeks(season(), (), unchecked, ())} == {checked}


def test_factor_is_the_cause_of_most_rough_nights():
    """Six nights at 0.1 cold against one at 0.5 heat: 0.6 and 0.5 nights."""
    year = season(
        cold=np.where(np.arange(365) == 9, 0.0, 0.1),
        heat=values(0.0, d10=0.5),
        limiting_factor=values(FACTORS.index("cold"), np.int8, d10=FACTORS.index("heat")),
    )
    assert weeks(year, (), (), ())[1].factor == "cold"


def offer(ident, price, gain_in=slice(None)):
    """Return a remedy that makes the nights of some days perfect."""
    share = np.full(365, 0.6)
    share[gain_in] = 1.0
    return Candidate(ident, ident.title(), price, 1.0, share, np.zeros(365))


def hard_year(**changed):
    """Return a year of cold nights, sound in six of ten."""
    cold = values(FACTORS.index("cold"), np.int8)
    return season(
        cold=np.full(365, 0.4), sound_share=np.full(365, 0.6), limiting_factor=cold, **changed
    )


def test_without_a_plan_the_remedy_is_the_weeks_own():
    """What helps in January only is not named in February."""
    found = weeks(hard_year(), (), (), (offer("mat", 80, WEEK_2), offer("warm-bedding", 300)))
    assert found[1].remedy == "Mat"
    assert found[5].remedy == "Warm-Bedding"


def test_weeks_have_the_remedy_of_the_plan():
    """A cheaper one that would do in some weeks is not named there: weeks do not flip."""
    offers = (offer("mat", 80, WEEK_2), offer("warm-bedding", 300))
    bedding = Remedy("warm-bedding", "Warm bedding", 300.0, 1.0, 4.0, True)
    found = weeks(hard_year(), (), (), offers, None, Advice(bedding))
    assert {week.remedy for week in found} == {"Warm-Bedding"}
    assert {week.remedy for week in weeks(hard_year(), (), (), offers, None, Advice())} == {""}


def test_dangerous_week_off_the_plan_has_what_ends_its_danger():
    """The plan's mat is for milder nights than those of the second week of January."""
    left = values(0.0, d10=0.3)
    mat = dataclasses.replace(offer("mat", 80), dangerous=left)
    offers = (mat, offer("warm-bedding", 300))
    named = Advice(Remedy("mat", "Mat", 80.0, 1.0, 4.0, True))
    found = weeks(hard_year(dangerous=left), (), (), offers, None, named)
    assert (found[0].remedy, found[1].remedy) == ("Mat", "Warm-Bedding")


def test_sound_week_needs_no_remedy():
    """Nothing is sold where nothing is wrong."""
    assert {week.remedy for week in weeks(season(), (), (), (offer("mat", 80),))} == {""}


DUST = stated_finding("dust-storm", "serious", source="herders")
COLD = values(FACTORS.index("cold"), np.int8)


@pytest.mark.parametrize(("share", "named"), [(0.96, ""), (0.80, "Mat"), (0.60, "Mat")])
def test_hazard_changes_neither_grade_nor_remedy(share, named):
    """A mat does nothing against dust, and dust nothing to the sleep it helps."""
    year = season(
        cold=np.full(365, 1 - share), sound_share=np.full(365, share), limiting_factor=COLD
    )
    dusty = dataclasses.replace(
        year, hazard_level=np.full(365, 2, np.uint8), hazard=np.zeros(365, np.int16)
    )
    mat = Candidate("mat", "Mat", 80.0, 1.0, np.full(365, share + 0.03), np.zeros(365))
    plan = Advice(Remedy("mat", "Mat", 80.0, 1.0, 4.0, True))
    clear = weeks(year, (DUST,), (), (mat,), None, plan)
    found = weeks(dusty, (DUST,), (), (mat,), None, plan)
    assert {week.remedy for week in found} == {named}
    assert [week.grade for week in found] == [week.grade for week in clear]
    assert {week.hazard_level for week in found} == {2}


@pytest.mark.parametrize(
    ("level", "title", "shown"),
    [
        (Level.PROHIBITIVE, CLOSED_BY_TRIP, Level.CLOSURE),
        (Level.CLOSURE, "Flood", Level.CLOSURE),
        (Level.NONE, CLOSED_BY_TRIP, Level.CLOSURE),
    ],
)
def test_one_day_that_the_trip_file_closes_closes_its_week(level, title, shown):
    """A hazard that closes it as well keeps its name; weeks beside it stay as they are."""
    hazard = values(-1 if level == Level.NONE else 0, np.int16)
    year = season(hazard_level=np.full(365, level, np.uint8), hazard=hazard)
    closed = values(False, bool, d14=True, d365=True)
    found = weeks(year, (FLOOD,), (), (), closed)
    open_title = "" if level == Level.NONE else "Flood"
    assert [week.hazard for week in found[:3]] == [open_title, title, open_title]
    assert [week.hazard_level for week in found[:3]] == [level, shown, level]
    assert found[-1].hazard == title and found[-2].hazard == open_title


def test_a_week_of_one_rough_night_has_a_reason():
    """Six nights without one say nothing; a day of which nothing is known leaves it open."""
    cold = values(NO_FACTOR, np.int8, d10=FACTORS.index("cold"))
    year = season(cold=values(0.0, d10=0.6), limiting_factor=cold)
    assert [week.factor for week in weeks(year, (), (), ())[:3]] == ["", "cold", ""]
    cold[10] = MISSING_FACTOR
    assert weeks(dataclasses.replace(year, limiting_factor=cold), (), (), ())[1].factor == ""
