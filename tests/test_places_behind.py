"""What lies behind: nights as they were told, in place of what was expected; sums by hand."""

from datetime import date

import numpy as np
import pytest
from small_trips import leg, saved, stored, trip
from test_places_slept import slept

from sheltermap.places.behind import UsualPlaces, _as_it_was, _within, done_stays, kit_of_row
from sheltermap.places.country import country
from sheltermap.places.ground import camps, extents, journey_box
from sheltermap.trip.inputs import read_inputs
from sheltermap.trip.log import DoneRow, SleptRow
from sheltermap.vocabulary import FACTORS

EXPECTED = {"sound_share": 0.5, "dangerous": 0.1} | dict.fromkeys(FACTORS, 0.2)


def rows(*told):
    """Return rows of nights slept."""
    return [SleptRow.model_validate({"leg": "A"} | row) for row in told]


def as_it_was(nights, *told):
    """Return the shares of the first of some nights; all of them must have the same."""
    shares = {name: np.full(nights, value) for name, value in EXPECTED.items()}
    found = _as_it_was(shares, rows(*told), nights)
    assert all((values == values[0]).all() for values in found.values())
    return {name: float(values[0]) for name, values in found.items()}


def test_nights_told_stand_for_those_expected():
    """Eight of ten nights, two cold and one wet: 2/10 of 0.5 expected, and 5/10 that were good."""
    found = as_it_was(10, {"nights": 8, "cold": 2, "rain": 3, "wet": 1})
    assert found["sound_share"] == pytest.approx(0.2 * 0.5 + 0.5)
    assert found["cold"] == pytest.approx(0.2 * 0.2 + 0.2)
    assert found["wet"] == pytest.approx(0.2 * 0.2 + 0.1)
    assert found["heat"] == found["condensation"] == pytest.approx(0.2 * 0.2)
    # Nobody is asked for wind, nor told whether a night endangered.
    assert (found["wind"], found["dangerous"]) == (0.2, 0.1)


def test_rows_of_one_sleeper_add_up_and_of_two_the_worse_off_counts():
    """Ana: 3 + 2 nights, 1 + 2 hot; Ben: 4 nights, 1 hot. Five of ten nights, three hot."""
    ana = [{"who": "Ana", "nights": 3, "hot": 1}, {"who": "Ana", "nights": 2, "hot": 2}]
    found = as_it_was(10, *ana, {"who": "Ben", "nights": 4, "hot": 1})
    assert found["sound_share"] == pytest.approx(0.5 * 0.5 + 0.2)
    assert found["heat"] == pytest.approx(0.5 * 0.2 + 0.3)


def test_a_night_of_several_troubles_is_one_rough_night():
    """Two nights, both cold, wet and damp, of four: no more than two are rough."""
    found = as_it_was(4, {"nights": 2, "cold": 2, "rain": 2, "wet": 2, "damp": 2})
    assert found["sound_share"] == pytest.approx(0.5 * 0.5)
    assert found["condensation"] == pytest.approx(0.5 * 0.2 + 0.5)


def test_more_nights_than_the_stay_had_are_all_of_it():
    """Rows of 3 + 4 nights, two of them damp, in a stay of five."""
    found = as_it_was(5, {"nights": 3, "damp": 2}, {"nights": 4})
    assert found["sound_share"] == pytest.approx(3 / 5)
    assert found["condensation"] == pytest.approx(2 / 5)


DONE = """
[[done]]
leg = "A"
arrived = 2027-05-02
left = 2027-05-06
"""


def stays(folder, *parts, way=0):
    """Return what lies behind on a trip of two legs."""
    text = trip(
        leg("A"),
        leg("B", (41.0, 31.0)),
        DONE,
        "\n[party]\npeople = 1\n",
        *parts,
        kits="ground-tent bedroll",
    )
    inputs = read_inputs(saved(folder, text))
    where = extents(inputs)
    land = country(journey_box(where), stored(folder, mean=8.0, vapour=0.4))
    usual = UsualPlaces(inputs, camps(inputs, where, land))
    return done_stays(usual, [way] * len(inputs.trip.done)), inputs


def test_a_leg_that_was_left_is_told_with_the_way_to_it(tmp_path):
    """Four nights in camp and one before; the leg that one is in is not behind."""
    (one,), _ = stays(tmp_path, '\n[[done]]\nleg = "B"\narrived = 2027-05-06\n', way=1)
    assert (one.leg, one.kit.id, one.on_the_way) == (0, "ground-tent", 1)
    assert (one.arrive, one.leave, one.nights) == (date(2027, 5, 1), date(2027, 5, 6), 5)
    assert one.days.tolist() == [120, 121, 122, 123, 124]
    assert one.shares["sound_share"].shape == (5,)
    np.testing.assert_array_equal(one.shares["cold"], one.season.cold[one.days])


@pytest.mark.parametrize(
    ("first", "within"),
    [
        (None, True),
        (date(2027, 5, 1), False),
        (date(2027, 5, 2), True),
        (date(2027, 5, 5), True),
        (date(2027, 5, 6), False),
    ],
)
def test_nights_of_a_stay_begin_between_arriving_and_leaving(first, within):
    """From 2 to 6 May; those without a date are the stay's."""
    done = {"leg": "A", "arrived": date(2027, 5, 2), "left": date(2027, 5, 6)}
    (row,) = rows({"nights": 1, "first": first})
    assert _within(row, DoneRow.model_validate(done)) is within


def test_a_stay_counts_the_nights_that_were_told_of_it(tmp_path):
    """One cold night of four: three quarters of what was expected, and a quarter.

    A row of the day that it was left on is another stay's.
    """
    (plain,), _ = stays(tmp_path)
    row = "nights = 1\ncold = {}"
    own = slept(row.format(1), 'leg = "A"\nfirst = 2027-05-05')
    other = slept(row.format(0), 'leg = "A"\nfirst = 2027-05-06')
    (told,), _ = stays(tmp_path, own, other)
    assert told.shares["cold"] == pytest.approx(0.75 * plain.shares["cold"] + 0.25, abs=1e-12)


def test_kit_of_a_row_is_the_trips_first_unless_it_says_another(tmp_path):
    """Another kit has no add-ons of the first; a row may say its own."""
    _, inputs = stays(tmp_path, '\n[vehicle]\ncarries = ["roof_rack"]\n')

    def kit(**said):
        row = DoneRow.model_validate({"leg": "A", "arrived": date(2027, 5, 2)} | said)
        return kit_of_row(inputs, row)

    assert kit() is inputs.kits[0] and kit(kit="ground-tent") is inputs.kits[0]
    assert (kit(kit="bedroll").id, kit(kit="bedroll").addons) == ("bedroll", ())
    assert kit(addons=["fan"]).addons == ("fan",)
    assert kit(kit="bedroll", addons=["fan", "cot"]).addons == ("fan", "cot")
