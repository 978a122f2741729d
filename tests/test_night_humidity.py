"""Humidity of the night and cooling under a clear sky."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from published_tables import published

from sheltermap.air import dewpoint, saturation_vapour_pressure
from sheltermap.night.humidity import (
    BREEZE,
    CALM,
    FREE_BACK,
    INSULATED_BACK,
    LIGHT_AIR,
    clear_sky_emissivity,
    night_dewpoint,
    night_vapour_pressure,
    sky_cooling,
    sky_temperature,
)

TEMPERATURES = st.floats(-50, 40)
FILMS = st.sampled_from([CALM, LIGHT_AIR, BREEZE])


def test_sky_matches_hand():
    """Emissivity and sky temperature of clear midnights, at 1000 hPa and high up."""
    table = published("night", "emissivity_and_sky")
    air, dew, pressure, emissivity, sky = np.array(table["rows"]).T
    tolerance = table["tolerance"]
    computed = clear_sky_emissivity(dew, pressure)
    assert_allclose(computed, emissivity, rtol=0, atol=tolerance[0])
    assert_allclose(sky_temperature(air, dew, pressure), sky, rtol=0, atol=tolerance[1])


def test_high_camps_cool_more():
    """Thin air radiates less to the fabric below it."""
    table = published("night", "sky_cooling_by_height")
    pressure, cooling = np.array(table["rows"]).T
    ours = sky_cooling(0.0, -8.0, pressure, inner=FREE_BACK)
    assert_allclose(ours, cooling, rtol=0, atol=table["tolerance"])


def test_cooling_matches_hand():
    """Bedding and fabric in calm, light air and breeze."""
    table = published("night", "sky_cooling")
    for air, dew, outer, inner, expected in table["rows"]:
        ours = sky_cooling(air, dew, 100.0, outer=outer, inner=inner)
        assert ours == pytest.approx(expected, abs=table["tolerance"])


@given(TEMPERATURES, st.floats(0, 60), FILMS, st.sampled_from([FREE_BACK, INSULATED_BACK]))
def test_cooling_balances_heat(air, deficit, outer, inner):
    """Heat radiated to the sky equals heat taken from the air, to what 0.01 K is worth."""
    dew = air - deficit
    cooling = sky_cooling(air, dew, outer=outer, inner=inner)
    sky = sky_temperature(air, dew)
    mean = (air - cooling + sky) / 2 + 273.15
    radiated = 4 * 0.9 * 5.670374e-8 * mean**3 * (air - cooling - sky)
    assert radiated / (outer + inner) == pytest.approx(cooling, abs=0.01)


def test_fabric_cools_as_leaves_do():
    """On frost nights leaves, held by air on both faces, were 1 to 3 K below the air."""
    observed = published("night", "leaves_on_frost_nights")
    for air, dew in ((2.0, -4.0), (-2.0, -5.0), (-4.0, -6.0)):
        # Leaves are small: the film of a breeze on both faces stands for them.
        cooling = sky_cooling(air, dew, outer=BREEZE, inner=BREEZE)
        assert observed["coolest"] <= cooling <= observed["warmest"]


@given(TEMPERATURES, st.floats(0, 60), FILMS)
def test_cooling_is_ordered(air, deficit, outer):
    """Never negative; less in wind, in damp air and with air behind the fabric."""
    dew = air - deficit
    cooling = sky_cooling(air, dew, outer=outer)
    assert cooling >= 0
    assert sky_cooling(air, dew, outer=outer + 5) <= cooling
    assert sky_cooling(air, dew, outer=outer, inner=FREE_BACK) <= cooling
    assert sky_cooling(air, air, outer=outer) <= cooling + 1e-9


@given(TEMPERATURES, st.floats(0.01, 6))
def test_vapour_never_exceeds_saturation(air, vapour):
    """Vapour is carried through the night until it no longer fits."""
    held = night_vapour_pressure(vapour, air)
    assert held <= saturation_vapour_pressure(air) + 1e-12
    assert held == vapour or held == pytest.approx(saturation_vapour_pressure(air))
    assert night_dewpoint(vapour, air) == pytest.approx(dewpoint(held))


def test_missing_stays_missing():
    """Either input missing, or no vapour at all, gives no answer."""
    assert np.isnan(
        night_dewpoint(np.array([np.nan, 1.0, 0.0]), np.array([5.0, np.nan, 5.0]))
    ).all()
    assert np.isnan(sky_cooling(np.array([np.nan, 5.0]), np.array([5.0, np.nan]))).all()


def test_a_sky_over_the_driest_air_is_as_that_over_dry_air():
    """The parabola's least value lies near -38 degC: from there on it does not turn up again."""
    assert clear_sky_emissivity(-60.0) == clear_sky_emissivity(-38.0)
    assert clear_sky_emissivity(-38.0) < clear_sky_emissivity(-36.0)


def test_a_sky_as_warm_as_the_air_cools_nothing():
    """In the dampest heat the formula passes 1, which no sky does."""
    assert clear_sky_emissivity(45.0, 101.3) == 1.0
    assert sky_temperature(45.0, 45.0, 101.3) == pytest.approx(45.0)
    assert sky_cooling(45.0, 45.0, 101.3) == 0.0
