"""Kits over the journey: money by hand, what is beaten, and the first page's sentences."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
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

from sheltermap.economy.choice import better_kit, dominators, reasons_against
from sheltermap.economy.comparison import kit_comparison
from sheltermap.economy.rows import ComparedKit, camps_pitched, kit_nights, kit_row
from sheltermap.shelters.fitting import with_addons
from sheltermap.shelters.kit import load_addons
from sheltermap.trip.party import SleeperRow

TENT = ComparedKit(ROOF_TENT, TENT_NIGHTS)
ROLL = ComparedKit(BEDROLL, BEDROLL_NIGHTS)
ROOMY = VEHICLE.model_copy(update={"rated_kg": 3000})

# Tent. Rough 0.4+0.9+2.5+1.2+0.8 at 40 each. Freight 64 kg * 2; duty 2200 * 0.1; 38.147 L
# more fuel at 1.5 (see the load). Camps: 2, 3, 5, 1, 2 at 200 km a day, 8 + 12 minutes each.
TENT_FIGURES = {
    "nights": 20,
    "rough_nights": 5.8,
    "dangerous_nights": 0.6,
    "mass_kg": 64,
    "packed_litres": 20,
    "added_fuel_l": 38.147,
    "fuel_l": 381.347,
    "purchase": 2200,
    "freight": 128,
    "duty": 220,
    "added_fuel_money": 57.22,
    "money": 2605.22,
    "journey_money": 3120.02,
    "cost": 2837.22,
    "pitch_hours": 260 / 60,
}

# Bedroll. 16 kg: 0.012 * 16 * 9.80665 * 1e5 / 12.6e6 * 1.2 = 0.0179322 L on 100 km, over
# 2600 km 0.466 L. Camps: as the tent's, of 4 + 6 minutes.
ROLL_FIGURES = {
    "rough_nights": 7.9,
    "dangerous_nights": 0.7,
    "added_fuel_l": 0.466,
    "purchase": 500,
    "freight": 32,
    "duty": 50,
    "added_fuel_money": 0.70,
    "money": 582.70,
    "cost": 898.70,
    "pitch_hours": 130 / 60,
}


def row_of(kit, vehicle=ROOMY, money=MONEY):
    """Return one row of the worked journey at 200 km a day."""
    return kit_row(kit, JOURNEY.with_tables(vehicle=vehicle, money=money))


def compared(*kits, vehicle=ROOMY, money=MONEY):
    """Return the worked journey's comparison at 200 km a day."""
    return kit_comparison(kits, JOURNEY.with_tables(vehicle=vehicle, money=money))


@pytest.mark.parametrize(("kit", "figures"), [(TENT, TENT_FIGURES), (ROLL, ROLL_FIGURES)])
def test_worked_journey(kit, figures):
    """Every figure of both kits over five legs, as worked out above."""
    row = row_of(kit)
    for name, expected in figures.items():
        assert getattr(row, name) == pytest.approx(expected, abs=0.005), name


def test_nights_by_cause_add_up():
    """The legs' heat nights add; wind was not assessed anywhere and stays so."""
    causes = row_of(TENT).nights_by_factor
    assert causes["heat"] == pytest.approx(5.8)
    assert causes["wind"] is None


def test_nights_of_stays_by_hand():
    """What is not sound is rough: 0.1 + 0.5 + 0.7 + 0.8, then 0.1."""
    found = kit_nights(
        np.array([0.9, 0.5, 0.3, 0.2, 0.9]),
        np.array([0.0, 0.1, 0.2, 0.4, 0.0]),
        {"heat": np.array([0.1, 0.5, 0.7, 0.8, 0.1])},
        [4, 1],
    )
    assert found.rough == pytest.approx([2.1, 0.1])
    assert found.dangerous == pytest.approx([0.7, 0.0])
    assert found.by_factor["heat"] == pytest.approx([2.1, 0.1])
    assert "wind" not in found.by_factor


def test_missing_night_is_no_verdict():
    """One unknown night: no rough nights, no cost, no better kit."""
    share = np.full(20, 0.9)
    share[1] = np.nan
    found = kit_nights(share, np.zeros(20), {}, [visit.nights for visit in VISITS])
    assert np.isnan(found.rough).tolist() == [True, False, False, False, False]
    row = row_of(ComparedKit(BEDROLL, found))
    assert (row.rough_nights, row.cost) == (None, None)
    assert better_kit([row]) is None


def test_unassessed_kit_is_listed_without_a_verdict():
    """A kit without nights keeps its mass and price, and no cost."""
    row = row_of(ComparedKit(BEDROLL, None))
    assert (row.purchase, row.mass_kg) == (500, 16)
    assert (row.rough_nights, row.dangerous_nights, row.cost) == (None, None, None)


def test_camps_follow_the_driving():
    """A camp a driving day, one at least, never more than nights."""
    assert camps_pitched(6, 600, 200) == 3
    assert camps_pitched(2, 601, 200) == 2
    assert camps_pitched(6, 0, 200) == 1
    assert camps_pitched(0, 600, 200) == 0


def test_better_kit_is_the_cheaper_in_all():
    """898.70 against 2837.22, both carried: the bedroll, with the reason in the sentence."""
    found = compared(TENT, ROLL)
    assert found.better == 1
    assert found.sentence == (
        "Roof tent: 5.8 of 20 nights are rough, for 2\u202f605\u00a0EUR over the journey. Better "
        "kit, if avoiding a rough night is worth 40\u00a0EUR to you: Canvas bedroll, 7.9 rough "
        "nights for 583\u00a0EUR."
    )
    assert "40\u00a0EUR for each rough night." in found.criterion
    assert found.trade_off == (0, 1)


def test_rated_mass_broken_with_one_kit_only():
    """At 2800 kg the desert breaks with the tent and not with the bedroll, and that is said."""
    found = compared(TENT, ROLL, vehicle=VEHICLE)
    assert found.reasons_against[0] == (
        "Desert: rated mass exceeded by 29 kg (2\u202f829 of 2\u202f800 kg).",
    )
    assert found.better == 1
    assert found.trade_off == (1,)
    assert "Kit that can be taken: Canvas bedroll, 7.9 rough nights" in found.sentence


def test_safer_kit_is_called_so():
    """0.7 nights against 1.3 are worth more than two rough nights and the price."""
    nights = replace(TENT_NIGHTS, dangerous=TENT_NIGHTS.dangerous + 0.14)
    found = compared(replace(ROLL, nights=nights), replace(TENT, nights=BEDROLL_NIGHTS))
    assert found.better == 1 and found.rows[0].rough_nights < found.rows[1].rough_nights
    assert "Safer kit, 0.7 dangerous nights instead of 1.3: Roof tent, 7.9 rough" in found.sentence


def test_misfit_is_refused_with_its_reason():
    """Three people in two places, and no rack: both said, and nothing is better."""
    party = PARTY.model_copy(update={"people": 3})
    vehicle = ROOMY.model_copy(update={"carries": ()})
    found = kit_comparison((TENT,), JOURNEY.with_tables(party=party, vehicle=vehicle))
    assert len(found.rows[0].refused) == 2
    assert found.better is None
    assert "cannot be taken" in found.sentence


def test_tallest_sleeper_decides():
    """One long sleeper is enough to refuse a bed of 2.1 m."""
    party = PARTY.model_copy(update={"sleepers": (SleeperRow(name="Long", length_m=2.1),)})
    row = kit_row(ROLL, JOURNEY.with_tables(party=party, vehicle=ROOMY))
    assert any("2.10 m" in reason for reason in row.refused)


def test_budget_counts_all_fuel():
    """3120.02 for the journey: over 3120, inside 3121."""
    for budget, over in ((3120, True), (3121, False)):
        money = MONEY.model_copy(update={"budget": budget})
        row = row_of(TENT, money=money)
        assert row.over_budget is over
        assert bool(reasons_against(row)) is over


def test_rough_night_is_worth_a_room_by_default():
    """Without a price of its own a rough night counts as a room: 5.8 * 30 = 174."""
    row = row_of(TENT, money=MONEY.model_copy(update={"rough_night_price": None}))
    assert row.cost == pytest.approx(2605.22 + 174, abs=0.005)


def test_remedy_variant_has_its_own_name_and_sums():
    """Bedroll and fan: one candidate more, 1 kg and 60 EUR heavier, not the same id."""
    fan = load_addons()["fan"]
    variant = ComparedKit(with_addons(BEDROLL, ["fan"]), BEDROLL_NIGHTS, (fan,), remedy=True)
    row = row_of(variant)
    assert row.kit == "bedroll+fan"
    assert row.title.endswith(f"with {fan.title}")
    assert row.remedy
    assert row.mass_kg == 16 + fan.mass_kg
    assert row.purchase == 500 + fan.price


def test_danger_is_never_traded():
    """A cheaper kit with one dangerous night more is not the better one."""
    safe, cheap = row_of(TENT), row_of(ROLL)
    assert better_kit([safe, cheap]) == 1
    assert better_kit([safe, replace(cheap, dangerous_nights=safe.dangerous_nights + 1)]) == 0


def test_what_could_be_bought_to_the_choice_makes_no_kit_unsafe():
    """The choice with a remedy is safest of all; the cheaper kit is as safe as the choice."""
    safe, cheap = row_of(TENT), row_of(ROLL)
    bought = replace(safe, remedy=True, cost=safe.cost + 500, dangerous_nights=0.0)
    assert cheap.dangerous_nights > 0.5
    assert better_kit([safe, cheap, bought]) == 1
    assert better_kit([bought]) == 0


def test_beaten_on_every_count():
    """Heavier, dearer and rougher is beaten; lighter is not; unknown is neither."""
    good = row_of(ROLL)
    worse = replace(good, money=good.money + 1, mass_kg=20.0, rough_nights=9.0)
    lighter = replace(worse, mass_kg=10.0)
    unknown = replace(worse, rough_nights=None)
    assert dominators([good, worse, lighter, unknown]) == ((), (0, 2), (), ())
    assert dominators([good, good]) == ((), ())


def test_refused_kit_beats_nothing():
    """What cannot be taken is no argument against another kit."""
    good = replace(row_of(ROLL), refused=("It needs a load bed.",))
    worse = replace(row_of(ROLL), money=9999.0)
    assert dominators([good, worse]) == ((), ())


@given(st.floats(0, 50))
def test_prices_scale_linearly(factor):
    """All prices times a factor: money and cost times that factor, kilograms unmoved."""
    names = ("fuel_price", "room_price", "rough_night_price", "freight_per_kg")
    scaled = MONEY.model_copy(update={name: getattr(MONEY, name) * factor for name in names})
    kit = ROOF_TENT.model_copy(update={"price": ROOF_TENT.price * factor})
    row = kit_row(ComparedKit(kit, TENT_NIGHTS), journey(*VISITS, vehicle=ROOMY, money=scaled))
    first = row_of(TENT)
    assert row.money == pytest.approx(first.money * factor)
    assert row.journey_money == pytest.approx(first.journey_money * factor)
    assert row.cost == pytest.approx(first.cost * factor)
    assert row.added_fuel_l == first.added_fuel_l


def test_wrong_counts_are_refused():
    """Nights of another journey, or no kit at all, are mistakes of the caller."""
    with pytest.raises(ValueError, match="nights of 5 legs for bedroll, got 1"):
        row_of(ComparedKit(BEDROLL, nights((0.6, 0.0))))
    with pytest.raises(ValueError, match="at least one kit"):
        compared()


def test_without_kilometres_kits_are_judged_before_fuel():
    """Tent 2200 + 128 + 220 + 5.8 x 40 = 2780, bedroll 500 + 32 + 50 + 7.9 x 40 = 898 EUR.

    Whatever fuel would decide is unknown by the one key that would tell it, never a nought.
    """
    away = [
        visit._replace(kilometres=None) if visit.name == "Hills" else visit for visit in VISITS
    ]
    found = kit_comparison([TENT, ROLL], journey(*away, vehicle=ROOMY))
    assert [row.cost for row in found.rows] == pytest.approx([2780, 898])
    assert [row.money for row in found.rows] == [None, None]
    assert found.better == 1
    assert "2\u202f548\u00a0EUR before fuel" in found.sentence
    assert "582\u00a0EUR before fuel" in found.sentence
    assert "Added fuel is left out, since it needs kilometres of Hills." in found.criterion
    (fuel,) = [change for change in found.changes if change.setting == "money.fuel_price"]
    assert fuel.sentence.endswith("is unknown: it needs kilometres of Hills.")
    assert "fuel: needs kilometres of Hills" in found.rows[0].load.unknown


def test_nothing_is_said_to_change_nothing_where_nothing_was_judged():
    """Without nights there is no better kit, so no setting is swept."""
    found = kit_comparison([ComparedKit(BEDROLL, None)], journey(*VISITS))
    assert found.better is None and found.changes == ()


def barred(*, accept=(), most=0.1, done=""):
    """Return the tent against a bedroll that is cheaper, sounder, and once too dangerous.

    On the third leg a night of the bedroll has a chance of danger of 40 %, on the fourth of 9 %.
    """
    light = ComparedKit(BEDROLL, replace(TENT_NIGHTS, worst=np.array([0, 0, 0.4, 0.09, 0])))
    legs = [leg.model_copy(update={"accept": accept}) for leg in JOURNEY.trip.legs]
    departure = JOURNEY.trip.departure.model_copy(update={"most_danger": most})
    stays = [replace(stay, kit=done if n == 2 else "") for n, stay in enumerate(JOURNEY.stays)]
    return kit_comparison(
        (TENT, light),
        replace(JOURNEY, stays=tuple(stays)).with_tables(
            vehicle=ROOMY, departure=departure, legs=tuple(legs)
        ),
    )


def test_kit_above_the_danger_that_the_trip_allows_is_not_offered():
    """However cheap and sound: it is no better kit, beats none, and the reason names the leg."""
    found = barred()
    assert found.better == 0
    assert found.trade_off == (0,) and found.dominated_by == ((), ())
    (against,) = found.reasons_against[1]
    assert against == (
        "On these dates a night in it has a chance of danger of up to 40 % on "
        f"{VISITS[2].name}; the trip plans none of 10 % or more (most_danger)."
    )


@pytest.mark.parametrize(
    "allowed",
    [{"accept": ("dangerous-nights",)}, {"most": 1.0}, {"most": 0.41}, {"done": "bedroll"}],
)
def test_danger_that_the_trip_accepts_or_that_is_behind_is_no_reason(allowed):
    """Accepted on the legs, allowed by the limit, or slept already."""
    found = barred(**allowed)
    assert found.better == 1 and found.reasons_against[1] == ()


def test_worst_night_of_each_stay():
    """By hand; a night that nobody knows hides none that is known."""
    dangerous = np.array([0.1, np.nan, 0.4, 0.2, np.nan])
    found = kit_nights(np.full(5, 0.9), dangerous, {}, [2, 2, 1])
    np.testing.assert_array_equal(found.worst, [0.1, 0.4, np.nan])
