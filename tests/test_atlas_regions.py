"""Regions of an atlas: medians, worst tenths and reasons over areas that are known by hand."""

from __future__ import annotations

import csv
import io
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
import xarray as xr

from sheltermap.atlas.area import AtlasGrid, Block
from sheltermap.atlas.regions import Regions, countries_of
from sheltermap.atlas.scored import ScoredBlock
from sheltermap.atlas.tables import table, write_table
from sheltermap.places.lands import countries

STEP = (1.0, 1.0)


def block(share, factor=None, danger=None, longitude=(20.0, 21.0)):
    """Return a block of cells around the equator, one kit; all months alike."""
    share = np.array(share)
    place = Block(0, 0, np.array([-0.5, 0.5]), np.array(longitude))

    def months(values) -> np.ndarray:
        values = np.zeros(share.shape) if values is None else np.array(values)
        return np.broadcast_to(values, (1, 12, *share.shape)).astype(np.uint8)

    known = share != 255
    codes = {"share": months(share), "factor": months(factor), "danger": months(danger)}
    return ScoredBlock(place, codes, np.where(known, 0.0, np.nan), known)


def counted(shape, *blocks):
    """Return the row of one region over blocks."""
    regions = Regions(["Here"], [shape], ["tent"], STEP)
    for one in blocks:
        regions.add(one)
    (row,) = regions.rows()
    return row


def test_cells_count_by_the_area_that_a_region_covers():
    """Half of the worst cell, and three whole ones: 1/7, then 2/7 each, rising.

    The median lies in the third (3/7 at the second, 5/7 at the third), the worst tenth in the
    first (1/7 is more than a tenth).
    """
    shape = shapely.union_all([shapely.box(20.0, -1.0, 20.5, 0.0), shapely.box(20.5, -1, 21.5, 1)])
    shape = shapely.union_all([shape, shapely.box(19.5, 0.0, 20.5, 1.0)])
    row = counted(shape, block([[40, 100], [160, 180]]))
    year = row.kits["tent"]
    assert year.median.tolist() == [0.8] * 12
    assert year.worst.tolist() == [0.2] * 12
    assert row.cells == 4 and year.workable == 12


def test_the_worst_tenth_passes_over_less_than_a_tenth():
    """A strip of 0.05 of the worst cell is 1/41 of the area with two whole ones beside it."""
    shape = shapely.union_all([shapely.box(20.45, -1, 21.5, 0), shapely.box(20.5, 0, 21.5, 1)])
    year = counted(shape, block([[0, 100], [255, 180]])).kits["tent"]
    assert year.worst.tolist() == [0.5] * 12


def test_reason_is_what_limits_most_of_the_area_and_danger_a_mean():
    """Cold on a quarter, heat on half, nothing on a quarter; dangers 0, 0, 50 and 150 of 200."""
    square = shapely.box(19.5, -1, 21.5, 1)
    found = block([[100, 100], [100, 190]], [[0, 1], [1, 5]], [[0, 0], [50, 150]])
    year = counted(square, found).kits["tent"]
    assert year.why == ("heat",) * 12
    np.testing.assert_allclose(year.dangerous, 0.25, rtol=1e-9)
    assert year.workable == 0


def test_a_sound_month_needs_no_reason():
    """The median is what counts."""
    square = shapely.box(19.5, -1, 21.5, 1)
    assert counted(square, block([[180, 190], [190, 100]])).kits["tent"].why == (None,) * 12


def test_area_is_that_of_the_sphere_and_of_land_alone():
    """A degree of longitude times sin 1° on a sphere of 6,371.0072 km, 12,363.6 km2."""
    row = counted(shapely.box(19.5, 0, 21.5, 1), block([[255, 255], [100, 255]]))
    assert row.area_km2 == pytest.approx(12363.6, abs=0.5)


def test_regions_are_counted_block_by_block():
    """Two blocks side by side make one row; a region of no cell makes none."""
    both = counted(
        shapely.box(19.5, -1, 23.5, 1),
        block([[100, 100], [100, 100]]),
        block([[180, 180], [180, 180]], longitude=(22.0, 23.0)),
    )
    assert both.cells == 8
    empty = Regions(["Sea"], [shapely.box(19.5, -1, 21.5, 1)], ["tent"], STEP)
    empty.add(block([[255, 255], [255, 255]]))
    assert empty.rows() == ()


def test_a_cell_at_180_degrees_belongs_to_both_sides():
    """The cell whose node is 180 is half on each side: whole for a region that has both."""
    sides = shapely.union_all([shapely.box(179, -1, 180, 1), shapely.box(-180, -1, -179, 1)])
    row = counted(sides, block([[100, 100], [100, 100]], longitude=(180.0, -179.0)))
    whole = counted(shapely.box(19.5, -1, 21.5, 1), block([[100, 100], [100, 100]]))
    # From 179 to 181.5 minus what lies beyond -179: 179.5 to 181, three quarters of two cells.
    assert row.area_km2 == pytest.approx(0.75 * whole.area_km2, rel=1e-9)


def test_countries_have_the_areas_that_are_published():
    """Land of Mongolia and Botswana, with lakes [km2], as the UN's Demographic Yearbook has them.

    From memory: 1,564,116 and 582,000. The base map is simplified to a twentieth of a degree.
    """
    names, _ = countries()
    assert len(names) == len(set(names)) > 200
    south, north, west, east = -27.5, 52.5, 19.5, 120.5
    latitude, longitude = np.arange(south, north), np.arange(west, east)
    grid = AtlasGrid(latitude, longitude, STEP)
    regions = countries_of(grid, ["tent"])
    shape = (1, 12, *grid.shape)
    codes = {name: np.full(shape, 100, np.uint8) for name in ("share", "danger")}
    codes["factor"] = np.zeros(shape, np.uint8)
    known = np.ones(grid.shape, bool)
    regions.add(ScoredBlock(Block(0, 0, latitude, longitude), codes, 0.0 * known, known))
    areas = {row.name: row.area_km2 for row in regions.rows()}
    assert areas["Mongolia"] == pytest.approx(1_564_116, rel=0.01)
    assert areas["Botswana"] == pytest.approx(582_000, rel=0.01)


def test_tables_say_what_the_rows_say(tmp_path):
    """A line for each region, kit and month; the same figures as NetCDF to the conventions."""
    row = counted(shapely.box(19.5, -1, 21.5, 1), block([[100, 100], [180, 180]]))
    lines = list(csv.DictReader(io.StringIO(table((row,)).decode())))
    assert len(lines) == 12 and lines[6]["month"] == "7" and lines[0]["kit"] == "tent"
    assert [line["median_sound_share"] for line in lines] == ["0.5"] * 12
    assert lines[0]["why_not"] == "cold"
    facts = SimpleNamespace(
        title='A, "B"',
        kits=[SimpleNamespace(id="tent")],
        regions=(row,),
        bedding="",
        climatology={"source": "made up"},
        block={"caution": "Not a forecast."},
    )
    write_table(tmp_path / "regions.nc", facts)
    with xr.open_dataset(tmp_path / "regions.nc") as found:
        assert found.attrs["Conventions"].startswith("CF-")
        assert found.region.values.tolist() == ["Here"] and found.kit.values.tolist() == ["tent"]
        np.testing.assert_allclose(found.median_sound_share.values, 0.5, rtol=1e-6)
