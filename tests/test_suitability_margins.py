"""What a night leaves to spare: its sign, its kelvins, and even odds where nothing is left."""

import pytest
from nights import one_night

from sheltermap.shelters.kit import Sleeper, load_kits
from sheltermap.suitability.score import score

KIT = load_kits()["ground-tent"]
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
