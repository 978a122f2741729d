"""What the variables of published datasets are taken for, one variable at a time."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from sheltermap.climate.recognise import recognised


def variable(value, units, **attributes):
    """Return a variable of one value in every month."""
    return xr.DataArray(np.full(12, value), dims="month", attrs={"units": units, **attributes})


@pytest.mark.parametrize(
    ("name", "value", "units", "quantity", "expected"),
    [
        ("z", 9806.65, "m**2 s**-2", "geopotential", 1000.0),  # standard gravity, 9.80665 m s-2
        ("t2m", 273.15, "K", "air_temperature", 0.0),
        ("t2m", 212.0, "degF", "air_temperature", 100.0),
        ("tdew", 32.0, "degF", "dewpoint", 0.0),
        ("dtr", 18.0, "degF", "temperature_range", 10.0),
        ("vap", 10.0, "hPa", "vapour_pressure", 1.0),
        ("vapr", 1000.0, "Pa", "vapour_pressure", 1.0),
        ("ws", 36.0, "km h-1", "wind_speed", 10.0),
        ("ws", 1.0, "knots", "wind_speed", 0.514444),
        ("hurs", 50.0, "%", "relative_humidity", 0.5),
        ("elev", 1000.0, "ft", "elevation", 304.8),  # the international foot
        ("elev", 1.5, "km", "elevation", 1500.0),
        ("prec", 2.0, "inches", "rainfall", 50.8),
        ("prec", 3.0, "cm", "rainfall", 30.0),
    ],
)
def test_units_are_converted(name, value, units, quantity, expected):
    """By the definitions of the units."""
    found, problems = recognised(xr.Dataset({name: variable(value, units)}), "x.nc")
    assert not problems
    np.testing.assert_allclose(found[quantity], expected, atol=1e-9)


def test_rain_rates_are_summed_over_the_month():
    """1 mm a day is 31 mm in January; 1e-5 kg m-2 s-1 is 0.864 mm a day."""
    months = {"month": np.arange(1, 13)}
    by_day = xr.Dataset({"pr": variable(1.0, "mm day-1")}, months)
    assert float(recognised(by_day, "x.nc")[0]["rainfall"][0]) == pytest.approx(31.0)
    by_second = xr.Dataset({"pr": variable(1e-5, "kg m-2 s-1")}, months)
    found = recognised(by_second, "x.nc")[0]["rainfall"]
    assert float(found[3]) == pytest.approx(30 * 0.864)


@pytest.mark.parametrize(
    ("attributes", "quantity"),
    [
        ({"cell_methods": "time: minimum within days"}, "air_temperature_min"),
        ({"cell_methods": "time: maximum within days"}, "air_temperature_max"),
        ({}, "air_temperature"),
    ],
)
def test_cell_methods_tell_extremes_from_means(attributes, quantity):
    """CF has one standard name for all three."""
    told = variable(10.0, "degC", standard_name="air_temperature", **attributes)
    assert list(recognised(xr.Dataset({"x": told}), "x.nc")[0]) == [quantity]


def test_two_of_one_quantity_are_refused():
    """Nobody knows which is meant."""
    both = xr.Dataset({"tas": variable(10.0, "degC"), "tmp": variable(11.0, "degC")})
    _, (problem,) = recognised(both, "x.nc")
    assert problem.got == "'tas' and 'tmp'"


@pytest.mark.parametrize("units", ["furlongs", ""])
def test_units_nobody_knows_are_told_with_those_that_are(units):
    """Also where there are none."""
    _, (problem,) = recognised(xr.Dataset({"vap": variable(1.0, units)}), "x.nc")
    assert (problem.key, problem.got) == ("vap.units", f"'{units}'" if units else "none")
    assert problem.expected.startswith("units such as 'kpa', 'hpa'")


MONTHS = {"month": np.arange(1, 13)}


@pytest.mark.parametrize(
    ("name", "value", "units", "by_hour", "april"),
    [
        ("pr", 1e-5, "mm/s", False, 25.92),
        ("pr", 1e-8, "m s-1", False, 25.92),
        ("pr", 0.002, "m day-1", False, 60.0),
        ("pr", 0.05, "m month-1", False, 50.0),
        ("pr", 7.0, "kg m-2", False, 7.0),
        ("tp", 0.002, "m", False, 60.0),
        ("tp", 0.0001, "m", True, 72.0),
        ("TP", 0.0001, "m of water equivalent", True, 72.0),
        ("pre", 0.05, "m", False, 50.0),
        ("pre", 0.05, "m", True, 50.0),
    ],
)
def test_rain_in_any_span_is_the_sum_of_april(name, value, units, by_hour, april):
    """30 days of 86,400 s; metres of ERA5 are of a day, of an hour in means by hour, else sums."""
    found, problems = recognised(
        xr.Dataset({name: variable(value, units)}, MONTHS), "x.nc", by_hour=by_hour
    )
    assert not problems
    assert float(found["rainfall"][3]) == pytest.approx(april)


def test_a_leap_february_has_29_days_of_rain():
    """Where the years are known."""
    time = np.array(["2023-02-01", "2024-02-01"], "datetime64[ns]")
    rain = xr.DataArray([1.0, 1.0], {"time": time}, ["time"], attrs={"units": "mm day-1"})
    found, _ = recognised(xr.Dataset({"pr": rain}), "x.nc")
    assert found["rainfall"].values.tolist() == [28.0, 29.0]


@pytest.mark.parametrize(
    ("units", "value", "right"),
    [("K", 149.0, "degC"), ("K", 151.0, None), ("degC", 151.0, "K"), ("degC", 149.0, None)],
)
def test_temperatures_in_another_unit_than_they_say_are_told_once(units, value, right):
    """No air is colder than 150 K nor hotter than 150 degC; two variables are one problem."""
    both = xr.Dataset({name: variable(value, units) for name in ("tas", "tasmin")}, MONTHS)
    _, problems = recognised(both, "x.nc")
    assert [(one.key, one.expected, one.got) for one in problems] == (
        [("tas.units, tasmin.units", f"'{right}', as the numbers are", f"'{units}'")]
        if right
        else []
    )


def test_a_range_in_kelvin_is_no_temperature():
    """10 K between night and day is what it says."""
    found, problems = recognised(xr.Dataset({"dtr": variable(10.0, "K")}, MONTHS), "x.nc")
    assert not problems and [*found] == ["temperature_range"]


def test_what_is_known_to_be_of_no_use_is_left_aside():
    """CRU's days of 0.1 mm; what nobody knows is told with names that are known."""
    assert recognised(xr.Dataset({"WET": variable(3.0, "days")}), "x.nc") == ({}, [])
    found, (problem,) = recognised(xr.Dataset({"foo": variable(3.0, "days")}), "x.nc")
    assert not found and problem.got == "'foo'" and "t2m, tmn, tmx" in problem.expected


def test_a_bare_name_tells_an_extreme_where_methods_do_not():
    """The standard name is that of the mean; a name of another quantity is not believed."""
    told = {"standard_name": "air_temperature"}
    for name, quantity in (("TMIN", "air_temperature_min"), ("pre", "air_temperature")):
        found, _ = recognised(xr.Dataset({name: variable(1.0, "degC", **told)}), "x.nc")
        assert [*found] == [quantity]


def test_words_are_no_numbers():
    """The message names what they are."""
    words = xr.DataArray(["a"] * 12, dims="month", attrs={"units": "degC"})
    _, (problem,) = recognised(xr.Dataset({"tas": words}), "x.nc")
    assert (problem.key, problem.expected) == ("tas", "numbers")


def test_marks_of_an_estimate_stay_and_other_attributes_go():
    """As through every later step."""
    marked = variable(10.0, "degC", estimated="by hand", uncertainty="1 K", history="none")
    found, _ = recognised(xr.Dataset({"tas": marked}), "x.nc")
    assert found["air_temperature"].attrs == {"estimated": "by hand", "uncertainty": "1 K"}
