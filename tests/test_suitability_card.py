"""Kit cards: limits that agree with the score at the limit."""

import math

import pytest
from nights import one_night
from numpy.testing import assert_allclose

from sheltermap.air import dewpoint, saturation_vapour_pressure
from sheltermap.shelters.fitting import with_addons
from sheltermap.shelters.kit import Bedding, Sleeper, load_kits
from sheltermap.shelters.learned import Offset, OwnOffsets
from sheltermap.suitability.card import kit_limits
from sheltermap.suitability.score import score

KITS = load_kits()
DRY, HUMID = 0.3, 0.8  # Air at bedtime that a card calls dry, as in a desert, and humid.
GROUND_ABOVE_LOW = 5.0  # K
TWO = (Sleeper(), Sleeper())


@pytest.mark.parametrize("name", list(KITS))
def test_half_the_nights_at_the_limit(name):
    """Scored on a night at the card's limits, cold and heat are one half each."""
    limits = kit_limits(KITS[name], TWO)
    cold = limits.coldest[1]
    overcast = one_night(
        coldest_hours_temperature=cold,
        ground_temperature=cold + GROUND_ABOVE_LOW,
        fabric_sky_cooling=0.0,
    )
    assert_allclose(float(score(overcast, KITS[name], TWO).cold), 0.5, rtol=0, atol=0.001)
    for humidity, hot in zip((DRY, HUMID), limits.hottest, strict=True):
        vapour = humidity * float(saturation_vapour_pressure(hot))
        night = one_night(bedtime_temperature=hot, bedtime_vapour_pressure=vapour)
        assert_allclose(float(score(night, KITS[name], TWO).heat_dry), 0.5, rtol=0, atol=0.001)


@pytest.mark.parametrize("name", ["ground-tent", "bedroll", "pop-up-body"])
def test_half_the_nights_at_the_limits_with_a_fan_and_in_rain(name):
    """A 12 V fan is an add-on; on wet nights a kit without an awning is closed."""
    kit = KITS[name]
    limits = kit_limits(kit, TWO)
    for hot, changed, heat in (
        (limits.hottest_with_fan, with_addons(kit, ["fan"]), "heat_dry"),
        (limits.hottest_closed, kit, "heat_wet"),
    ):
        for humidity, temperature in zip((DRY, HUMID), hot, strict=True):
            vapour = humidity * float(saturation_vapour_pressure(temperature))
            night = one_night(bedtime_temperature=temperature, bedtime_vapour_pressure=vapour)
            found = float(score(night, changed, TWO)[heat])
            assert_allclose(found, 0.5, rtol=0, atol=0.001)
    assert limits.wind_limit == kit.wind_limit_m_s


@pytest.mark.parametrize("name", list(KITS))
def test_order_of_the_limits(name):
    """Humid is hotter than dry, closed hotter than open, a fan cooler; danger is colder."""
    limits = kit_limits(KITS[name], TWO)
    assert limits.coldest[1] <= limits.coldest[0]
    assert limits.hottest[1] < limits.hottest[0] < limits.hottest_with_fan[0]
    assert limits.hottest_closed[0] < limits.hottest[0]
    assert limits.dangerous_below < limits.coldest[0] - 4
    assert all(map(math.isfinite, (*limits.coldest, *limits.hottest)))


@pytest.mark.parametrize("name", list(KITS))
def test_half_the_nights_are_dangerous_where_the_card_says_so(name):
    """One temperature for the word and its probability: one sleeper's is one half at it."""
    limits = kit_limits(KITS[name])
    low = limits.dangerous_below
    dew = dewpoint(DRY * saturation_vapour_pressure(low))
    night = one_night(
        coldest_hours_temperature=low,
        ground_temperature=low + GROUND_ABOVE_LOW,
        vapour_pressure=float(saturation_vapour_pressure(dew)),
        wet_share=0.0,
        rain_per_day=0.0,
    )
    scored = score(night, KITS[name])
    assert_allclose(float(scored.dangerous), 0.5, rtol=0, atol=0.001)
    assert_allclose(float(scored.cold_danger_margin), 0.0, rtol=0, atol=0.01)
    clear = low + limits.coldest[0] - limits.dangerous_below
    dew = dewpoint(DRY * saturation_vapour_pressure(clear))
    night = one_night(
        coldest_hours_temperature=clear,
        ground_temperature=clear + GROUND_ABOVE_LOW,
        vapour_pressure=float(saturation_vapour_pressure(dew)),
    )
    assert_allclose(float(score(night, KITS[name]).cold_dry), 0.5, rtol=0, atol=0.001)


def test_longer_nights_endanger_sooner():
    """What a sleeper may lose is spread over more hours: 0.134 x (40/6 - 40/10) K a clo."""
    short, long = (kit_limits(KITS["roof-tent"], hours=hours) for hours in (6.0, 10.0))
    assert short.coldest == long.coldest
    assert 1.5 < long.dangerous_below - short.dangerous_below < 2.5


def test_the_coldest_sleeper_decides():
    """A cold sleeper makes the card warmer."""
    usual = kit_limits(KITS["roof-tent"], TWO)
    mixed = kit_limits(KITS["roof-tent"], (Sleeper(), Sleeper(cold_sleeper=True)))
    assert mixed.coldest[0] > usual.coldest[0] + 2


def test_the_most_sensitive_to_heat_decides():
    """Whoever sleeps beside a careful one sleeps no hotter than that one would alone."""
    careful, hardened = (Sleeper(preset=preset) for preset in ("careful", "hardened"))
    alone = kit_limits(KITS["bedroll"], (careful, careful)).hottest
    assert kit_limits(KITS["bedroll"], (careful, hardened)).hottest == alone
    assert alone[0] < kit_limits(KITS["bedroll"], (hardened, hardened)).hottest[0] - 0.5


@pytest.mark.parametrize("learned", [2.0, -1.5])
def test_what_was_learned_of_a_sleeper_moves_the_card(learned):
    """Half of such a sleeper's nights are too cold at the limit, which lies lower or higher."""
    own = OwnOffsets((), Offset(learned, 1.0), Offset(0.0, 1.0))
    limits = kit_limits(KITS["roof-tent"], (Sleeper(own=own),))
    usual = kit_limits(KITS["roof-tent"], (Sleeper(),))
    cold = limits.coldest[1]
    assert (cold < usual.coldest[1]) is (learned > 0)
    overcast = one_night(
        coldest_hours_temperature=cold,
        ground_temperature=cold + GROUND_ABOVE_LOW,
        fabric_sky_cooling=0.0,
    )
    found = score(overcast, KITS["roof-tent"], (Sleeper(own=own),))
    assert_allclose(float(found.cold), 0.5, rtol=0, atol=0.001)


def test_kits_beyond_the_thermometer_have_limits_all_the_same():
    """Bedding that holds any cold, and a crowd that overheats any shell, end the scale."""
    thick = Bedding(clo=15, extra_clo=8)
    arctic = KITS["ground-tent"].model_copy(
        update={"bedding": thick, "ground_resistance_m2k_w": 3.0, "limit": True}
    )
    assert kit_limits(arctic).coldest == (-80.0, -80.0)
    walls = KITS["pop-up-body"].enclosure.model_copy(update={"area_m2": 0.5, "volume_m3": 0.2})
    crowded = KITS["pop-up-body"].model_copy(update={"enclosure": walls, "places": 20})
    assert kit_limits(crowded, (Sleeper(),) * 20).hottest_closed == (-80.0, -80.0)
