"""Which of some rivers a place meets: the largest within 15 km, at its nearest position."""

import numpy as np
import pytest

from sheltermap.hazards.shapes import place_extent, points_extent
from sheltermap.places import rivers
from sheltermap.places.rivers import River, river_near, river_of


@pytest.fixture
def on_map(monkeypatch):
    """Put rivers on the map: (longitude, latitude, mean flow) each."""

    def put(*known):
        positions = np.array([one[:2] for one in known])
        flow = np.array([one[2] for one in known])
        monkeypatch.setattr(rivers, "_rivers", lambda: rivers._Rivers(positions, flow))
        monkeypatch.setattr(rivers, "_flow", lambda position: np.full(36, flow[position]))

    return put


# A degree is 111.2 km; at 60 north one of longitude is half of it.
@pytest.mark.parametrize(
    ("east", "north", "near"),
    [
        (0.26, 0.0, True), (0.28, 0.0, False), (-0.26, 0.0, True), (-0.28, 0.0, False),
        (0.0, 0.134, True), (0.0, 0.136, False), (0.0, -0.134, True), (0.0, -0.136, False),
        (0.22, 0.1, False), (0.15, 0.1, True),
    ],
)  # fmt: skip
def test_a_river_within_15_km_is_met(on_map, east, north, near):
    """14.5 and 15.6 km east and west, 14.9 and 15.1 north and south, and across: 16.5, 13.9."""
    on_map((10 + east, 60 + north, 100.0))
    river = river_near(60.0, 10.0)
    assert (river is not None) is near
    if near:
        expected = np.hypot(east * 0.5, north) * 111.195
        assert river.distance_km == pytest.approx(expected, abs=0.02)
        assert (river.longitude, river.latitude) == (10 + east, 60 + north)
    of_camp = river_of(place_extent(60.0, 10.0))
    assert (of_camp is not None) is near


@pytest.mark.parametrize(("flow", "latitude"), [(91.0, 0.02), (89.0, 0.1)])
def test_the_nearest_position_of_the_largest_river_stands_for_it(on_map, flow, latitude):
    """Positions of nine tenths of its flow are its own, up or down; others are another river."""
    on_map((0.0, 0.1, 100.0), (0.0, 0.02, flow), (0.0, -0.01, 60.0), (0.0, 0.2, 900.0))
    river = river_near(0.0, 0.0)
    assert river.latitude == latitude
    assert river.flow[0] == {0.02: flow, 0.1: 100.0}[latitude]


def test_a_river_beside_any_of_several_camps_is_met(on_map):
    """Between camps 200 km apart only what is near one of them counts."""
    on_map((11.0, 0.0, 900.0), (12.1, 0.0, 100.0))
    river = river_of(points_extent([(0.0, 10.0), (0.0, 12.0)]))
    assert river.flow[0] == 100.0
    assert river.distance_km == pytest.approx(11.12, abs=0.02)


@pytest.mark.parametrize(
    ("away", "words"),
    [(0.49, "(at 1.25, -2.50)"), (0.51, "(1 km off, at 1.25, -2.50)"), (12.6, "(13 km off, at ")],
)
def test_how_far_off_a_river_runs_is_said_in_whole_kilometres(away, words):
    """Nothing is said of less than half of one."""
    assert River(1.25, -2.5, away, np.ones(36)).words.startswith(words)
