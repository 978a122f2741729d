"""Tests of the ascent rule. Expected nights are counted by hand from the rule's words."""

import math

import pytest

from sheltermap.hazards.altitude import (
    ascent_problem,
    first_high_night,
    move_refused,
    nights_needed,
    rest_nights,
)


@pytest.mark.parametrize(
    ("below", "above", "nights"),
    [
        (100, 2500, 0),
        (0, 3000, 1),
        (100, 3500, 3),  # Two of climbing, one of rest after 1,000 m.
        (2500, 4000, 4),  # Three of climbing, one of rest.
        (3600, 4600, 3),
        (3600, 3700, 1),
        (2400, 2501, 1),
        (2500, 3001, 2),
        (4000, 1000, 0),
    ],
)
def test_nights_of_a_climb(below, above, nights):
    """At most 500 m a night above 2,500 m, and a rest night for each 1,000 m."""
    assert nights_needed(below, above) == nights


def test_climb_in_a_day_is_refused_with_the_nights_it_needs():
    """The message names the heights, the nights and the rest."""
    message = ascent_problem(100, 3500, 1)
    for words in ("100 m to 3,500 m", "3 nights", "1 of them for rest", "Add 2 nights"):
        assert words in message


def test_way_round_matters_only_for_the_climb():
    """Down is free; a journey that starts high is refused from its home's height."""
    assert ascent_problem(3500, 100, 0) is None
    assert ascent_problem(0, 3500, 1) is not None


def test_enough_nights_are_accepted():
    """Exactly the nights needed, and more."""
    assert ascent_problem(100, 3500, 3) is None
    assert ascent_problem(100, 3500, 9) is None


@pytest.mark.parametrize(
    ("below", "above", "refused"),
    [
        (30, 4400, True),
        (2600, 4400, True),
        (2900, 3600, True),
        (3100, 3650, True),
        (2700, 3150, False),
        (0, 3400, False),
        (4400, 30, False),
        (2000, 3500, False),
        (2000, 3501, True),
        (3200, 3700, False),
        (3200, 3701, True),
    ],
)
def test_moves_are_refused_by_the_height_above_3000_m(below, above, refused):
    """More than 500 m above 3,000 m, or above the camp before where that is higher."""
    assert move_refused(below, above) is refused
    assert ("in one move" in (ascent_problem(below, above, 99) or "")) is refused


@pytest.mark.parametrize(
    ("below", "above", "told"),
    [
        (0, 3400, True),
        (2700, 3150, True),
        (2800, 2801, True),
        (2801, 3300, False),
        (2900, 3300, False),
        (3400, 0, False),
        (0, 2800, False),
    ],
)
def test_first_nights_above_2800_m_are_cautioned(below, above, told):
    """Who has slept as high before knows."""
    assert bool(first_high_night(below, above)) is told


def test_missing_height_is_not_a_low_one():
    """A height nobody knows can't be checked."""
    for below, above in ((100, math.nan), (math.nan, 100)):
        with pytest.raises(ValueError, match="sleeping height"):
            nights_needed(below, above)


@pytest.mark.parametrize(
    ("below", "above", "rest"),
    [(0, 3499, 0), (0, 3500, 1), (2700, 3699, 0), (2700, 3700, 1), (2700, 4700, 2), (4000, 0, 0)],
)
def test_a_night_of_rest_for_each_1000_m(below, above, rest):
    """Counted from 2,500 m, or from the camp before where that is higher; none on the way down."""
    assert rest_nights(below, above) == rest


@pytest.mark.parametrize(
    ("nights", "on_the_way", "slept", "missing"),
    [
        (6, 0, "", ""),
        (3, 1, "2 nights", "1 night"),
        (2, 1, "1 night", "2 nights"),
        (1, 2, "0 nights", "3 nights"),
    ],
)
def test_nights_on_the_way_to_a_camp_count_for_nothing(nights, on_the_way, slept, missing):
    """From 100 to 3,500 m the rule asks three nights of the stay: one has to be added for each
    that is slept below its camp."""
    words = ascent_problem(100, 3500, nights, on_the_way)
    if not missing:
        assert words is None
        return
    assert f" to 3,500 m in {slept}: " in words and f"Add {missing} in camps" in words
    one, more = "is on the way and counts for", f"{on_the_way} are on the way and count for"
    assert words.endswith(f" The first {one if on_the_way == 1 else more} nothing.")
