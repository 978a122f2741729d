"""Spread between years: by hand, by simulation, at two stations."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from published_tables import published

from sheltermap.night.years import (
    RAIN_FACTOR,
    spread_within_year,
    wet_days_of_wet_year,
    yearly_rain_spread,
    yearly_spread,
)

STATIONS = Path(__file__).parent / "published" / "station_months.csv"


def station(name, column):
    """Return twelve values of a station."""
    with STATIONS.open(encoding="utf-8", newline="") as lines:
        return np.array([float(r[column]) for r in csv.DictReader(lines) if r["name"] == name])


def test_spreads_add_up_to_that_of_all_nights():
    """0.45 x 4 = 1.8 between the years; 3.572 within, since 1.8^2 + 3.572^2 = 16."""
    assert yearly_spread(4.0) == pytest.approx(1.8)
    assert spread_within_year(4.0) == pytest.approx(3.572, abs=5e-4)


def test_rain_by_hand():
    """100 mm on 10 of 30 days, with the printed constants.

    A wet day brings 9.7 mm; scale 1.83 x 9.7 - 2.16 = 15.591; amounts 10 x 9.7 x 15.591 =
    1512.3; days 30 x 1/3 x 2/3 x 1.25/0.75 x 9.7^2 = 1045.4; 1.11 sqrt(2557.8) = 56.14.
    """
    assert yearly_rain_spread(100.0, 10.0, 30.0) == pytest.approx(56.14, abs=0.01)


def test_wet_days_of_a_wet_year_by_hand():
    """As above: 1.11 x 9.7 mm x 11.111 day^2 over the root of 2557.8 mm^2, 50.575: 2.3655 days."""
    assert wet_days_of_wet_year(100.0, 10.0, 30.0) == pytest.approx(2.3655, abs=5e-4)
    nothing = wet_days_of_wet_year(np.array([0.0, 10.0, np.nan]), np.array([4.0, 0.0, 3.0]), 30.0)
    np.testing.assert_array_equal(nothing, [0.0, 0.0, np.nan])


def test_where_every_day_is_wet_amounts_alone_differ():
    """100 mm on 30 of 30 days: 3.2333 mm a day, scale 3.757: 1.11 sqrt(30 x 3.2333 x 3.757)."""
    assert yearly_rain_spread(100.0, 30.0, 30.0) == pytest.approx(21.19, abs=0.01)
    assert wet_days_of_wet_year(100.0, 30.0, 30.0) == 0.0


def test_rain_like_a_simulated_chain():
    """Days drawn one after the other, with memory and gamma amounts: within 3 %.

    The formula takes the days of a month as a part of a long chain, which a month is not.
    """
    draws = np.random.default_rng(20)
    years, days, wet_share = 40000, 30, 0.4
    wet = draws.random(years) < wet_share
    total = np.zeros(years)
    for _ in range(days):
        # Mean 6.79 mm, scale 1.83 x 6.79 - 2.16 mm.
        total += np.where(wet, draws.gamma(6.79 / 10.2657, 10.2657, years), 0.0)
        after = np.where(wet, 0.25 + 0.75 * wet_share, 0.75 * wet_share)
        wet = draws.random(years) < after
    said = yearly_rain_spread(7.0 * days * wet_share, days * wet_share, days) / RAIN_FACTOR
    assert said == pytest.approx(total.std(), rel=0.03)


def test_no_rain_has_no_spread():
    """Neither rain nor wet days: nought; missing stays missing."""
    found = yearly_rain_spread(np.array([0.0, 10.0, np.nan]), np.array([0.0, 0.0, 3.0]), 30.0)
    np.testing.assert_array_equal(found, [0.0, 0.0, np.nan])


@pytest.mark.parametrize("name", ["Brussels", "Tunis"])
def test_stations_lie_within_the_stated_errors(name):
    """Twelve months each, against the errors stated where the relations were fitted."""
    seen = published("years", "months")[name]
    warmth = yearly_spread(station(name, "sd_tmin_k")) - seen["temperature_k"]
    lengths = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    said = yearly_rain_spread(station(name, "rain_mm"), station(name, "wet_days_1mm"), lengths)
    assert np.sqrt((warmth**2).mean()) <= 0.29
    assert np.sqrt(((said - seen["rain_mm"]) ** 2).mean()) <= 14.9
