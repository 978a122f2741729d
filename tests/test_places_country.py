"""Countries of a line's positions, and the climatology over a journey, where it fails."""

import numpy as np
import pytest
import shapely
from small_trips import climate, stored

from sheltermap.climate.writer import write_climatology
from sheltermap.places import lands
from sheltermap.places.country import country
from sheltermap.vocabulary import InputError


def test_towns_on_a_shore_belong_to_the_land_within_a_tenth_of_a_degree(monkeypatch):
    """Of two lands, from 0 to 1 and from 1.5 to 3 east, the nearer one; farther off none."""
    shapes = [shapely.box(0, 0, 1, 2), shapely.box(1.5, 0, 3, 2)]
    monkeypatch.setattr(lands, "countries", lambda: (["A", "B"], shapes))
    monkeypatch.setattr(lands, "_tree", lambda: shapely.STRtree(shapes))
    longitude = np.array([0.5, 1.09, 1.11, 1.39, 1.41, 2.0, -0.09, 3.2])
    found = lands.countries_at(longitude, np.full(8, 1.0))
    assert found == ["A", "A", "", "", "B", "B", "A", ""]


def told(folder_or_file, box):
    """Return the problem with a climatology over a journey's box."""
    with pytest.raises(InputError) as caught:
        country(box, folder_or_file)
    (problem,) = caught.value.problems
    return problem


def test_a_climatology_elsewhere_is_told_by_the_journey(tmp_path):
    """Nobody wrote the box, so the message names the latitudes and longitudes of the journey."""
    problem = told(stored(tmp_path), (-70.55, -20.25, -60.0, -10.0))
    assert problem.key == "" and problem.expected == "climate where the journey goes"
    assert problem.got == "none in latitudes -20.2 to -10.0, longitudes -70.5 to -60.0"
    assert problem.mend.endswith("Import a box that holds the journey, or leave out --climate.")


def test_a_climatology_without_a_grid_around_the_journey_is_told(tmp_path):
    """One row of cells has no areas; a grid of several is taken."""
    row = tmp_path / "row.nc"
    write_climatology(climate().isel(latitude=[4]), row)
    problem = told(row, (28.0, 39.0, 30.0, 41.0))
    assert problem.expected.startswith("a regular grid with two rows and columns or more")
    assert "latitude: expected at least 2 evenly spaced" in problem.got
    found = country((28.0, 39.0, 30.0, 41.0), stored(tmp_path))
    assert found.sizes["latitude"] >= 5
