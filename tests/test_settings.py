"""Settings: one default each, and every one of them reaches the nights it is about."""

import numpy as np
import pytest
import xarray as xr
from nights import one_night
from small_trips import climate, leg, saved, trip

from sheltermap.night.conditions import VALLEY_DROP
from sheltermap.night.wind import NIGHT_SHARE, OPEN_LAND_WIND
from sheltermap.places.ground import camps, extents
from sheltermap.places.scored import scored_places
from sheltermap.shelters.kit import Bedding, Sleeper, load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.card import kit_limits
from sheltermap.suitability.score import score, scores
from sheltermap.trip.inputs import read_inputs

KITS = load_kits()


def test_defaults_are_those_of_the_formulas():
    """A constant that a user may replace has one value."""
    usual = Settings()
    assert usual.valley_drop == VALLEY_DROP
    assert usual.night_wind == NIGHT_SHARE
    assert usual.open_land_wind == OPEN_LAND_WIND


# Settings that change a score, the kit and the night on which they must, what they change.
HOT = {"bedtime_temperature": 27.0, "coldest_hours_temperature": 21.0, "wet_share": 0.0}
COLD = {"coldest_hours_temperature": 2.0, "bedtime_temperature": 6.0, "ground_temperature": 5.0}
WET = {"wet_share": 0.8, "rain_per_day": 20.0, "daytime_vapour_deficit": 0.1}
REACH = [
    ("metabolism", 40.0, "bedroll", COLD, "cold"),
    ("cold_sleeper_metabolism", 35.0, "bedroll", COLD, "cold"),
    ("contact_share", 0.35, "bedroll", COLD, "cold"),
    ("shared_bed_gain", 0.3, "bedroll", COLD, "cold"),
    ("sleeper_heat", 120.0, "ground-tent", COLD, "cold"),
    ("clear_sky", 0.2, "bedroll", COLD, "cold"),
    ("sleeper_vapour", 80.0, "ground-tent", {}, "condensation"),
    ("condensation_spread", 1.0, "ground-tent", {}, "condensation"),
    ("stored_heat_fabric", 3.0, "ground-tent", HOT, "heat"),
    ("stored_heat_hard", 5.0, "pop-up-body", HOT, "heat"),
    ("heat_spread", 4.0, "bedroll", HOT, "heat"),
    ("heat_cap", 26.0, "bedroll", HOT, "heat"),
    ("careful_margin", 4.0, "bedroll", HOT, "heat"),
    ("dust", True, "ground-tent", HOT, "heat"),
    ("heavy_day", 5.0, "ground-tent", WET, "wet"),
    ("ponding", 0.9, "ground-tent", WET, "wet"),
    ("wet_pitching", 0.0, "ground-tent", WET, "wet"),
    ("wet_day_drying", 1.0, "bedroll", WET, "wet"),
    ("undried_spoils", 0.9, "bedroll", WET, "wet"),
    ("night_rain", 0.5, "bedroll", WET, "wet"),
    ("usual_wet_day", 5.0, "bedroll", WET, "wet"),
    ("person_spread", 4.0, "bedroll", COLD, "dangerous"),
    ("wet_bedding", 0.3, "bedroll", COLD | {"wet_share": 0.9, "rain_per_day": 9}, "dangerous"),
]


@pytest.mark.parametrize(("name", "value", "kit", "night", "result"), REACH)
def test_setting_reaches_the_score(name, value, kit, night, result):
    """A line in the trip file that changed nothing would be a lie."""
    preset = "careful" if name == "careful_margin" else "usual"
    party = (Sleeper(cold_sleeper=name == "cold_sleeper_metabolism", preset=preset),) * 2
    # Stored heat belongs to a closed kit, so dust closes it before and after.
    before = {"dust": True} if name.startswith("stored_heat") else {}
    usual, changed = (
        float(score(one_night(**night), KITS[kit], party, settings=Settings(**given))[result])
        for given in (before, before | {name: value})
    )
    assert abs(changed - usual) > 1e-3


def ends(field):
    """Return the least and the greatest value that a setting may have."""
    if field.annotation is bool:
        return False, True
    low, high = (
        next(getattr(bound, end) for bound in field.metadata if hasattr(bound, end))
        for end in ("ge", "le")
    )
    return low, high


@pytest.mark.parametrize("name", Settings.model_fields)
def test_both_ends_of_a_setting_give_sane_nights(name):
    """Chances stay chances, cards stay on the thermometer, and more warmth is never colder.

    In the thickest label that a bag may have, on the best mat, where an extreme share of the
    body on the mat once made a cover of negative insulation.
    """
    thick = Sleeper(bedding=Bedding(comfort_c=-60))
    mat = {"ground_resistance_m2k_w": 3.0}
    kits = [
        KITS["bedroll-awning"],
        KITS["pop-up-body"],
        KITS["ground-tent"].model_copy(update=mat),
    ]
    made_up = (HOT, COLD | {"night_low_spread": 2.0}, WET)
    nights = xr.concat([one_night(**night) for night in made_up], "night")
    for value in ends(Settings.model_fields[name]):
        settings = Settings(**{name: value})
        usual, warm = (
            scores(nights, kits, (one, Sleeper(preset="careful")), settings=settings)
            for one in (Sleeper(cold_sleeper=True), thick)
        )
        assert (warm.cold <= usual.cold).all()
        for result in ("cold", "heat", "wet", "condensation", "dangerous", "sound_share"):
            assert ((usual[result] >= 0) & (usual[result] <= 1)).all(), (name, value, result)
        for kit in kits:
            alone, padded = (kit_limits(kit, (one,), settings) for one in (Sleeper(), thick))
            assert padded.coldest[0] < alone.coldest[0] < 30
            assert padded.hottest == alone.hottest
            assert alone.hottest[1] <= alone.hottest[0] <= alone.hottest_with_fan[0] < 50
            assert np.isfinite([*padded.coldest, *alone.hottest_closed]).all()


def test_night_rain_scales_the_exponent():
    """Half the usual chance of an 8 h night at f = 0.4: 1 - 0.6^(0.46 x 8/9 x 0.5) = 0.0992."""
    kit = KITS["bedroll"].model_copy(
        update={"leak": 1.0, "wet_packing_matters": False, "canvas": False, "exposure": "raised"}
    )
    night = one_night(wet_share=0.4, rain_per_day=3.0)
    wet = score(night, kit, settings=Settings(night_rain=0.5)).wet
    assert float(wet) == pytest.approx(0.0992, abs=5e-5)


@pytest.mark.parametrize(
    ("line", "site", "factor"),
    [
        ("valley_drop = 6.0", "valley", "cold"),
        ("night_wind = 1.0", "ridge", "wind"),
        ("open_land_wind = 7.0", "ridge", "wind"),
    ],
)
def test_setting_of_a_site_reaches_the_place(tmp_path, line, site, factor):
    """Settings about valleys and wind come in through the trip file."""

    def risk(*parts):
        text = trip(leg("A", more=f'site = "{site}"'), *parts)
        inputs = read_inputs(saved(tmp_path, text))
        where = camps(inputs, extents(inputs), climate(mean=8.0, swing=10.0, vapour=0.5))
        season = scored_places(where, inputs, inputs.kits)[0][0].seasons["bedroll"]
        return getattr(season, factor).mean()

    assert risk(f"\n[settings]\n{line}\n") > 1.2 * risk()
