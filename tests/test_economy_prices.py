"""Money in words: grouped, labelled, and no more exact than it is."""

import numpy as np
import pytest
from small_trips import leg, saved, trip

from sheltermap.economy.prices import (
    beyond_price,
    given_price,
    guess_note,
    money,
    price_doubts,
    price_note,
)
from sheltermap.shelters.kit import load_addons, load_kits
from sheltermap.trip.inputs import read_inputs
from sheltermap.trip.model import Money


def plain(text):
    """Return words with ordinary spaces."""
    return " ".join(text.split())


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (2695.8, "2 696 EUR"),
        (748.0, "748 EUR"),
        (0.0, "0 EUR"),
        (None, "unknown"),
        (np.nan, "unknown"),
    ],
)
def test_amounts_are_whole(value, words):
    """To the nearest unit; what is not known has no currency."""
    assert plain(money(value, "EUR")) == words


def test_no_line_breaks_inside_an_amount():
    """Neither at the thousands nor before the label."""
    assert money(1234567.0, "EUR") == "1\u202f234\u202f567\u00a0EUR"


def test_a_price_is_shown_as_given():
    """A user's own figure is not rounded, and 40.0 in a file is 40."""
    assert [plain(given_price(value, "TEN")) for value in (40.0, 12.25, 1200.0)] == [
        "40 TEN",
        "12.25 TEN",
        "1 200 TEN",
    ]


@pytest.mark.parametrize(
    ("value", "above", "below"),
    [
        # By hand: two figures, up where it holds above and down where it holds below.
        (5.139, "5.2", "5.1"),
        (0.0567, "0.057", "0.056"),
        (1188.8, "1 200", "1 100"),
        (99.2, "100", "99"),
        (0.3, "0.3", "0.3"),  # not 0.2, though 0.3 / 0.01 is under 30 in binary
        (40.0, "40", "40"),
        (0.0, "0", "0"),
    ],
)
def test_thresholds_have_two_figures(value, above, below):
    """The sentence stays true of every price that it speaks of."""
    assert plain(beyond_price(value, "above", "EUR")) == f"{above} EUR"
    assert plain(beyond_price(value, "below", "EUR")) == f"{below} EUR"


def test_kit_prices_in_another_currency_are_told():
    """Without a rate nothing is converted, and that is doubted; EUR needs no words."""
    assert price_note(Money()) == "" and not list(price_doubts(Money()))
    dollars = Money(currency="USD")
    assert "in EUR there; nothing is converted" in price_note(dollars)
    (doubt,) = price_doubts(dollars)
    assert "`euro` under [money]" in doubt
    rated = Money(currency="USD", euro=1.25)
    assert plain(price_note(rated)).endswith("1 EUR there counted as 1.25 USD.")
    assert not list(price_doubts(rated))


def test_a_euro_s_price_turns_kits_and_add_ons_into_the_trip_s_currency(tmp_path):
    """Those of the trip file stay: they are in it already. 500 EUR is the shipped bedroll's."""
    money_table = '[money]\ncurrency = "NAD"\neuro = 20\nroom_price = 900\n'
    inputs = read_inputs(saved(tmp_path, trip(leg("A"), f"\n{money_table}", kits="bedroll")))
    assert load_kits()["bedroll"].price == 500
    assert inputs.kits[0].price == 10_000 and inputs.trip.money.room_price == 900
    assert inputs.addons["awning"].price == 20 * load_addons()["awning"].price


def test_guessed_prices_are_told():
    """Fuel and rooms that nobody priced cost something all the same, in any currency."""
    both = plain(guess_note(Money(currency="USD")))
    assert both.endswith("a guess counts: 1.2 USD a litre of fuel, 30 USD a night in a room.")
    assert "litre" not in guess_note(Money(fuel_price=1.2))  # stated, though it is the guess
    assert "room" not in guess_note(Money(room_price=0))
    assert guess_note(Money(fuel_price=1.0, room_price=20)) == ""
