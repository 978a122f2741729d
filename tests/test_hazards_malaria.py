"""Tests of malaria suitability."""

import numpy as np
import pytest
import xarray as xr

from sheltermap.hazards.malaria import boolean_suitability, fuzzy_suitability, stable_transmission

# The membership y = sin²(½π (x - a) / (b - a)) of Craig et al. 1999, worked out by hand for
# 18 to 22 °C, 32 to 40 °C and 0 to 80 mm: sin²(22.5°), sin²(45°), sin²(67.5°), sin²(45°).
BY_TEMPERATURE = [(18.0, 0.0), (19.0, 0.146), (20.0, 0.5), (21.0, 0.854), (27.0, 1.0), (36.0, 0.5)]


@pytest.mark.parametrize(("degrees", "expected"), BY_TEMPERATURE)
def test_membership_of_temperature(degrees, expected):
    """Rises from 18 to 22 and falls from 32 to 40 degrees."""
    assert fuzzy_suitability(degrees, 200.0, 15.0) == pytest.approx(expected, abs=5e-4)


def test_membership_of_rain_and_winter():
    """Half at 40 mm and at a winter minimum of 5 degrees; the least membership counts."""
    assert fuzzy_suitability(25.0, 40.0, 15.0) == pytest.approx(0.5)
    assert fuzzy_suitability(25.0, 200.0, 5.0) == pytest.approx(0.5)
    assert fuzzy_suitability(19.0, 40.0, 15.0) == pytest.approx(0.146, abs=5e-4)
    assert fuzzy_suitability(25.0, 200.0, 3.0) == 0.0


def test_missing_stays_missing():
    """No data is neither suitable nor unsuitable."""
    assert np.isnan(fuzzy_suitability(np.nan, 100.0, 15.0))
    assert np.isnan(fuzzy_suitability(25.0, np.nan, 15.0))


# International Research Institute for Climate and Society: 18 to 32 °C, 80 mm, 60 %.
@pytest.mark.parametrize(
    ("degrees", "rain", "humidity", "suits"),
    [
        (18.0, 80.0, 60.0, 1),
        (32.0, 80.0, 60.0, 1),
        (17.9, 80.0, 60.0, 0),
        (32.1, 80.0, 60.0, 0),
        (25.0, 79.9, 60.0, 0),
        (25.0, 80.0, 59.9, 0),
    ],
)
def test_boolean_month_at_its_edges(degrees, rain, humidity, suits):
    """All three thresholds are included."""
    values = (xr.DataArray(value) for value in (degrees, rain, humidity))
    assert float(boolean_suitability(*values)) == suits


def test_boolean_month_without_data():
    """One missing input makes the month missing."""
    values = (xr.DataArray(value) for value in (25.0, np.nan, 80.0))
    assert np.isnan(float(boolean_suitability(*values)))


@pytest.mark.parametrize(
    ("months", "stable"),
    [
        ([1, 2, 3, 4, 5], True),
        ([1, 2, 3, 4, 6, 7, 8, 9], False),
        ([11, 12, 1, 2, 3], True),
        ([12, 1, 2, 3], False),
    ],
)
def test_stable_transmission_needs_five_months_in_a_row(months, stable):
    """The run may cross New Year."""
    suitable = xr.DataArray(
        [m in months for m in range(1, 13)], {"month": range(1, 13)}, ["month"]
    )
    assert bool(stable_transmission(suitable)) is stable
    assert bool(stable_transmission(suitable, months=3)) is True
