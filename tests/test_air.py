"""Moist air against print and against independent libraries."""

import numpy as np
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from published_tables import published

from sheltermap import air

TEMPERATURES = st.floats(-60, 55)


def rows(name):
    """Return a table's columns and its tolerance."""
    table = published("air_and_sun", name)
    return (*np.array(table["rows"]).T, table["tolerance"])


@pytest.mark.parametrize("suffix", ["", "_refet", "_hand"])
def test_saturation_matches_print(suffix):
    """FAO-56 example 3, a second library and hand arithmetic."""
    degrees, printed, tolerance = rows("saturation_vapour_pressure" + suffix)
    assert_allclose(air.saturation_vapour_pressure(degrees), printed, rtol=0, atol=tolerance)


def test_saturation_lies_among_other_formulas():
    """MetPy and pythermalcomfort stay within the 0.32 % that the formulas differ."""
    import metpy.calc
    from metpy.units import units
    from pythermalcomfort import psychrometrics

    degrees = np.linspace(0, 40, 41)
    ours = air.saturation_vapour_pressure(degrees)
    theirs = metpy.calc.saturation_vapor_pressure(degrees * units.degC).to("kPa").magnitude
    comfort = np.array([psychrometrics.p_sat(t) for t in degrees]) / 1000
    assert_allclose(ours, theirs, rtol=0.0032)
    assert_allclose(ours, comfort, rtol=0.0032)


def test_mean_vapour_pressure_of_a_day():
    """FAO-56 eq. 17 by hand: (2.064 x 0.82 + 3.168 x 0.54) / 2 = 1.70 kPa."""
    low, high = air.saturation_vapour_pressure(np.array([18.0, 25.0]))
    assert_allclose((low * 0.82 + high * 0.54) / 2, 1.70, rtol=0, atol=0.005)


def test_dewpoint_matches_hand_and_metpy():
    """The inverse agrees with Magnus by hand and with MetPy."""
    import metpy.calc
    from metpy.units import units

    degrees, humidity, printed, tolerance = rows("dewpoint")
    ours = air.dewpoint(air.saturation_vapour_pressure(degrees) * humidity / 100)
    assert_allclose(ours, printed, rtol=0, atol=tolerance)
    theirs = metpy.calc.dewpoint_from_relative_humidity(
        degrees * units.degC, humidity * units.percent
    )
    assert_allclose(ours, theirs.magnitude, rtol=0, atol=0.05)


def test_vapour_density_matches_hand():
    """Saturated air at 20 and 30 degC."""
    degrees, expected, tolerance = rows("vapour_density")
    e = air.saturation_vapour_pressure(degrees)
    assert_allclose(air.vapour_density(degrees, e), expected, rtol=0, atol=tolerance)


def test_pressure_and_density():
    """Pressure at 1800 m and the density of warm air at sea level."""
    height, expected, tolerance = rows("pressure")
    assert_allclose(air.pressure_at(height), expected, rtol=0, atol=tolerance)
    degrees, density, tolerance = rows("air_density")
    assert_allclose(air.air_density(degrees), density, rtol=0, atol=tolerance)


def test_wet_bulb_agrees_with_libraries():
    """Two other definitions: within 0.7 K everywhere, of MetPy within 0.2 K in humid air."""
    import metpy.calc
    from metpy.units import units
    from pythermalcomfort import psychrometrics

    degrees, humidity = np.meshgrid([0.0, 10.0, 20.0, 30.0, 40.0], [20.0, 50.0, 80.0, 100.0])
    ours = air.wet_bulb_temperature(
        degrees, air.saturation_vapour_pressure(degrees) * humidity / 100
    )
    # MetPy follows a saturated adiabat, pythermalcomfort a fit; a psychrometer is a third.
    dewpoint = metpy.calc.dewpoint_from_relative_humidity(
        degrees * units.degC, humidity * units.percent
    )
    adiabat = metpy.calc.wet_bulb_temperature(1013 * units.hPa, degrees * units.degC, dewpoint)
    fit = np.vectorize(psychrometrics.wet_bulb_tmp)(degrees, humidity)
    humid = humidity >= 80
    assert_allclose(ours, adiabat.magnitude, rtol=0, atol=0.7)
    assert_allclose(ours[humid], adiabat.magnitude[humid], rtol=0, atol=0.2)
    assert_allclose(ours, fit, rtol=0, atol=0.7)


@given(TEMPERATURES, st.floats(0.01, 1.0), st.floats(50, 105))
def test_wet_bulb_solves_its_equation(degrees, share, pressure):
    """Put back into the psychrometer equation it gives the vapour pressure it came from."""
    e = share * air.saturation_vapour_pressure(degrees)
    wet = air.wet_bulb_temperature(degrees, e, pressure)
    assert wet <= degrees + 1e-9
    back = air.saturation_vapour_pressure(wet) - 0.000662 * pressure * (degrees - wet)
    assert_allclose(back, e, rtol=1e-6, atol=1e-9)


@given(TEMPERATURES)
def test_dewpoint_inverts_saturation(degrees):
    """There and back changes nothing."""
    assert air.dewpoint(air.saturation_vapour_pressure(degrees)) == pytest.approx(degrees)


@given(TEMPERATURES, TEMPERATURES)
def test_saturation_rises_with_temperature(one, other):
    """Warmer air never holds less."""
    low, high = sorted((one, other))
    assert air.saturation_vapour_pressure(low) <= air.saturation_vapour_pressure(high)


def test_humidity_at_which_fabric_drips():
    """A surface 3.3 K below air of 20 degC meets its dewpoint at 81 %, by hand."""
    e = air.saturation_vapour_pressure(20.0 - 3.3)
    assert air.relative_humidity(20.0, e) == pytest.approx(81, abs=0.6)


@given(TEMPERATURES, st.floats(0, 8))
def test_humidity_stays_a_percentage(degrees, e):
    """Supersaturated inputs read as 100 %."""
    assert 0 <= air.relative_humidity(degrees, e) <= 100


def test_missing_and_impossible_values_are_missing():
    """No vapour has no dewpoint; no temperature has no humidity."""
    assert np.isnan(air.dewpoint(np.array([0.0, -1.0, np.nan]))).all()
    assert np.isnan(air.relative_humidity(np.nan, 1.0))
    assert np.isnan(air.wet_bulb_temperature(20.0, np.nan))


def test_units_are_attached():
    """Results say what they are."""
    degrees = xr.DataArray([20.0], dims="cell")
    assert air.saturation_vapour_pressure(degrees).attrs["units"] == "kPa"
    assert air.dewpoint(degrees / 10).attrs["units"] == "degC"
    assert air.relative_humidity(degrees, 1.0).attrs["units"] == "%"
