"""Tests of the estimated minimum and maximum and of their errors."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st

from sheltermap.air import saturation_vapour_pressure
from sheltermap.climate import extremes
from sheltermap.climate.contract import ERRORS
from sheltermap.climate.error_fields import LEAST_ERROR, estimated_errors


def place(warm=20.0, season=10.0, humid=0.6, wet=0.2, height=300.0, land=1.0):
    """Return a cell's year, as the estimates want it."""
    months = np.arange(1, 13)
    mean = xr.DataArray(
        warm - season / 2 * np.cos(2 * np.pi * (months - 7) / 12) * -1,
        {"month": months},
        ["month"],
    )
    return xr.Dataset(
        {
            "air_temperature": mean,
            "vapour_pressure": humid * saturation_vapour_pressure(mean),
            "wet_share": mean * 0 + wet,
            "rainfall": mean * 0 + 40.0,
            "land_fraction": land,
            "elevation": height,
            "relative_height": 0.0,
            "relief": 100.0,
        }
    )


def estimated(latitude=40.0, **cell):
    """Return mean, minimum, maximum and errors."""
    climate = place(**cell)
    known = extremes.predictors(climate, latitude)
    mean = climate["air_temperature"]
    return mean, *extremes.daily_extremes(mean, known), estimated_errors(climate, known)


def test_predictors_by_hand():
    """Half the vapour of saturation, a year of 10 K on half land, 25 °C at most."""
    known = extremes.predictors(place(warm=30.0, humid=0.5, height=1500.0, land=0.5), 0.0)
    np.testing.assert_allclose(known["humidity"], 0.5)
    np.testing.assert_allclose(known["continentality"], 0.5)
    np.testing.assert_allclose(known["height"], 1.5)
    np.testing.assert_allclose(known["warmth"], 2.5)
    # FAO-56 Table 2.6 prints 37.9 MJ m-2 day-1 for March at the equator.
    assert known["radiation"][2] == pytest.approx(3.79, abs=0.01)


def test_sum_is_held_to_its_span():
    """5 km count as the 3 km of the highest place of the fit: 1 - 0.5 x 3."""
    values = {"height": np.array([-1.0, 2.0, 5.0])}
    found = extremes.weighted_sum(values, {"constant": 1.0, "height": -0.5}, {"height": (0, 3)})
    np.testing.assert_allclose(found, [1.0, 0.0, -0.5])


def test_every_coefficient_has_its_span_and_predictor():
    """The fitted file names nothing that the code doesn't compute."""
    fit, known = extremes.fitted(), extremes.predictors(place(), 40.0)
    for name in extremes.EXTREMES:
        used = set(fit[name]) - {"constant"}
        assert used <= set(fit["span"]) and used <= set(known)
    assert {f"{name}_error" for name in extremes.EXTREMES} == set(fit["error"]) == set(LEAST_ERROR)
    assert set(estimated()[3]) == set(ERRORS)
    for coefficients in fit["error"].values():
        assert all(value >= 0 for value in coefficients.values())


@settings(max_examples=40, deadline=None)
@given(
    warm=st.floats(-30, 38),
    season=st.floats(0, 60),
    humid=st.floats(0.05, 1.0),
    wet=st.floats(0, 0.9),
    height=st.floats(-400, 6000),
    land=st.floats(0, 1),
    latitude=st.floats(-60, 80),
)
def test_estimates_stay_within_weather(warm, season, humid, wet, height, land, latitude):
    """A range of 2 to 25 K whatever the place; errors between the least and 6 K."""
    cell = {"warm": warm, "season": season, "humid": humid, "wet": wet}
    mean, low, high, errors = estimated(latitude, height=height, land=land, **cell)
    assert (low <= mean - 1).all() and (high >= mean + 1).all()
    assert (high - low <= 25).all()
    for name in extremes.EXTREMES:
        assert (errors[f"{name}_error"] >= LEAST_ERROR[f"{name}_error"]).all()
        assert (errors[f"{name}_error"] <= 6).all()


def test_what_widens_and_narrows_the_day():
    """Dry air makes colder nights; few wet days and high ground a wider day on both sides."""
    _, low, high, _ = estimated(humid=0.7, wet=0.4)
    assert (estimated(humid=0.3, wet=0.4)[1] < low).all()
    for change in ({"wet": 0.1}, {"wet": 0.4, "height": 2500.0}):
        _, lower, higher, _ = estimated(humid=0.7, **change)
        assert (lower < low).all() and (higher > high).all()


def test_dry_continents_are_less_sure_than_wet_coasts():
    """Where the fit missed more, the error is larger."""
    desert = estimated(humid=0.2, wet=0.02, season=25.0)[3]["air_temperature_min_error"]
    rainforest = estimated(humid=0.9, wet=0.6, season=2.0)[3]["air_temperature_min_error"]
    assert (desert > 1.5 * rainforest).all()


def test_missing_stays_missing():
    """A month without vapour has no minimum and no error."""
    climate = place()
    holed = climate["vapour_pressure"].where(climate["month"] != 3)
    known = extremes.predictors(climate.assign(vapour_pressure=holed), 40.0)
    low, high = extremes.daily_extremes(climate["air_temperature"], known)
    errors = estimated_errors(climate, known)
    for values in (low, high, errors["air_temperature_min_error"]):
        assert np.isnan(values[2]) and values.notnull().sum() == 11
