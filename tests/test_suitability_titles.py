"""Titles inside sentences: ours begin small, a user's name stays as it was written."""

import pytest

from sheltermap.suitability.titles import in_sentence


@pytest.mark.parametrize(
    ("title", "words"),
    [
        # Titles of the shipped tables.
        ("Canvas bedroll", "canvas bedroll"),
        ("Ground tent with warm bedding", "ground tent with warm bedding"),
        ("Ground tent\u00a0×\u00a03", "ground tent\u00a0×\u00a03"),
        ("Warm bedding", "warm bedding"),
        ("12 V fan", "12 V fan"),
        ("A room", "a room"),
        # Names that no shipped table has.
        ("Hammock-Bivouac", "Hammock-Bivouac"),
        ("Hammock-Bivouac with warm bedding", "Hammock-Bivouac with warm bedding"),
        ("Ground tent Mark II", "Ground tent Mark II"),
        ("A Tent of Ours", "A Tent of Ours"),
        ("", ""),
    ],
)
def test_only_our_own_titles_are_lowered(title, words):
    """A name is no common noun."""
    assert in_sentence(title) == words
