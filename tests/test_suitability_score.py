"""Scores against a plain statement of the formulas, hand arithmetic and their properties."""

import itertools

import numpy as np
import pytest
import xarray as xr
from bench_score import plain_score
from nights import many_nights, one_night
from numpy.testing import assert_allclose
from scipy.special import ndtr

from sheltermap.air import saturation_vapour_pressure
from sheltermap.shelters.fitting import carried, with_addons
from sheltermap.shelters.kit import Sleeper, load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.score import low_error, score, scores
from sheltermap.vocabulary import FACTORS, MISSING_FACTOR, NO_FACTOR

KITS = load_kits()
TWO = (Sleeper(), Sleeper())
PARTIES = [
    TWO,
    (Sleeper(preset="careful", cold_sleeper=True),),
    (Sleeper(preset="light sleeper", bedding="summer"), Sleeper(bedding={"clo": 6})),
]
PROBABILITIES = (*FACTORS, "sound_share", "dangerous", "cold_dry", "heat_wet", "dew_outside")


def any_nights():
    """
    Return 364 nights: every corner of what nights can be, and many between.

    Vapour ends at 5.6 kPa, a dewpoint of 35 degC, the highest measured (from memory). In
    moister air sweat no longer cools, and who sweats more is no longer the hardier.
    """
    limits = np.array([(-30, 30), (0, 12), (0.05, 1), (0.5, 9), (0, 1), (2, 30)], float)
    corners = np.array(list(itertools.product(*limits)))
    inside = np.random.default_rng(11).uniform(*limits.T, (300, len(limits)))
    cold, warmer, humidity, spread, wet, rain = np.concatenate([corners, inside]).T
    bedtime = cold + warmer
    vapour = np.minimum(humidity * saturation_vapour_pressure(bedtime), 5.6)
    return one_night(
        coldest_hours_temperature=cold,
        bedtime_temperature=bedtime,
        bedtime_vapour_pressure=vapour,
        vapour_pressure=vapour,
        night_low_spread=spread,
        wet_share=wet,
        rain_per_day=wet * rain,
    )


def number(scored, name):
    """Return one value of a score as a plain number."""
    return float(scored[name])


@pytest.mark.parametrize("party", PARTIES)
@pytest.mark.parametrize("wind", [True, False])
def test_every_kit_matches_the_plain_statement(party, wind):
    """All factors, the share and danger, for every kind of night, to 1e-9."""
    made_up = many_nights(400, wind=wind)
    usual = Settings()
    # Nothing of the plain statement goes by attributes or by labels that differ.
    bare = made_up.drop_attrs()
    variants = [*KITS.values(), with_addons(KITS["bedroll"], ["awning", "fan", "mat"])]
    variants.append(KITS["ground-tent"].model_copy(update={"mesh": False, "limit": True}))
    for chosen in (usual, Settings(insects=True), Settings(dust=True, ponding=0.6)):
        # All at once, as a plan asks; that each alone gives the same is tested below.
        together = scores(made_up, variants, party, settings=chosen)
        for position, kit in enumerate(variants):
            ours = together.isel(kit=position)
            with xr.set_options(arithmetic_join="exact", keep_attrs=False):
                plain = plain_score(bare, kit, party, chosen)
            for name in (*FACTORS, "sound_share", "dangerous"):
                # The product reads the tail of heavy days from a table: 1e-6 is its error.
                assert_allclose(ours[name], plain[name], rtol=0, atol=1e-6, err_msg=name)
            risks = [plain[name].fillna(0) for name in FACTORS]
            ordered = np.sort(np.stack(risks), axis=0)
            clear = ordered[-1] - ordered[-2] > 1e-5
            same = ours.limiting_factor.values == plain.limiting_factor.values
            assert same[clear].all()


def test_by_hand():
    """
    One night worked out on paper.

    A bare bed of 5 clo above and R 0.1761 below, off the ground, alone, no walls, no
    leak, no weight: K = 0.75/0.775 + 0.25/0.3761 = 1.63245, I = 3.95205 clo,
    limit 34.6 - 6.231 x 3.95205 = 9.9748 degC. Air of 10 - 2 (sky x air share) ...
    with a cooling of 0 and a spread of 2: P(cold) = Phi((9.9748 - 10)/2) = 0.4950.
    """
    kit = KITS["bedroll-cot"].model_copy(
        update={
            "bedding": Sleeper(bedding={"clo": 5}).bedding,
            "ground_resistance_m2k_w": 0.1761,
            "condensation_weight": 0.0,
        }
    )
    night = one_night(night_low_spread=2.0, wet_share=0.0, fabric_sky_cooling=0.0)
    scored = score(night, kit)
    assert_allclose(number(scored, "cold"), 0.4950, rtol=0, atol=0.0001)
    assert_allclose(number(scored, "sound_share"), 0.5050, rtol=0, atol=0.0001)


def humid(bedtime):
    """Return a humid tropical night, all dry: 3 kPa of vapour."""
    return one_night(
        bedtime_temperature=bedtime,
        coldest_hours_temperature=25.0,
        ground_temperature=27.0,
        bedtime_vapour_pressure=3.0,
        vapour_pressure=3.0,
        night_low_spread=1.0,
        wet_share=0.0,
        rain_per_day=0.0,
    )


@pytest.mark.parametrize("bedtime", [28.0, 28.5, 29.0])
def test_trade_check_of_humid_nights(bedtime):
    """Closed fabric is rough or unfit; under mesh a third to two thirds; a fan halves it."""
    night = humid(bedtime)
    tent = KITS["ground-tent"].model_copy(update={"mesh": False})
    closed = score(night, tent, TWO, settings=Settings(insects=True))
    assert number(closed, "sound_share") < 0.75
    mesh = number(score(night, KITS["bedroll"], TWO), "heat")
    assert 0.3 < mesh < 0.7
    fan = number(score(night, with_addons(KITS["bedroll"], ["fan"]), TWO), "heat")
    assert fan < mesh / 2


@pytest.mark.parametrize("bedtime", [28.0, 29.0, 30.0])
def test_trade_check_of_desert_nights(bedtime):
    """In dry heat mesh alone nearly does (most nights sound), and a fan still helps."""
    night = humid(bedtime).assign(
        bedtime_vapour_pressure=1.3, vapour_pressure=1.3, coldest_hours_temperature=22.0
    )
    mesh = number(score(night, KITS["bedroll"], TWO), "heat")
    fan = number(score(night, with_addons(KITS["bedroll"], ["fan"]), TWO), "heat")
    assert mesh < 0.5
    assert fan < mesh / 2


def test_no_risk_is_a_share_of_one():
    """A dry, mild night with dry air in a kit that keeps all out: 1, and nothing limits."""
    night = one_night(
        bedtime_temperature=18.0,
        coldest_hours_temperature=16.0,
        ground_temperature=18.0,
        vapour_pressure=0.001,
        bedtime_vapour_pressure=0.001,
        night_low_spread=1.0,
        wet_share=0.0,
        rain_per_day=0.0,
    )
    warm = KITS["pop-up-body"].model_copy(update={"bedding": Sleeper(bedding=0).bedding})
    scored = score(night, warm, TWO)
    assert_allclose(number(scored, "sound_share"), 1.0, rtol=0, atol=1e-6)
    assert int(scored.limiting_factor) == NO_FACTOR


def test_certain_cold_is_a_share_of_zero():
    """At -60 degC nobody sleeps, and that night is dangerous."""
    scored = score(one_night(coldest_hours_temperature=-60.0), KITS["bedroll"], TWO)
    assert number(scored, "sound_share") < 1e-9
    assert FACTORS[int(scored.limiting_factor)] == "cold"
    assert number(scored, "dangerous") > 0.999


def test_dry_climate_has_no_wet_nights():
    """f = 0: no division by zero, wet 0, and the share is that of dry nights."""
    scored = score(one_night(wet_share=0.0, rain_per_day=0.0), KITS["bedroll"], TWO)
    assert number(scored, "wet") == 0
    assert np.isfinite(number(scored, "sound_share"))


def test_hardly_ever_rain_is_no_missing_rain():
    """A share of wet days too small to divide by leaves a dry night, not an unknown one."""
    scored = score(one_night(wet_share=2e-311, rain_per_day=1e-310), KITS["bedroll"], TWO)
    assert_allclose(number(scored, "wet"), 0.0, rtol=0, atol=1e-9)


def test_wind_left_out_and_named():
    """Without wind the factor is missing, not zero, and the share goes without it."""
    calm, windy = one_night(), one_night(wind_speed=5.0)
    left_out = score(calm, KITS["ground-tent"], TWO)
    assert left_out.attrs["not_assessed"] == ["wind"]
    assert np.isnan(left_out.wind)
    scored = score(windy, KITS["ground-tent"], TWO)
    assert scored.attrs["not_assessed"] == []
    # Rayleigh by hand, gusts of 14 m/s in a mean of 9.333: exp(-pi/4 (9.333/5)^2) = 0.06479.
    assert_allclose(number(scored, "wind"), 0.06479, rtol=0, atol=5e-6)
    kept = number(left_out, "sound_share") * (1 - number(scored, "wind"))
    assert_allclose(number(scored, "sound_share"), kept, rtol=0, atol=1e-12)


@pytest.mark.parametrize("name", [n for n in one_night().data_vars])
def test_missing_in_missing_out(name):
    """Every input that is missing makes the verdict missing, and only there."""
    night = many_nights(3).copy(deep=True)
    night[name][1] = np.nan
    scored = score(night, KITS["bedroll"], TWO)
    if name in ("night_low", "daylight_hours", "daytime_vapour_deficit"):
        return
    assert np.isnan(scored.sound_share.values).tolist() == [False, True, False]
    assert int(scored.limiting_factor[1]) == MISSING_FACTOR
    assert np.isnan(scored.dangerous.values[1])


def test_what_a_night_lacks_is_named():
    """A dataset that is not a night says what is missing; nobody in bed is refused."""
    with pytest.raises(ValueError, match="ground_temperature"):
        score(one_night().drop_vars("ground_temperature"), KITS["bedroll"])
    with pytest.raises(ValueError, match="at least one"):
        score(one_night(), KITS["bedroll"], ())


def test_scalar_grid_and_dask_agree():
    """One point, a grid with its dimensions kept, float32 and dask give the same numbers."""
    flat = many_nights(24)
    grid = xr.Dataset(
        {
            name: (("month", "latitude", "longitude"), value.values.reshape(2, 3, 4))
            for name, value in flat.items()
        },
        coords={"latitude": [1.0, 2.0, 3.0]},
    )
    kit = KITS["roof-tent"]
    scored = score(flat, kit, TWO)
    on_grid = score(grid, kit, TWO)
    assert on_grid.sound_share.dims == ("month", "latitude", "longitude")
    assert_allclose(on_grid.sound_share.values.ravel(), scored.sound_share)
    lazily = score(grid.chunk({"latitude": 1}), kit, TWO)
    assert lazily.sound_share.chunks is not None
    xr.testing.assert_allclose(lazily.compute(), on_grid)
    for position in range(0, 24, 5):
        alone = score(flat.isel(night=position), kit, TWO)
        assert_allclose(alone.sound_share, scored.sound_share[position], rtol=0, atol=1e-12)
    single = score(flat.astype(np.float32), kit, TWO)
    assert single.sound_share.dtype == np.float32
    assert_allclose(single.sound_share, scored.sound_share, rtol=0, atol=2e-6)


def test_units_and_names():
    """Every result carries its unit and what it is."""
    scored = score(one_night(), KITS["bedroll"], TWO)
    assert all(value.attrs["units"] and value.attrs["long_name"] for value in scored.values())
    assert scored.low_one_in_20.attrs["units"] == "degC"
    # By hand: 9.5 - 1.645 x 2.5.
    assert_allclose(number(scored, "low_one_in_20"), 5.3875, rtol=0, atol=1e-9)


def test_core_alone_is_the_same():
    """Without details the core is unchanged."""
    full = score(many_nights(50), KITS["bedroll"], TWO)
    core = score(many_nights(50), KITS["bedroll"], TWO, details=False)
    assert "dangerous" not in core
    xr.testing.assert_equal(core.sound_share, full.sound_share)


def test_probabilities_and_order():
    """Everything lies in 0 to 1, and heat on wet nights is at least that on dry ones."""
    scored = scores(any_nights(), list(KITS.values()), TWO)
    for each in PROBABILITIES:
        value = scored[each].values
        if each == "wind":
            assert np.isnan(value).all()
        else:
            assert ((value >= -1e-12) & (value <= 1 + 1e-12)).all(), each
    assert (scored.heat_wet >= scored.heat_dry - 1e-12).all()


@pytest.mark.parametrize("clo", [0.05, 1.0, 4.0])
def test_more_bedding(clo):
    """More bedding never raises P(cold) and leaves P(heat) as it is: covers come off."""
    warmer = [
        kit.model_copy(update={"bedding": kit.bedding.model_copy(update={"extra_clo": clo})})
        for kit in KITS.values()
    ]
    before, after = (scores(any_nights(), kits, TWO) for kits in (list(KITS.values()), warmer))
    assert (after.cold <= before.cold + 1e-12).all()
    assert (after.heat >= before.heat - 1e-12).all()


def test_a_fan_never_makes_it_hotter():
    """More air below skin temperature never raises P(heat)."""
    with_fan = [with_addons(kit, ["fan"]) for kit in KITS.values()]
    before, after = (scores(any_nights(), kits, TWO) for kits in (list(KITS.values()), with_fan))
    assert (after.heat <= before.heat + 1e-12).all()


@pytest.mark.parametrize(("wetter", "more"), [(0.0, 1.0), (0.05, 1.2), (0.5, 3.0)])
def test_more_rain(wetter, more):
    """More rain and more wet days never lower P(wet)."""
    night, kits = any_nights(), list(KITS.values())
    before = scores(night, kits, TWO).wet
    heavier = night.assign(rain_per_day=night.rain_per_day * more)
    assert (scores(heavier, kits, TWO).wet >= before - 1e-12).all()
    share = np.minimum(night.wet_share + wetter, 1.0)
    mean = (night.rain_per_day / night.wet_share).where(night.wet_share > 0, 5.0)
    often = night.assign(wet_share=share, rain_per_day=share * mean)
    assert (scores(often, kits, TWO).wet >= before - 1e-9).all()


@pytest.mark.parametrize("cold_sleeper", [True, False])
def test_the_most_sensitive_sleeper_decides(cold_sleeper):
    """One more person of the same kind or hardier changes neither limit for the worse."""
    careful = Sleeper(preset="careful", cold_sleeper=cold_sleeper, bedding="summer")
    hardy = Sleeper(preset="hardened", bedding="winter")
    kits = [
        kit.model_copy(update={"enclosure": kit.enclosure.model_copy(update={"fabric": "none"})})
        for kit in KITS.values()
    ]
    alone, both = (scores(any_nights(), kits, who) for who in ((careful,), (careful, hardy)))
    for factor in ("cold", "heat"):
        assert_allclose(both[factor], alone[factor], rtol=0, atol=1e-12)


def test_shut_by_insects_without_mesh():
    """Insects close a kit without mesh: hotter; with mesh nothing changes. Dust closes all."""
    night, tent = humid(26.0), KITS["ground-tent"]
    bare = tent.model_copy(update={"mesh": False})
    insects, dust = Settings(insects=True), Settings(dust=True)
    open_heat = number(score(night, tent, TWO), "heat")
    assert number(score(night, tent, TWO, settings=insects), "heat") == open_heat
    shut = number(score(night, bare, TWO, settings=insects), "heat")
    assert shut > open_heat + 0.1
    assert number(score(night, tent, TWO, settings=dust), "heat") == shut


def test_depth_below_the_limit_is_told_apart():
    """1 K and 15 K below the limit: both cold more than half the nights, margins 14 K apart."""
    tent = KITS["roof-tent"]
    limit = -number(score(one_night(coldest_hours_temperature=0.0), tent, TWO), "cold_margin")
    near, far = (
        score(one_night(coldest_hours_temperature=limit - depth, vapour_pressure=0.01), tent, TWO)
        for depth in (1.0, 15.0)
    )
    assert_allclose(number(near, "cold_margin"), -1.0, rtol=0, atol=1e-9)
    assert_allclose(number(far, "cold_margin"), -15.0, rtol=0, atol=1e-9)
    # By hand, 5.9 clo: danger lies 6.55 K below the limit. (5.55 - 1.13) / sqrt(2.5^2 + 1.65^2)
    # is 1.48 spreads.
    assert number(near, "dangerous") == pytest.approx(0.07, abs=0.005)
    assert number(far, "dangerous") > 0.9


def test_an_awning_opens_the_kit_in_rain():
    """Under an awning a wet night is no hotter than a dry one, and drier than without."""
    night = humid(27.0).assign(wet_share=0.5, rain_per_day=6.0)
    bare = score(night, KITS["bedroll"], TWO)
    under = score(night, with_addons(KITS["bedroll"], ["awning"]), TWO)
    assert number(under, "heat_wet") == number(under, "heat_dry")
    assert number(bare, "heat_wet") > number(bare, "heat_dry") + 0.1
    assert number(under, "wet") < number(bare, "wet")


def test_an_awning_counts_only_below_its_wind():
    """In a gale the awning is taken in and the kit leaks as without it."""
    kit = with_addons(KITS["bedroll"], ["awning"])
    gale = humid(27.0).assign(wet_share=0.5, rain_per_day=6.0, wind_speed=80.0)
    bare = score(
        gale,
        KITS["bedroll"].model_copy(
            update={"pitch_minutes": kit.pitch_minutes, "strike_minutes": kit.strike_minutes}
        ),
        TWO,
    )
    assert_allclose(number(score(gale, kit, TWO), "wet"), number(bare, "wet"), atol=0.005)
    assert number(score(gale, kit, TWO), "heat_wet") == pytest.approx(
        number(bare, "heat_wet"), abs=0.01
    )


@pytest.mark.parametrize("wind", [True, False])
def test_single_precision_loses_only_its_digits(wind):
    """Nights in single precision, more than fit a block: stored so, worked out in double."""
    stored = many_nights(20_001, wind=wind, dtype=np.float32)
    stored["coldest_hours_temperature"][5] = np.nan
    stored["vapour_pressure"][6] = np.nan
    kits = list(KITS.values())
    found = scores(stored, kits, PARTIES[2], details=False)
    exact = scores(stored.astype(float), kits, PARTIES[2], details=False)
    for name in (*FACTORS, "sound_share"):
        assert found[name].dtype == np.float32
        assert_allclose(found[name], exact[name], rtol=0, atol=6e-8, err_msg=name)
    assert_allclose(found.limiting_factor, exact.limiting_factor)
    assert (found.limiting_factor[:, 5:7] == MISSING_FACTOR).all()


def test_kits_together_are_kits_apart():
    """Scoring nine kits in one walk gives what nine walks give, each under its name."""
    nights_ = many_nights(100)
    together = scores(nights_, list(KITS.values()), TWO)
    assert together.sound_share.dims == ("kit", "night")
    for name, kit in KITS.items():
        alone = score(nights_, kit, TWO)
        xr.testing.assert_equal(together.sel(kit=name, drop=True).drop_attrs(), alone.drop_attrs())


@pytest.mark.parametrize("kind", [float, np.float32])
def test_a_drop_of_nothing_is_no_drop(kind):
    """What is left out where dry nights are as cold as wet ones would have come to the same."""
    made_up = many_nights(200, wind=True).astype(kind)
    level = xr.zeros_like(made_up.coldest_hours_temperature)
    kits = [*KITS.values(), with_addons(KITS["ground-tent"], ["awning"])]
    one_by_one = scores(made_up.assign(dry_night_drop=level), kits, TWO)
    at_once = scores(made_up.assign(dry_night_drop=level[0].drop_vars(level.coords)), kits, TWO)
    xr.testing.assert_allclose(at_once, one_by_one, rtol=0, atol=1e-6)


def test_keep_what_is_asked_for():
    """A continent's map needs the share and its reason only."""
    kept = scores(many_nights(5), [KITS["bedroll"]], TWO, details=False, keep=["sound_share"])
    assert set(kept.data_vars) == {"sound_share", "limiting_factor", "low_one_in_20"}


def test_each_input_keeps_the_dimensions_it_has():
    """A single value, a row and a turned grid score as the full grid that they stand for."""
    flat = many_nights(60, dtype=np.float32)
    grid = xr.Dataset(
        {
            name: (("month", "latitude", "longitude"), values.values.reshape(3, 4, 5))
            if values.ndim
            else values
            for name, values in flat.items()
        },
        attrs=flat.attrs,
    )
    mixed = grid.assign(
        wet_share=xr.DataArray(np.float32(0.4)),
        daylight_hours=grid.daylight_hours[:, :, 0],
        wind_speed=grid.wind_speed[0, 0, :],
        bedtime_temperature=grid.bedtime_temperature.transpose("longitude", "latitude", "month"),
    )
    like = grid.bedtime_temperature
    full = mixed.map(lambda values: values.broadcast_like(like).transpose(*like.dims))
    full = full.assign_attrs(grid.attrs)
    kits = [KITS["bedroll"], KITS["ground-tent"]]
    expected = scores(full, kits, TWO, details=False)
    found = scores(mixed, kits, TWO, details=False)
    assert found.sound_share.sizes == {"kit": 2, "month": 3, "latitude": 4, "longitude": 5}
    xr.testing.assert_allclose(found, expected.transpose(*found.dims), rtol=0, atol=2e-7)


def test_two_full_tents_sleep_as_one_does():
    """Walls, air, warmth and vapour all double, so a sleeper's night is the same; only that
    the coldest of four is colder than the coldest of two."""
    night = one_night()
    one = score(night, load_kits()["ground-tent"], (Sleeper(),) * 2)
    two = score(night, carried(load_kits()["ground-tent"], 4), (Sleeper(),) * 4)
    xr.testing.assert_allclose(one.drop_vars("dangerous"), two.drop_vars("dangerous"), rtol=1e-12)
    assert float(one["dangerous"]) < float(two["dangerous"])
    assert 0 < float(one["heat"]) < 1 and 0 < float(one["condensation"]) < 1


@pytest.mark.parametrize("people", [1, 2])
def test_danger_counts_the_error_of_the_low_and_each_person(people):
    """By hand: spread sqrt(3^2 + 2.2^2 + 2^2) for one; of two, 1.13 K sooner and 1.65 for 2 K."""
    party = (Sleeper(),) * people
    mean, spread = {1: (0.0, 2.0), 2: (2 * np.pi**-0.5, 2 * (1 - 1 / np.pi) ** 0.5)}[people]
    night = one_night(
        coldest_hours_temperature=-6.0,
        ground_temperature=-2.0,
        wet_share=0.0,
        rain_per_day=0.0,
        night_low_spread=3.0,
    ).assign(low_error=2.2)
    scored = score(night, KITS["roof-tent"], party)
    below = mean - number(scored, "cold_danger_margin")
    expected = ndtr(below / np.sqrt(3.0**2 + 2.2**2 + spread**2))
    assert_allclose(number(scored, "dangerous"), expected, rtol=0, atol=1e-6)


def test_error_of_the_low_is_a_field_or_what_the_low_states():
    """A field wins over the words; a correction for height comes on top, in quadrature."""
    night = one_night()
    assert float(low_error(night)) == 0
    night["night_low"].attrs["uncertainty"] = "RMSE 1.5 K"
    assert float(low_error(night)) == 1.5
    assert float(low_error(night.assign(temperature_correction_error=2.0))) == 2.5
    assert float(low_error(night.assign(low_error=3.0))) == 3.0
    night["night_low"].attrs["uncertainty"] = "about 2 K"
    assert float(low_error(night)) == 1.9


def test_nights_are_from_22_to_6_where_nothing_is_said():
    """Eight hours; the cold of a longer window endangers sooner, and more rain falls in it."""
    night = one_night(coldest_hours_temperature=-4.0)
    found = {
        hours: score(night.assign_attrs(sleep_start=hours[0], sleep_end=hours[1]), KITS["bedroll"])
        for hours in ((22, 6), (21, 6), (22, 7))
    }
    usual = score(night, KITS["bedroll"])
    for name in ("dangerous", "wet", "sound_share"):
        assert number(usual, name) == number(found[22, 6], name)
        assert number(found[21, 6], name) == number(found[22, 7], name) != number(usual, name)
    assert number(found[21, 6], "dangerous") > number(usual, "dangerous")
