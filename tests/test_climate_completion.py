"""What a source lacks: heights of cells, humidity between cells, and all of it in blocks."""

import numpy as np
import pytest
import xarray as xr

from sheltermap.air import saturation_vapour_pressure
from sheltermap.climate.completion import completed
from sheltermap.climate.world import world_climatology

ROWS, COLUMNS = np.arange(44.0, 47.5, 0.5), np.arange(6.0, 10.5, 0.5)  # the western Alps


def source(latitude, longitude):
    """Return temperature and rain of a source, the same all year and everywhere."""
    coords = {"month": np.arange(1, 13), "latitude": latitude, "longitude": longitude}
    shape = tuple(len(one) for one in coords.values())
    return {
        "air_temperature": xr.DataArray(np.full(shape, 10.0), coords),
        "rainfall": xr.DataArray(np.full(shape, 50.0), coords),
    }


def test_cells_of_half_a_degree_get_the_embedded_height():
    """They are the embedded cells, so the heights are those, and marked as estimated."""
    found = completed(source(ROWS, COLUMNS))["elevation"]
    world = world_climatology()["elevation"].sel(latitude=ROWS, longitude=COLUMNS)
    np.testing.assert_allclose(found.values, world.values, atol=1.0)
    assert found.values.max() > 1500.0
    assert "half a degree" in found.attrs["estimated"]


@pytest.mark.parametrize(
    ("latitude", "longitude"),
    [(np.arange(45.05, 46, 0.1), np.arange(7.05, 8, 0.1)), (ROWS[:1], COLUMNS[:1])],
    ids=["fine", "a single cell"],
)
def test_fine_cells_get_no_height(latitude, longitude):
    """A tenth of a degree may stand a kilometre above its half degree; of one cell none knows."""
    found = completed(source(latitude, longitude))["elevation"]
    assert found.isnull().all()
    assert "unknown" in found.attrs["estimated"]


def test_a_height_that_is_stated_stays():
    """Whatever the cells' size."""
    given = source(ROWS, COLUMNS)
    height = xr.full_like(given["air_temperature"].isel(month=0, drop=True), 123.0)
    found = completed(given | {"elevation": height})["elevation"]
    assert (found == 123.0).all()
    assert "estimated" not in found.attrs


def test_humidity_between_four_cells_is_their_mean():
    """Half-way along both axes each embedded cell counts a quarter; at a centre, itself alone."""
    found = completed(source(np.array([45.0, 45.25]), np.array([8.0, 8.25])))["vapour_pressure"]
    around = world_climatology().sel(latitude=[45.0, 45.5], longitude=[8.0, 8.5])
    own = saturation_vapour_pressure(around["air_temperature"])
    humidity = (around["vapour_pressure"] / own).transpose("month", "latitude", "longitude").values
    at_ten = float(saturation_vapour_pressure(xr.DataArray(10.0)))
    np.testing.assert_allclose(found[:, 0, 0], humidity[:, 0, 0] * at_ten, rtol=1e-5)
    np.testing.assert_allclose(found[:, 1, 1], humidity.mean((1, 2)) * at_ten, rtol=1e-5)


def test_beside_the_sea_the_cells_on_land_count_alone():
    """Between 37.0 and 37.5 N, 17.0 and 17.5 E one of four cells has a climate."""
    around = world_climatology().sel(latitude=[37.0, 37.5], longitude=[17.0, 17.5])
    own = saturation_vapour_pressure(around["air_temperature"])
    humidity = (around["vapour_pressure"] / own).mean(("latitude", "longitude"))
    assert int(around["air_temperature"].isel(month=0).notnull().sum()) == 1
    found = completed(source(np.array([37.2]), np.array([17.1])))["vapour_pressure"]
    at_ten = float(saturation_vapour_pressure(xr.DataArray(10.0)))
    np.testing.assert_allclose(found[:, 0, 0], humidity * at_ten, rtol=1e-5)


def test_a_lazy_source_is_completed_in_its_own_blocks():
    """A large one would fill the memory; what a loaded one gets is the same."""
    pytest.importorskip("dask")
    given = source(np.arange(44.0, 45, 0.05), np.arange(6.0, 7.5, 0.05))
    given["air_temperature"] = given["air_temperature"] - 8 * np.cos(given["rainfall"].month / 2)
    blocks = {"latitude": 8, "longitude": 11}
    lazy = completed({name: array.chunk(blocks) for name, array in given.items()})
    for name, array in lazy.items():
        assert array.chunksizes["latitude"] == (8, 8, 4), name
        assert array.chunksizes["longitude"] == (11, 11, 8), name
    xr.testing.assert_allclose(lazy.compute(), completed(given), rtol=1e-6)
