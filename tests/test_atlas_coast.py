"""The coast of an atlas by hand: what lies at the edge, and how far lines are thinned."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from sheltermap.atlas.coast import outlines, stepped


@pytest.fixture
def drawn(monkeypatch):
    """Return a function that gives the outlines, in a box, of a base map of one shape."""

    def found(shape, box):
        countries = (["Here"], np.array([shape]))
        monkeypatch.setattr("sheltermap.atlas.coast.countries", lambda: countries)
        return outlines(box)

    return found


def with_dent(depth: float):
    """Return a square of ten degrees whose southern side has a dent in its middle."""
    return shapely.Polygon([(100, 10), (105, 10 + depth), (110, 10), (110, 20), (100, 20)])


@pytest.mark.parametrize(
    ("east", "depth", "positions"),
    [(360.0, 0.061, 6), (360.0, 0.059, 5), (120.0, 0.0105, 6), (120.0, 0.0095, 5)],
)
def test_lines_are_thinned_to_what_the_width_can_show(drawn, east, depth, positions):
    """A 6000th of 360 degrees is 0.06; of 30 it is 0.005, and no line is finer than 0.01."""
    box = (0.0 if east > 180 else 90.0, 0.0, east, 30.0)
    assert shapely.get_num_coordinates(drawn(with_dent(depth), box)) == positions


BOX = (20.0, 30.0, 40.0, 45.0)


@pytest.mark.parametrize(
    "towards", [(-1, 0), (0, -1), (1, 0), (0, 1)], ids=["west", "south", "east", "north"]
)
@pytest.mark.parametrize(("off", "length"), [(0.00105, 20.0), (0.0009, 15.0)])
def test_what_runs_along_the_edge_of_the_box_is_no_coast(drawn, towards, off, length):
    """A square of five degrees beside one edge: within a thousandth of it, that side goes."""
    west, south, east, north = BOX
    across = {-1: (west + off, west + off + 5), 0: (28, 33), 1: (east - off - 5, east - off)}
    along = {-1: (south + off, south + off + 5), 0: (35, 40), 1: (north - off - 5, north - off)}
    (x0, x1), (y0, y1) = across[towards[0]], along[towards[1]]
    found = drawn(shapely.box(x0, y0, x1, y1), BOX)
    assert found.length == pytest.approx(length, abs=0.01)


@pytest.mark.parametrize(("off", "length"), [(0.00105, 20.0), (0.0009, 15.0)])
@pytest.mark.parametrize("side", [-1, 1])
def test_the_cut_along_the_180th_meridian_is_no_coast(drawn, side, off, length):
    """Squares of five degrees on either side, the eastern one stored from -180 on."""
    west = -180.0 + off if side > 0 else 175.0 - off
    found = drawn(shapely.box(west, 60, west + 5, 65), (170.0, 55.0, 190.0, 70.0))
    assert found.length == pytest.approx(length, abs=0.01)
    assert (found.bounds[0] > 180) == (side > 0)


def test_steps_are_whole_hundredths_and_a_point_is_no_line():
    """By hand: 1.004 is 100, 1.016 is 102; a line within one hundredth yields nothing."""
    lines = shapely.MultiLineString(
        [[(1.004, -2.0), (1.016, -2.03), (0.5, -2.03)], [(7.0, 7.0), (7.001, 7.002)]]
    )
    assert [*stepped(lines)] == [[100, -200, 2, -3, -52, 0]]
