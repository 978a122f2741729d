"""Journeys across the end of February."""

from datetime import date

import pytest

from sheltermap.dates import in_leap_springs


@pytest.mark.parametrize(
    ("first", "last", "met"),
    [
        ((2027, 7, 1), (2028, 3, 1), True),  # The day after 29 February is met.
        ((2027, 7, 1), (2028, 2, 29), False),
        ((2028, 5, 31), (2028, 6, 9), True),  # 90 days after 28 February end on 28 May.
        ((2028, 6, 1), (2028, 6, 9), False),
        ((2028, 1, 1), (2029, 3, 1), False),  # The spring of 2029 has 28 days in February.
        ((2028, 1, 1), (2029, 2, 28), True),
    ],
)
def test_leap_springs_are_those_that_a_journey_meets(first, last, met):
    """2028 has a 29 February, 2027 and 2029 don't; spring is from March to May."""
    assert in_leap_springs(date(*first), date(*last)) is met
