"""The trade-off between kits: by hand over the worked journey, the barest first."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
from worked_journey import (
    BEDROLL,
    BEDROLL_NIGHTS,
    JOURNEY,
    MONEY,
    ROOF_TENT,
    TENT_NIGHTS,
    VEHICLE,
)

from sheltermap.economy.comparison import kit_comparison
from sheltermap.economy.rows import ComparedKit
from sheltermap.economy.tradeoff import open_questions
from sheltermap.suitability.card import KitLimits
from sheltermap.trip.model import Money

TENT = ComparedKit(
    ROOF_TENT,
    TENT_NIGHTS,
    limits=KitLimits((-4.0, -3.0), (31.0, 25.0), (35.0, 29.0), (28.0, 23.0), -12.0, 11.0),
)
ROLL = ComparedKit(
    BEDROLL,
    BEDROLL_NIGHTS,
    limits=KitLimits((1.0, 2.0), (30.0, 29.0), (32.0, 30.0), (29.0, 23.0), -7.0, None),
)


def compared(*kits, money=MONEY, vehicle=VEHICLE):
    """Return the worked journey's comparison."""
    return kit_comparison(kits, JOURNEY.with_tables(vehicle=vehicle, money=money))


def test_barest_is_first_and_has_nothing_to_differ_from():
    """16 kg before 64 kg, whatever the order given; positions still name the rows."""
    roll, tent = compared(TENT, ROLL).traded
    assert (roll.number, tent.number) == (1, 0)
    assert (roll.kit.id, tent.kit.id) == ("bedroll", "roof-tent")
    assert roll.apart == {} and set(tent.apart) == set(tent.figures)


def test_figures_by_hand():
    """Prices, litres and hours as the worked journey has them, and their differences.

    Landed: 500 + 16 * 2 + 500 * 0.1; 2200 + 64 * 2 + 2200 * 0.1. Fuel of the journey with the
    bedroll: 381.347 - 38.147 + 0.466 litres at 1.5.
    """
    roll, tent = compared(TENT, ROLL).traded
    fuel = (381.347 - 38.147 + 0.466) * 1.5
    expected = {
        "rough_nights": (7.9, 5.8),
        "dangerous_nights": (0.7, 0.6),
        "landed": (582, 2548),
        "journeys_of_fuel": (582 / fuel, 2548 / fuel),
        "added_fuel_l": (0.466, 38.147),
        "packed_litres": (140, 20),
        "pitch_hours": (130 / 60, 260 / 60),
        "coldest": (1, -4),
        "hottest_dry": (30, 31),
        "hottest_humid": (29, 25),
    }
    for name, (bare, more) in expected.items():
        assert roll.figures[name] == pytest.approx(bare, abs=0.005), name
        assert tent.figures[name] == pytest.approx(more, abs=0.005), name
        assert tent.apart[name] == pytest.approx(more - bare, abs=0.01), name
    assert tent.figures["margin_kg"] == tent.row.load.margin_kg < 0


def test_what_is_not_stated_is_asked_for_by_its_key():
    """Freight, duty, the rating and a kit's own keys; nothing once they stand there."""
    told = compared(TENT, ROLL)
    assert told.landing_known and told.open_questions == ()
    money = Money(currency="EUR", fuel_price=1.5, freight_per_kg=2)
    vehicle = VEHICLE.model_copy(update={"rated_kg": None})
    bare = replace(ROLL, kit=BEDROLL.model_copy(update={"lockable": None}))
    found = compared(TENT, bare, money=money, vehicle=vehicle)
    assert not found.landing_known
    assert found.open_questions == (
        "What a kit costs landed needs duty_share under [money].",
        "The mass margin needs rated_kg under [vehicle].",
        "A lock needs lockable in the kit file of Canvas bedroll.",
    )
    assert [one.figures["margin_kg"] for one in found.traded] == [None, None]
    assert found.traded[1].apart["margin_kg"] is None


def test_unassessed_nights_stay_unknown():
    """No nights, no figure and no difference, never a nought."""
    roll, tent = compared(TENT, replace(ROLL, nights=None, limits=None)).traded
    for name in ("rough_nights", "dangerous_nights", "coldest", "hottest_dry"):
        assert roll.figures[name] is None and tent.apart[name] is None


@pytest.mark.parametrize(
    ("kilometres", "hours", "asked"),
    [
        ((None, 100), None, ["Fuel and hours needs kilometres of Steppe."]),
        ((None, None), None, ["Fuel and hours needs kilometres of Steppe and Coast."]),
        ((None, 100), 2.0, []),
        ((50, 100), None, []),
        ((50, 100), 2.0, []),
    ],
)
def test_distances_are_asked_for_where_they_would_tell_something(kilometres, hours, asked):
    """Of the legs that have none, and only if hours of pitching are unknown."""
    roll, tent = compared(TENT, ROLL).traded
    trip = SimpleNamespace(
        money=MONEY,
        vehicle=VEHICLE,
        legs=[
            SimpleNamespace(name=name, kilometres=each)
            for name, each in zip(("Steppe", "Coast"), kilometres, strict=True)
        ],
    )
    rows = [roll, replace(tent, row=replace(tent.row, pitch_hours=hours))]
    assert list(open_questions(trip, rows)) == asked
