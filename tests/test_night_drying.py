"""Drying by day: hand arithmetic and bounds."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheltermap.air import saturation_vapour_pressure
from sheltermap.night.drying import vapour_deficit
from sheltermap.shelters.kit import load_kits


def test_judgement_rests_on_its_physics():
    """
    Two hours at 1 kPa for a tent's canvas follow from the stated parts.

    Transfer 10 W m-2 K-1, Lewis 16.5 K kPa-1, latent heat 2.45 MJ kg-1, psychrometer
    0.0665 kPa K-1 and slope 0.145 kPa K-1 at 20 degC, two faces, 0.3 kg m-2 of water.
    """
    per_face = 10 * 16.5 / 2.45e6 * 3600 * 0.0665 / (0.0665 + 0.145)
    assert per_face == pytest.approx(0.076, abs=0.0005)
    hours = load_kits()["roof-tent"].dry_hours
    assert 0.3 / (2 * per_face) == pytest.approx(hours, abs=0.05)


@given(st.floats(-20, 45), st.floats(0, 6))
def test_deficit_is_never_negative(degrees, vapour):
    """Supersaturated inputs have no deficit."""
    deficit = vapour_deficit(degrees, vapour)
    assert deficit == max(saturation_vapour_pressure(degrees) - vapour, 0)
