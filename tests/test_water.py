"""Drinking water by hand and between printed anchors."""

import numpy as np
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from published_tables import published

from sheltermap import dayside, water

QUART = 0.946352946  # litres, NIST SP 811
COOL = 20.0  # degC


def rows(name):
    """Return a table's columns and its tolerance."""
    table = published("dayside", name)
    return (*np.array(table["rows"]).T, table["tolerance"])


def test_working_people_match_hand():
    """2 L and the card's litres an hour for six hours."""
    degrees, expected, tolerance = rows("drinking_water")
    assert_allclose(water.drinking_water(degrees, COOL), expected, rtol=0, atol=tolerance)


def test_resting_people_match_adolph():
    """Rest in shade takes more with heat: a party waiting at 42 degC needs 6 L."""
    degrees, expected, tolerance = rows("resting_water")
    assert_allclose(water.resting_water(degrees), expected, rtol=0, atol=tolerance)


def test_resting_people_agree_with_a_second_source():
    """The Institute of Medicine's need at a daily mean of 30 degC."""
    anchor = published("dayside", "resting_water_anchor")
    least, most = water.resting_water(np.array(anchor["maxima"]))
    assert anchor["least"] <= least <= most <= anchor["most"]


def test_rest_is_a_floor_under_work():
    """By hand at category 1: no work leaves 6.1 L at 42 degC; work of 6 h asks for 4.8, of 10 h
    for 6.7."""
    drunk = [water.drinking_water(26.0, 42.0, "easy", hours) for hours in (0.0, 6.0, 10.0)]
    assert_allclose(drunk, [6.14, 6.14, 6.7], rtol=0, atol=0.005)
    assert water.drinking_water(26.0, 20.0, "easy", 0.0) == 3.0


def test_need_lies_between_anchors():
    """No less than a relief standard's least, and heat adds no more than an army plans for."""
    anchors = published("dayside", "water_anchors")
    mild, hot = water.drinking_water(np.array([18.0, 35.0]), np.array([22.0, 43.0]), work="hard")
    assert water.drinking_water(18.0, 22.0) <= anchors["most_mild"]
    assert mild >= anchors["least"]
    assert hot - mild <= anchors["arid_increment"]


@given(
    st.floats(-30, 50),
    st.floats(-30, 60),
    st.sampled_from(dayside.WORK),
    st.floats(0, 16),
    st.booleans(),
)
def test_need_is_bounded_and_rises(degrees, maximum, work, hours, acclimatised):
    """Between 3 and 11.4 L, never less in more heat, never less for the unaccustomed."""
    drunk = water.drinking_water(degrees, maximum, work, hours, acclimatised)
    assert 3.0 <= drunk <= 11.4
    assert drunk <= water.drinking_water(degrees + 2, maximum, work, hours, acclimatised)
    assert drunk <= water.drinking_water(degrees, maximum + 2, work, hours, acclimatised)
    assert drunk <= water.drinking_water(degrees, maximum, work, hours, acclimatised=False)


def test_hourly_water_stays_below_the_cap():
    """No advice exceeds what the card calls dangerous."""
    hourly = [row.water for rows_ in dayside.HEAT_ADVICE.values() for row in rows_]
    assert max(hourly) <= dayside.MOST_WATER_AN_HOUR
    anchors = published("dayside", "water_anchors")
    most = anchors["quarts_an_hour"] * QUART, anchors["quarts_a_day"] * QUART
    caps = dayside.MOST_WATER_AN_HOUR, water.drinking_water(40.0, 45.0, "hard", 24.0)
    assert_allclose(caps, most, rtol=0, atol=0.05)


def test_unknown_work_is_refused():
    """The message names the kinds."""
    with pytest.raises(ValueError, match="easy, moderate, hard"):
        water.drinking_water(30.0, 35.0, work="medium")


def test_missing_stays_missing():
    """No heat category or no maximum, no water; single precision stays single."""
    missing = xr.DataArray(np.array([np.nan, 30.0], "f4"), dims="cell")
    for result in (
        water.drinking_water(missing, 35.0),
        water.drinking_water(30.0, missing),
        water.resting_water(missing),
    ):
        assert np.isnan(result).values.tolist() == [True, False]
        assert result.dtype == np.float32


def test_rest_beyond_the_table_goes_on_as_it_ends():
    """2 L, the table's last 7.57 L, and 2 K at its last slope of 2.84 L in 5.6 K."""
    assert_allclose(water.resting_water(np.array([50.9])), [2 + 7.57 + 2 * 2.84 / 5.6], atol=1e-6)
