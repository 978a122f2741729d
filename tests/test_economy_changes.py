"""What would change the answer: thresholds by hand, and against full recomputation."""

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
    nights,
)

from sheltermap.economy.choice import better_kit
from sheltermap.economy.comparison import kit_comparison
from sheltermap.economy.rows import ComparedKit, kit_row

ROOMY = VEHICLE.model_copy(update={"rated_kg": 3000})

# Nothing but these prices: no freight, no duty.
# Tent:    700 + 5.8 * 40 rough = 932,  and 38.147 L at 1.5:  989.22
# Bedroll: 800 + 7.9 * 40 rough = 1116, and  0.466 L at 1.5: 1116.70
PLAIN = MONEY.model_copy(update={"freight_per_kg": 0.0, "duty_share": 0.0})
TENT = ComparedKit(ROOF_TENT.model_copy(update={"price": 700.0}), TENT_NIGHTS)
ROLL = ComparedKit(BEDROLL.model_copy(update={"price": 800.0}), BEDROLL_NIGHTS)


def changes_of(*compared, party=PARTY, vehicle=ROOMY, money=PLAIN, bedding=None):
    """Return the sweep of the worked journey by setting."""
    found = kit_comparison(
        compared, JOURNEY.with_tables(party=party, vehicle=vehicle, money=money), bedding
    )
    rows = {}
    for change in found.changes:
        rows.setdefault(change.setting, []).append(change)
    return rows


def test_fuel_price_by_hand():
    """932 + 38.147 p = 1116 + 0.466 p at p = 184 / 37.681 = 4.883 a litre, so surely above 4.9."""
    (change,) = changes_of(TENT, ROLL)["money.fuel_price"]
    assert (change.direction, change.kit, change.now) == ("above", "bedroll", 1.5)
    assert change.threshold == pytest.approx(4.883, abs=0.001)
    assert change.sentence == (
        "With a fuel price above 4.9\u00a0EUR a litre the better choice is the canvas bedroll."
    )


def test_freight_by_hand():
    """127.479 EUR apart, 48 kg apart: 2.656 a kilogram."""
    (change,) = changes_of(TENT, ROLL)["money.freight_per_kg"]
    assert (change.direction, change.kit) == ("above", "bedroll")
    assert change.threshold == pytest.approx(127.479 / 48, abs=0.001)


def test_rough_night_price_that_changes_nothing():
    """The tent is cheaper and quieter: no price of a rough night speaks for the bedroll."""
    (change,) = changes_of(TENT, ROLL)["money.rough_night_price"]
    assert change.threshold is None
    assert change.sentence == "No price of a rough night changes the answer."


def test_rough_night_price_by_hand():
    """With a tent at 2200: 2257.22 + 5.8 p = 800.70 + 7.9 p at p = 693.6."""
    dear = ComparedKit(ROOF_TENT, TENT_NIGHTS)
    (change,) = changes_of(dear, ROLL)["money.rough_night_price"]
    assert (change.direction, change.kit) == ("above", "roof-tent")
    assert change.threshold == pytest.approx(693.58, abs=0.05)
    assert "With a price of a rough night above 700\u00a0EUR the better" in change.sentence


def test_rated_mass_by_hand():
    """The tent's heaviest start weighs 2828.432 kg; below that only the bedroll goes."""
    lower, none = changes_of(TENT, ROLL)["vehicle.rated_kg"], changes_of(ROLL)["vehicle.rated_kg"]
    assert [(c.direction, c.kit) for c in lower] == [("below", "bedroll")]
    assert lower[0].threshold == pytest.approx(2828.432, abs=0.002)
    assert [(c.direction, c.kit) for c in none] == [("below", None)]
    assert none[0].sentence.endswith("kg the vehicle carries no kit compared.")


def test_more_rated_mass_brings_a_better_kit_back():
    """At 2800 kg the tent is out; from 2828.432 kg it is the better one again."""
    found = changes_of(TENT, ROLL, vehicle=VEHICLE)["vehicle.rated_kg"]
    above = [change for change in found if change.direction == "above"]
    assert [(c.kit, round(c.threshold, 2)) for c in above] == [("roof-tent", 2828.43)]


def test_budget_ends_the_fuel_price():
    """
    The bedroll alone, 800 EUR without fuel, burns 13.21793 L on 100 km over 2600 km.

    A budget of 2000 is gone at (2000 - 800) / 343.666 L = 3.4917 a litre.
    """
    money = PLAIN.model_copy(update={"budget": 2000.0})
    (change,) = changes_of(ROLL, money=money)["money.fuel_price"]
    assert (change.direction, change.kit) == ("above", None)
    assert change.threshold == pytest.approx(3.4917, abs=0.0005)
    assert change.sentence.endswith("no kit compared stays inside the budget.")


def test_unknown_mass_has_no_threshold():
    """Without the weighed mass the sweep says unknown, not that nothing changes."""
    vehicle = ROOMY.model_copy(update={"weighed_kg": None})
    (change,) = changes_of(TENT, ROLL, vehicle=vehicle)["vehicle.rated_kg"]
    assert change.threshold is None
    assert "unknown" in change.sentence


@pytest.mark.parametrize(("litres", "winner"), [(400, None), (500, "bedroll")])
def test_party_beyond_the_beds(litres, winner):
    """
    Both kits sleep two. The roof tent is one to a vehicle; bedrolls are taken twice.

    Their 280 L with 192.6 L of water for three, less the tank's 40, make 432.6 L at the
    desert start.
    """
    roomy = ROOMY.model_copy(update={"space_litres": litres, "front_axle_kg": None})
    (change,) = changes_of(TENT, ROLL, vehicle=roomy)["party.people"]
    assert (change.direction, change.threshold, change.kit) == ("above", 2, winner)


def test_smaller_party_frees_mass():
    """
    One person less takes 80 + 20 kg and half the water off the desert start.

    2828.432 - 100 - 64.2 = 2664.232 kg is under 2800, so the tent comes back.
    """
    found = changes_of(TENT, ROLL, vehicle=VEHICLE)["party.people"]
    below = [change for change in found if change.direction == "below"]
    assert [(c.threshold, c.kit) for c in below] == [(2, "roof-tent")]


def test_bedding_that_changes_the_answer():
    """Bedding that leaves the bedroll no rough night: 800.70 against 989.22."""
    quiet = nights(*[(0.0, 0.0)] * len(VISITS))
    found = changes_of(
        TENT,
        ROLL,
        bedding={"winter": (TENT_NIGHTS, quiet), "summer": (TENT_NIGHTS, BEDROLL_NIGHTS)},
    )["party.bedding"]
    assert [(c.direction, c.threshold, c.kit) for c in found] == [("with", "winter", "bedroll")]


def random_case(seed):
    """Return compared, vehicle and money drawn from a seed, so that kits compete."""
    draw = np.random.default_rng(seed)
    compared = []
    for number in range(4):
        kit = ROOF_TENT.model_copy(
            update={
                "id": f"kit-{number}",
                "title": f"Kit {number}",
                "mass_kg": float(draw.uniform(60, 200)),
                "added_drag_area_m2": float(draw.uniform(0, 0.6)),
                "price": float(draw.uniform(0, 500)),
            }
        )
        legs = nights(*[(float(draw.uniform(0, visit.nights)), 0.0) for visit in VISITS])
        compared.append(ComparedKit(kit, legs))
    vehicle = VEHICLE.model_copy(update={"rated_kg": float(draw.uniform(2820, 3000))})
    money = MONEY.model_copy(
        update={
            "fuel_price": float(draw.uniform(0.2, 4)),
            "freight_per_kg": float(draw.uniform(0.1, 6)),
            "rough_night_price": float(draw.uniform(1, 80)),
            "budget": None if seed % 2 else float(draw.uniform(600, 2000)),
        }
    )
    return compared, vehicle, money


def better_at(compared, vehicle, money, setting, value):
    """Return the better kit of rows made anew with one setting changed."""
    table, key = setting.split(".")
    if table == "money":
        money = money.model_copy(update={key: value})
    else:
        vehicle = vehicle.model_copy(update={key: value})
    journey = JOURNEY.with_tables(vehicle=vehicle, money=money)
    rows = [kit_row(one, journey) for one in compared]
    number = better_kit(rows)
    return None if number is None else rows[number].kit


@pytest.mark.parametrize("seed", range(12))
def test_thresholds_against_full_recomputation(seed):
    """
    On this side of each threshold the answer stands, beyond it the named kit wins.

    The answer is made anew at each value, so the straight lines are not trusted. Where no
    threshold is given on a side, the answer holds over a wide scan of that side.
    """
    compared, vehicle, money = random_case(seed)
    current = kit_comparison(compared, JOURNEY.with_tables(vehicle=vehicle, money=money))
    kit = None if current.better is None else current.rows[current.better].kit
    for setting in (
        "money.fuel_price",
        "money.freight_per_kg",
        "money.rough_night_price",
        "vehicle.rated_kg",
    ):
        table, key = setting.split(".")
        now = getattr(money if table == "money" else vehicle, key)
        mine = {c.direction: c for c in current.changes if c.setting == setting}
        for direction, outward in (("above", 1), ("below", -1)):
            change = mine.get(direction)
            if change is not None:
                assert change.kit != kit
                step = 1e-6 * change.threshold
                here, there = change.threshold - outward * step, change.threshold + outward * step
                assert better_at(compared, vehicle, money, setting, here) == kit
                assert better_at(compared, vehicle, money, setting, there) == change.kit
                reach = here
            else:
                reach = now * 8 if direction == "above" else now * 0.01
            for value in np.linspace(now, reach, 5):
                assert better_at(compared, vehicle, money, setting, float(value)) == kit


def test_random_cases_do_change():
    """The scan above would prove little if hardly any case had a threshold."""
    found = 0
    for seed in range(12):
        compared, vehicle, money = random_case(seed)
        rows = kit_comparison(compared, JOURNEY.with_tables(vehicle=vehicle, money=money)).changes
        found += sum(isinstance(change.threshold, float) for change in rows)
    assert found >= 12


@pytest.mark.parametrize("key", ["weighed_kg", "rated_kg"])
def test_what_would_tell_the_rated_mass_is_named(key):
    """Unknown, by the key of the trip file that would answer it."""
    vehicle = VEHICLE.model_copy(update={key: None})
    (change,) = changes_of(TENT, ROLL, vehicle=vehicle)["vehicle.rated_kg"]
    assert change.threshold is None
    assert change.sentence == (
        f"Whether another rated mass would change the answer is unknown: it needs vehicle.{key}."
    )
