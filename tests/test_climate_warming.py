"""Tests of the warming between the data's years and a trip's."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from climates import small_climatology, whole_world

from sheltermap.air import relative_humidity
from sheltermap.climate.warming import GLOBAL_RATE, LAND_RATIO, warmed, warming


def test_a_decade_at_the_equator_is_two_tenths_of_a_kelvin():
    """By hand: 0.02 K a year, ten years, tropical land a tenth faster."""
    assert warming(0.0, 10.0) == pytest.approx(0.22)
    # Half-way between 1.4 at 30 and 1.9 at 60 degrees north.
    assert warming(45.0, 10.0) == pytest.approx(0.2 * 1.65)
    assert warming(80.0, 10.0) == pytest.approx(0.2 * 2.5)


def test_ratios_average_to_that_of_land():
    """Weighted by the land that has people or roads, the ratios give what land warmed by."""
    world = whole_world()
    land = world["land_fraction"].fillna(0) * np.cos(np.radians(world["latitude"]))
    ratio = warming(world["latitude"], 1.0) / GLOBAL_RATE
    assert float((ratio * land).sum() / land.sum()) == pytest.approx(LAND_RATIO, abs=0.075)


def test_off_changes_nothing_and_on_keeps_the_humidity():
    """Mean, minimum and maximum rise alike."""
    source = small_climatology()
    assert warmed(source, 0.0) is source
    later = warmed(source, 15.0)
    added = warming(source["latitude"], 15.0)
    for name in ("air_temperature", "air_temperature_min", "air_temperature_max"):
        xr.testing.assert_allclose(later[name], source[name] + added)
        assert later[name].attrs == source[name].attrs
    before, after = (
        relative_humidity(one["air_temperature"], one["vapour_pressure"])
        for one in (source, later)
    )
    xr.testing.assert_allclose(before, after)
    xr.testing.assert_identical(later["rainfall"], source["rainfall"])
