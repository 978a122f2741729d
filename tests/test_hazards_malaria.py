"""Tests of malaria suitability."""

import numpy as np
import pytest

from sheltermap.hazards.malaria import fuzzy_suitability

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
