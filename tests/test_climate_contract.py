"""The contract at its borders: what numbers look like, what axes hold, what rounding may do."""

from __future__ import annotations

import numpy as np
import pytest
from climates import small_climatology

from sheltermap.climate import contract
from sheltermap.vocabulary import InputError


def said(dataset, **how) -> str:
    """Return what the contract says of a dataset; nothing where it is kept."""
    try:
        contract.check(dataset, **how)
    except InputError as error:
        return str(error)
    return ""


def with_one(name: str, value: float):
    """Return a climatology of which one cell has a value, in one month where there are months."""
    source = small_climatology()
    units = {"wind_speed": "m s-1", "land_fraction": "1"}
    if name == "wind_speed":
        source[name] = source["rainfall"] * 0 + 3.0
    if name == "land_fraction":
        source[name] = source["elevation"] * 0 + 0.5
    if name in units:
        source[name].attrs["units"] = units[name]
    source[name][(-1,) * source[name].ndim] = value
    return source


def all_of(name: str, value: float):
    """Return a climatology whose every value of a variable is the same."""
    source = small_climatology()
    source[name][:] = value
    return source


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("air_temperature", 61.0, "degrees Fahrenheit"),
        ("air_temperature", 140.0, "degrees Fahrenheit"),
        ("air_temperature", 141.0, "tenths of a degree"),
        ("air_temperature", -141.0, "tenths of a degree"),
        ("air_temperature", -139.0, "a fill value"),
        ("air_temperature", -81.0, "a fill value"),
        ("rainfall", -1.1, "a fill value"),
        ("rainfall", 5001.0, "tenths of mm, or yearly sums"),
        ("vapour_pressure", 6.1, "hPa"),
        ("vapour_pressure", 80.0, "hPa"),
        ("vapour_pressure", 81.0, "Pa; multiply by 0.001"),
        ("wet_days", 32.0, "percent of days"),
        ("wet_days", 100.0, "percent of days"),
        ("wet_days", 101.0, "hundredths of days"),
        ("elevation", 9001.0, "feet or decimetres"),
        ("elevation", -501.0, "depths of the sea"),
        ("wind_speed", 61.0, "tenths of m/s"),
        ("night_low_spread", 20.1, "a range of days"),
        ("land_fraction", 1.01, "percent; multiply by 0.01"),
    ],
)
def test_a_single_value_beyond_what_weather_has_is_told_with_what_it_looks_like(
    name, value, words
):
    """100 percent of days, 80 hPa in air of 42 °C, 140 °F are the most that their units have.

    From memory: Earth's air was seen between -90 and 57 °C, its land lies from -430 to 8,849 m.
    """
    assert f"look like {words}" in said(with_one(name, value))


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("vapour_pressure", 5.9),
        ("wet_days", 31.0),
        ("elevation", 8849.0),
        ("elevation", -430.0),
        ("land_fraction", 1.0),
        ("land_fraction", 0.0),
        ("rainfall", 0.0),
    ],
)
def test_what_land_and_weather_have_passes(name, value):
    """The highest and lowest land, a cell all land or sea, a dry month, rain on every day."""
    assert said(with_one(name, value)) == ""


@pytest.mark.parametrize(
    ("value", "words"),
    [(1.9e-3, "kg m-2 s-1"), (2.1e-3, "metres per day"), (0.049, "metres per day")],
)
def test_rain_that_is_tiny_everywhere_is_a_rate(value, words):
    """2 mm/h is no kg m-2 s-1 of a month, 50 mm a day no month's mean; a desert has some mm."""
    assert f"look like {words}" in said(all_of("rainfall", value))
    assert said(all_of("rainfall", 0.051)) == said(all_of("rainfall", 0.0)) == ""


@pytest.mark.parametrize(
    ("name", "off", "passes"),
    [
        ("air_temperature_min", 0.19, True),
        ("air_temperature_min", 0.21, False),
        ("air_temperature_max", -0.19, True),
        ("air_temperature_max", -0.21, False),
    ],
)
def test_extremes_may_pass_the_mean_by_rounding_alone(name, off, passes):
    """Two values to a tenth are at most 0.1 off; the message counts what is out of order."""
    source = small_climatology()
    source[name][3, 1, 1:3] = source["air_temperature"][3, 1, 1:3] + off
    assert said(source) == "" if passes else "2 cell-months out of order" in said(source)


@pytest.mark.parametrize(("days", "passes"), [(28.4, True), (28.6, False)])
def test_a_february_may_have_wet_leap_days(days, passes):
    """Half a day more than 28, no more; one cell of one month is counted."""
    source = small_climatology()
    source["wet_days"][1, 0, 0] = days
    assert said(source) == "" if passes else "1 cell-months with more" in said(source)


@pytest.mark.parametrize(
    ("latitude", "longitude", "words"),
    [
        ([-90.0, 0.0, 90.0], [-180.0, 0.0, 90.0, 180.0], ""),
        (
            [-90.1, 0.0, 90.0],
            [0.0, 1.0, 2.0, 3.0],
            "latitude: expected -90 to 90, got -90.1 to 90",
        ),
        ([0.0, 1.0, 90.1], [0.0, 1.0, 2.0, 3.0], "got 0 to 90.1"),
        ([0.0, 1.0, 2.0], [0.0, 1.0, 2.0, 180.1], "Shift longitudes above 180"),
        ([0.0, 1.0, 2.0], [-180.1, 1.0, 2.0, 3.0], "Mend the axis."),
        ([0.0, 1.0, 1.0], [0.0, 1.0, 2.0, 3.0], "ascending values, got 0, 1, ..."),
        ([0.0, np.nan, 1.0], [0.0, 1.0, 2.0, 3.0], "Mend the axis."),
    ],
)
def test_axes_reach_the_poles_and_once_round(latitude, longitude, words):
    """Latitudes and longitudes of a globe, ascending, none twice and none missing."""
    message = said(small_climatology().assign_coords(latitude=latitude, longitude=longitude))
    assert message == "" if not words else words in message


@pytest.mark.parametrize(
    ("months", "words"),
    [
        ([2, 1, *range(3, 13)], "Sort the months."),
        ([1, 1, *range(3, 13)], "Month 2 is missing."),
        ([*range(0, 12)], "Month 12 is missing."),
    ],
)
def test_months_are_one_to_twelve_in_order(months, words):
    """Each once."""
    assert words in said(small_climatology().assign_coords(month=months))


def test_a_variable_along_another_dimension_is_refused():
    """A height by month, and rain of two members."""
    source = small_climatology()
    source["elevation"] = source["elevation"].expand_dims(month=source["month"])
    source["rainfall"] = source["rainfall"].expand_dims(member=[1, 2])
    message = said(source, file="own.nc")
    assert "own.nc: elevation: expected values by latitude, longitude, got month" in message
    assert "own.nc: rainfall: expected values by month, latitude, longitude" in message


def test_units_that_a_file_does_not_state_are_asked_for():
    """Of a file from outside nobody knows them; inside the program they may be left out."""
    source = small_climatology()
    del source["rainfall"].attrs["units"]
    assert contract.unit_problems(source, "own.nc") == []
    (problem,) = contract.unit_problems(source, "own.nc", stated=True)
    assert str(problem).startswith("own.nc: rainfall.units: expected 'mm', got none")


def test_an_error_of_a_variable_is_described_and_may_be_missing():
    """Its units are the contract's; without one value it is no problem."""
    source = small_climatology()
    source["rainfall_error"] = source["rainfall"] * np.nan
    source["rainfall_error"].attrs["units"] = "mm"
    checked = contract.check(source)
    assert checked["rainfall_error"].attrs == {
        "long_name": "standard error of the precipitation sum of the month",
        "units": "mm",
    }
    assert checked["latitude"].attrs["standard_name"] == "latitude"
