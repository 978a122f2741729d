"""Smaller parts of a report: where data come from, the map's edges, the route as points."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import shapely
import xarray as xr
from small_trips import climate, leg, saved, trip

from sheltermap.report.parts import climate_source, map_grid, refusals, route_points
from sheltermap.shelters.kit import Sleeper, load_kits
from sheltermap.trip.inputs import read_inputs
from sheltermap.vocabulary import InputError


def with_estimates(**estimates):
    """Return a data set whose variables say how they were estimated, or do not."""
    variables = {name: ("month", np.zeros(12), attrs or {}) for name, attrs in estimates.items()}
    return xr.Dataset(variables, attrs={"title": "Made", "source": "arithmetic"})


def test_what_a_source_does_not_state_is_said():
    """Title and source as they are; period and licence were not written."""
    found = climate_source(with_estimates(), [])
    assert (found.title, found.source) == ("Made", "arithmetic")
    assert (found.period, found.licence) == ("not stated", "not stated")
    assert found.estimates == ()


def test_estimates_are_named_once_and_only_of_known_variables():
    """Of the climatology and of its nights; what is no variable of the contract is ours alone."""
    wet = {"estimated": "from monthly rain", "uncertainty": "2 days"}
    world = with_estimates(wet_days=wet, rainfall=None, own_working={"estimated": "somehow"})
    wind = {"estimated": "from the site word"}
    nights = [SimpleNamespace(night=with_estimates(wet_days=wet, wind_speed=wind))] * 2
    found = climate_source(world, nights)
    assert [(one.variable, one.how, one.uncertainty) for one in found.estimates] == [
        ("wet_days", "from monthly rain", "2 days"),
        ("wind_speed", "from the site word", "not stated"),
    ]


def test_the_map_ends_half_a_cell_beyond_its_centres(tmp_path):
    """Centres from 38 to 43 north and 26 to 33 east by half a degree: a quarter beyond each."""
    inputs = read_inputs(saved(tmp_path, trip(leg("A"))))
    mean = np.broadcast_to(np.linspace(4.0, 24.0, 12)[:, None, None], (12, 11, 15)).copy()
    mean[:, 2, 3] = np.nan
    kits = tuple(load_kits()[name] for name in ("bedroll", "ground-tent"))
    grid = map_grid(climate(mean=mean), inputs, kits)
    assert (grid.south, grid.north, grid.west, grid.east) == (37.75, 43.25, 25.75, 33.25)
    assert grid.latitude[[0, -1]].tolist() == [38.0, 43.0]
    assert grid.longitude[[0, -1]].tolist() == [26.0, 33.0]
    assert list(grid.factors) == ["bedroll", "ground-tent"]
    cold = grid.factors["bedroll"]["cold"]
    assert cold.shape == (12, 11, 15)
    assert cold[0, 0, 0] > cold[6, 0, 0] and np.isnan(cold[:, 2, 3]).all()
    assert np.isfinite(np.delete(cold[3].ravel(), 2 * 15 + 3)).all()


def test_a_map_of_oblong_cells_has_its_own_half_width(tmp_path):
    """Every other column is left out: half a degree to the west and to the east."""
    inputs = read_inputs(saved(tmp_path, trip(leg("A"))))
    wide = climate().isel(longitude=slice(None, None, 2))
    grid = map_grid(wide, inputs, (load_kits()["bedroll"],))
    assert (grid.south, grid.north, grid.west, grid.east) == (37.75, 43.25, 25.5, 33.5)


@pytest.mark.parametrize(
    ("line", "points"),
    [
        (None, ()),
        (shapely.LineString([(8.25, 46.5), (9.0, 45.0)]), ((46.5, 8.25), (45.0, 9.0))),
    ],
)
def test_a_route_is_told_latitude_first(line, points):
    """Drawn files have longitude first."""
    assert route_points(line) == points


def people(*lengths, carries=("roof_rack",), kits=("bedroll", "ground-tent")):
    """Return the inputs of people of these lengths, whose kits have beds of 2 m."""
    own = [load_kits()[name].model_copy(update={"bed_length_m": 2.0}) for name in kits]
    vehicle = SimpleNamespace(carries=carries, bed_length_m=None)
    party = SimpleNamespace(people=len(lengths))
    return SimpleNamespace(
        kits=own,
        sleepers=[Sleeper(length_m=length) for length in lengths],
        trip=SimpleNamespace(vehicle=vehicle, party=party),
        path="trip.toml",
    )


def test_the_tallest_decides_whether_a_bed_is_long_enough():
    """In a bed of 2 m 1.7 m lies well and 2.1 m does not, whoever is named first."""
    assert refusals(people(1.7, 1.6)) == {}
    for lengths in ((1.7, 2.1), (2.1, 1.7)):
        with pytest.raises(InputError) as caught:
            refusals(people(*lengths))
        (problem,) = caught.value.problems
        assert (problem.key, problem.got) == ("shelter.kits[1]", "'bedroll'")
        assert "Its bed is 2.00 m long; a sleeper of 2.10 m needs" in problem.mend


def test_a_kit_that_does_not_fit_is_refused_by_name():
    """The first kit fits; the roof tent needs a rack, which the vehicle does not have."""
    found = refusals(people(1.7, carries=(), kits=("bedroll", "roof-tent")))
    (refused,) = found.values()
    assert list(found) == ["roof-tent"] and refused.title == load_kits()["roof-tent"].title
    assert [reason.startswith("It needs ") for reason in refused.reasons] == [True]
    with pytest.raises(InputError) as caught:
        refusals(people(1.7, carries=(), kits=("roof-tent", "bedroll")))
    assert "Put bedroll first, or mend the party or the vehicle." in str(caught.value)
