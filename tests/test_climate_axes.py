"""Axes by hand: spellings, months and dates, longitudes once round, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from sheltermap.climate.axes import standard_axes
from sheltermap.vocabulary import InputError

LATITUDE, LONGITUDE = [40.0, 41.0, 42.0], [10.0, 11.0]


def source(latitude=LATITUDE, longitude=LONGITUDE, **time) -> xr.Dataset:
    """Return a dataset of one variable, its value 10 x row + column of the file."""
    rows, columns = np.arange(len(latitude)), np.arange(len(longitude))
    values = 10.0 * rows[:, np.newaxis] + columns
    coords = {"lat": np.array(latitude, float), "lon": np.array(longitude, float)}
    whole = xr.Dataset({"t2m": (("lat", "lon"), values)}, coords)
    if not time:
        return whole
    ((name, (steps, units)),) = time.items()
    stamped = xr.DataArray(steps, dims=[name], attrs={"units": units} if units else {})
    return whole.expand_dims({name: len(steps)}).assign_coords({name: stamped})


def refusal(dataset: xr.Dataset, box=None) -> str:
    """Return what is said of a dataset that cannot be read."""
    with pytest.raises(InputError) as caught:
        standard_axes(dataset, "own.nc", box)
    return str(caught.value)


def months(steps, units: str) -> list[int]:
    """Return the months that time steps are read as."""
    return standard_axes(source(time=(steps, units)), "own.nc", None)["month"].values.tolist()


def test_rows_and_columns_are_put_in_ascending_order_with_their_values():
    """From the north and over Greenwich: 350, 0, 10 are -10, 0, 10."""
    found = standard_axes(source([42.0, 40.0], [0.0, 10.0, 350.0]), "own.nc", None)
    assert found["latitude"].values.tolist() == [40, 42]
    assert found["longitude"].values.tolist() == [-10, 0, 10]
    assert found["t2m"].values.tolist() == [[12, 10, 11], [2, 0, 1]]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ([180.0, 181.0], [-179, 180]),
        ([-181.0, -180.0], [-180, 179]),
        ([540.0, 541.0], [-179, 180]),
        ([-360.0, -359.0], [0, 1]),
        ([719.0, 720.0], [-1, 0]),
    ],
)
def test_longitudes_are_turned_into_half_a_turn_either_way(written, meant):
    """180 stays, 181 is -179, -181 is 179; as far as one turn before and two after."""
    found = standard_axes(source(longitude=written), "own.nc", None)
    assert found["longitude"].values.tolist() == meant


@pytest.mark.parametrize("longitude", [[-361.0, -10.0], [720.5, 700.0], [-1.0, 359.5]])
def test_longitudes_more_than_once_round_are_refused(longitude):
    """Beyond -360 or 720, or over more than 360 degrees."""
    assert "longitudes once round" in refusal(source(longitude=longitude))


def test_latitudes_beyond_a_pole_are_refused_with_their_ends():
    """Metres of a projection, as a rule; 90 itself is a latitude."""
    said = refusal(source([-90.5, 0.0, 90.0]))
    assert "got -90.5 to 90 and 10 to 11" in said
    whole = standard_axes(source([-90.0, 0.0, 90.0]), "own.nc", None)
    assert whole["latitude"].values.tolist() == [-90, 0, 90]


@pytest.mark.parametrize("axis", ["lat", "lon"])
def test_a_missing_coordinate_is_refused(axis):
    """A row or a column without a place."""
    broken = source().assign_coords({axis: [np.nan, *source()[axis].values[1:]]})
    assert "expected numbers, got missing ones" in refusal(broken)


@pytest.mark.parametrize("axis", ["lat", "lon"])
def test_a_grid_without_a_row_or_a_column_is_refused(axis):
    """The message tells both sizes."""
    got = "0 by 2" if axis == "lat" else "3 by 0"
    assert got in refusal(source().isel({axis: slice(0, 0)}))


def test_coordinates_are_told_to_a_tenth_of_a_metre():
    """A millionth of a degree: 10.0000004 is 10, 10.0000006 is 10.000001."""
    found = standard_axes(source(longitude=[10.0000004, 11.0000006]), "own.nc", None)
    assert found["longitude"].values.tolist() == [10.0, 11.000001]


def test_a_box_keeps_one_more_cell_on_each_side():
    """Of rows 38 to 44 and columns 8 to 12 in a box of one node; from the north, once round."""
    wide = source(np.arange(44.0, 37.0, -1.0), np.arange(368.0, 373.0))
    found = standard_axes(wide, "own.nc", (9.8, 40.8, 10.2, 41.2))
    assert found["latitude"].values.tolist() == [40, 41, 42]
    assert found["longitude"].values.tolist() == [9, 10, 11]
    assert found["t2m"].values.tolist() == [[41, 42, 43], [31, 32, 33], [21, 22, 23]]


def test_time_without_a_coordinate_is_months_from_january():
    """Twelve steps and nothing said of them."""
    bare = source(time=(np.arange(12), "")).drop_vars("time")
    assert standard_axes(bare, "own.nc", None)["month"].values.tolist() == [*range(1, 13)]


def test_months_in_any_order_are_sorted_with_their_values():
    """December, January, February: 12, 1, 2 are put as 1, 2, 12."""
    winter = source(month=([12, 1, 2], ""))
    winter["t2m"] = winter["t2m"] + 100 * xr.DataArray([0, 1, 2], dims=["month"])
    found = standard_axes(winter, "own.nc", None)
    assert found["month"].values.tolist() == [1, 2, 12]
    assert found["t2m"].isel(latitude=0, longitude=0).values.tolist() == [100, 200, 0]


@pytest.mark.parametrize("steps", [[0, 1, 2], [11, 12, 13], [1, 1, 2]])
def test_numbers_that_are_no_months_are_refused_with_their_range(steps):
    """0 and 13 are no months, and none comes twice."""
    said = refusal(source(time=(steps, "")))
    assert f"got 3 numbers from {min(steps)} to {max(steps)} without dates" in said


def test_months_since_a_month_are_dates():
    """From November 1999, 0, 1.5 and 14 months on: November, December, January 2001."""
    found = standard_axes(source(time=([0, 1.5, 14], "months since 1999-11-01")), "own.nc", None)
    assert found["time"].dt.strftime("%Y-%m-%d").values.tolist() == [
        "1999-11-01", "1999-12-01", "2001-01-01",
    ]  # fmt: skip


FIRSTS = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334]
MIDDLES = [15, 45, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349]


@pytest.mark.parametrize("days", [FIRSTS, MIDDLES], ids=["firsts", "middles"])
@pytest.mark.parametrize(("unit", "each"), [("days", 1), ("day", 1), ("hours", 24), ("hour", 24)])
def test_twelve_steps_of_a_year_without_a_calendar_are_its_months(days, unit, each):
    """First or middle of the months of a year of 365 days, counted from the year 0."""
    steps = [day * each for day in days]
    assert months(steps, f"{unit} since 0000-01-01 00:00") == [*range(1, 13)]


def test_steps_from_another_month_begin_there():
    """From 16 March: 0, 31, 61 ... are March, April, May, and the file is put as January first."""
    steps = [0, 31, 61, 92, 122, 153, 184, 214, 245, 275, 306, 337]
    found = standard_axes(source(time=(steps, "days since 0001-03-16")), "own.nc", None)
    assert found["month"].values.tolist() == [*range(1, 13)]
    assert "read as months 1 to 12" in found.attrs["note"]
    assert "days since 0001-03-16" in found.attrs["note"]
    marked = source(time=(steps, "days since 0001-03-16"))
    marked["t2m"] = marked["t2m"] + 100 * xr.DataArray(np.arange(12.0), dims=["time"])
    january = standard_axes(marked, "own.nc", None)["t2m"].isel(latitude=0, longitude=0)
    assert january.values.tolist() == [1000, 1100, *range(0, 1000, 100)]


@pytest.mark.parametrize(
    "steps", [FIRSTS[:11], [*FIRSTS[:11], 364 + 31]], ids=["eleven", "a month twice"]
)
def test_steps_that_are_no_year_are_no_months(steps):
    """Eleven steps, or a January of the next year in place of December."""
    assert "without dates" in refusal(source(time=(steps, "days since 0000-01-01")))


def test_a_dimension_of_one_goes_and_a_longer_one_is_refused():
    """A height of 2 m says nothing; of two members nobody chose one."""
    one = standard_axes(source().expand_dims(height=[2.0]), "own.nc", None)
    assert one["t2m"].dims == ("latitude", "longitude") and set(one.coords) == {*one["t2m"].dims}
    said = refusal(source().expand_dims(member=[1, 2]))
    assert "member: expected no such dimension, got several values" in said


def test_hours_and_bounds_are_no_dimensions_to_choose_along():
    """A course of the day is kept with its hours; edges of cells are left out."""
    hourly = source().expand_dims(hour=[0, 6, 12, 18])
    edges = hourly.assign(lat_bnds=(("lat", "bnds"), np.zeros((3, 2))))
    found = standard_axes(edges, "own.nc", None)
    assert [*found.data_vars] == ["t2m"] and found["hour"].values.tolist() == [0, 6, 12, 18]


def test_the_final_version_comes_before_the_preliminary_one():
    """As in ERA5: what the first lacks is taken from the second, and no more."""
    first, second = source(), source() + 500
    first["t2m"][0, 1] = np.nan
    both = xr.concat([first, second], dim="expver")
    for versions in (both, both.assign_coords(expver=[1, 5])):
        found = standard_axes(versions, "own.nc", None)
        assert found["t2m"].values.tolist() == [[0, 501], [10, 11], [20, 21]]


def test_axes_are_found_by_their_units_too():
    """Degrees north and east, as the CF conventions write them, under any name."""
    named = source().rename(lat="breite", lon="laenge")
    named["breite"].attrs["units"], named["laenge"].attrs["units"] = (
        "degrees_north",
        "degrees_east",
    )
    assert standard_axes(named, "own.nc", None)["t2m"].dims == ("latitude", "longitude")
    assert "latitude: expected a latitude axis, got breite" in refusal(
        source().rename(lat="breite")
    )


def test_a_curved_grid_is_refused():
    """Latitudes in two dimensions are no axis."""
    curved = source().rename(lat="y0", lon="x0").drop_vars(["y0", "x0"])
    curved = curved.assign_coords(
        lat=(("y0", "x0"), np.zeros((3, 2))), lon=(("y0", "x0"), np.zeros((3, 2)))
    )
    assert "a curved grid" in refusal(curved)


def test_words_as_times_are_refused_with_the_first():
    """Names of months are neither dates nor numbers."""
    said = refusal(source(time=(["Jan", "Feb"], "")))
    assert "dates, or months 1 to 12" in said and "Jan" in said
