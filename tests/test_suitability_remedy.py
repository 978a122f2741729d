"""Remedies: what helps against what, and which one is named."""

import numpy as np
import pytest
import xarray as xr
from nights import many_nights, one_night

from sheltermap.shelters.kit import Sleeper, load_addons, load_kits
from sheltermap.suitability.remedy import Candidate, candidates, remedy, room
from sheltermap.suitability.score import score

KITS = load_kits()
TWO = (Sleeper(), Sleeper())


def gains(night, kit, **more):
    """Return each remedy's gain by its id."""
    return {c.id: float(c.gain) for c in candidates(night, kit, TWO, **more)}


def candidate(name, price, share, each_night=False, dangerous=0.0):
    """Return a made-up candidate."""
    after = xr.DataArray(share)
    left = np.array(dangerous)
    return Candidate(name, name.title(), price, 1.0, each_night, after, after - 0.6, left)


def test_each_trouble_has_its_remedy():
    """A fan in heat, an awning in rain, bedding in cold gain most."""
    hot = one_night(
        bedtime_temperature=29.0,
        coldest_hours_temperature=25.0,
        ground_temperature=27.0,
        vapour_pressure=2.6,
        bedtime_vapour_pressure=2.6,
        wet_share=0.0,
        rain_per_day=0.0,
        night_low_spread=1.0,
    )
    rainy = one_night(wet_share=0.9, rain_per_day=14.0, wind_speed=1.0)
    freezing = one_night(coldest_hours_temperature=-8.0, ground_temperature=-3.0)
    for night, best in ((hot, "fan"), (rainy, "awning"), (freezing, "warm-bedding")):
        found = gains(night, KITS["bedroll"])
        assert max(found, key=found.get) == best
        assert found[best] > 0.05


def test_a_cot_helps_where_pitches_flood():
    """After heavy rain a bed off the ground stays dry."""
    night = one_night(wet_share=0.8, rain_per_day=20.0)
    assert gains(night, KITS["ground-tent"])["cot"] > 0.02


def test_only_what_the_vehicle_carries():
    """No awning without a rack; no cot under a roof tent."""
    calm = one_night(wind_speed=1.0)
    assert "awning" not in gains(calm, KITS["bedroll"], carries=())
    assert "awning" in gains(calm, KITS["bedroll"], carries=("roof_rack",))
    assert "cot" not in gains(one_night(), KITS["roof-tent"])


def test_the_cheapest_that_lifts_the_grade():
    """0.60 is rough; both lift it to workable or better, the cheaper one is named."""
    before = np.array(0.6)
    found = [candidate("fan", 60, 0.76), candidate("awning", 300, 0.95)]
    named = remedy(found, before, nights=10)
    assert (named.id, named.lifts_grade) == ("fan", True)
    assert named.nights_saved == pytest.approx(1.6)


def test_else_the_largest_gain():
    """None lifts the grade: the one that saves most nights."""
    found = [candidate("fan", 60, 0.65), candidate("awning", 300, 0.70)]
    assert remedy(found, np.array(0.6)).id == "awning"


def test_a_room_costs_every_night():
    """30 a night for ten nights is dearer than a fan of 60 that also lifts the grade."""
    found = [candidate("room", 30, 1.0, each_night=True), candidate("fan", 60, 0.76)]
    assert remedy(found, np.array(0.6), nights=10).id == "fan"
    assert remedy(found, np.array(0.6), nights=1).id == "fan"


def test_no_awning_where_nobody_knows_the_wind():
    """Whether it stands is for the wind to decide; without wind its gain is a guess."""
    rain = {"wet_share": 0.9, "rain_per_day": 14.0}
    assert "awning" not in gains(one_night(**rain), KITS["bedroll"])
    assert "awning" in gains(one_night(**rain, wind_speed=1.0), KITS["bedroll"])


def test_what_leaves_danger_is_no_remedy():
    """Bedding that lifts the grade but leaves 2 % of danger reads as safety; a room does not."""
    before = np.array(0.6)
    bedding = candidate("warm-bedding", 60, 0.95, dangerous=0.02)
    assert remedy([bedding], before) is None
    assert remedy([candidate("warm-bedding", 60, 0.95, dangerous=0.019)], before) is not None
    assert remedy([bedding, candidate("room", 30, 1.0, each_night=True)], before).id == "room"


def test_danger_counts_on_nights_with_weight_only():
    """What a week does not contain cannot forbid its remedy."""
    before = np.array([0.6, 0.6])
    after, left = before + 0.3, np.array([0.0, 0.5])
    found = [Candidate("fan", "Fan", 60, 1.0, False, after, after - before, left)]
    assert remedy(found, before, np.array([1.0, 0.0])).id == "fan"
    assert remedy(found, before, np.array([1.0, 1.0])) is None


def test_bitter_cold_leaves_no_carried_remedy():
    """At -25 degC warm bedding gains, and leaves danger: nothing is named but the room."""
    night = one_night(coldest_hours_temperature=-25.0, ground_temperature=-15.0)
    found = candidates(night, KITS["bedroll"], TWO)
    before = score(night, KITS["bedroll"], TWO).sound_share.values
    assert remedy(found, before) is None
    assert remedy([*found, room(before, 30.0)], before).id == "room"


def test_nothing_to_name():
    """No gain, no nights, or no data: no remedy."""
    before = np.array(0.6)
    assert remedy([candidate("fan", 60, 0.601)], before) is None
    assert remedy([candidate("fan", 60, 0.9)], before, nights=0.0) is None
    assert remedy([candidate("fan", 60, 0.9)], xr.DataArray(np.nan)) is None
    assert remedy([], before) is None


def test_weights_count_only_their_nights():
    """A missing share on a night without weight does no harm."""
    before = xr.DataArray([0.6, np.nan], dims="night")
    after = xr.DataArray([0.9, np.nan], dims="night")
    found = [Candidate("fan", "Fan", 60, 1.0, False, after, after - before, 0.0 * after)]
    weights = xr.DataArray([4.0, 0.0], dims="night")
    assert remedy(found, before, weights).nights_saved == pytest.approx(1.2)


def test_gain_is_the_difference_of_scores():
    """What a candidate says is what scoring the changed kit says."""
    nights = many_nights(20, wind=False)
    before = score(nights, KITS["bedroll"], TWO).sound_share.values
    for found in [*candidates(nights, KITS["bedroll"], TWO), room(before, 30.0)]:
        np.testing.assert_allclose(found.gain, found.sound_share - before, rtol=0, atol=1e-12)
    assert found.id == "room" and (found.sound_share == 1.0).all()


def test_no_remedy_closes_vents_or_burns_fuel():
    """Nothing shipped lowers the air changes of a kit, and no text speaks of burning."""
    for addon in load_addons().values():
        fields = addon.model_dump(exclude_defaults=True)
        assert not {name for name in fields if "air_changes" in name}
        words = f"{addon.title} {addon.what}".lower()
        assert not any(word in words for word in ("heater", "stove", "burn", "gas", "fuel"))
