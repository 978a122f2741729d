"""Tests of the thaw: by hand, and against load restrictions in print."""

import numpy as np
import pytest
import xarray as xr
from published_tables import published
from sign_places import days_at

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


def test_no_thaw_without_frost_or_water():
    """A mild winter of 100 degree-days, and a hard one on dry ground."""
    mild = np.where(np.arange(365) < 50, -2.0, 10.0)
    assert not thaw_days(season(mild), WET).any()
    hard = np.where(np.arange(365) < 100, -10.0, 5.0)
    assert thaw_days(season(hard), WET).any()
    assert not thaw_days(season(hard), 0.2 * WET).any()


def test_missing_stays_missing():
    """No temperature, no thaw and no verdict."""
    assert thaw_days(season(np.full(365, np.nan)), WET).isnull().all()


def test_thaw_starts_when_roads_are_closed_to_lorries():
    """Eight regions from Minnesota to the Amur: within a fortnight, on average a week."""
    misses = []
    for _, latitude, longitude, start, _ in published("signs", "thaw")["rows"]:
        days = days_at(latitude, longitude)
        thaw = thaw_days(days, wetness(days, evapotranspiration(days))).values.ravel()
        printed = int(np.flatnonzero(days_between(start, start))[0])
        misses.append(abs(int(np.flatnonzero(thaw)[0]) - printed))
    assert max(misses) <= 14
    assert np.mean(misses) == pytest.approx(5.0, abs=1.0)


@pytest.mark.parametrize(("latitude", "longitude"), [(43.5, 104.4), (48.2, 16.4), (51.5, -0.1)])
def test_places_without_a_thaw(latitude, longitude):
    """The Gobi is frozen and dry, Vienna and London don't freeze deep enough."""
    days = days_at(latitude, longitude)
    assert not thaw_days(days, wetness(days, evapotranspiration(days))).any()
