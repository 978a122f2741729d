"""Vapour and fabric temperatures by hand."""

from numpy.testing import assert_allclose
from published_tables import published

from sheltermap import air
from sheltermap.shelters import condensation


def test_breath_by_hand():
    """Two sleepers in a closed tent."""
    table = published("shelters", "breath")
    gain = condensation.vapour_gain(2 * 40, 4.0, 5.0)
    assert_allclose(gain, table["gain"], rtol=0, atol=table["tolerance"])


def test_outside_air_alone():
    """At 20 degC and 3.3 K of cooling dew starts at 81 %."""
    table = published("shelters", "dew")
    degrees, depression, share = table["rows"][0]
    fabric = air.saturation_vapour_pressure(degrees - depression)
    start = fabric / air.saturation_vapour_pressure(degrees)
    assert_allclose(start, share, rtol=0, atol=table["tolerance"])


def test_face_of_the_wall():
    """By hand: 1 - 0.13/0.17 = 0.235 of the warmth; insulated 1 - 0.26; no wall, none."""
    assert_allclose(condensation.face_warming(1.0, "single"), 0.235, rtol=0, atol=0.0005)
    assert_allclose(condensation.face_warming(1.0, "insulated"), 0.74, rtol=0, atol=1e-12)
    assert condensation.face_warming(1.0, "none") == 0


def test_face_under_the_sky():
    """By hand: an insulated wall passes on 2.0 x 0.17 = 0.34 of what thin fabric does."""
    assert condensation.face_sky_share("single") == condensation.face_sky_share("none") == 1
    assert_allclose(condensation.face_sky_share("insulated"), 0.34, rtol=0, atol=1e-12)
