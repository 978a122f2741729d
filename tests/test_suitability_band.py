"""How far a share moves: zero errors, one error at a time, people, years, missing inputs."""

import numpy as np
import pytest
import xarray as xr
from nights import many_nights, one_night
from numpy.testing import assert_allclose
from scipy.stats import norm

from sheltermap.shelters.kit import Bedding, Sleeper, load_kits
from sheltermap.shelters.learned import Offset, OwnOffsets
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.band import (
    BAD_SIDE,
    CLIMATE,
    PERSON,
    YEARS,
    share_changes,
    share_error,
    signed,
    stated_errors,
    year_changes,
)
from sheltermap.suitability.score import score

KIT = load_kits()["roof-tent"]
NO_DRIPS = KIT.model_copy(update={"condensation_weight": 0.0})
TWO = (Sleeper(), Sleeper())
NONE = {"temperature_error": 0.0, "dewpoint_error": 0.0, "wet_share_error": 0.0}
ALIKE = Settings(person_spread=0.0)


def error(night, kits, sleepers=TWO, **options):
    """Return the standard error of the share."""
    return share_error(share_changes(night, kits, sleepers, **options))


def test_no_error_no_band():
    """Perfect inputs and persons all alike leave nothing."""
    found = error(many_nights(10), [KIT], settings=ALIKE, **NONE)
    assert_allclose(found, 0.0, atol=1e-12)


def test_one_error_is_half_the_swing():
    """With the temperature alone the band is the root mean square of both moves."""
    night = one_night(coldest_hours_temperature=-4.0, ground_temperature=0.0)
    found = error(night, [KIT], settings=ALIKE, **(NONE | {"temperature_error": 2.0}))
    names = ["bedtime_temperature", "coldest_hours_temperature", "ground_temperature"]
    middle, up, down = (
        float(score(night.assign({n: night[n] + t for n in names}), KIT, TWO).sound_share)
        for t in (0.0, 2.0, -2.0)
    )
    by_hand = np.sqrt(((up - middle) ** 2 + (down - middle) ** 2) / 2)
    assert by_hand > 0.02
    assert_allclose(found.item(), by_hand, rtol=0, atol=1e-12)


def test_errors_where_nothing_is_said():
    """1.9 K (eleven stations), 2.0 K of dewpoint (49 sites) and 2.0 days of 30.4 (eleven)."""
    printed = {
        "temperature_error": 1.9,
        "dewpoint_error": 2.0,
        "wet_share_error": 2.0 / 30.4,
    }
    nights = many_nights(30)
    usual, stated = (share_changes(nights, [KIT], TWO, **given) for given in ({}, printed))
    assert_allclose(usual, stated, rtol=0, atol=1e-15)
    assert (np.abs(usual.sel(source=list(CLIMATE))).max(["side", "kit", "night"]) > 0.01).all()


def test_errors_that_a_climate_states():
    """RMSE in words; 1.5 K and 2 K of a correction for height are 2.5 K together."""
    climate = xr.Dataset(
        {
            "air_temperature_min": ((), 3.0, {"uncertainty": "RMSE 1.5 K"}),
            "vapour_pressure": ((), 1.0, {"uncertainty": "RMSE 2.25 K of dewpoint"}),
            "wet_days": ((), 9.0, {"uncertainty": "RMSE 3.04 days"}),
            "temperature_correction_error": ((), 2.0),
        }
    )
    found = {name: float(each) for name, each in stated_errors(climate).items()}
    assert found == pytest.approx(
        {"temperature_error": 2.5, "dewpoint_error": 2.25, "wet_share_error": 0.1}
    )


def test_a_moister_climate_is_one_with_a_higher_dewpoint():
    """A dewpoint of 15 degC moved to 17 or 13: 1.705 kPa become 1.938 or 1.498 (FAO-56 eq. 11).

    Air that holds no more takes none.
    """
    warm = {"bedtime_temperature": 26.0, "coldest_hours_temperature": 22.0}
    night = one_night(**warm, vapour_pressure=1.705, bedtime_vapour_pressure=1.705)
    found = share_changes(night, [KIT], TWO, dewpoint_error=2.0).sel(source="dewpoint")
    for side, vapour in enumerate((1.938, 1.498)):
        moved = night.assign(
            {
                name: night[name] * 0 + vapour
                for name in ("vapour_pressure", "bedtime_vapour_pressure")
            }
        )
        by_hand = float(score(moved, KIT, TWO).sound_share - score(night, KIT, TWO).sound_share)
        assert abs(by_hand) > 0.01
        assert float(found.isel(side=side, kit=0)) == pytest.approx(by_hand, rel=0.04)
    full = one_night(vapour_pressure=9.0, bedtime_vapour_pressure=9.0)
    moister = share_changes(full, [KIT], TWO).sel(source="dewpoint").isel(side=0)
    assert_allclose(moister, 0.0, atol=1e-12)


@pytest.mark.parametrize(
    ("wet", "up", "down"), [(0.0, 0.0, 0.0), (0.4, 0.5, 0.3), (0.97, 1.0, 0.87), (0.05, 0.15, 0.0)]
)
def test_a_wetter_climate_has_more_wet_days(wet, up, down):
    """A tenth of the days more or less, between none and all; none where it never rains."""
    night = one_night(wet_share=wet, rain_per_day=8 * wet)
    found = share_changes(night, [KIT], TWO, wet_share_error=0.1).sel(source="wet_days")
    for side, share in enumerate((up, down)):
        moved = night.assign(wet_share=night["wet_share"] * 0 + share)
        by_hand = score(moved, KIT, TWO).sound_share - score(night, KIT, TWO).sound_share
        assert_allclose(found.isel(side=side, kit=0), by_hand, rtol=0, atol=1e-12)


def test_what_was_learned_in_one_bedding_leaves_others_more_open():
    """Kits keep their order; each has the changes it has alone, by the spread of its bedding."""
    bag, thick = Bedding(word="three-season"), Bedding(word="winter")
    own = OwnOffsets(((bag.label, Offset(0.0, 0.5)),), Offset(0.0, 1.6), Offset(0.0, 0.7))
    sleepers = [Sleeper(own=own)]
    made = (("first", bag), ("second", thick), ("third", bag))
    kits = [NO_DRIPS.model_copy(update={"id": name, "bedding": what}) for name, what in made]
    night = one_night(coldest_hours_temperature=-4.0)
    found = share_changes(night, kits, sleepers, **NONE)
    assert found.kit.values.tolist() == ["first", "second", "third"]
    for row, (kit, apart) in enumerate(zip(kits, (0.5, 1.6, 0.5), strict=True)):
        alone = share_changes(night, [kit], sleepers, **NONE)
        assert_allclose(found.isel(kit=row), alone.isel(kit=0), rtol=0, atol=1e-12)
        colder = night.assign(coldest_hours_temperature=night["coldest_hours_temperature"] - apart)
        by_hand = (
            score(colder, kit, sleepers).sound_share - score(night, kit, sleepers).sound_share
        )
        cold = found.sel(source="cold_sleeper").isel(kit=row, side=0)
        assert_allclose(cold, by_hand, rtol=0, atol=1e-12)


@pytest.mark.parametrize(
    ("part", "variable", "conditions"),
    [
        ("cold_sleeper", "coldest_hours_temperature", {"coldest_hours_temperature": -4.0}),
        ("heat_sleeper", "bedtime_temperature", {"bedtime_temperature": 27.0}),
    ],
)
def test_who_bears_less_cold_or_heat_is_as_nights_that_are_colder_or_hotter(
    part, variable, conditions
):
    """A limit moved by 2 K is the air moved by 2 K; what the other side does is not in it."""
    night = one_night(**conditions, vapour_pressure=0.3, bedtime_vapour_pressure=0.3)
    changes = share_changes(night, [NO_DRIPS], TWO, **NONE)
    warmer, colder = (
        float(
            score(night.assign({variable: night[variable] + t}), NO_DRIPS, TWO).sound_share
            - score(night, NO_DRIPS, TWO).sound_share
        )
        for t in (2.0, -2.0)
    )
    needs_more = colder if part == "cold_sleeper" else warmer
    needs_less = warmer if part == "cold_sleeper" else colder
    assert abs(needs_more) > 0.02
    assert_allclose(changes.sel(source=part, kit=KIT.id), [needs_more, needs_less], atol=1e-12)
    assert_allclose(
        signed(changes, [part]).item(), (needs_more - needs_less) / 2, rtol=0, atol=1e-12
    )
    others = [name for name in (*CLIMATE, *PERSON) if name != part]
    assert_allclose(changes.sel(source=others), 0.0, atol=1e-4)


def test_people_apart_in_cold_and_heat_differ_in_sign_of_the_night_alone():
    """Whoever needs it warmer, or cooler, has fewer sound nights; a warmer climate has fewer
    or more, by the night."""
    for night, warmth in (
        (one_night(coldest_hours_temperature=-4.0), 1),
        (one_night(bedtime_temperature=27.0, coldest_hours_temperature=22.0), -1),
    ):
        changes = share_changes(night, [NO_DRIPS], TWO)
        assert (signed(changes, PERSON) <= 0).all()
        assert np.sign(signed(changes, ["temperature"])).item() == warmth


def test_each_of_several_sleepers_has_an_offset_of_their_own():
    """The most sensitive of three is off the usual by sqrt(0.8463^2 + 0.5595) = 1.1296 spreads.

    Order statistics of three normal numbers: mean 1.5 / sqrt(pi), variance 0.55947 (Harter
    1961, from memory).
    """
    night = one_night(coldest_hours_temperature=-4.0)
    cold = Sleeper(cold_sleeper=True)
    three = 2.0 * np.sqrt(1.5**2 / np.pi + 0.55947)
    for party, apart in (([cold], 2.0), ([cold] * 2, 2.0), ([cold] * 3, three)):
        found = share_changes(night, [NO_DRIPS], party, **NONE).sel(source="cold_sleeper")
        colder = night.assign(coldest_hours_temperature=night["coldest_hours_temperature"] - apart)
        by_hand = (
            score(colder, NO_DRIPS, party).sound_share - score(night, NO_DRIPS, party).sound_share
        )
        assert_allclose(found.isel(side=0, kit=0), by_hand, rtol=0, atol=1e-6)


def test_worst_years_of_ten_on_either_side():
    """Nights moved by 1.2816 x 0.45 spreads, with 0.893 of the spread left within the year."""
    assert pytest.approx(norm.ppf(0.9), abs=5e-5) == BAD_SIDE
    night = one_night(coldest_hours_temperature=-4.0, night_low_spread=4.0)
    names = ["bedtime_temperature", "coldest_hours_temperature", "ground_temperature"]
    changes = year_changes(night, [KIT], TWO)
    for side, shift in enumerate((1.2816 * 1.8, -1.2816 * 1.8)):
        year = night.assign({name: night[name] + shift for name in names})
        year["night_low_spread"] = night["night_low_spread"] * np.sqrt(1 - 0.45**2)
        by_hand = score(year, KIT, TWO).sound_share - score(night, KIT, TWO).sound_share
        found = changes.sel(source="warm_year", kit=KIT.id).isel(side=side)
        assert abs(by_hand) > 0.02
        assert_allclose(found, by_hand, rtol=0, atol=1e-12)
    swing = changes.sel(source="warm_year").diff("side").item() / -2 / 1.2816
    assert_allclose(signed(changes, ["warm_year"], BAD_SIDE).item(), swing, atol=1e-12)


def test_spread_between_years_as_the_data_have_it():
    """3 K of the 4 K between years leave sqrt(7) K within; nothing between years, no change."""
    night = one_night(coldest_hours_temperature=-4.0, night_low_spread=4.0)
    names = ["bedtime_temperature", "coldest_hours_temperature", "ground_temperature"]
    found = year_changes(night, [KIT], TWO, between_years=night["night_low_spread"] * 0 + 3.0)
    year = night.assign({name: night[name] + 3.0 * 1.2816 for name in names})
    year["night_low_spread"] = night["night_low_spread"] * 0 + np.sqrt(7.0)
    by_hand = score(year, KIT, TWO).sound_share - score(night, KIT, TWO).sound_share
    assert_allclose(found.sel(source="warm_year", kit=KIT.id).isel(side=0), by_hand, atol=1e-12)
    # More between years than in all leaves nothing within.
    wide = year_changes(night, [KIT], TWO, between_years=night["night_low_spread"] * 0 + 5.0)
    year = night.assign({name: night[name] - 5.0 * 1.2816 for name in names})
    year["night_low_spread"] = night["night_low_spread"] * 0
    by_hand = score(year, KIT, TWO).sound_share - score(night, KIT, TWO).sound_share
    assert_allclose(wide.sel(source="warm_year", kit=KIT.id).isel(side=1), by_hand, atol=1e-12)
    alike = year_changes(night, [KIT], TWO, between_years=night["night_low_spread"] * 0)
    assert_allclose(alike.sel(source="warm_year"), 0.0, atol=1e-12)


def test_years_change_kits_as_the_settings_have_them():
    """Shut by dust on every night, as the shares they change are."""
    night = one_night(bedtime_temperature=26.0, coldest_hours_temperature=21.0)
    night["night_low_spread"] = night["night_low_spread"] * 0 + 2.0
    dusty, usual = (
        year_changes(night, [KIT], TWO, settings=given).sel(source="wet_year", kit=KIT.id)
        for given in (Settings(dust=True), None)
    )
    assert_allclose(usual, year_changes(night, [KIT], TWO).sel(source="wet_year", kit=KIT.id))
    assert np.abs(dusty - usual).max() > 0.001


def test_wet_years_of_a_monsoon_count_and_those_of_a_desert_do_not():
    """By hand: 300 mm on 15.2 of 30.4 days, and the printed constants.

    A wet day brings 19.14 mm; scale 1.83 x 19.14 - 2.16 = 32.87; amounts 15.2 x 19.14 x 32.87 =
    9564; days 30.4 / 4 x 1.25 / 0.75 = 12.667 x 19.14^2 = 4642; spread 1.11 sqrt(14206) =
    132.3 mm; 1.11 x 19.14 x 12.667 / sqrt(14206) = 2.258 wet days more.
    """
    monsoon = one_night(wet_share=0.5, rain_per_day=300 / 30.4)
    found = year_changes(monsoon, [KIT], TWO).sel(source="wet_year", kit=KIT.id)
    for side, sign in enumerate((1, -1)):
        year = monsoon.assign(
            wet_share=monsoon["wet_share"] + sign * 1.2816 * 2.258 / 30.4,
            rain_per_day=monsoon["rain_per_day"] + sign * 1.2816 * 132.3 / 30.4,
        )
        by_hand = score(year, KIT, TWO).sound_share - score(monsoon, KIT, TWO).sound_share
        assert_allclose(found.isel(side=side), by_hand, rtol=0, atol=1e-4)
    assert found.isel(side=0) < -0.01 < found.isel(side=1)
    desert = one_night(wet_share=0.0, rain_per_day=0.0)
    assert_allclose(year_changes(desert, [KIT], TWO).sel(source="wet_year"), 0.0, atol=1e-12)


def test_missing_stays_missing():
    """No share, no band and no bad year."""
    nights = many_nights(3).copy(deep=True)
    nights["ground_temperature"][1] = np.nan
    bedroll = [load_kits()["bedroll"]]
    found = error(nights, bedroll).isel(kit=0)
    assert np.isnan(found.values).tolist() == [False, True, False]
    years = signed(year_changes(nights, bedroll, TWO), YEARS, BAD_SIDE)
    assert np.isnan(years.values[:, 0]).tolist() == [[False, True, False]] * 2


def test_kits_together_and_alone_agree():
    """Each kit has the error that it has alone, in the order given."""
    night, kits = many_nights(20), [KIT, load_kits()["bedroll"]]
    together = error(night, kits)
    assert together.kit.values.tolist() == [kit.id for kit in kits]
    for row, kit in enumerate(kits):
        assert_allclose(together[row], error(night, [kit])[0], rtol=0, atol=1e-12)
    assert not np.allclose(together[0], together[1])
