"""Tests of pests by season: rules by hand, seasons in print, places where none would laugh."""

import numpy as np
import pytest
import xarray as xr
from published_tables import published
from sign_places import days_at, months_at, months_of

from sheltermap.air import saturation_vapour_pressure
from sheltermap.hazards.pests import biting_evenings, dengue_suits, malaria_suits, tick_days
from sheltermap.hazards.sign_kinds import SIGN_KINDS
from sheltermap.hazards.soil import evapotranspiration, wetness
from sheltermap.night.conditions import conditions
from sheltermap.spans import about_days, span_days


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


def one_month(usual, other, number=7):
    """Return twelve months alike but for one."""
    return np.where(np.arange(1, 13) == number, other, usual)


@pytest.mark.parametrize(
    ("given", "suits"),
    [
        ({}, True),
        ({"rain": 81.0}, True),
        ({"rain": 79.0}, False),
        # One month of 81 mm in three, and 60.3 or 59.7 on the mean of three.
        ({"rain": np.tile([81.0, 50.0, 50.0], 4)}, True),
        ({"rain": np.tile([81.0, 49.0, 49.0], 4)}, False),
        ({"temperature": 19.5}, True),
        ({"temperature": 19.4}, False),
        ({"low": 5.0}, True),
        ({"low": one_month(15.0, 4.9)}, False),
    ],
)
def test_malaria_needs_each_of_its_conditions(given, suits):
    """A month of 80 mm, a mean of 60, warmth from 19.5 on, no month below 5 at night. [1]"""
    found = malaria_suits(year(**({"temperature": 26.0, "rain": 100.0} | given)))
    assert found.values.tolist() == [suits] * 12


def test_malaria_takes_a_degree_more_for_each_by_which_months_differ():
    """Six months of 30 degC and six of 20 are 5 K from their mean of 25, so 24.5 is the border.

    The mean of April to September's warmth over three months is 23.3 in April, 26.7 in May, 30
    from June on, 26.7 in October and 23.3 in November.
    """
    months = np.arange(1, 13)
    warm = np.where((months >= 4) & (months <= 9), 30.0, 20.0)
    assert months_of(malaria_suits(year(warm, 100.0))) == {5, 6, 7, 8, 9, 10}


def test_a_gap_of_a_month_is_bridged_and_no_more():
    """95 mm in May and in June, 190 in September: over three months 190 in June and July, 95 in
    August, 190 from September to November, so that only August lacks between them."""
    rain = np.zeros(12)
    rain[4], rain[5], rain[8] = 95.0, 95.0, 190.0
    assert months_of(malaria_suits(year(26.0, rain))) == {6, 7, 8, 9, 10, 11}


@pytest.mark.parametrize(
    ("given", "months"),
    [
        ({"temperature": 22.0}, 12),
        ({"temperature": 21.9}, 0),
        ({"temperature": 34.0}, 12),
        ({"temperature": 34.1}, 0),
        ({"rain": 61.0}, 12),
        ({"rain": 59.0}, 0),
        ({"temperature": one_month(25.0, 10.0)}, 11),
        ({"temperature": one_month(25.0, 9.9)}, 0),
        # June and August alone, each without a neighbour that suits.
        ({"temperature": np.where(np.isin(np.arange(1, 13), (6, 8)), 25.0, 15.0)}, 0),
        ({"temperature": np.where(np.isin(np.arange(1, 13), (12, 1)), 25.0, 15.0)}, 2),
    ],
)
def test_dengue_needs_each_of_its_conditions(given, months):
    """From 22 to 34 degC with 60 mm a month, no month below 10; two months on end at least."""
    found = dengue_suits(year(**({"temperature": 26.0, "rain": 100.0} | given)))
    assert int(found.sum()) == months


def test_single_months_make_no_season_and_single_gaps_no_end():
    """Rain for one month's mean suits nobody; a dry month between two wet ones is bridged."""
    rain = np.where(np.arange(12) == 6, 300.0, 0.0)
    warm = np.where(np.arange(12) == 6, 26.0, 10.0)
    assert not malaria_suits(year(warm, rain)).any()


@pytest.mark.parametrize(
    ("name", "rule", "where", "told"),
    [
        ("malaria", malaria_suits, (13.5, 2.1), "August to October"),
        ("dengue", dengue_suits, (28.6, 77.2), "July to October"),
    ],
)
def test_seasons_in_print(name, rule, where, told):
    """Southern Niger's malaria, Delhi's dengue: their months are found, the dry ones aren't.

    Pages tell the months that are found beside those in print.
    """
    table = published("signs", name)
    found = months_of(rule(months_at(*where)).values)
    assert found >= set(table["months"]) and not found & set(table["quiet"])
    assert found == months_of(span_days(told.replace(" to ", "..")))
    assert SIGN_KINDS[f"{name}-climate"].skill.endswith(f"{told} here")


def test_tick_season_of_the_jura():
    """Neuchatel: most from April to June, again in autumn, none in January."""
    days = days_at(47.0, 6.93, 500.0)
    by_day = tick_days(days, evapotranspiration(days)).values.ravel() > 0
    found, table = months_of(by_day), published("signs", "ticks")
    assert found >= set(table["months"]) and not found & set(table["quiet"])
    assert about_days(by_day) == "from mid-February to early December"
    assert SIGN_KINDS["ticks"].skill.endswith("mid-February to early December here")


def ticks(mean=15.0, day=5.0, deficit=0.5, rain=2.0, latitude=50.0):
    """Return the days with ticks: noon above the mean, over 2 mm of evaporation."""
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
    return tick_days(season, xr.DataArray(np.full(365, 2.0), dims="day"))


def half_year(warm, cold, days=200):
    """Return a year's means: so many warm days, then cold ones."""
    return np.where(np.arange(365) < days, warm, cold)


@pytest.mark.parametrize(
    ("given", "days"),
    [
        ({}, 200),
        ({"mean": half_year(15.0, 2.0)}, 365),
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
        ({"mean": half_year(15.0, 5.0, 169)}, 0),
        ({"mean": half_year(15.0, 5.1, 169)}, 365),
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
    assert int(ticks(**({"mean": half_year(15.0, 0.0)} | given)).sum()) == days


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


def evenings_with(wetness=1.0, bedtime=18.0, humidity=0.6, rain=0.0, **more):
    """Return on which of 365 evenings insects are about; humidity as a share."""
    values = {
        "bedtime_temperature": bedtime,
        "bedtime_vapour_pressure": humidity * saturation_vapour_pressure(bedtime),
        "rain_per_day": rain,
        **more,
    }
    night = xr.Dataset({name: ("day", np.broadcast_to(one, 365)) for name, one in values.items()})
    return biting_evenings(night, xr.DataArray(np.broadcast_to(wetness, 365), dims="day"))


@pytest.mark.parametrize(
    ("given", "about"),
    [
        ({}, True),
        ({"bedtime": 10.0}, True),
        ({"bedtime": 9.9}, False),
        ({"humidity": 0.401}, True),
        ({"humidity": 0.399}, False),
        ({"wetness": 0.5}, True),
        ({"wetness": 0.49}, False),
        ({"wetness": 0.0, "rain": 2.5}, True),
        ({"wetness": 0.0, "rain": 2.4}, False),
        # At 1 m blows ln(62.38) / ln(130.18) = 0.84890 of the wind at 2 m (FAO-56 eq. 47), so
        # that 2 m/s there are 2.35598 here.
        ({"wind_speed": 2.3555}, True),
        ({"wind_speed": 2.3564}, False),
        ({"wind_speed": np.nan}, True),
    ],
)
def test_insects_need_each_of_their_conditions(given, about):
    """10 degC and 40 % at bedtime, pools, no more than 2 m/s at 1 m; unknown wind is calm."""
    assert evenings_with(**given).values.tolist() == [about] * 365


@pytest.mark.parametrize("wet", [0, 100, 300])
def test_pools_last_half_a_year(wet):
    """One wet day breeds on 180 evenings from its own on, round New Year."""
    days = np.arange(365)
    found = evenings_with(wetness=np.where(days == wet, 1.0, 0.0))
    np.testing.assert_array_equal(found, (days - wet) % 365 < 180)


@pytest.mark.parametrize("given", ["temperature", "rain", "low"])
def test_a_year_with_a_missing_month_is_neither_suitable_nor_unsuitable(given):
    """Its spread, its coldest and its wettest month are not known; dengue asks of no low."""
    values = {"temperature": 26.0, "rain": 100.0, "low": 15.0}
    hole = year(**(values | {given: one_month(values[given], np.nan)}))
    assert malaria_suits(hole).isnull().all()
    assert bool(dengue_suits(hole).isnull().all()) is (given != "low")


def test_missing_stays_missing():
    """No data is neither suitable nor unsuitable."""
    assert malaria_suits(year(np.nan, 100.0)).isnull().all()
    assert malaria_suits(year(26.0, np.nan)).isnull().all()
    assert dengue_suits(year(26.0, np.nan)).isnull().all()
    assert dengue_suits(year(np.nan, 100.0)).isnull().all()
    assert evenings_with(bedtime=np.nan, humidity=1.0).isnull().all()
    assert evenings_with(wetness=np.nan).isnull().all()
    assert ticks(deficit=np.nan).isnull().all()
