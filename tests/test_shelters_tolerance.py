"""Modes and limits of kits, by hand and by comparison."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from sheltermap.shelters import cold
from sheltermap.shelters.kit import Bedding, Sleeper, load_addons, load_kits
from sheltermap.shelters.people import most_sensitive
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.tolerance import (
    bed_of,
    cold_limits,
    danger_limits,
    heat_limits,
    modes,
    top_resistance,
)

KITS = load_kits()
USUAL = Settings()
TWO = (Sleeper(), Sleeper())


@pytest.mark.parametrize("name", list(KITS))
def test_closed_is_warmer_and_moister_and_stiller(name):
    """The score counts the closed mode against cold and the open one against heat."""
    opened, closed, _ = modes(KITS[name], TWO)
    assert closed.warming >= opened.warming
    assert closed.warming_in_cold >= opened.warming_in_cold
    assert closed.vapour_gain >= opened.vapour_gain
    assert closed.wind_factor >= opened.wind_factor
    assert closed.air_speed <= opened.air_speed
    assert closed.stored_heat >= opened.stored_heat == 0
    for before, after in zip(
        cold_limits(KITS[name], TWO, opened, USUAL),
        cold_limits(KITS[name], TWO, closed, USUAL),
        strict=True,
    ):
        assert after.base <= before.base


def test_a_closed_tent_by_hand():
    """150/(10/0.17 + 0.34 x 5 x 4) = 2.29 K and 80/(5 x 4) g/m3 = 0.541 kPa for two."""
    closed = modes(KITS["ground-tent"], TWO).closed
    assert_allclose(closed.warming, 2.286, rtol=0, atol=0.0005)
    assert_allclose(closed.vapour_gain, 0.541, rtol=0, atol=0.0005)
    assert closed.stored_heat == 1
    assert modes(KITS["pop-up-body"], TWO).closed.stored_heat == 2


def test_a_cover_warms_nobody():
    """A bedroll's canvas is no room: no warmth against cold, and the sky cools the bed."""
    bedroll, tent = modes(KITS["bedroll"], TWO), modes(KITS["ground-tent"], TWO)
    assert bedroll.closed.warming_in_cold == 0 < tent.closed.warming_in_cold
    assert bedroll.closed.sees_sky == 1 > tent.closed.sees_sky
    assert modes(KITS["bedroll-awning"], TWO).closed.sees_sky == 0


def test_without_walls_there_is_one_mode_and_wind():
    """An open cot in 2 m/s keeps 0.869 of its insulation (ISO 11079, p = 8)."""
    bare = KITS["bedroll-cot"].model_copy(
        update={
            "enclosure": KITS["bedroll-cot"].enclosure.model_copy(update={"fabric": "none"}),
            "air_speed_open_m_s": 2.0,
        }
    )
    opened, closed, awning = modes(bare, TWO)
    assert opened == closed
    assert awning is None
    assert_allclose(opened.wind_factor, 0.869, rtol=0, atol=0.0005)
    assert opened.warming == opened.vapour_gain == 0


def test_bedding_in_every_form():
    """Each word is its label; a limit label is thinner bedding than the same comfort label."""
    word = top_resistance(Bedding(word="summer"), USUAL)
    assert word == top_resistance(Bedding(comfort_c=12.0), USUAL)
    comfort, limit = Bedding(comfort_c=-5), Bedding(limit_c=-5)
    assert top_resistance(limit, USUAL) < top_resistance(comfort, USUAL)
    assert top_resistance(Bedding(clo=4, extra_clo=1), USUAL) == pytest.approx(5 * 0.155)


def test_two_in_one_bed_are_warmer():
    """By hand: 12 % more over the bed, for a shared cover only."""
    kit = KITS["roof-tent"].model_copy(update={"bedding": Bedding(clo=5)})
    alone, shared = bed_of(kit, Sleeper(), False, USUAL), bed_of(kit, Sleeper(), True, USUAL)
    by_hand = cold.bed(0.775 * 1.12, kit.ground_resistance_m2k_w, raised=True)
    assert_allclose(shared.insulation, by_hand.insulation, rtol=0, atol=1e-12)
    assert shared.insulation > alone.insulation
    own = Sleeper(bedding={"clo": 5})
    assert bed_of(kit, own, True, USUAL) == alone


def test_extra_cover_serves_own_bedding_too():
    """A kit's quilt lies over a sleeper's own bag as well."""
    kit = KITS["roof-tent"].model_copy(
        update={"bedding": KITS["roof-tent"].bedding.model_copy(update={"extra_clo": 2.0})}
    )
    own = Sleeper(bedding={"clo": 3})
    both = bed_of(kit, own, False, USUAL)
    alone = bed_of(KITS["roof-tent"], Sleeper(bedding={"clo": 5}), False, USUAL)
    assert_allclose(both.insulation, alone.insulation, rtol=0, atol=1e-12)


def test_ground_counts_on_the_ground_only():
    """Off the ground all surroundings are air."""
    closed = modes(KITS["bedroll"], TWO).closed
    ground, _ = cold_limits(KITS["bedroll"], TWO, closed, USUAL)
    raised, _ = cold_limits(KITS["bedroll-cot"], TWO, closed, USUAL)
    assert ground.air_share + ground.ground_share == pytest.approx(1)
    assert 0 < ground.ground_share < 0.5
    assert (raised.air_share, raised.ground_share) == (1, 0)


def test_people_differ():
    """A cold sleeper's limit is higher, a careful one's heat limit 2 K lower; doubles merge."""
    tent = KITS["ground-tent"]
    closed = modes(tent, TWO).closed
    usual, chilly = cold_limits(tent, (Sleeper(), Sleeper(cold_sleeper=True)), closed, USUAL)
    # By hand: 0.134 x (46.5 - 40.7) = 0.777 K a clo.
    insulation = bed_of(tent, Sleeper(), True, USUAL).insulation
    assert_allclose(chilly.lowest - usual.lowest, 0.777 * insulation, rtol=0, atol=0.01)
    party = (Sleeper(), Sleeper(preset="careful"), Sleeper())
    usual_heat, careful = heat_limits(party, closed, USUAL)
    assert_allclose(usual_heat.at(2.0) - careful.at(2.0), 2.0, rtol=0, atol=1e-12)


def test_careful_people_sleep_cold_too():
    """Who is old or ill needs more in cold and less in heat, without saying so twice."""
    for kit in KITS.values():
        closed = modes(kit).closed
        careful = cold_limits(kit, (Sleeper(preset="careful"),), closed, USUAL)
        assert careful == cold_limits(kit, (Sleeper(cold_sleeper=True),), closed, USUAL)


def test_a_kit_may_plan_to_the_limit():
    """With `limit` the criterion is 34.6 - 32.0 = 2.6 K lower."""
    tent = KITS["ground-tent"]
    closed = modes(tent, TWO).closed
    comfort, _ = cold_limits(tent, TWO, closed, USUAL)
    limit, _ = cold_limits(tent.model_copy(update={"limit": True}), TWO, closed, USUAL)
    assert_allclose(comfort.lowest - limit.lowest, 2.6, rtol=0, atol=1e-12)


@pytest.mark.parametrize(("clo", "depth"), [(2.5, 4.275), (5.0, 5.95), (5.9, 6.553), (7.4, 7.558)])
def test_danger_lies_deeper_below_thicker_bedding(clo, depth):
    """By hand, 2.6 + 0.134 x 40/8 x clo; no 2.6 for a kit that plans to the limit."""
    kit = bedding_of(clo)
    closed = modes(kit).closed
    for planned, shallower in ((kit, 0.0), (kit.model_copy(update={"limit": True}), 2.6)):
        (limit,) = cold_limits(planned, (Sleeper(),), closed, USUAL)
        (danger,) = danger_limits(planned, (Sleeper(),), closed, USUAL, 8.0)
        assert_allclose(limit.lowest - danger.lowest, depth - shallower, rtol=0, atol=0.0005)
    # Twice as many hours halve what a sleeper can lose in each: 0.134 x 2.5 x clo less.
    (longer,) = danger_limits(kit, (Sleeper(),), closed, USUAL, 16.0)
    assert_allclose(longer.lowest - danger.lowest, 0.335 * clo, rtol=0, atol=0.0005)


def bedding_of(clo):
    """Return a tent whose bed has this insulation in all, the mat included. [clo]"""
    mat = 2.0
    to_ground = 0.25 / (mat + 0.10)
    top = 0.75 / (1 / (0.155 * clo) - to_ground)
    return KITS["ground-tent"].model_copy(
        update={"bedding": Bedding(clo=top / 0.155), "ground_resistance_m2k_w": mat}
    )


@pytest.mark.parametrize("clo", [2.5, 5.0, 5.9, 7.4])
def test_danger_agrees_with_duration_limited_exposure(clo):
    """ISO 11079's own: 8 h are allowed 0.35 K above our depth, and no longer 0.35 K below it."""
    from pythermalcomfort.models import ireq

    still_air = 0.092 * np.exp(-0.15 * 0.4) - 0.0045  # [m2 K W-1]

    def exposed(degrees, worn):
        return ireq(
            tdb=degrees,
            tr=degrees,
            vr=0.4,
            rh=70,
            met=46.5 / 58.15,
            clo=worn,
            p=8,
            walk_sp=0,
            limit_inputs=False,
            round_output=False,
        )

    def total(worn):
        return (0.155 * worn + still_air / (1 + 1.197 * 0.155 * worn)) / 0.155

    worn = brentq(lambda value: total(value) - clo, 0.5, 10)
    comfort = brentq(lambda t: exposed(t, worn).icl_neutral - worn, -25, 25, xtol=0.02)
    kit = bedding_of(clo)
    arguments = kit, (Sleeper(),), modes(kit).closed, USUAL
    depth = cold_limits(*arguments)[0].lowest - danger_limits(*arguments, 8.0)[0].lowest
    assert exposed(comfort - depth + 0.35, worn).dle_min == "more than 8"
    assert float(exposed(comfort - depth - 0.35, worn).dle_min) < 8


def test_the_colder_of_two_alike_sleepers():
    """By hand 1/sqrt(pi) and sqrt(1 - 1/pi); five of them from a printed table (Harter 1961)."""
    assert_allclose(most_sensitive(1), (0.0, 1.0), rtol=0, atol=1e-6)
    assert_allclose(most_sensitive(2), (np.pi**-0.5, (1 - 1 / np.pi) ** 0.5), rtol=0, atol=1e-6)
    assert_allclose(most_sensitive(5).mean, 1.16296, rtol=0, atol=5e-6)


def test_what_lies_on_top_adds_to_any_cover():
    """0.835 m2 K/W of a 0 degC comfort label, by hand in the tables of labels, and a clo on it."""
    for known in ({"comfort_c": 0.0}, {"limit_c": -6.0}, {"word": "winter"}, {"clo": 3.0}):
        bare, covered = (
            top_resistance(Bedding(**known, extra_clo=clo), USUAL) for clo in (0.0, 1.0)
        )
        assert covered - bare == pytest.approx(0.155)
    assert top_resistance(Bedding(comfort_c=0.0), USUAL) == pytest.approx(0.8346, abs=0.0005)


def test_the_sky_cools_a_face_through_its_wall():
    """Thin fabric takes all of it, an insulated wall 2.0 x 0.17 = 0.34, and none under a roof."""
    for name, closed in (("ground-tent", 1.0), ("pop-up-body", 0.34), ("bedroll-awning", 0.0)):
        assert modes(KITS[name], TWO).closed.face_sees_sky == pytest.approx(closed)


def test_a_fan_moves_the_air_that_is_stiller():
    """0.8 m/s of a fan against 0.15 m/s of a tent's own air, and against 2 m/s of a storm."""
    tent = KITS["ground-tent"].model_copy(update={"fan": load_addons()["fan"].fan})
    opened, closed, _ = modes(tent, TWO)
    assert (opened.air_speed, closed.air_speed) == (0.8, 0.8)
    windy = tent.model_copy(update={"air_speed_open_m_s": 2.0})
    assert modes(windy, TWO).open.air_speed == 2.0


def test_an_open_room_and_a_closed_cover_keep_their_insulation():
    """Wind takes from a bed that nothing but an open cover is around, at 0.9 m/s."""
    for name, opened in (("bedroll", cold.wind_factor(0.9)), ("ground-tent", 1.0)):
        windy = KITS[name].model_copy(update={"air_speed_open_m_s": 0.9})
        found = modes(windy, TWO)
        assert (found.open.wind_factor, found.closed.wind_factor) == (opened, 1.0)
    assert cold.wind_factor(0.9) < 0.97


def test_a_concern_is_no_matter_of_taste():
    """Heat that strains the body does so to the hardened too; learned comfort counts for none."""
    closed = modes(KITS["ground-tent"], TWO).closed
    hardened, usual = Sleeper(preset="hardened"), Sleeper()
    (strain,) = heat_limits((usual, hardened), closed, USUAL, concern=True)
    awake = heat_limits((usual, hardened), closed, USUAL)
    assert strain.cap == 38.0 and {limit.cap for limit in awake} == {35.0}
    assert all(strain.dry > limit.dry for limit in awake)
