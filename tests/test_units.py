"""Units for showing: exact factors, and round trips that do not drift."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheltermap.units import UNITS, converted

# NIST Special Publication 811 (2008), appendix B.8, and its definitions in footnotes;
# the imperial gallon from the UK Units of Measurement Regulations 1995. Exact values.
EXACT = [
    (1, "lb", 0.45359237, "kg"),
    (1, "US gal", 3.785411784, "L"),
    (1, "imp gal", 4.54609, "L"),
    (1, "mi", 1.609344, "km"),
    (1, "mph", 1.609344, "km/h"),
    (1, "ft", 0.3048, "m"),
    (1, "in", 25.4, "mm"),
    (212, "degF", 100, "degC"),
    (-40, "degF", -40, "degC"),
    (9, "degF difference", 5, "K"),
]

# 100 km / 1.609344 = 62.1371 mi. On 10 L: 10 / 3.785411784 = 2.641721 US gal, so 23.5215;
# 10 / 4.54609 = 2.199692 imperial gal, so 28.2481.
CONSUMPTION = [("mpg (US)", 23.5215), ("mpg (imp)", 28.2481)]

PAIRS = [
    (a.name, b.name)
    for a in UNITS.values()
    for b in UNITS.values()
    if a.base == b.base and a is not b
]


@pytest.mark.parametrize(("value", "unit", "expected", "base"), EXACT)
def test_exact_factors(value, unit, expected, base):
    """Defined factors hold to the last digit a float has."""
    assert converted(value, unit, base) == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize(("unit", "expected"), CONSUMPTION)
def test_consumption_turns_over(unit, expected):
    """Miles on a gallon come from miles and gallons of that name."""
    assert converted(10, "L/100 km", unit) == pytest.approx(expected, abs=0.00005)


@given(st.floats(0.001, 1e6), st.sampled_from(PAIRS))
def test_round_trips_do_not_drift(value, pair):
    """A hundred trips there and back end where the first one did, to rounding."""
    there, back = pair
    now = value
    for _ in range(100):
        now = converted(converted(now, there, back), back, there)
    assert now == pytest.approx(value, rel=1e-12, abs=1e-10)


def test_missing_stays_missing():
    """No value in, no value out, and nothing burnt has no mpg."""
    assert math.isnan(converted(math.nan, "kg", "lb"))
    assert math.isnan(converted(0, "L/100 km", "mpg (US)"))


def test_every_gallon_says_which():
    """A bare gallon or mpg would be a guess of one fifth."""
    gallons = [name for name in UNITS if "gal" in name or "mpg" in name]
    assert len(gallons) == 4
    assert all("US" in name or "imp" in name for name in gallons)


def test_unknown_and_unlike_units_are_refused():
    """Errors name what came and what is allowed."""
    with pytest.raises(ValueError, match=r"expected one of kg, lb.*got 'gal'"):
        converted(1, "gal", "L")
    with pytest.raises(ValueError, match=r"expected a unit of kg beside 'lb', got 'km'"):
        converted(1, "lb", "km")
