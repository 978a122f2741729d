"""Heights of camps in words, and heights that the country around makes unlikely."""

import numpy as np
import pytest
import xarray as xr

from sheltermap.places.camp_height import CampHeight, basis_words, of_map
from sheltermap.places.relief import around, height_doubts


def test_heights_of_the_map_are_told_as_exactly_as_they_are_known():
    """Whole metres, the error in tens; none where the map has none."""
    scalar = xr.DataArray
    assert of_map(scalar(1234.6), scalar(144.0)) == CampHeight(1235, 140.0, "map")
    assert of_map(scalar(1234.4), scalar(146.0)) == CampHeight(1234, 150.0, "map")
    assert of_map(scalar(np.nan), scalar(144.0)) is None


@pytest.mark.parametrize(
    ("basis", "words"),
    [
        ("map", "read from a 5-minute map, within about 1,140 m two times in three"),
        ("cells", "the climate cells' own"),
        ("stated", ""),
    ],
)
def test_what_a_height_rests_on(basis, words):
    """Each in words of its own; what the traveller stated needs none."""
    assert basis_words(basis, 1140.0) == CampHeight(1.0, 1140.0, basis).words == words


FIELD = xr.DataArray(np.arange(30.0).reshape(5, 6), dims=("latitude", "longitude"))


@pytest.mark.parametrize(
    ("rows", "columns", "corners"),
    [
        ([2], [3], (8.0, 22.0, (3, 3))),
        ([1, 3], [2, 2], (1.0, 27.0, (5, 3))),
        ([0], [5], (4.0, 11.0, (2, 2))),
        ([4], [0], (18.0, 25.0, (2, 2))),
    ],
)
def test_country_around_is_one_cell_more_on_each_side(rows, columns, corners):
    """Five rows of six cells, counted through; at the edge there is none beyond."""
    found = around(FIELD, np.array(rows), np.array(columns))
    assert (found[0, 0], found[-1, -1], found.shape) == corners


@pytest.mark.parametrize(
    ("height", "doubted"), [(1199, True), (1200, False), (3200, False), (3201, True)]
)
def test_heights_beyond_any_likely_relief(height, doubted):
    """Cells at 2,100 to 2,300 m: 500 m and twice the 200 m beyond; unknown ones say nothing."""
    cells = np.array([2300.0, np.nan, 2100.0, 2200.0])
    found = list(height_doubts(float(height), cells, "A lies", "camp_elevation_m"))
    assert len(found) == doubted
    if doubted:
        assert f"A lies at {height:,} m" in found[0] and "at 2,100 to 2,300 m" in found[0]
    assert list(height_doubts(float(height), cells[1:2], "A lies", "x")) == []


def test_a_height_in_feet_is_told():
    """1,640 ft are 499.9 m, which a plain at 80 m bears."""
    (found,) = height_doubts(1640.0, np.array([80.0, 80.0]), "A lies", "camp_elevation_m")
    assert "in feet, write 499.9." in found
