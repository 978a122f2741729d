"""Nights on which insects or dust keep a kit shut, mixed with those that leave it open."""

import numpy as np
import pytest
import xarray as xr
from nights import many_nights, one_night
from numpy.testing import assert_allclose, assert_array_equal

from sheltermap.shelters.kit import Sleeper, load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.candidates import candidates
from sheltermap.suitability.kernel import limiting_factor
from sheltermap.suitability.score import score, scores
from sheltermap.suitability.shut import BY_DUST, BY_INSECTS
from sheltermap.vocabulary import FACTORS, MISSING_FACTOR, NO_FACTOR

TENT = load_kits()["ground-tent"]
BARE = TENT.model_copy(update={"mesh": False})
TWO = (Sleeper(), Sleeper())
OPEN, DUSTY = Settings(), Settings(dust=True)


def plain_limiting_factor(risks):
    """Return the largest of the causes, none below a millionth, by sorting out each night."""
    risks = np.nan_to_num(risks, nan=-1.0)
    return np.where(risks.max(axis=0) < 1e-6, NO_FACTOR, risks.argmax(axis=0))


def warm(**shares):
    """Return a warm, humid, dry night with shares of shut nights."""
    night = one_night(
        bedtime_temperature=27.0,
        coldest_hours_temperature=22.0,
        bedtime_vapour_pressure=2.4,
        vapour_pressure=2.4,
        wet_share=0.0,
        rain_per_day=0.0,
    )
    return night.assign({name: xr.DataArray(share) for name, share in shares.items()})


def heat(night, kit, settings=OPEN):
    """Return the risk of heat."""
    return float(score(night, kit, TWO, settings=settings).heat)


def test_shares_of_nought_change_nothing():
    """A place where such a hazard never comes has the plain score, for every kind of night."""
    night = many_nights(60)
    none = night.assign({BY_DUST: 0.0 * night.wet_share})
    xr.testing.assert_identical(score(none, TENT, TWO), score(night, TENT, TWO))


def test_insects_close_a_kit_without_mesh_only():
    """All such nights are closed ones; a kit with mesh stays open."""
    opened, closed = heat(warm(), TENT), heat(warm(), TENT, DUSTY)
    assert closed > opened + 0.1
    assert heat(warm(shut_by_insects=1.0), BARE) == pytest.approx(closed, abs=1e-12)
    assert heat(warm(shut_by_insects=1.0), TENT) == opened


@pytest.mark.parametrize(
    ("kit", "settings", "is_shut"),
    [
        (TENT, Settings(insects=True), False),
        (BARE, Settings(insects=True), True),
        (TENT, Settings(dust=True), True),
        (BARE, Settings(dust=True), True),
        (TENT, Settings(insects=True, dust=True), True),
        (BARE, Settings(), False),
    ],
)
def test_what_keeps_a_kit_closed_on_every_night(kit, settings, is_shut):
    """Dust any kit, insects one without mesh: its nights are those of a kit closed by dust."""
    state = heat(warm(), TENT, DUSTY) if is_shut else heat(warm(), TENT)
    assert heat(warm(), kit, settings) == state


def test_dust_closes_every_kit_on_its_share_of_nights():
    """A quarter of the nights closed is the mean of three open ones and one closed."""
    for kit in (TENT, BARE):
        expected = 0.75 * heat(warm(), kit) + 0.25 * heat(warm(), kit, DUSTY)
        assert heat(warm(shut_by_dust=0.25), kit) == pytest.approx(expected, abs=1e-12)


def test_the_larger_share_holds_both():
    """A dusty night among nights of insects is not counted twice."""
    both = warm(shut_by_dust=0.25, shut_by_insects=1.0)
    assert heat(both, BARE) == pytest.approx(heat(warm(), BARE, DUSTY), abs=1e-12)


def test_a_kit_shut_by_settings_stays_shut():
    """Who states dust for every night gets it, whatever the hazards say."""
    assert heat(warm(shut_by_dust=0.25), TENT, DUSTY) == heat(warm(), TENT, DUSTY)


def test_shares_and_probabilities_agree():
    """Along many nights every risk lies between the open and the closed kit's."""
    night = many_nights(80)
    share = xr.DataArray(np.linspace(0, 1, 80), dims="night")
    mixed = score(night.assign({BY_DUST: share}), TENT, TWO)
    ends = score(night, TENT, TWO), score(night, TENT, TWO, settings=DUSTY)
    for name in (*FACTORS, "sound_share", "dangerous"):
        low, high = (f(*(end[name].values for end in ends)) for f in (np.minimum, np.maximum))
        assert ((mixed[name] >= low - 1e-12) & (mixed[name] <= high + 1e-12)).all(), name
        assert mixed[name].attrs == ends[0][name].attrs
    assert mixed.attrs == ends[0].attrs
    risks = np.stack([mixed[name].values for name in FACTORS])
    assert_array_equal(mixed.limiting_factor, plain_limiting_factor(risks))


def test_missing_stays_missing():
    """An unknown night is unknown, shut or open, and has no cause."""
    night = warm(shut_by_dust=0.5).assign(bedtime_temperature=xr.DataArray(np.nan))
    scored = score(night, TENT, TWO)
    assert np.isnan(scored.sound_share) and np.isnan(scored.heat)
    assert scored.limiting_factor == MISSING_FACTOR


def test_legs_without_the_hazard_stay_open_beside_those_with_it():
    """Nights joined into one set: a share that only some of them have says nothing of others."""
    plain, buggy = many_nights(3), many_nights(3).assign({BY_DUST: ("night", [0.5, 0.5, 0.5])})
    joined = xr.concat([plain, buggy], "night", data_vars="all")
    scored = score(joined, TENT, TWO)
    for part, alone in ((slice(0, 3), plain), (slice(3, 6), buggy)):
        expected = score(alone, TENT, TWO).sound_share
        assert_array_equal(scored.sound_share[part], expected)


def test_plain_scores_name_the_same_causes():
    """The rule for a mixture is that of a score: largest, none below 1e-6, missing."""
    plain = score(many_nights(300, wind=False), TENT, TWO)
    risks = np.stack([plain[name].values for name in FACTORS])
    named = limiting_factor(risks, plain.sound_share.values)
    assert_array_equal(named, plain.limiting_factor)
    assert_array_equal(named, plain_limiting_factor(risks))
    assert limiting_factor(np.full((5, 1), 9e-7), np.ones(1)).tolist() == [NO_FACTOR]


def test_a_remedy_is_measured_on_the_same_nights():
    """In a kit that insects keep shut a fan gains more than in the open kit."""
    gains = []
    for night in (warm(), warm(shut_by_insects=1.0)):
        fan = next(one for one in candidates(night, BARE, TWO) if one.id == "fan")
        gains.append(float(fan.sound_share - score(night, BARE, TWO).sound_share))
    assert 0.05 < gains[0] < gains[1]


def test_dims_of_days_broadcast_over_cells():
    """A share by day serves all cells of a place and keeps their order of dimensions."""
    night = many_nights(6).rename(night="day").expand_dims(cell=2, axis=1)
    share = xr.DataArray([0, 0, 1, 1, 0.5, 0], dims="day")
    mixed = score(night.assign({BY_DUST: share}), TENT, TWO)
    assert mixed.heat.dims == ("day", "cell")
    closed = score(night, TENT, TWO, settings=DUSTY)
    assert_allclose(mixed.heat[2:4], closed.heat[2:4], rtol=0, atol=1e-12)
    assert BY_INSECTS not in mixed


@pytest.mark.parametrize("hazard", [BY_INSECTS, BY_DUST])
def test_kits_together_and_alone_agree(hazard):
    """Insects close one of two kits, dust both: each has the scores it has alone."""
    share = xr.DataArray(np.linspace(0, 1, 60), dims="night")
    night = many_nights(60).assign({hazard: share})
    together = scores(night, [TENT, BARE], TWO)
    for row, kit in enumerate((TENT, BARE)):
        alone = score(night, kit, TWO)
        for name in alone:
            assert_array_equal(together[name][row], alone[name], err_msg=name)
    opened = score(many_nights(60), TENT, TWO).heat.values
    unchanged = [np.array_equal(heat, opened) for heat in together.heat.values]
    assert unchanged == [hazard == BY_INSECTS, False]
