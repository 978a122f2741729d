"""Words and small rules that every layer shares."""

from __future__ import annotations

import pytest

from sheltermap.vocabulary import edges_swapped, listed


@pytest.mark.parametrize(
    ("west", "east", "swapped"),
    [
        (90.0, -90.0, False),  # Half of the way round, over the 180th meridian.
        (90.5, -90.0, False),  # 179.5 degrees
        (89.5, -90.0, True),  # 180.5 degrees
        (-90.0, 91.0, False),  # 181 degrees, but not over the meridian: as written.
        (30.0, 30.0, False),
    ],
)
def test_a_box_over_the_meridian_reaches_at_most_half_round(west, east, swapped):
    """By hand: from west eastwards, past 180, to east."""
    assert edges_swapped(west, east) is swapped


@pytest.mark.parametrize(
    ("items", "words"),
    [([], ""), ([7], "7"), ([7, "x"], "7 or x"), ("abcd", "a, b, c or d")],
)
def test_items_are_joined_as_a_sentence_does(items, words):
    """Commas between all but the last two."""
    assert listed(items, "or") == words
