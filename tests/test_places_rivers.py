"""Tests of large rivers: their highest months in print, which one is near, how water travels."""

import runpy
from pathlib import Path

import numpy as np
import pytest
import shapely
from published_tables import published

from sheltermap.hazards.rivers import high_water
from sheltermap.hazards.shapes import place_extent, region_extent
from sheltermap.hazards.signs import river_sign
from sheltermap.places.rivers import river_near, river_of

GAUGES = published("rivers", "highest_month")["rows"]

FAILS = {
    "Paraguay, Porto Murtinho": -4,  # The Pantanal holds its flood for months.
    "Amur, Khabarovsk": -3.5,  # Monsoon, but the store lets little of it go.
    "Yellow River, Huayuankou": -1.5,
    "Murray, Albury": -2,
}


@pytest.fixture(scope="module")
def make():
    """Return what the script that makes the file defines."""
    return runpy.run_path(str(Path(__file__).parents[1] / "regions/world/make_rivers.py"))


def at(latitude, longitude):
    """Return the river near a place."""
    return river_near(latitude, longitude)


def test_rivers_are_highest_in_the_months_in_print():
    """38 gauges of six continents: 34 within a month, and the others are known to fail.

    June for all of them would miss by 2 months, July by 1.75, and the best of all, mid-July, by
    1.5.
    """
    assert len(GAUGES) == 38 and len({row[1] for row in GAUGES}) == 6
    misses = {}
    for name, _, latitude, longitude, printed, _ in GAUGES:
        months = at(latitude, longitude).flow.reshape(12, 3).mean(axis=1)
        misses[name] = (int(months.argmax()) + 1 - printed + 6) % 12 - 6
    sizes = np.abs(list(misses.values()))
    assert np.median(sizes) <= 0.5
    assert {name: miss for name, miss in misses.items() if abs(miss) > 1} == FAILS
    read = [abs(misses[row[0]]) for row in GAUGES if row[-1] != "m"]
    assert len(read) == 16 and np.median(read) <= 0.5


def test_the_largest_river_in_reach_is_told():
    """At Khartoum the whole Nile; none 40 km from a river, in a desert or high in the Alps."""
    assert at(15.62, 32.50).flow[0] > at(13.4, 33.7).flow[0]
    here = at(25.2, 89.7)
    on_it = at(here.latitude, here.longitude)
    assert on_it.distance_km == pytest.approx(0.0, abs=1e-6)
    assert here.words.startswith("(5 km off, at 25.") and on_it.words.startswith("(at 25.")
    assert here.distance_km < 15
    assert at(25.2, 89.7 - 0.4) is None
    assert at(29.6, 35.4) is None and at(47.0, 13.0) is None


def test_a_leg_meets_rivers_along_its_route_or_in_its_region():
    """A region without a route is looked at whole, one with a route along it, a place around."""
    region = shapely.box(88.0, 24.0, 92.0, 27.0)
    away = shapely.LineString([(91.5, 24.2), (91.9, 24.2)])
    assert river_of(region_extent(region)).distance_km == 0.0
    assert river_of(region_extent(region, away)) is None
    of_camp = river_of(place_extent(25.2, 89.7))
    assert of_camp.distance_km == pytest.approx(at(25.2, 89.7).distance_km)


def test_sign_follows_the_flow():
    """High from 1.5 times the mean, very high from 2.5; a steady river has no sign."""
    flow = np.full(36, 0.5)
    flow[15:19], flow[16] = 1.6, 2.6
    strength = high_water(flow)
    assert np.flatnonzero(strength)[[0, -1]].tolist() == [151, 190]
    assert np.flatnonzero(strength == 2)[[0, -1]].tolist() == [161, 170]
    (sign,) = river_sign(flow, "(2 km off)")
    assert sign.words == (
        "A large river near runs high (2 km off) from early June to early July; very high in "
        "mid-June (computed)."
    )
    assert river_sign(np.ones(36), "") == ()


def test_water_takes_the_way_down_and_its_time(make):
    """Two streams of 1 degree meet, 111.2 km of equator each, and flow 1 degree to the sea.

    What enters at a source comes to the mouth after 222.4 km, at 1 m/s 2.574 days.
    """
    lines = [[(2, 0), (1, 0)], [(1, 0), (0, 0)], [(1, 1), (1, 0)]]
    network = make["Network"]([np.array(line, float) for line in lines])
    number = {position: one for one, position in enumerate(network.positions)}
    height = np.array([{0: 5.0, 1: 300.0, 2: 900.0}[int(x + y)] for x, y in network.positions])
    mouths = network.mouths(height)
    assert mouths == [number[0, 0]]
    downstream = network.downstream(mouths)
    below = {one: other for one, other, _ in downstream}
    assert below[number[2, 0]] == below[number[1, 1]] == number[1, 0]
    day = np.arange(365)
    pulse = 1.0 + np.cos(2 * np.pi * (day - 100) / 365)
    local = np.zeros((4, 13), complex)
    local[number[2, 0]] = make["harmonics_of"](pulse)
    local[number[1, 1]] = make["harmonics_of"](np.ones(365))
    flow = make["routed"](local, downstream)[number[0, 0]]
    expected = 2.0 + np.cos(2 * np.pi * (day - 100 - 2.574) / 365)
    thirds = np.diff([*make["THIRDS"], 365])
    means = np.add.reduceat(expected, make["THIRDS"]) / thirds
    np.testing.assert_allclose(make["thirds_of"](flow), means, atol=1e-3)


def test_below_a_great_dam_the_river_runs_evenly(make):
    """A wave of the source is gone below; what joins later still counts."""
    lines = [[(2, 0), (1, 0)], [(1, 0), (0, 0)]]
    network = make["Network"]([np.array(line, float) for line in lines])
    downstream = network.downstream([network.positions.index((0, 0))])
    local = np.zeros((3, 3), complex)
    local[network.positions.index((2, 0))] = [5.0, 2.0, 1.0]
    local[network.positions.index((0, 0))] = [1.0, 0.5, 0.0]
    dam = network.positions.index((1, 0))
    flow = make["routed"](local, downstream, {dam})[network.positions.index((0, 0))]
    np.testing.assert_allclose(flow, [6.0, 0.5, 0.0])


@pytest.mark.parametrize(
    ("below", "dam"),
    [((30.05, 31.25), "Nile"), ((6.0, 0.6), "Volta"), ((33.6, -114.5), "Colorado")],
)
def test_no_flood_is_told_below_the_greatest_dams(below, dam):
    """Cairo has had none since 1970; nor have Akosombo's river and the lower Colorado."""
    river = at(*below)
    assert river is None or not river_sign(river.flow, ""), dam


def test_seepage_delays_and_flattens(make):
    """A linear store of 30 days turns a wave of a year by atan(2 pi 30 / 365), 27.7 days."""
    harmonics = np.array([1.0, 0.5 + 0j])
    kept = make["seeping"](harmonics, 30.0)
    turn = 2 * np.pi * 30 / 365
    assert kept[0] == 1.0
    assert abs(kept[1]) == pytest.approx(0.5 / np.hypot(1, turn))
    assert -np.angle(kept[1]) * 365 / (2 * np.pi) == pytest.approx(27.7, abs=0.05)


def test_gaps_are_closed_and_deltas_have_several_mouths(make):
    """Ends 3 km apart are one river; of two low ends both are mouths, of two high ones one."""
    lines = [[(3, 0), (2.03, 0)], [(2, 0), (1, 0)], [(1, 0), (0, 0)], [(1, 0), (0, 0.5)]]
    network = make["Network"]([np.array(line, float) for line in lines])
    assert len(list(network.systems())) == 1
    low = np.array([20.0 * x for x, _ in network.positions])
    assert len(network.mouths(low)) == 2
    assert len(network.mouths(low + np.arange(len(low)) + 500.0)) == 1
