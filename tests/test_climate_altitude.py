"""Tests of the correction for a camp's height."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from climates import small_climatology

from sheltermap.air import saturation_vapour_pressure
from sheltermap.climate.altitude import at_elevation
from sheltermap.climate.calendar import by_day


def cell(**replaced):
    """Return one dry cell at 1000 m."""
    months = {"month": np.arange(1, 13), "latitude": 40.0}
    variables = {
        "air_temperature": ("month", [20.0] * 12),
        "air_temperature_min": ("month", [14.0] * 12),
        "air_temperature_max": ("month", [27.0] * 12),
        "vapour_pressure": ("month", [1.0] * 12),
        "rainfall": ("month", [30.0] * 12),
        "elevation": ((), 1000.0),
    }
    return xr.Dataset(variables | replaced, months)


def test_camp_above_is_colder_and_drier():
    """1 km above, inland: 5.5 K, minima 4.4 and maxima 6.5; worked by hand."""
    high = at_elevation(cell(), 2000.0)
    assert float(high["air_temperature"][0]) == pytest.approx(14.5)
    assert float(high["air_temperature_min"][0]) == pytest.approx(9.6)
    assert float(high["air_temperature_max"][0]) == pytest.approx(20.5)
    assert float(high["temperature_correction"]) == pytest.approx(-5.5)
    assert float(high["temperature_correction_error"]) == pytest.approx(1.5)
    assert float(high["height_corrected"]) == pytest.approx(1000.0)
    assert float(high["elevation"]) == 2000.0
    # Density falls by exp(-1000/2100) = 0.62115; pressure also with 287.65/293.15 K.
    assert float(high["vapour_pressure"][0]) == pytest.approx(0.62115 * 287.65 / 293.15, rel=1e-4)


def test_camp_below_is_warmer_and_moister():
    """The same distance downwards turns every sign."""
    low = at_elevation(cell(), 0.0)
    assert float(low["air_temperature"][0]) == pytest.approx(25.5)
    assert float(low["temperature_correction_error"]) == pytest.approx(1.5)
    assert float(low["vapour_pressure"][0]) > 1.5


def test_error_of_the_camps_height_adds_at_the_lapse_rate():
    """By hand: 200 m at 5.5 K/km are 1.1 K, with 1.5 K for a kilometre corrected 1.86 K."""
    high = at_elevation(cell(), 2000.0, 200.0)
    assert float(high["temperature_correction_error"]) == pytest.approx(np.hypot(1.5, 1.1))
    near = at_elevation(cell(), 1100.0, 200.0)
    assert float(near["temperature_correction_error"]) == pytest.approx(np.hypot(0.15, 1.1))
    unknown = at_elevation(cell(), 2000.0, np.nan)
    assert float(unknown["temperature_correction_error"]) == pytest.approx(1.5)


@pytest.mark.parametrize(
    ("land", "corrected"), [(0.5, 650.0), (0.6, 650.0), (0.8, 825.0), (1, 1e3)]
)
def test_coasts_leave_a_band_uncorrected(land, corrected):
    """All 350 m up to six tenths of land, half of them at eight, none inland."""
    high = at_elevation(cell(land_fraction=((), land)), 2000.0)
    assert float(high["height_corrected"]) == pytest.approx(corrected)


def test_small_difference_at_a_coast_changes_nothing_but_is_stated():
    """Inside the dead band the cell's own numbers stand."""
    coast = cell(land_fraction=((), 0.5))
    near = at_elevation(coast, 1340.0)
    for name in ("air_temperature", "air_temperature_min", "vapour_pressure"):
        np.testing.assert_array_equal(near[name], coast[name])
    assert float(near["temperature_correction"]) == 0.0


def test_extremes_never_pass_the_mean():
    """5 km up, a range of 5 K would be gone at maxima falling 1 K/km faster than the mean."""
    high = at_elevation(cell(air_temperature_max=("month", [22.0] * 12)), 6000.0)
    assert (high["air_temperature_max"] == high["air_temperature"]).all()
    assert (high["air_temperature_min"] <= high["air_temperature"]).all()


def test_unknown_height_corrects_nothing():
    """No stated height, no correction, no new variables."""
    xr.testing.assert_identical(at_elevation(cell(), None), cell())


def test_source_without_heights_says_so():
    """The numbers stand and the correction reads missing, not nought."""
    plain = at_elevation(cell().drop_vars("elevation"), 2500.0)
    np.testing.assert_array_equal(plain["air_temperature"], cell()["air_temperature"])
    assert np.isnan(plain["temperature_correction"])


def test_air_never_holds_more_than_it_can():
    """Going down, moist air would gain more vapour than warmth can hold: it stops saturated."""
    moist = cell(vapour_pressure=("month", [2.3] * 12))
    low = at_elevation(moist, 0.0)
    np.testing.assert_allclose(low["vapour_pressure"], saturation_vapour_pressure(25.5))


def test_days_and_grids_are_corrected_alike():
    """The order of correcting and interpolating does not matter for temperature."""
    source = small_climatology()
    first = by_day(at_elevation(source, 900.0))
    second = at_elevation(by_day(source), 900.0)
    np.testing.assert_allclose(first["air_temperature"], second["air_temperature"], atol=1e-9)
    assert second["temperature_correction"].dims == ("latitude", "longitude")


def test_each_cell_may_have_a_camp():
    """Heights along a dimension are matched by name; a missing one corrects nothing."""
    flat = small_climatology().stack(cell=("latitude", "longitude"), create_index=False)
    camps = xr.DataArray([np.nan] + [500.0] * 11, dims="cell")
    high = at_elevation(flat, camps)
    assert float(high["air_temperature"][0, 0]) == float(flat["air_temperature"][0, 0])
    # The second cell lies at 10 m: 490 m at 5.5 K/km.
    step = high["air_temperature"][0, 1] - flat["air_temperature"][0, 1]
    assert float(step) == pytest.approx(-2.695)


def test_marks_are_kept():
    """A corrected estimate is still an estimate."""
    source = cell()
    source["air_temperature_min"].attrs = {"units": "degC", "estimated": "yes"}
    assert at_elevation(source, 2000.0)["air_temperature_min"].attrs["estimated"] == "yes"


def test_rain_and_wet_days_grow_with_height():
    """By hand, January at 40 degrees north, 1 km up: 1.35 / 0.65 times the rain (Liston 2006)."""
    wet = ("month", [10.0] * 12)
    high = at_elevation(cell(wet_days=wet), 2000.0)
    assert float(high["rainfall"][0]) == pytest.approx(30.0 * 1.35 / 0.65)
    assert float(high["wet_days"][0]) > 10.0
    level = at_elevation(cell(wet_days=wet), 1000.0)
    np.testing.assert_array_equal(level["rainfall"], cell()["rainfall"])
    np.testing.assert_array_equal(level["wet_days"], 10.0)


def test_air_that_is_moist_beyond_measure_stays_so_where_nothing_is_corrected():
    """The source's own value stands, saturated or not, and its rain and wet days as well."""
    wet = cell(vapour_pressure=("month", [9.0] * 12), wet_days=("month", [33.0] * 12))
    level = at_elevation(wet, 1000.0)
    for name in ("vapour_pressure", "wet_days", "rainfall"):
        np.testing.assert_array_equal(level[name], wet[name])


def test_a_camp_of_unknown_height_stays_at_its_cell():
    """A missing height corrects nothing and moves the place nowhere."""
    found = at_elevation(cell(), np.nan)
    np.testing.assert_array_equal(found["air_temperature"], cell()["air_temperature"])
    assert float(found["elevation"]) == 1000.0
    assert np.isnan(found["height_corrected"]) and np.isnan(found["temperature_correction"])


def test_a_drop_at_a_coast_leaves_the_same_band():
    """900 m below, half sea: 550 m count, so 3.025 K warmer and an error of 0.825 K."""
    low = at_elevation(cell(land_fraction=((), 0.3)), 100.0)
    assert float(low["height_corrected"]) == pytest.approx(-550.0)
    assert float(low["temperature_correction"]) == pytest.approx(3.025)
    assert float(low["temperature_correction_error"]) == pytest.approx(0.825)
    unknown = at_elevation(cell(land_fraction=((), np.nan)), 100.0)
    assert float(unknown["height_corrected"]) == pytest.approx(-900.0)


def test_only_what_a_source_has_is_corrected():
    """A season of temperature alone gets no rain, no vapour and no extremes."""
    bare = cell()[["air_temperature", "elevation"]]
    found = at_elevation(bare, 2000.0)
    assert set(found.data_vars) == {
        "air_temperature", "elevation", "height_corrected", "temperature_correction",
        "temperature_correction_error",
    }  # fmt: skip
    assert "wet_days" not in at_elevation(cell(), 2000.0)
    daily = at_elevation(by_day(small_climatology()), 900.0)
    assert "rainfall" not in daily and "rain_per_day" in daily


def test_a_kilometre_up_neither_extreme_passes_the_mean():
    """The mean falls to 14.5; from 19.5 and 20.5 the extremes would be at 15.1 and 14.0."""
    narrow = cell(
        air_temperature_min=("month", [19.5] * 12), air_temperature_max=("month", [20.5] * 12)
    )
    high = at_elevation(narrow, 2000.0)
    for name in ("air_temperature_min", "air_temperature", "air_temperature_max"):
        assert float(high[name][0]) == pytest.approx(14.5)
