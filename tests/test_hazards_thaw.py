"""Tests of the thaw: by hand, and against load restrictions in print."""

import numpy as np
import pytest
import xarray as xr
from published_tables import published
from sign_places import days_at

from sheltermap.hazards.sign_kinds import SIGN_KINDS
from sheltermap.hazards.soil import evapotranspiration, wetness
from sheltermap.hazards.thaw import thaw_days
from sheltermap.spans import days_between

WET = xr.DataArray(np.ones(365), dims="day")


def season(temperature):
    """Return a year of daily means."""
    return xr.Dataset({"air_temperature": ("day", temperature)})


def test_thaw_by_hand():
    """100 days at -10, then 0.3 degrees: 1000 degree-days, 2 a day above -1.7.

    14 are reached on the seventh warm day, day 106; 25 + 0.018 x 1000 = 43 days follow.
    """
    days = thaw_days(season(np.where(np.arange(365) < 100, -10.0, 0.3)), WET).values
    assert (np.flatnonzero(days)[0], int(days.sum())) == (106, 43)


@pytest.mark.parametrize("coldest", [353, 90])
def test_thaw_of_a_winter_across_new_year_by_hand(coldest):
    """Frost from mid-October to mid-April, 80 + 104 days; a warm autumn before it is no thaw.

    1,840 degree-days at -10 and 2 more on the coldest day, wherever it lies: 25 + 0.018 x
    1,842 = 58.2, so 59 days from the seventh warm day on.
    """
    days = np.arange(365)
    year = np.where((days >= 285) | (days < 104), -10.0, 0.3)
    year[coldest], year[220] = -12.0, 25.0
    found = np.flatnonzero(thaw_days(season(year), WET))
    assert found.tolist() == list(range(110, 110 + 59))


def test_each_place_has_its_own_thaw():
    """Two places in one set, with days as the second dimension: each as it is alone."""
    days = np.arange(365)
    both = np.stack([np.where(days < 100, -10.0, 0.3), np.where(days < 60, -8.0, 5.0)])
    places = xr.Dataset({"air_temperature": (("cell", "day"), both)})
    together = thaw_days(places, WET.expand_dims(cell=2))
    assert together.dims == ("day", "cell")
    for row, alone in enumerate(both):
        np.testing.assert_array_equal(together[:, row], thaw_days(season(alone), WET))


@pytest.mark.parametrize(
    ("days", "coldest", "thaws"), [(15, -10.0, True), (15, -9.9, False), (50, -2.0, False)]
)
def test_ground_is_frozen_from_150_degree_days_on(days, coldest, thaws):
    """15 days at -10 make 150, at -9.9 148.5; a mild winter of 50 at -2 makes 100."""
    year = np.where(np.arange(365) < days, coldest, 5.0)
    assert bool(thaw_days(season(year), WET).any()) is thaws


@pytest.mark.parametrize(("wet", "mud"), [(0.4, 43), (0.39, 0)])
def test_mud_needs_ground_that_is_two_fifths_full(wet, mud):
    """Steppe and desert thaw dry; on the border it is mud."""
    year = np.where(np.arange(365) < 100, -10.0, 0.3)
    assert int(thaw_days(season(year), wet * WET).sum()) == mud


@pytest.mark.parametrize(
    ("summer", "warmest", "thaws"), [(180, -1.75, False), (8, 0.0, False), (10, 0.0, True)]
)
def test_ground_that_no_summer_thaws_has_no_mud(summer, warmest, thaws):
    """Ice caps and high summits: half a year just below -1.7, or 8 days of 1.7 K, 13.6 of 14."""
    year = np.where(np.arange(365) < summer, warmest, -25.0)
    assert bool(thaw_days(season(year), WET).any()) is thaws


def test_missing_stays_missing():
    """No temperature, no thaw and no verdict."""
    assert thaw_days(season(np.full(365, np.nan)), WET).isnull().all()


def test_thaw_starts_when_roads_are_closed_to_lorries():
    """Eight regions from Minnesota to the Amur: a week at most, 4 days on average, as told."""
    misses = []
    for _, latitude, longitude, start, _ in published("signs", "thaw")["rows"]:
        days = days_at(latitude, longitude)
        thaw = thaw_days(days, wetness(days, evapotranspiration(days))).values.ravel()
        printed = int(np.flatnonzero(days_between(start, start))[0])
        misses.append(abs(int(np.flatnonzero(thaw)[0]) - printed))
    assert max(misses) == 7
    assert np.mean(misses) == pytest.approx(4.0, abs=0.5)
    assert SIGN_KINDS["thaw-mud"].skill.endswith("by a week at most, by 4 days on average")


@pytest.mark.parametrize(("latitude", "longitude"), [(43.5, 104.4), (48.2, 16.4), (51.5, -0.1)])
def test_places_without_a_thaw(latitude, longitude):
    """The Gobi is frozen and dry, Vienna and London don't freeze deep enough."""
    days = days_at(latitude, longitude)
    assert not thaw_days(days, wetness(days, evapotranspiration(days))).any()
