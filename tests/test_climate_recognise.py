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
