"""Drying by day: hand arithmetic and bounds."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheltermap.air import saturation_vapour_pressure
from sheltermap.night.drying import dried_share, drying_hours, vapour_deficit

# Deficit [kPa], hours of daylight, hours to dry, share dried: 2 kPa h dry soaked canvas and
# half the daylight is used, by hand.
CASES = [
    (0.1, 8.0, 20.0, 0.2),
    (0.5, 12.0, 4.0, 1.0),
    (0.25, 12.0, 8.0, 0.75),
    (2.0, 14.0, 1.0, 1.0),
]


@pytest.mark.parametrize(("deficit", "daylight", "hours", "share"), CASES)
def test_table_by_deficit_and_daylight(deficit, daylight, hours, share):
    """A fog-bound, a mild, a humid and a hot dry day."""
    assert drying_hours(deficit) == pytest.approx(hours)
    assert dried_share(deficit, daylight) == pytest.approx(share)


def test_judgement_rests_on_its_physics():
    """
    The stated judgement follows from its stated parts.

    Transfer 10 W m-2 K-1, Lewis 16.5 K kPa-1, latent heat 2.45 MJ kg-1, psychrometer
    0.0665 kPa K-1 and slope 0.145 kPa K-1 at 20 degC, two faces, 0.3 kg m-2 of water.
    """
    per_face = 10 * 16.5 / 2.45e6 * 3600 * 0.0665 / (0.0665 + 0.145)
    assert per_face == pytest.approx(0.076, abs=0.0005)
    assert 0.3 / (2 * per_face) == pytest.approx(drying_hours(1.0), abs=0.05)


@given(st.floats(-20, 45), st.floats(0, 6))
def test_deficit_is_never_negative(degrees, vapour):
    """Supersaturated inputs have no deficit."""
    deficit = vapour_deficit(degrees, vapour)
    assert deficit == max(saturation_vapour_pressure(degrees) - vapour, 0)


@given(st.floats(0, 5), st.floats(0, 5), st.floats(0, 24))
def test_drier_air_dries_more(one, other, daylight):
    """A share between 0 and 1 that rises with deficit and daylight."""
    low, high = sorted((one, other))
    assert 0 <= dried_share(low, daylight) <= dried_share(high, daylight) <= 1
    assert dried_share(low, daylight) <= dried_share(low, daylight + 1)


def test_ends():
    """Saturated air never dries; what is unknown stays unknown."""
    assert drying_hours(0.0) == np.inf
    assert dried_share(0.0, 12.0) == 0
    assert np.isnan(drying_hours(np.array([np.nan, -0.1]))).all()
    assert np.isnan(dried_share(np.nan, 12.0))
