"""Ratings at their borders, choices at theirs, and the words beside their numbers, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from worked_journey import (
    BEDROLL,
    BEDROLL_NIGHTS,
    JOURNEY,
    MONEY,
    PARTY,
    ROOF_TENT,
    TENT_NIGHTS,
    VEHICLE,
    VISITS,
    journey,
    nights,
)

from sheltermap.economy.choice import better_kit
from sheltermap.economy.comparison import kit_comparison
from sheltermap.economy.journey import Journey
from sheltermap.economy.load_words import excess_sentence
from sheltermap.economy.loading import load_report
from sheltermap.economy.ratings import (
    Limit,
    axles,
    rated_mass,
    rating_doubts,
    roof_limits,
    rounded_down,
    rounded_up,
    space,
    verdict,
)
from sheltermap.economy.rows import ComparedKit, kit_row

ROOMY = VEHICLE.model_copy(update={"rated_kg": 3000})


def loaded(kit=BEDROLL, *visits, **changed):
    """Return the load of visits with other figures of the vehicle."""
    vehicle = VEHICLE.model_copy(update=changed)
    return load_report(journey(*(visits or VISITS), vehicle=vehicle), kit)


@pytest.mark.parametrize(
    ("load", "rating", "exceeded", "word"),
    [
        (2799.5, 2800.0, False, "fits"),
        (2800.0, 2800.0, False, "fits"),
        (2800.1, 2800.0, True, "over"),
        (None, 2800.0, False, "unknown"),
        (2800.0, None, False, "unknown"),
    ],
)
def test_a_rating_just_kept_is_kept(load, rating, exceeded, word):
    """Half a kilogram left, none left, a tenth too many; what is unknown is neither."""
    limit = Limit("rated mass", load, rating, "kg")
    assert limit.exceeded is exceeded and verdict([limit]) == word


def test_an_excess_is_not_told_of_what_is_unknown():
    """Whoever asks for that sentence has judged wrongly."""
    for load, rating in ((None, 5.0), (5.0, None)):
        with pytest.raises(ValueError, match="roof: expected a known load and rating"):
            excess_sentence("", Limit("roof", load, rating, "kg"))


def test_the_noise_of_binary_sums_makes_no_kilogram():
    """1.1 + 2.2 - 0.3 is 3 by hand and above it in binary; 0.3 / 0.1 is 3 too and below."""
    assert 1.1 + 2.2 - 0.3 > 3 and rounded_up(1.1 + 2.2 - 0.3) == 3
    assert 0.3 / 0.1 < 3 and rounded_down(0.3 / 0.1) == 3


@pytest.mark.parametrize(
    ("weighed", "rated", "doubted"),
    [
        (2801, 2800, True),
        (2800, 2800, True),
        (2799, 2800, False),
        (None, 5, False),
        (5, None, False),
    ],
)
def test_a_vehicle_that_can_load_nothing_is_doubted(weighed, rated, doubted):
    """Weighed empty at its rated mass or above; told with both figures."""
    vehicle = VEHICLE.model_copy(update={"weighed_kg": weighed, "rated_kg": rated})
    found = list(rating_doubts(vehicle))
    assert bool(found) is doubted
    if doubted:
        assert f"weighed at {weighed:,} kg" in found[0] and "rated mass is 2,800 kg" in found[0]


def test_axles_by_hand():
    """200 kg more than weighed, 0.7 of it behind: 1250 + 140 there, 2600 - 1390 in front."""
    front, rear = axles(2600.0, VEHICLE)
    assert (front.name, front.load, front.rating) == ("front axle", pytest.approx(1210), 1300)
    assert (rear.name, rear.load, rear.rating) == ("rear axle", pytest.approx(1390), 1750)
    assert front.missing == rear.missing == ""
    (only,) = axles(2600.0, VEHICLE.model_copy(update={"front_axle_kg": None}))
    assert only.name == "rear axle"


def test_what_an_axle_lacks_is_named_once():
    """The scale under the rear axle comes before the mass on board."""
    bare = VEHICLE.model_copy(update={"weighed_rear_kg": None})
    assert [one.missing for one in axles(None, VEHICLE)] == ["the mass on board"] * 2
    for aboard in (2600.0, None):
        found = list(axles(aboard, bare))
        assert [one.missing for one in found] == ["vehicle.weighed_rear_kg"] * 2
        assert [one.margin for one in found] == [None, None]


def test_space_and_roof_by_hand():
    """140 L of bedroll with 50 - 40 L in cans; 60 kg of tent, parked with two of 80."""
    (found,) = space(BEDROLL, 50.0, VEHICLE)
    assert (found.load, found.rating, found.missing) == (150, 400, "")
    (unknown,) = space(BEDROLL, None, VEHICLE)
    assert (unknown.load, unknown.missing) == (None, "the water on board")
    assert list(space(BEDROLL, 50.0, VEHICLE.model_copy(update={"space_litres": None}))) == []
    moving, parked = roof_limits(ROOF_TENT, PARTY, VEHICLE)
    assert (moving.load, parked.load, moving.missing, parked.missing) == (60, 220, "", "")
    unrated = VEHICLE.model_copy(update={"roof_moving_kg": None})
    assert [one.missing for one in roof_limits(ROOF_TENT, PARTY, unrated)] == [
        "vehicle.roof_moving_kg",
        "",
    ]
    assert roof_limits(BEDROLL, PARTY, VEHICLE) == ()


def test_all_that_a_rated_mass_lacks_is_named():
    """Both keys of the vehicle and the supplies, in a row."""
    bare = VEHICLE.model_copy(update={"weighed_kg": None, "rated_kg": None})
    found = rated_mass(None, bare, "the air density of Desert")
    assert found.missing == (
        "vehicle.weighed_kg and vehicle.rated_kg and the air density of Desert"
    )
    assert rated_mass(2600.0, VEHICLE, "").missing == ""


def test_how_far_full_tanks_go_by_hand():
    """Coast with the tent: 80 L at 14.73953 L and a fifth in reserve, 40 L at 13 L and half.

    80 / (0.1473953 x 1.2) = 452.3 km; 40 / (13 x 1.5) = 2.051 days. Desert: 5.
    """
    legs = load_report(JOURNEY, ROOF_TENT).legs
    assert legs[0].range_km == pytest.approx(452.3, abs=0.05)
    assert legs[0].water_tank_days == pytest.approx(2.0513, abs=0.0005)
    assert [leg.heat_category for leg in legs] == [0, 0, 5, 3, 1]
    unknown = VISITS[0]._replace(heat_category=np.nan)
    assert loaded(BEDROLL, unknown).legs[0].heat_category is None


def test_people_drink_as_in_the_hottest_month_of_a_stay():
    """30 April to 2 May, 4 L in April and 6 L in May and 9 L in June: 2 x (6 + 3) = 18 L a day."""
    place = JOURNEY.places[0]
    drinking = np.array([1, 1, 1, 4, 6, 9, 1, 1, 1, 1, 1, 1], float)
    climate = replace(place.climate, drinking_water_l=drinking)
    stay = replace(
        JOURNEY.stays[0],
        arrive=JOURNEY.stays[0].arrive.replace(month=4, day=30),
        leave=JOURNEY.stays[0].arrive.replace(month=5, day=3),
        nights=3,
    )
    met = Journey(JOURNEY.trip, (stay,), (replace(place, climate=climate),))
    assert load_report(met, BEDROLL).legs[0].water_l_day == 18


def test_fuel_waits_for_the_climate_where_the_drive_is_known():
    """Drag in unknown air; a leg without kilometres is asked for those alone."""
    airless = VISITS[2]._replace(elevation_m=np.nan)
    assert "fuel: needs the climate of Desert" in loaded(ROOF_TENT, VISITS[0], airless).unknown
    undriven = airless._replace(kilometres=None)
    unknown = loaded(ROOF_TENT, VISITS[0], undriven).unknown
    assert "fuel: needs kilometres of Desert" in unknown
    assert not any("the climate" in row for row in unknown)


def test_the_heaviest_supplies_are_told_where_the_mass_is_unknown():
    """Desert: 128.4 L of water and 123.4 L of fuel, against 80 L of fuel and less water."""
    assert loaded(ROOF_TENT, weighed_kg=None).sentence.endswith(
        " The heaviest supplies are 128 L of water and 123 L of fuel, on Desert."
    )


def test_the_rated_mass_is_told_before_an_axle():
    """Only where it is exceeded itself: in front 1278.5 kg on Desert, 1237.0 on Coast."""
    both = loaded(ROOF_TENT, front_axle_kg=1200).sentence
    assert "starts Desert 29 kg over the rated mass" in both
    assert both.endswith("Also exceeded: front axle.")
    aboard = loaded(ROOF_TENT).needed_rating_kg
    for left in (0.0, 0.5, 50.0):
        axle = loaded(ROOF_TENT, front_axle_kg=1200, rated_kg=aboard + left).sentence
        # Coast: 2683.5 - 1250 - 0.7 x 283.5 = 1235.05, and 35.05 kg too many read as 36.
        assert "starts Coast 36 kg over the front axle of 1\u202f200 kg." in axle
        assert "Also exceeded" not in axle


@pytest.mark.parametrize("left", [0.0, 0.5])
def test_no_leg_is_tightest_while_another_is_unknown(left):
    """Even where nothing is left: the unknown one may be over. One over is the tightest."""
    visits = VISITS[0]._replace(drinking_water_l=np.nan), VISITS[2]
    aboard = loaded(BEDROLL, VISITS[2]).legs[0].aboard_kg
    assert loaded(BEDROLL, *visits, rated_kg=aboard + left).tightest == ""
    assert loaded(BEDROLL, *visits, rated_kg=aboard - 1).tightest == "Desert"


def row(kit=BEDROLL, slept=BEDROLL_NIGHTS, money=MONEY):
    """Return one row of the worked journey."""
    return kit_row(ComparedKit(kit, slept), JOURNEY.with_tables(vehicle=ROOMY, money=money))


def test_half_a_dangerous_night_is_not_clearly_less_safe():
    """judgement: what is less than half an expected night apart is noise."""
    dear, cheap = row(ROOF_TENT, TENT_NIGHTS), row()
    safe = replace(dear, dangerous_nights=0.25)
    assert better_kit([safe, replace(cheap, dangerous_nights=0.75)]) == 1
    assert better_kit([safe, replace(cheap, dangerous_nights=0.76)]) == 0


def test_freight_of_its_own_counts_before_the_mass():
    """30 kg by freight though 16 kg on board: 60 EUR and not 32."""
    assert row(BEDROLL.model_copy(update={"freight_kg": 30.0})).freight == 60
    assert row().freight == 32


def test_a_budget_that_is_just_enough_is_kept():
    """All that the journey costs is enough, a cent less is not; without its cost nobody knows."""
    spent = row().journey_money
    for budget, over in ((spent, False), (spent - 0.01, True), (None, False)):
        assert row(money=MONEY.model_copy(update={"budget": budget})).over_budget is over
    away = journey(
        VISITS[0]._replace(kilometres=None),
        vehicle=ROOMY,
        money=MONEY.model_copy(update={"budget": 9000}),
    )
    unknown = kit_row(ComparedKit(BEDROLL, nights((0.5, 0.0))), away)
    assert (unknown.over_budget, unknown.pitch_hours) == (None, None)


def test_the_worst_of_several_barred_legs_is_told_with_all_of_them():
    """Barred from a chance of 10 % on: 10 % is, 9 % is not."""
    slept = replace(TENT_NIGHTS, worst=np.array([0.1, 0.09, 0.4, 0.2, 0.0]))
    (reason,) = row(slept=slept).refused
    assert "of up to 40 % on Coast, Desert and Delta; the trip plans none of 10 %" in reason


def test_party_and_bedding_that_change_nothing_say_so():
    """Two kits alike but for the price: the first stays the better one, whoever sleeps how."""
    dear = ComparedKit(BEDROLL.model_copy(update={"price": 900.0}), BEDROLL_NIGHTS)
    found = kit_comparison(
        (ComparedKit(BEDROLL, BEDROLL_NIGHTS), dear),
        JOURNEY.with_tables(vehicle=ROOMY.model_copy(update={"rated_kg": 9000})),
        {-5.0: (BEDROLL_NIGHTS, BEDROLL_NIGHTS)},
    )
    told = {change.setting: change for change in found.changes}
    assert told["party.bedding"].sentence == "No bedding changes the answer."
    assert told["party.bedding"].threshold is None and told["party.bedding"].direction == ""
    assert "No kit compared is better if avoiding one is worth 40\u00a0EUR" in found.sentence


def test_a_comfort_label_that_changes_the_answer_is_told_in_degrees():
    """Bedding of -5 degC leaves the bedroll no rough night, and the cheap tent its own."""
    tent = ComparedKit(ROOF_TENT.model_copy(update={"price": 100.0}), TENT_NIGHTS)
    roll = ComparedKit(BEDROLL.model_copy(update={"price": 100.0}), BEDROLL_NIGHTS)
    quiet = nights(*[(0.0, 0.0)] * len(VISITS))
    money = MONEY.model_copy(update={"freight_per_kg": 0.0})
    found = kit_comparison(
        (tent, roll),
        JOURNEY.with_tables(vehicle=ROOMY, money=money),
        {-5.0: (TENT_NIGHTS, quiet)},
    )
    (change,) = (one for one in found.changes if one.setting == "party.bedding")
    assert change.sentence == (
        "With comfort -5 degC bedding the better choice is the canvas bedroll."
    )


@pytest.mark.parametrize(
    ("less", "why"), [(0.5, "Better kit, if avoiding"), (0.52, "Safer kit, 0.0 dangerous nights")]
)
def test_a_kit_is_called_safer_beyond_half_a_dangerous_night(less, why):
    """At half a night it is the cheaper one that counts."""
    slept = nights(*[(1.0, 0.0)] * 4, (1.0, less))
    found = kit_comparison(
        (
            ComparedKit(ROOF_TENT, slept),
            ComparedKit(BEDROLL, nights(*[(1.0, 0.0)] * 5)),
        ),
        JOURNEY.with_tables(vehicle=ROOMY),
    )
    assert found.better == 1 and why in found.sentence


def test_mass_and_price_settle_which_kit_is_barest():
    """Of two of 16 kg the cheaper one, wherever it stands; of two alike the first."""
    dear = BEDROLL.model_copy(update={"price": 600.0, "title": "Dear"})
    kits = [ComparedKit(kit, BEDROLL_NIGHTS) for kit in (dear, BEDROLL, BEDROLL)]
    found = kit_comparison(kits, JOURNEY.with_tables(vehicle=ROOMY))
    assert [one.number for one in found.traded] == [1, 2, 0]
    # 100 EUR and a tenth of duty on them.
    assert [one.apart.get("landed") for one in found.traded] == [None, 0, pytest.approx(110)]
