"""Which height the cells of a source get that states none."""

import numpy as np
import pytest
import xarray as xr

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
