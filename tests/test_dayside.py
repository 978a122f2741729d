"""Day-side indices against print and against second libraries."""

import numpy as np
import pytest
import thermofeel
import xarray as xr
from numpy.testing import assert_allclose
from published_tables import published
from scipy.optimize import brentq

from sheltermap import air, dayside

QUART = 0.946352946  # litres, NIST SP 811


def rows(name):
    """Return a table's columns and its tolerance."""
    table = published("dayside", name)
    return (*np.array(table["rows"]).T, table["tolerance"])


def celsius(fahrenheit):
    return (np.asarray(fahrenheit) - 32) / 1.8


@pytest.mark.parametrize("name", ["heat_index_fahrenheit", "heat_index_adjusted_fahrenheit"])
def test_heat_index_matches_print(name):
    """The regression, both adjustments and the simple form."""
    degrees, humidity, expected, tolerance = rows(name)
    ours = dayside.heat_index(celsius(degrees), humidity) * 1.8 + 32
    assert_allclose(ours, expected, rtol=0, atol=tolerance)


def test_heat_index_in_celsius():
    """30 degC and 70 %."""
    degrees, humidity, expected, tolerance = rows("heat_index")
    assert_allclose(dayside.heat_index(degrees, humidity), expected, rtol=0, atol=tolerance)


def test_heat_index_agrees_with_libraries():
    """thermofeel everywhere; pythermalcomfort where no adjustment applies."""
    from pythermalcomfort.models import heat_index_rothfusz

    degrees, humidity = np.meshgrid(np.arange(15.0, 46.0, 2.5), np.arange(5.0, 100.0, 7.5))
    ours = dayside.heat_index(degrees, humidity)
    theirs = thermofeel.calculate_heat_index_adjusted(
        degrees + 273.15, dewpoint_k(degrees, humidity)
    )
    # Their humidity goes through a dewpoint of another saturation formula: up to 0.3 % of it.
    assert_allclose(ours, theirs - 273.15, rtol=0, atol=0.35)
    plain = (degrees > 29) & (humidity > 15) & (humidity < 85)
    rothfusz = heat_index_rothfusz(
        degrees[plain], humidity[plain], round_output=False, limit_inputs=False
    ).hi
    assert_allclose(ours[plain], rothfusz, rtol=0, atol=0.05)


def dewpoint_k(degrees, humidity):
    """Return the dewpoint as thermofeel defines it. [K]"""
    return thermofeel.calculate_dew_point_from_relative_humidity(humidity, degrees + 273.15)


def test_heat_index_words():
    """Each band begins at its printed edge: 80, 90, 103, 125 degF."""
    words = [dayside.heat_index_word(float(t)) for t in celsius([79, 81, 91, 104, 126])]
    assert words == ["", "caution", "extreme caution", "danger", "extreme danger"]
    assert dayside.heat_index_word(np.nan) is None


def test_wbgt_in_sun_matches_thermofeel():
    """The Bureau's relation fed with the Bureau's vapour pressure, and with ours."""
    degrees, humidity, expected, tolerance = rows("wbgt_in_sun")
    theirs = humidity / 100 * 0.6105 * np.exp(17.27 * degrees / (237.7 + degrees))
    assert_allclose(dayside.wbgt_in_sun(degrees, theirs), expected, rtol=0, atol=tolerance)
    # One saturation formula in this project: it differs by 0.3 %, worth 0.05 K at most.
    ours = humidity / 100 * air.saturation_vapour_pressure(degrees)
    assert_allclose(dayside.wbgt_in_sun(degrees, ours), expected, rtol=0, atol=0.05)


def test_wbgt_in_sun_against_a_heat_balance():
    """Within 0.75 K of Liljegren's balance in sun, and as much too high under cloud as stated."""
    degrees, humidity, expected, tolerance = rows("wbgt_liljegren")
    e = humidity / 100 * air.saturation_vapour_pressure(degrees)
    assert_allclose(dayside.wbgt_in_sun(degrees, e), expected, rtol=0, atol=tolerance)
    degrees, humidity, cloudy, excess, tolerance = rows("wbgt_liljegren_cloud")
    e = humidity / 100 * air.saturation_vapour_pressure(degrees)
    assert_allclose(dayside.wbgt_in_sun(degrees, e) - cloudy, excess, rtol=0, atol=tolerance)


def test_wbgt_in_shade():
    """Bernard's relation with his own psychrometer, over all heat that people live in."""
    degrees, humidity = np.meshgrid(np.arange(20.0, 51.0, 5.0), [10.0, 30.0, 50.0, 80.0])
    e = humidity / 100 * air.saturation_vapour_pressure(degrees)
    places = zip(degrees.flat, e.flat, strict=True)
    theirs = [0.67 * bernard(t, 10 * p) + 0.33 * t for t, p in places]
    ours = dayside.wbgt_in_shade(degrees, e)
    # Print rounds 0.672 to 0.67, and the two psychrometers differ: together up to 0.15 K.
    assert_allclose(ours.ravel(), theirs, rtol=0, atol=0.15)


def bernard(degrees, hectopascals):
    """Return the ventilated wet bulb as Lemke and Kjellstrom (2012) solve for it. [degC]"""

    def balance(wet):
        held = 6.106 * np.exp(17.27 * wet / (237.3 + wet))
        gain = 1010 * (degrees - wet)
        return 1556 * (hectopascals - held) - 1.484 * wet * (hectopascals - held) + gain

    return brentq(balance, -20.0, degrees)


def test_a_wet_bulb_nobody_ventilates_stays_warmer():
    """The library's relation with a ventilated wet bulb reads lower."""
    from pythermalcomfort.models import wbgt

    degrees, humidity, excess, tolerance = rows("wbgt_in_shade")
    e = humidity / 100 * air.saturation_vapour_pressure(degrees)
    wet = float(air.wet_bulb_temperature(degrees, e)[0])
    ventilated = wbgt(twb=wet, tg=degrees[0], round_output=False).wbgt
    assert_allclose(dayside.wbgt_in_shade(degrees, e) - ventilated, excess, rtol=0, atol=tolerance)


def test_categories_match_the_card():
    """Every printed edge, from both sides."""
    fahrenheit, expected, _ = rows("heat_category")
    degrees = celsius(fahrenheit)
    assert_allclose(dayside.heat_category(degrees), expected)
    assert_allclose(dayside.heat_category(degrees.astype("f4")), expected)


@pytest.mark.parametrize("work", dayside.WORK)
def test_advice_matches_the_card(work):
    """Water, work and rest of all five categories."""
    table = published("dayside", "heat_advice")
    for category, (quarts, minutes, rest) in enumerate(table[work], start=1):
        advice = dayside.heat_advice(category, work)
        assert advice.water == pytest.approx(quarts * QUART, abs=table["tolerance"])
        assert (advice.work or 0, advice.rest or 0) == (minutes, rest)
        if advice.work is not None:
            assert advice.work + advice.rest == 60


def test_unacclimatised_count_one_higher():
    """From category 1 on; a cool day stays a cool day."""
    wbgt_values = np.array([20.0, 26.0, 30.0, 33.0])
    assert dayside.heat_category(wbgt_values, acclimatised=False).tolist() == [0, 2, 4, 5]


def test_cautions():
    """Each category has its own text; nothing is said about a missing one."""
    assert len({dayside.heat_caution(c) for c in range(6)}) == 6
    assert "two weeks" in dayside.heat_caution(1)
    assert "two weeks" not in dayside.heat_caution(1, acclimatised=False)
    assert dayside.heat_caution(np.nan) is None
    assert dayside.heat_advice(np.nan) is None
    assert dayside.heat_advice(0).water == dayside.COOL_WATER_AN_HOUR


def test_wind_chill_matches_library_values():
    """Three values of a second library."""
    from pythermalcomfort.models import wind_chill_temperature

    degrees, speed, expected, tolerance = rows("wind_chill")
    assert_allclose(dayside.wind_chill(degrees, speed / 3.6), expected, rtol=0, atol=tolerance)
    assert_allclose(
        dayside.wind_chill(degrees, speed / 3.6),
        wind_chill_temperature(tdb=degrees, v=speed, round_output=False).wct,
        rtol=0,
        atol=1e-6,
    )


def test_wind_chill_matches_the_chart():
    """The printed chart, 120 values in degF and mph."""
    table = published("dayside", "wind_chill_chart")
    degrees = celsius(table["temperature"])[:, None]
    speed = np.array(table["wind"]) * 0.44704
    ours = dayside.wind_chill(degrees, speed) * 1.8 + 32
    assert_allclose(ours, table["chill"], rtol=0, atol=table["tolerance"])


def test_wind_chill_has_limits():
    """Missing above 10 degC and in near calm."""
    assert np.isnan(dayside.wind_chill(10.1, 5.0))
    assert np.isnan(dayside.wind_chill(0.0, 1.3))
    assert np.isfinite(dayside.wind_chill(10.0, 1.4))


def test_unknown_work_is_refused():
    """The message names the kinds."""
    with pytest.raises(ValueError, match="easy, moderate, hard"):
        dayside.heat_advice(3, work="medium")


def test_missing_stays_missing():
    """No input, no index, no category."""
    missing = xr.DataArray([np.nan, 30.0], dims="cell")
    for result in (
        dayside.heat_category(missing),
        dayside.heat_index(missing, 50.0),
        dayside.wbgt_in_sun(missing, 2.0),
        dayside.wbgt_in_shade(missing, 2.0),
    ):
        assert np.isnan(result).values.tolist() == [True, False]
    assert np.isnan(dayside.heat_index(30.0, 101.0))


def test_the_worst_heat_says_what_to_do_about_a_collapse():
    """A region's page shows it unfolded, and the hazard that says it too stands folded."""
    assert "emergency" in dayside.heat_caution(5) and "cool the person" in dayside.heat_caution(5)
    assert "never leave people" in dayside.heat_caution(4)
