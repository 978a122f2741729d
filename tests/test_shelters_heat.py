"""The hot side against a two-node model, a cooling-effect standard and sleep laboratories."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from published_tables import published
from scipy.optimize import brentq

from sheltermap import air
from sheltermap.shelters import heat

SPEEDS = st.floats(0.1, 1.5)
VAPOUR = st.floats(0, 5)


def rows(name):
    """Return a table's columns and its tolerance."""
    table = published("shelters", name)
    return (*np.array(table["rows"]).T, table["tolerance"])


def limit_at(humidity, speed, wettedness):
    """Return the limit in air of a relative humidity. [degC]"""
    line = heat.heat_limit(speed, wettedness, cap=99)

    def margin(t):
        return line.at(humidity / 100 * float(air.saturation_vapour_pressure(t))) - t

    return brentq(margin, 0, 60)


def demanded(degrees, vapour, speed, **sleeper):
    """Return the wettedness whose limit these degrees are; the limit rises with it steadily."""
    none, whole = (heat.heat_limit(speed, w, cap=np.inf, **sleeper).at(vapour) for w in (0, 1))
    return (degrees - none) / (whole - none)


def test_straight_lines():
    """Intercept and slope at four air speeds."""
    speed, intercept, slope, tolerance = rows("heat_line")
    lines = [heat.heat_limit(v, 0.206, cap=99) for v in speed]
    assert_allclose([line.dry for line in lines], intercept, rtol=0, atol=tolerance)
    assert_allclose([line.slope for line in lines], slope, rtol=0, atol=tolerance)


def test_limits_by_humidity():
    """Twelve limits solved by hand, for hardened and usual sleepers."""
    humidity, *expected, tolerance = rows("heat_limit")
    for column, (wettedness, speed) in enumerate(
        [(0.206, 0.1), (0.206, 0.8), (heat.PRESETS["usual"], 0.1), (heat.PRESETS["usual"], 0.8)]
    ):
        computed = [limit_at(rh, speed, wettedness) for rh in humidity]
        assert_allclose(computed, expected[column], rtol=0, atol=tolerance)


@pytest.mark.parametrize("speed", [0.1, 0.4, 0.8])
def test_limit_agrees_with_a_two_node_model(speed):
    """Gagge's transient model reaches 0.206 within 1.5 K of the closed form; worst seen 1.43."""
    from pythermalcomfort.models import two_nodes_gagge

    degrees = np.arange(28.0, 40.0, 0.25)
    for humidity in (30, 45, 60, 80):
        wettedness = two_nodes_gagge(
            tdb=degrees,
            tr=degrees,
            v=speed,
            rh=humidity,
            met=0.8,
            clo=0.3,
            position="sitting",
            round_output=False,
        ).w
        theirs = np.interp(0.206, wettedness, degrees)
        assert abs(limit_at(humidity, speed, 0.206) - theirs) < 1.5


@pytest.mark.parametrize(("column", "speed"), [(2, 0.1), (3, 0.8)])
def test_wettedness_follows_a_two_node_model(column, speed):
    """Within 0.11 of Gagge's model in nine climates, and beyond it where it has its ceiling."""
    from pythermalcomfort.models import two_nodes_gagge

    table = published("shelters", "skin_wettedness")
    for row in table["rows"]:
        degrees, humidity, printed = row[0], row[1], row[column]
        theirs = two_nodes_gagge(
            tdb=degrees,
            tr=degrees,
            v=speed,
            rh=humidity,
            met=0.8,
            clo=0.3,
            position="sitting",
            round_output=False,
        ).w
        assert theirs == pytest.approx(printed, abs=table["tolerance"])
        vapour = humidity / 100 * float(air.saturation_vapour_pressure(degrees))
        # Skin that need not sweat still gives off what equals 0.06.
        ours = max(demanded(degrees, vapour, speed), 0.06)
        if theirs <= 0.5:
            assert abs(ours - theirs) < table["deviation"]
        else:
            assert ours > theirs


def test_strain_is_a_concern():
    """Where a library flags heat strain we speak of concern, and in milder air never."""
    from pythermalcomfort.models import use_fans_heatwaves

    for degrees, humidity, speed in itertools.product((28, 32, 36), (30, 60, 80), (0.1, 0.8)):
        strain = use_fans_heatwaves(
            tdb=degrees, tr=degrees, v=speed, rh=humidity, met=0.8, clo=0.3
        ).heat_strain
        vapour = humidity / 100 * float(air.saturation_vapour_pressure(degrees))
        concern = degrees > heat.heat_limit(speed, heat.CONCERN, cap=heat.CONCERN_CAP).at(vapour)
        assert strain == ((degrees, humidity) == (36, 80))
        assert concern or not strain
        assert not concern or degrees == 36


def test_fan_helps_no_more_than_the_standard_says():
    """ASHRAE 55's cooling effect bounds ours from above; ours is two thirds of it or more."""
    from pythermalcomfort.models import cooling_effect

    table = published("shelters", "cooling_effect")
    for degrees, speed, printed in table["rows"]:
        theirs = cooling_effect(tdb=degrees, tr=degrees, vr=speed, rh=60, met=0.8, clo=0.3).ce
        assert theirs == pytest.approx(printed, abs=table["tolerance"])
        for wettedness in heat.PRESETS.values():
            ours = limit_at(60, speed, wettedness) - limit_at(60, 0.1, wettedness)
            assert 2 / 3 * theirs < ours < theirs


def test_presets_lie_among_criteria_for_bedrooms():
    """Light and careful sleepers within them, others at their upper end; elders under a fan."""
    criteria = published("shelters", "bedroom_criteria")
    for humidity in (50, 60, 80):
        light = limit_at(humidity, 0.1, heat.PRESETS["light sleeper"])
        usual = limit_at(humidity, 0.1, heat.PRESETS["usual"])
        careful, under_fan = (
            limit_at(humidity, speed, heat.PRESETS["careful"]) - 2.0 for speed in (0.1, 0.8)
        )
        for limit in (light, careful):
            assert criteria["coolest"] < limit < criteria["warmest"]
        assert usual == pytest.approx(criteria["warmest"], abs=0.6)
        assert criteria["elders_sleep"] < under_fan < criteria["elders_lose_sleep"]


def test_sleep_laboratory_order():
    """Conditions from good to bad sleep demand rising wettedness, by hand."""
    degrees, humidity, speed, cover, expected, tolerance = rows("sleep_laboratory")
    found = [
        demanded(
            t, rh / 100 * float(air.saturation_vapour_pressure(t)), v, metabolism=40.7, cover=clo
        )
        for t, rh, v, clo in zip(degrees, humidity, speed, cover, strict=True)
    ]
    assert_allclose(np.maximum(found, 0), expected, rtol=0, atol=tolerance)
    assert found[2:] == sorted(found[2:])


@given(SPEEDS, SPEEDS, VAPOUR, st.sampled_from(sorted(heat.PRESETS)))
def test_more_air_never_lowers_the_limit_below_skin(speed, other, vapour, preset):
    """A fan helps as long as air is cooler than skin."""
    slow, fast = sorted((speed, other))
    before = heat.heat_limit(slow, heat.PRESETS[preset]).at(vapour)
    after = heat.heat_limit(fast, heat.PRESETS[preset]).at(vapour)
    assert after >= min(before, heat.SKIN) - 1e-9


@given(SPEEDS, VAPOUR)
def test_cap_and_margin(speed, vapour):
    """No limit lies above 35 degC, and a careful sleeper's is 2 K lower."""
    usual = heat.heat_limit(speed, 0.206).at(vapour)
    careful = heat.heat_limit(speed, 0.206, margin=2.0).at(vapour)
    assert usual <= 35
    assert careful == usual - 2


def test_missing_vapour_gives_no_limit():
    """No data must never read as a limit."""
    assert np.isnan(heat.heat_limit(0.1).at(np.nan))


def test_air_speeds_beyond_the_balance_are_moved_to_its_ends():
    """0.1 to 1.5 m/s; a storm helps no more than a strong fan, and no air is still."""
    assert heat.heat_limit(0.0) == heat.heat_limit(0.1)
    assert heat.heat_limit(9.0) == heat.heat_limit(1.5)
    assert heat.heat_limit(1.5).dry > heat.heat_limit(1.45).dry + 0.01


def test_air_up_to_15_cm_a_second_counts_as_still():
    """ASHRAE's lying people: 5.1 W/m2K up to 0.15 m/s, 2.7 + 8.7 v^0.67 beyond."""
    assert heat.heat_limit(0.15) == heat.heat_limit(0.1)
    assert heat.heat_limit(0.16).dry > heat.heat_limit(0.15).dry


def test_presets_stand_where_their_sources_do():
    """Gagge's skin that need not sweat gives off 0.06; ASHRAE's bound is 0.0012 x 46.5 + 0.15;
    a careful sleeper is a usual one less a margin."""
    from pythermalcomfort.models import two_nodes_gagge

    dry = two_nodes_gagge(tdb=22, tr=22, v=0.1, rh=40, met=0.8, clo=0.3, position="sitting").w
    assert heat.PRESETS["light sleeper"] == pytest.approx(float(dry), abs=1e-9)
    assert heat.PRESETS["hardened"] == pytest.approx(0.0012 * 46.5 + 0.15, abs=0.0005)
    assert heat.PRESETS["careful"] == heat.PRESETS["usual"]


def test_the_worst_night_of_the_laboratory_strains_and_the_next_one_does_not():
    """35 degC at 75 % demands 0.52, the condition before it 0.39 (Okamoto-Mizuno, Tsuzuki)."""
    *_, before, worst = rows("sleep_laboratory")[-2]
    assert before < heat.CONCERN < worst


def test_a_fan_is_no_remedy_above_38_degrees():
    """Morris 2021: below 38 it never harms older people; dry air would bear more, uncapped."""
    strain = heat.heat_limit(1.5, heat.CONCERN, cap=heat.CONCERN_CAP)
    assert strain.dry > 40
    assert strain.at(0.0) == 38.0
