"""The list of kits: hand-made limits in their columns, ids of users' files before shipped ones."""

from __future__ import annotations

import pytest

from sheltermap.report.kit_list import kit_table, known_kit, listed_kit
from sheltermap.shelters.kit import load_kits
from sheltermap.suitability.card import KitLimits
from sheltermap.vocabulary import InputError


def listed(**changed):
    """Return a row of the list with limits that differ in every place."""
    limits = KitLimits((-4.6, float("nan")), (31.4, 25.0), (35.2, -1e-9), (28, 23), -12.0, None)
    return listed_kit(load_kits()["bedroll"], limits) | changed


def test_limits_are_pairs_of_dry_and_humid_air():
    """A missing one is null, and none is minus nought."""
    row = listed()
    assert row["coldest_low_c"] == {"dry": -4.6, "humid": None}
    assert row["hottest_bedtime_c"] == {"dry": 31.4, "humid": 25.0}
    assert str(row["hottest_bedtime_with_fan_c"]) == "{'dry': 35.2, 'humid': 0.0}"
    third = KitLimits((1 / 3, 2 / 3), (31, 25), (35, 29), (28, 23), -12.0, None)
    coldest = listed_kit(load_kits()["bedroll"], third)["coldest_low_c"]
    assert coldest == {"dry": 0.333333, "humid": 0.666667}


def test_a_row_stands_in_its_columns():
    """Figures are rounded to what a table holds; a missing limit is a dash."""
    figures = {"id": "x", "sleeps": 2, "mass_kg": 16.4, "packed_litres": 98.7, "price": 1234.0}
    head, units, row, *_ = kit_table([listed(**figures)])
    assert head == ("kit               sleeps   kg litres  price  coldest   hottest   with a fan")
    assert units.split() == ["dry,", "humid", "air", "[degC]", "low", "bedtime"]
    # Limits stand under their words.
    assert (units.index("low"), units.index("bedtime")) == (
        head.index("coldest"),
        head.index("hottest"),
    )
    assert row == "x                      2   16     99   1234  -5, -     31, 25    35, 0"


def test_whose_nights_and_which_add_ons_are_told():
    """Below the table, in lines of 80 columns; without add-ons nothing is said of them."""
    carrying = listed(id="x", addons=["fan", "insulating-mat"]), listed(id="y", addons=[])
    text = " ".join(kit_table(carrying, "of your sleepers")[5:])
    assert text == (
        "At these limits half the nights of your sleepers are sound. Counted with add-ons: "
        "x with fan and insulating-mat."
    )
    assert kit_table([listed(addons=[])])[-1] == (
        "At these limits half the nights of usual sleepers are sound."
    )
    # "At these limits half the nights of <x> are sound." is 46 columns and those of x.
    for more, lines in ((34, 1), (35, 2)):
        whole = kit_table([listed(addons=[])], f"of {'x' * more}")[4:]
        assert len(whole) == lines


@pytest.mark.parametrize("asked", ["bedroll", "Bedroll", "BEDROLL"])
def test_a_kit_is_known_by_its_id_in_any_case(asked):
    """As names of legs are."""
    assert known_kit(asked).id == "bedroll"


def test_an_unknown_kit_names_the_known_ones():
    """With what was meant, and who asked."""
    with pytest.raises(InputError) as caught:
        known_kit("bedrol", option="shelter.kits")
    (problem,) = caught.value.problems
    assert (problem.key, problem.got) == ("shelter.kits", "'bedrol'")
    assert problem.expected.startswith("one of ") and "'bedroll'" in problem.mend
    assert set(problem.expected.removeprefix("one of ").split(", ")) == set(load_kits())
