"""Tests of the climatology contract, and of the parts of a climatology that callers ask for."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from climates import small_climatology

from sheltermap.climate import contract, grid
from sheltermap.vocabulary import VARIABLES, InputError


def messages(call, *arguments):
    """Return what the call complains about."""
    with pytest.raises(InputError) as caught:
        call(*arguments)
    return [str(problem) for problem in caught.value.problems]


def test_valid_climatology_keeps_its_numbers_and_gains_attributes():
    """A source in order passes unchanged; names and units are stated on it."""
    source = small_climatology()
    checked = contract.check(source.transpose("longitude", "month", "latitude"))
    assert checked["air_temperature"].dims == ("month", "latitude", "longitude")
    xr.testing.assert_equal(checked, source)
    for name, array in checked.items():
        assert array.attrs["units"] == VARIABLES[name].units
    assert checked["air_temperature_min"].attrs["standard_name"] == "air_temperature"
    assert "minimum within days" in checked["air_temperature_min"].attrs["cell_methods"]


def test_marks_of_an_estimate_survive_the_check():
    """What was estimated must still say so."""
    source = small_climatology()
    source["wet_days"].attrs |= {"estimated": "from rain", "uncertainty": "RMSE 2 days a month"}
    checked = contract.check(source)
    assert checked["wet_days"].attrs["estimated"] == "from rain"
    assert checked["wet_days"].attrs["uncertainty"] == "RMSE 2 days a month"


def test_variable_without_a_value_is_refused():
    """A required one that is missing everywhere says nothing of any place."""
    source = small_climatology()
    source["rainfall"] = source["rainfall"] * np.nan
    (found,) = messages(contract.check, source, "my.nc")
    assert "my.nc: rainfall: expected some valid value, got none" in found


def test_all_problems_come_at_once():
    """Two variables, the months and both axes are wrong: five complaints, one error."""
    source = small_climatology().drop_vars(["rainfall", "vapour_pressure"])
    source = source.isel(month=slice(0, 11), latitude=slice(None, None, -1))
    source = source.assign_coords(longitude=source.longitude + 180)
    found = messages(contract.check, source, "my.nc")
    assert len(found) == 5
    assert all(text.startswith("my.nc: ") for text in found)
    assert "my.nc: rainfall: expected this variable, got none" in found[0]
    assert "Month 12 is missing." in found[2]
    assert "latitude: expected ascending values" in found[3]
    assert "Shift longitudes above 180 by -360 and sort." in found[4]


@pytest.mark.parametrize(
    ("name", "change", "words"),
    [
        ("air_temperature", lambda x: x + 273.15, "look like kelvin"),
        ("air_temperature", lambda x: x * 1.8 + 40, "look like degrees Fahrenheit"),
        ("air_temperature_min", lambda x: x * 10, "look like tenths of a degree"),
        ("rainfall", lambda x: x / 1000 / 30, "look like metres per day"),
        ("rainfall", lambda x: x / 86400 / 30, "look like kg m-2 s-1"),
        ("rainfall", lambda x: x.where(x > 20, -9999), "look like a fill value"),
        ("vapour_pressure", lambda x: x * 10, "look like hPa"),
        ("vapour_pressure", lambda x: x * 1000, "look like Pa"),
        ("wet_days", lambda x: x * 100 / 30, "look like percent of days"),
        ("elevation", lambda x: x.where(x < 100, -9999), "a fill value"),
    ],
)
def test_mislabelled_numbers_are_named(name, change, words):
    """Numbers in another unit are refused with what they look like."""
    source = small_climatology()
    source[name] = change(source[name]).assign_attrs(units=VARIABLES[name].units)
    found = messages(contract.check, source)
    assert any(f"climatology: {name}: " in text and words in text for text in found), found


def test_wrong_unit_attribute_is_named():
    """The attribute is held to the contract even where values would pass."""
    source = small_climatology()
    source["air_temperature"].attrs["units"] = "K"
    found = messages(contract.check, source)
    assert found[0].startswith("climatology: air_temperature.units: expected 'degC', got 'K'")


def test_minimum_above_mean_is_refused():
    """Swapped extremes are a mistake no range check sees."""
    source = small_climatology()
    source = source.rename(
        air_temperature_min="air_temperature_max", air_temperature_max="air_temperature_min"
    )
    assert "minimum <= mean <= maximum" in messages(contract.check, source)[0]


def test_more_wet_days_than_days_is_refused():
    """February cannot have thirty wet days."""
    source = small_climatology()
    source["wet_days"] = xr.full_like(source["wet_days"], 30.0)
    assert "at most the days of the month" in messages(contract.check, source)[0]


def test_missing_cells_pass_and_stay_missing():
    """The sea is no mistake."""
    source = small_climatology()
    source = source.where((source.latitude > 40) | (source.longitude > 28))
    assert np.isnan(contract.check(source)["air_temperature"][:, 0, 0]).all()


def test_nearest_valid_cell_stands_for_a_place():
    """The nearest centre is at sea, so the next one counts; its distance is stated."""
    source = small_climatology()
    source = source.where((source.latitude != 40.5) | (source.longitude != 28.5))
    cell = grid.point(source, 40.65, 28.5)
    # 0.35 degrees of latitude at 111.19 km each; the next cells in longitude lie 42 km off.
    assert float(cell.latitude) == 41.0
    assert float(cell.distance) == pytest.approx(38.92, abs=0.01)


def test_place_too_far_from_land_is_refused():
    """No far-off climate is passed off as a place's own."""
    found = messages(grid.point, small_climatology(), 45.0, 28.5)
    assert "expected land within 75 km of a cell, got 45, 28.5" in found[0]
    assert "It covers latitudes 40 to 41" in found[0]


def test_box_keeps_one_more_cell_on_each_side():
    """Neighbours are needed to stand in for cells at sea."""
    part = grid.box(small_climatology(), 28.9, 40.4, 29.1, 40.6)
    assert part.latitude.values.tolist() == [40.0, 40.5, 41.0]
    assert part.longitude.values.tolist() == [28.5, 29.0, 29.5]


def test_box_across_the_date_line_stays_ascending():
    """West beyond east takes both ends of the axis."""
    source = small_climatology().assign_coords(longitude=[-180.0, -175.0, 170.0, 175.0])
    part = grid.box(source, 174.0, 40.0, -179.0, 41.0)
    assert part.longitude.values.tolist() == [-180.0, -175.0, 170.0, 175.0]
    assert grid.box(source, 174.0, 40.0, 176.0, 41.0).longitude.values.tolist() == [170.0, 175.0]


def test_box_elsewhere_is_refused():
    """A box without a cell says where there are some."""
    found = messages(grid.box, small_climatology(), 50.0, 40.0, 51.0, 41.0)
    assert "got 50,40,51,41" in found[0]
    assert "longitudes 28 to 29.5" in found[0]


def test_cells_drop_those_without_a_climate():
    """Eleven of twelve remain, each with its own place."""
    source = small_climatology()
    source["air_temperature"][5, 1, 2] = np.nan
    flat = grid.cells(source)
    assert flat.sizes == {"month": 12, "cell": 11}
    assert (40.5, 29.0) not in set(zip(flat.latitude.values, flat.longitude.values, strict=True))
    third = flat.isel(cell=3)
    expected = source.sel(latitude=float(third.latitude), longitude=float(third.longitude))
    np.testing.assert_array_equal(third["rainfall"], expected["rainfall"])
