"""Tests of water in the ground: FAO-56's example, the store by hand, wet seasons in print."""

import numpy as np
import pytest
import xarray as xr
from published_tables import published
from sign_places import climate, months_at, months_of

from sheltermap.hazards.soil import (
    STORE,
    evapotranspiration,
    reference_evapotranspiration,
    runoff,
    wetness,
)
from sheltermap.places.signs import signs_at


def test_fao56_example_20():
    """Lyon in July: 26.6 and 14.8 degrees, 40.6 MJ, printed 5.0 mm a day."""
    assert reference_evapotranspiration(20.7, 14.8, 26.6, 40.6) == pytest.approx(5.0, abs=0.05)


def test_deep_frost_evaporates_nothing():
    """Below -17.8 degrees the formula would take water back."""
    assert reference_evapotranspiration(-30.0, -35.0, -25.0, 10.0) == 0.0


def year(temperature, rain):
    """Return a year as the arrays given."""
    values = {"air_temperature": temperature, "rain_per_day": rain}
    return xr.Dataset({name: ("day", np.broadcast_to(each, 365)) for name, each in values.items()})


def test_store_fills_and_empties_by_hand():
    """50 days of 6 mm and a drying of 2 fill 100 mm in 25 days, then 4 run off; 2 mm a day go.

    After 25 dry days it is half full; from there drying falls with what is left: the share
    is 0.5 exp(-t / 25) in the limit of short days, 0.5 x 0.96^25 = 0.180 after 25 more.
    """
    rain = np.where(np.arange(365) < 50, 6.0, 0.0)
    drying = xr.DataArray(np.full(365, 2.0), dims="day")
    share = wetness(year(15.0, rain), drying).values
    over = runoff(year(15.0, rain), drying).values
    assert over[26:50] == pytest.approx(4.0) and not over[:22].any() and not over[50:].any()
    assert share[24] == pytest.approx(1.0, abs=0.01)
    assert share[49] == 1.0
    assert share[74] == pytest.approx(0.5, abs=0.001)
    assert share[99] == pytest.approx(0.5 * 0.96**25, abs=0.001)


def test_frozen_ground_keeps_its_water_until_the_thaw():
    """100 days at -10 with 0.5 mm lie as snow; at 5 degrees 20 mm a day melt into the ground.

    Nearly empty ground takes 20, 20 and 10 mm in three days. Drying of 1 mm falls with what is
    below half: 0.05, 0.45, 0.85 and 1 mm in four days, so 47.7 mm are left.
    """
    days = np.arange(365)
    cold = days < 100
    season = year(np.where(cold, -10.0, 5.0), np.where(cold, 0.5, 0.0))
    share = wetness(season, xr.DataArray(np.where(cold, 0.0, 1.0), dims="day")).values
    assert share[50] == share[1]
    assert (share[103] - share[99]) * STORE == pytest.approx(47.7, abs=0.1)


@pytest.mark.parametrize(("mean", "share"), [(0.0, 0.5), (0.1, 0.0)])
def test_ground_neither_dries_nor_fills_until_it_thaws(mean, share):
    """It begins half full; above freezing a year that evaporates 5 mm a day empties it."""
    drying = xr.DataArray(np.full(365, 5.0), dims="day")
    found = wetness(year(mean, 0.0), drying).values
    assert found[-1] == pytest.approx(share, abs=1e-6)


def test_rain_and_snow_of_a_mild_day_both_fill_the_store():
    """At 1 degC half of 2 mm is snow, which melts on the day (4 mm might): 40 mm in 20 days.

    The store is empty after a dry half-year of 10 mm a day; what falls on it evaporates not.
    """
    days = np.arange(365)
    season = year(np.where(days < 200, 15.0, 1.0), np.where((days >= 200) & (days < 220), 2.0, 0))
    share = wetness(season, xr.DataArray(np.where(days < 200, 10.0, 0.0), dims="day")).values
    assert share[199] == pytest.approx(0.0, abs=1e-6)
    assert share[[209, 219, 300]] == pytest.approx([0.2, 0.4, 0.4])


@pytest.mark.parametrize(("mean", "filled"), [(0.5, 0.07), (1.0, 0.14), (2.0, 0.2), (3.0, 0.2)])
def test_a_day_s_snow_waits_for_warmth_and_its_rain_does_not(mean, filled):
    """Of 20 mm three quarters are snow at 0.5 degC, a half at 1, none from 2 on.

    The other 5 and 10 mm fill the empty store at once, with the 2 and 4 mm that melt; the rest
    lies in the frost that follows.
    """
    days = np.arange(365)
    means = np.select([days < 200, days == 200], [15.0, mean], -10.0)
    season = year(means, np.where(days == 200, 20.0, 0.0))
    share = wetness(season, xr.DataArray(np.where(days < 200, 10.0, 0.0), dims="day")).values
    assert share[199] == pytest.approx(0.0, abs=1e-6)
    assert share[300] == pytest.approx(filled)


def test_melting_snow_beyond_a_full_store_runs_off():
    """100 mm lie at the end of winter; at 5 degC 20 mm melt a day, 60 of them onto full ground.

    The store is kept 40 mm short of full by the dry days before the frost.
    """
    days = np.arange(365)
    frost = (days >= 200) & (days < 300)
    mean = np.where(frost, -10.0, 5.0)
    wet = np.where(frost, 1.0, np.where(days < 190, 3.0, 0.0))
    dry = np.where((days >= 190) & (days < 200), 4.0, 0.0)
    over = runoff(year(mean, wet), xr.DataArray(dry, dims="day")).values
    assert over[300:306] == pytest.approx([0, 0, 20, 20, 20, 0], abs=1e-6)
    assert not over[190:300].any()


def test_days_without_a_range_evaporate_nothing():
    """Eq. 52 goes with the root of the range, of which there is none below 0."""
    for low in (20.7, 22.0):
        assert reference_evapotranspiration(20.7, low, 20.7, 40.6) == 0.0


def test_missing_stays_missing():
    """No rain, no figure."""
    season = year(10.0, np.nan)
    assert wetness(season, xr.DataArray(np.ones(365), dims="day")).isnull().all()


def test_roads_are_wet_when_they_are_said_to_be():
    """Four regions: months of dust have no sign, and 10 of 12 months of mud have one.

    October and September on the White Nile are missed: the climate data are too dry there.
    """
    mud = found_mud = 0
    for name, latitude, longitude, wet, dry in published("signs", "wet")["rows"]:
        signs = {sign.kind: sign for sign in signs_at(climate(latitude, longitude), 0.0)}
        found = months_of(signs["wet-tracks"].strength_by_day)
        assert not found & set(dry), name
        mud, found_mud = mud + len(wet), found_mud + len(found & set(wet))
    assert (found_mud, mud) == (10, 12)


def test_evaporation_follows_the_sun():
    """South of the equator January evaporates more than July."""
    monthly = evapotranspiration(months_at(-33.9, 18.6)).values
    assert monthly[0] > 2 * monthly[6] > 0
