"""Ways of getting wet, by hand."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from sheltermap.shelters.kit import load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.wet import WetWays, wet_share, wet_ways

CHANCE = st.floats(0, 1)


def test_independent_ways_by_hand():
    """1 - (1 - 0.25 x 0.4)(1 - 0.5 x 0.1)(1 - 0.25 x 0.2)(1 - 0.5 x 0.3) = 0.30960625."""
    ways = WetWays(0.25, 0.05, pitching=0.5, ponding=0.25, undried=0.5)
    wet = wet_share(ways, 0.4, 0.1, 0.2, 0.3, awning_down=1.0)
    assert_allclose(wet, 1 - 0.9 * 0.95 * 0.95 * 0.85, rtol=0, atol=1e-15)


def test_awning_counts_while_it_stands():
    """By hand, rain every night: 0.05 standing, 0.25 taken in, 0.15 half and half."""
    ways = WetWays(0.25, 0.05, pitching=0, ponding=0, undried=0)
    wet = [float(wet_share(ways, 1.0, 0, 0, 0, down)) for down in (0.0, 1.0, 0.5)]
    assert_allclose(wet, [0.05, 0.25, 0.15], rtol=0, atol=1e-15)


def test_only_kits_on_the_ground_stand_in_water():
    """A cot, a roof and a body are above it."""
    ways = {name: wet_ways(kit, Settings()) for name, kit in load_kits().items()}
    flooded = {name for name, way in ways.items() if way.ponding > 0}
    assert flooded == {"bedroll", "bedroll-awning", "ground-tent"}


def test_only_canvas_stays_damp():
    """Cloth that sheds water does not need to dry."""
    assert wet_ways(load_kits()["bedroll"], Settings()).undried > 0
    assert wet_ways(load_kits()["ground-tent"], Settings()).undried == 0


@given(CHANCE, CHANCE, CHANCE, CHANCE, CHANCE, st.floats(0, 0.5))
def test_more_water_is_never_drier(rain, pitching, heavy, undried, down, more):
    """Each chance raises the result, which stays a probability."""
    ways = WetWays(0.6, 0.2, 0.5, 0.25, 0.5)
    chances = np.array([rain, pitching, heavy, undried])
    before = wet_share(ways, *chances, awning_down=down)
    assert 0 <= before <= 1
    for position in range(4):
        wetter = chances.copy()
        wetter[position] = min(1.0, wetter[position] + more)
        assert wet_share(ways, *wetter, awning_down=down) >= before - 1e-12
