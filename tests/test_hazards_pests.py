"""Tests of pests by season: rules by hand, seasons in print, places where none would laugh."""

import numpy as np
import pytest
import xarray as xr
from published_tables import published
from sign_places import days_at, months_at, months_of

from sheltermap.air import saturation_vapour_pressure
from sheltermap.hazards.pests import biting_evenings, dengue_suits, malaria_suits, tick_days
from sheltermap.hazards.soil import evapotranspiration, wetness
from sheltermap.night.conditions import conditions


def year(temperature, rain, low=15.0):
    """Return twelve months; rain in mm a month of 30 days."""
    lengths = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    values = {
        "air_temperature": np.broadcast_to(temperature, 12),
        "air_temperature_min": np.broadcast_to(low, 12),
        "rain_per_day": np.broadcast_to(rain, 12) / lengths,
    }
    return xr.Dataset({name: ("month", each) for name, each in values.items()})


def test_malaria_follows_three_months_of_rain():
    """300 mm in July alone: means of 100 from July to September, so those suit."""
    rain = np.where(np.arange(12) == 6, 300.0, 0.0)
    assert months_of(malaria_suits(year(26.0, rain))) == {7, 8, 9}


def test_malaria_needs_each_of_its_conditions():
    """A month of 80 mm, a mean of 60, warmth above 19.5 with the spread, no cold month."""
    assert malaria_suits(year(26.0, 100.0)).all()
    assert not malaria_suits(year(26.0, 70.0)).any()
    assert not malaria_suits(year(19.0, 100.0)).any()
    assert not malaria_suits(year(26.0, 100.0, low=4.0)).any()


def test_single_months_make_no_season_and_single_gaps_no_end():
    """Rain for one month's mean suits nobody; a dry month between two wet ones is bridged."""
    rain = np.where(np.arange(12) == 6, 300.0, 0.0)
    warm = np.where(np.arange(12) == 6, 26.0, 10.0)
    assert not malaria_suits(year(warm, rain)).any()


@pytest.mark.parametrize(
    ("name", "rule", "where"),
    [("malaria", malaria_suits, (13.5, 2.1)), ("dengue", dengue_suits, (28.6, 77.2))],
)
def test_seasons_in_print(name, rule, where):
    """Southern Niger's malaria, Delhi's dengue: their months are found, the dry ones aren't."""
    table = published("signs", name)
    found = months_of(rule(months_at(*where)).values)
    assert found >= set(table["months"]) and not found & set(table["quiet"])


def test_tick_season_of_the_jura():
    """Neuchatel: most from April to June, again in autumn, none in January."""
    days = days_at(47.0, 6.93, 500.0)
    found = months_of(tick_days(days, evapotranspiration(days)).values)
    table = published("signs", "ticks")
    assert found >= set(table["months"]) and not found & set(table["quiet"])


def days_of_ticks(mean=15.0, day=5.0, deficit=0.5, rain=2.0, latitude=50.0):
    """Return how many of 365 days have ticks: noon above the mean, over 2 mm of evaporation."""
    mean = np.broadcast_to(mean, 365)
    values = {
        "air_temperature": mean,
        "air_temperature_max": mean + day,
        "vapour_pressure": saturation_vapour_pressure(mean) - deficit,
        "rain_per_day": np.broadcast_to(rain, 365),
    }
    season = xr.Dataset(
        {name: ("day", each) for name, each in values.items()}, {"latitude": latitude}
    )
    return int(tick_days(season, xr.DataArray(np.full(365, 2.0), dims="day")).sum())


def half_year(warm, cold, days=200):
    """Return a year's means: so many warm days, then cold ones."""
    return np.where(np.arange(365) < days, warm, cold)


@pytest.mark.parametrize(
    ("given", "days"),
    [
        ({}, 200),
        ({"mean": half_year(15.0, 3.0)}, 365),
        ({"mean": half_year(15.0, 1.9)}, 200),
        ({"deficit": 1.09}, 200),
        ({"deficit": 1.11}, 0),
        ({"rain": 1.01}, 200),
        ({"rain": 0.99}, 0),
        ({"latitude": 30.0}, 200),
        ({"latitude": 29.9}, 0),
        ({"latitude": -50.0}, 0),
        ({"mean": half_year(15.0, 0.0, 170)}, 170),
        ({"mean": half_year(15.0, 0.0, 169)}, 0),
        ({"mean": half_year(12.5, 0.0)}, 200),
        ({"mean": half_year(12.4, 0.0)}, 0),
        ({"mean": half_year(15.0, 10.0)}, 365),
        ({"mean": half_year(15.0, 10.1)}, 0),
    ],
)
def test_ticks_need_each_of_their_conditions(given, days):
    """200 days at 15 degC and frost after them: ticks on the warm days, if all else suits.

    Noon is 5 degC above the mean, so days quest from a mean of 2 on. By hand: a deficit of 1.1
    kPa at most, rain of half the 2 mm that evaporate, 30 degrees north, 170 days above 5 degC, a
    warmest day of 12.5 at least and a coldest of 10 at most.
    """
    assert days_of_ticks(**({"mean": half_year(15.0, 0.0)} | given)) == days


def _evenings(latitude, longitude, height=None):
    days = days_at(latitude, longitude, height)
    wet = wetness(days, evapotranspiration(days))
    return biting_evenings(conditions(days), wet).values.ravel()


@pytest.mark.parametrize(
    ("latitude", "longitude", "height"),
    [(-20.3, -67.4, 3656.0), (-22.9, -68.2, 2400.0), (22.8, 5.5, 1400.0), (29.6, 35.4, 950.0)],
    ids=["Salar de Uyuni", "Atacama", "Tamanrasset", "Wadi Rum"],
)
def test_no_insects_on_salt_flats_and_in_deserts(latitude, longitude, height):
    """No repellent where nothing breeds."""
    assert not _evenings(latitude, longitude, height).any()


@pytest.mark.parametrize(
    ("latitude", "longitude", "most"),
    [
        (67.9, 20.2, {7}),
        (13.5, 2.1, {8, 9, 10}),
        (41.9, 12.5, {6, 7, 8, 9}),
        (-3.1, -60.0, {1, 7}),
    ],
    ids=["Kiruna", "Niamey", "Rome", "Manaus"],
)
def test_insects_where_everybody_knows_them(latitude, longitude, most):
    """Short in Lapland, after the rain in the Sahel, all summer in Rome, always in Manaus."""
    assert months_of(_evenings(latitude, longitude)) >= most


def test_wind_keeps_insects_away():
    """2.5 m/s at 2 m is 2.1 at 1 m by FAO-56 eq. 47: too much; unknown wind counts as calm."""
    night = xr.Dataset(
        {
            "bedtime_temperature": ("day", np.full(365, 18.0)),
            "bedtime_vapour_pressure": ("day", np.full(365, 1.5)),
            "rain_per_day": ("day", np.full(365, 4.0)),
        }
    )
    wet = xr.DataArray(np.ones(365), dims="day")
    assert biting_evenings(night, wet).all()
    for wind, about in ((2.5, False), (2.0, True), (np.nan, True)):
        windy = night.assign(wind_speed=("day", np.full(365, wind)))
        assert bool(biting_evenings(windy, wet).all()) is about


def test_missing_stays_missing():
    """No data is neither suitable nor unsuitable."""
    assert malaria_suits(year(np.nan, 100.0)).isnull().all()
    assert dengue_suits(year(26.0, np.nan)).isnull().all()
