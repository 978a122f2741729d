"""What a kit in each of its modes leaves its sleepers to bear, by hand."""

import pytest

from sheltermap.shelters.cold import wind_factor
from sheltermap.shelters.kit import Bedding, Sleeper, load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.tolerance import bed_of, cold_limits, heat_limits, modes

KITS, USUAL = load_kits(), Settings()
COT = KITS["bedroll-cot"].model_copy(update={"bedding": Bedding(clo=5.0)})
TWO = (Sleeper(), Sleeper())


def insulation(kit, sleeper=TWO[0], sharing=False):
    """Return the insulation of one bed. [clo]"""
    return bed_of(kit, sleeper, sharing, USUAL).insulation


def test_two_in_one_bed_by_hand():
    """
    A shared cover gains 12 %: 0.775 x 1.12 = 0.868 m2 K/W over R 0.9 + 0.10 + 0.1 of a cot.

    K = 0.75/0.868 + 0.25/1.1 = 1.09133, I = 1/(0.155 K) = 5.9117 clo; alone
    K = 0.75/0.775 + 0.25/1.1 = 1.19501, I = 5.3988.
    """
    assert insulation(COT) == pytest.approx(5.3988, abs=5e-5)
    assert insulation(COT, sharing=True) == pytest.approx(5.9117, abs=5e-5)
    assert cold_limits(COT, TWO, modes(COT).closed, USUAL)[0].lowest == pytest.approx(
        34.6 - 0.134 * 46.5 * 5.9117, abs=5e-4
    )


def test_only_a_shared_cover_gains():
    """Two bags side by side, or a sleeper with bedding of their own, stay as they are."""
    apart = COT.model_copy(update={"shared_bed": False})
    assert insulation(apart, sharing=True) == insulation(apart)
    own = Sleeper(bedding={"clo": 5.0})
    assert insulation(COT, own, sharing=True) == insulation(COT, own)


def test_extra_cover_of_the_kit_warms_everyone():
    """A quilt of 2 clo lies over own bedding as well."""
    warm = COT.model_copy(update={"bedding": Bedding(clo=5.0, extra_clo=2.0)})
    own = Sleeper(bedding={"clo": 5.0})
    assert insulation(warm, own) == insulation(COT, Sleeper(bedding={"clo": 7.0}))


def test_open_sky_cools_only_what_lies_under_it():
    """A bedroll without awning; neither tent nor awning, nor a bed inside a body."""
    seen = {name: modes(kit).closed.sees_sky for name, kit in KITS.items()}
    assert {name for name, share in seen.items() if share} == {"bedroll", "bedroll-cot"}


def test_wind_takes_warmth_from_an_open_bedroll():
    """1 m/s at the bed, open; a closed flap and a tent keep it whole."""
    airy = KITS["bedroll"].model_copy(update={"air_speed_open_m_s": 1.0})
    assert modes(airy).open.wind_factor == wind_factor(1.0) < 1
    assert modes(airy).closed.wind_factor == 1
    tent = KITS["ground-tent"].model_copy(update={"air_speed_open_m_s": 1.0})
    assert modes(tent).open.wind_factor == 1


def test_sun_is_stored_in_closed_walls_only():
    """Common practice: 1 K in fabric, 2 K in a hard body, none where it stands open."""
    for kit, stored in (("ground-tent", 1.0), ("pop-up-body", 2.0), ("bedroll", 1.0)):
        both = modes(KITS[kit])
        assert (both.open.stored_heat, both.closed.stored_heat) == (0.0, stored)


def test_closed_walls_hold_warmth_and_breath():
    """Less air: warmer and moister than open; without walls there is nothing to close."""
    for name in ("ground-tent", "pop-up-body", "bedroll"):
        both = modes(KITS[name], TWO)
        assert both.closed.warming > both.open.warming
        assert both.closed.vapour_gain > both.open.vapour_gain
    bare = KITS["bedroll"].model_copy(
        update={"enclosure": KITS["bedroll"].enclosure.model_copy(update={"fabric": "none"})}
    )
    both = modes(bare)
    assert both.closed is both.open


def test_presets_are_ordered():
    """Light and careful sleepers need it cooler than usual ones, hardened bear more."""
    mode = modes(KITS["bedroll"]).open
    names = ("careful", "light sleeper", "usual", "hardened")
    limits = [heat_limits([Sleeper(preset=name)], mode, USUAL)[0].at(2.0) for name in names]
    assert limits == sorted(limits) and len(set(limits)) == 4
    assert limits[2] - limits[0] == pytest.approx(2.0)
