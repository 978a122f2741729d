"""Climate files that are damaged, mislabelled, out of the common or made to harm."""

from __future__ import annotations

import asyncio
import json

import climate_files as layouts
import netCDF4
import numpy as np
import pytest
import xarray as xr
from small_trips import climate

from sheltermap.climate import readers
from sheltermap.climate.axes import _steps_of_a_year
from sheltermap.climate.own import own_climatology
from sheltermap.climate.world import embedded
from sheltermap.files import read_json
from sheltermap.vocabulary import InputError


def complaints(*sources) -> list[str]:
    """Return what importing these sources is refused for."""
    with pytest.raises(InputError) as caught:
        readers.import_sources(sources)
    return [str(problem) for problem in caught.value.problems]


def test_a_grid_without_rows_is_told(tmp_path):
    """An export of a box that holds nothing."""
    latitude, longitude = np.arange(38, 40.5, 0.5), np.arange(32, 34.5, 0.5)
    months = layouts.cf_months(latitude, longitude)
    months.isel(lat=slice(0, 0)).to_netcdf(tmp_path / "empty.nc")
    (found,) = complaints(tmp_path / "empty.nc")
    assert "expected at least one row and column, got 0 by 5" in found


def test_text_with_units_is_told(tmp_path):
    """A spreadsheet's export may hold its numbers as text."""
    latitude, longitude = np.arange(38, 40.5, 0.5), np.arange(32, 34.5, 0.5)
    months = layouts.cf_months(latitude, longitude)
    months["a"] = months["a"].copy(data=np.full(months["a"].shape, "1.5"))
    months.to_netcdf(tmp_path / "text.nc")
    (found,) = complaints(tmp_path / "text.nc")
    assert "a: expected numbers, got <U3. Export it as numbers" in found


def test_a_height_for_each_month_is_refused(tmp_path):
    """Mountains don't move; which of the twelve were meant cannot be told."""
    own = climate()
    own["elevation"] = own["elevation"].expand_dims(month=own["month"]).copy()
    own.to_netcdf(tmp_path / "own.nc")
    with pytest.raises(InputError, match="elevation: expected values by latitude, longitude, got"):
        own_climatology(tmp_path / "own.nc")


def test_wrong_chunks_of_a_store_are_told(tmp_path):
    """Metadata and blocks that don't fit are damage like any other, and that is the last word.

    A reader of another block that is still at it when the program ends complains on stderr.
    """
    sync = pytest.importorskip("zarr.core.sync").sync
    _zarr_with_chunks(tmp_path / "wrong.zarr", [5, 3, 4])
    for _ in range(3):  # How many are at it depends on which block fails first.
        (found,) = complaints(tmp_path / "wrong.zarr")
        assert sync(_tasks_left()) == 0
        assert "expected a file that can be read to its end" in found


async def _tasks_left():
    """Return how many tasks of the loop that asks are not done, without its own."""
    return len(asyncio.all_tasks()) - 1


def test_blocks_of_gigabytes_are_refused_unread(tmp_path):
    """Some kilobytes on disk would take gigabytes of memory: the header tells."""
    _zarr_with_chunks(tmp_path / "huge.zarr", [12, 20000, 20000])
    (found,) = complaints(tmp_path / "huge.zarr")
    # 12 x 20,000 x 20,000 values of 4 bytes are 17.9 GiB.
    assert "air_temperature: expected blocks of at most 1 GiB, got 17.9 GiB" in found


def _zarr_with_chunks(path, chunks):
    """Write a store whose metadata say other chunks than its blocks have."""
    pytest.importorskip("zarr")
    own = climate().astype("float32")
    own.to_zarr(path, zarr_format=2, consolidated=False)
    metadata = path / "air_temperature" / ".zarray"
    metadata.write_text(json.dumps(json.loads(metadata.read_text()) | {"chunks": chunks}))


def test_a_file_that_unpacks_beyond_reason_is_refused_unread(tmp_path):
    """A grid of 9,000 x 9,000 cells in 12 months, of which a few kilobytes are written."""
    with netCDF4.Dataset(tmp_path / "bomb.nc", "w") as file:
        for name, size in (("month", 12), ("latitude", 9000), ("longitude", 9000)):
            file.createDimension(name, size)
        file.createVariable("month", "i4", ("month",))[:] = np.arange(1, 13)
        file.createVariable("latitude", "f4", ("latitude",))[:] = np.linspace(-89, 89, 9000)
        file.createVariable("longitude", "f4", ("longitude",))[:] = np.linspace(-179, 179, 9000)
        axes = ("month", "latitude", "longitude")
        file.createVariable("tas", "f4", axes, zlib=True, chunksizes=(1, 500, 500)).units = "K"
    (found,) = complaints(tmp_path / "bomb.nc")
    assert "expected values that take at most 300 times the room of the file, got 3.6 GiB" in found


def test_degrees_labelled_as_kelvin_are_one_problem(tmp_path):
    """The cause is named from the numbers in the file, without what follows from it."""
    source = xr.open_dataset(layouts.era5(tmp_path / "era5.nc")).load()
    for name in ("t2m", "d2m"):
        source[name] = (source[name] - 273.15).assign_attrs(source[name].attrs)
    source.to_netcdf(tmp_path / "wrong.nc")
    (found,) = complaints(tmp_path / "wrong.nc")
    assert "t2m.units, d2m.units: expected 'degC', as the numbers are, got 'K'" in found


def test_kelvin_labelled_as_degrees_are_one_problem(tmp_path):
    """The other way round."""
    source = xr.open_dataset(layouts.era5(tmp_path / "era5.nc")).load()
    for name in ("t2m", "d2m"):
        source[name].attrs["units"] = "degC"
    source.to_netcdf(tmp_path / "wrong.nc")
    (found,) = complaints(tmp_path / "wrong.nc")
    assert "expected 'K', as the numbers are, got 'degC'" in found


def test_a_web_address_of_a_file_is_told_to_be_fetched():
    """No package that could be installed reads a NetCDF file over the web."""
    (found,) = complaints("https://example.org/tmin.nc")
    assert "got a web address. Fetch the file first" in found


def test_a_climatology_of_the_year_nought_once_round_any_meridian(tmp_path):
    """Ocean atlases of the nineties count hours from the year 0 and longitudes from 20 east."""
    latitude, longitude = np.arange(36.5, 42), np.arange(21.0, 380.0, 1.0)
    world = embedded((25.0, 35.0, 45.0, 43.0)).load()
    west = (longitude + 180) % 360 - 180
    with netCDF4.Dataset(tmp_path / "old.nc", "w") as file:
        for name, values in (
            ("time", np.arange(12) * 730.485),
            ("lat", latitude),
            ("lon", longitude),
        ):
            file.createDimension(name, values.size)
            file.createVariable(name, "f8", (name,))[:] = values
        file["time"].units = "hour since 0000-01-01 00:00:00"
        for name, units, origin in (("tas", "degC", "air_temperature"), ("pr", "mm", "rainfall")):
            near = world[origin].reindex(
                latitude=latitude, longitude=west, method="nearest", tolerance=0.6
            )
            variable = file.createVariable(name, "f4", ("time", "lat", "lon"), fill_value=-99)
            variable.units = units
            variable[:] = np.ma.masked_invalid(near.values)
    found = readers.import_sources([tmp_path / "old.nc"], box=(28.0, 37.0, 44.0, 41.0))
    assert (
        "old.nc: the time steps ('hour since 0000-01-01 00:00:00') were read as months 1 to 12"
        in (found.attrs["comment"])
    )
    for month in (1, 7):
        at = {"latitude": 39.5, "longitude": 33.0, "month": month}
        assert float(found["air_temperature"].sel(at)) == pytest.approx(
            float(world["air_temperature"].sel(at)), abs=1e-3
        )


@pytest.mark.parametrize(
    ("units", "values", "months"),
    [
        ("days since 0001-01-16", np.cumsum([0, *layouts_days]), range(1, 13))
        for layouts_days in ([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30],)
    ]
    + [("hours since 0000-07-01", np.arange(12) * 730.485, [*range(7, 13), *range(1, 7)])],
)
def test_steps_of_a_year_are_read_as_months(units, values, months):
    """Stamped at the middle of the month, or beginning in July."""
    assert _steps_of_a_year(np.asarray(values, float), units).tolist() == list(months)


def test_steps_that_go_twice_round_are_no_year():
    """Every second month of two years, for example: January would stand for two of them."""
    assert _steps_of_a_year(np.arange(12) * 2 * 730.485, "hours since 0000-01-01") is None


def test_whole_numbers_of_any_length_are_read(tmp_path):
    """Python's own have no limit; what uses them has. A shape out there is refused by itself."""
    (tmp_path / "big.json").write_text('{"a": 1' + "0" * 310 + ', "b": -7, "c": 123456789012}')
    assert read_json(tmp_path / "big.json") == {"a": float("inf"), "b": -7, "c": 123456789012}
