"""What a night leaves to spare: its sign, its kelvins, and even odds where nothing is left."""

import numpy as np
import pytest
from nights import many_nights, one_night
from numpy.testing import assert_allclose
from scipy.stats import norm

from sheltermap.shelters.kit import Sleeper, load_kits
from sheltermap.suitability.score import score

KIT, BEDROLL = (load_kits()[name] for name in ("ground-tent", "bedroll"))
TWO = (Sleeper(), Sleeper())


def slept(**given):
    """Return the score and its details of a dry night, with air that holds little vapour."""
    dry = {"bedtime_vapour_pressure": 1.0, "vapour_pressure": 1.0, "wet_share": 0.0}
    night = one_night(rain_per_day=0.0, **(dry | given))
    found = score(night, KIT, TWO, details=True)
    return {name: float(found[name]) for name in found.data_vars}


@pytest.mark.parametrize("name", ["heat_margin", "heat_danger_margin"])
def test_a_warmer_bedtime_leaves_less(name):
    """Something to spare at 15 degC, nothing at 45; a kelvin more takes a kelvin."""
    cool, cooler, hot = (slept(bedtime_temperature=t)[name] for t in (16.0, 15.0, 45.0))
    assert cooler > 0 > hot
    assert cooler - cool == pytest.approx(1.0)
    assert cooler - hot == pytest.approx(30.0)


@pytest.mark.parametrize("name", ["cold_margin", "cold_danger_margin"])
def test_a_colder_night_leaves_less(name):
    """Something to spare at 15 degC, nothing at -25; a kelvin less takes a kelvin."""
    cold, milder, deep = (slept(coldest_hours_temperature=t)[name] for t in (-24.0, 15.0, -25.0))
    assert milder > 0 > deep
    assert cold - deep == pytest.approx(1.0)


def test_danger_comes_beyond_the_limit():
    """Who is in danger has been too hot, or too cold, before."""
    found = slept(bedtime_temperature=25.0, coldest_hours_temperature=5.0)
    assert found["heat_danger_margin"] > found["heat_margin"]
    assert found["cold_danger_margin"] > found["cold_margin"]


def test_at_the_limit_the_odds_are_even():
    """Errors are as likely to either side: a bedtime at the warmest is too hot on every other."""
    found = slept(bedtime_temperature=15.0)
    assert found["warmest_bedtime"] == pytest.approx(15.0 + found["heat_margin"])
    warmest = slept(bedtime_temperature=found["warmest_bedtime"])
    assert warmest["heat_margin"] == pytest.approx(0.0, abs=1e-9)
    assert warmest["heat"] == pytest.approx(0.5, abs=1e-6)
    left = slept(coldest_hours_temperature=15.0)["cold_margin"]
    coldest = slept(coldest_hours_temperature=15.0 - left)
    assert coldest["cold_margin"] == pytest.approx(0.0, abs=1e-9)
    assert coldest["cold_dry"] == pytest.approx(0.5, abs=1e-6)


@pytest.mark.parametrize("name", ["cold_margin", "cold_danger_margin"])
def test_a_dry_night_that_is_colder_leaves_less(name):
    """Two kelvins of drop take two; a clear sky takes something from who lies under it."""
    usual, colder = (slept(dry_night_drop=drop)[name] for drop in (0.0, 2.0))
    assert usual - colder == pytest.approx(2.0)
    open_sky, roofed = (
        float(score(one_night(fabric_sky_cooling=sky), BEDROLL, TWO)[name]) for sky in (5.0, 0.0)
    )
    assert roofed - open_sky > 0.5


def test_dew_outside_comes_from_the_air_and_the_sky_alone():
    """Air at 10 degC with a dewpoint of 8, a spread of 3 K: Phi((8 + drop + 0.8 sky - 10) / 3).

    e at 8 degC is 1.0727 kPa (FAO-56 eq. 11). A drop of 1 K and 4 K of a clear sky's cooling,
    of which a dry night has 0.8, take the fabric to 5.8. What breath adds is not in it.
    """
    for drop, sky in ((0.0, 0.0), (1.0, 0.0), (1.0, 4.0)):
        night = one_night(vapour_pressure=1.0727, dry_night_drop=drop, fabric_sky_cooling=sky)
        found = score(night, BEDROLL, TWO)
        by_hand = norm.cdf((8.0 + drop + 0.8 * sky - 10.0) / 3.0)
        assert float(found["dew_outside"]) == pytest.approx(by_hand, abs=5e-4)


def test_factors_are_made_of_dry_and_wet_nights():
    """Each by its share of nights; water spoils the wet ones only."""
    nights = many_nights(60)
    found, wet = score(nights, KIT, TWO), nights["wet_share"]
    for factor in ("cold", "heat"):
        mean = (1 - wet) * found[f"{factor}_dry"] + wet * found[f"{factor}_wet"]
        assert_allclose(found[factor], mean, rtol=0, atol=1e-12)
    assert_allclose(found["wet"], wet * found["wet_on_wet_days"], rtol=0, atol=1e-12)
    assert (np.abs(found["cold_dry"] - found["cold_wet"]) > 0.01).any()
