"""Tests of the kinds of hazard: whom they threaten and what a shield can do."""

import numpy as np
import pytest

from sheltermap.hazards.kinds import (
    HAZARD_KINDS,
    NET,
    PROTECTIONS,
    cautions,
    shield,
    shielded_level,
)
from sheltermap.vocabulary import Level

# Kind, a kit that it threatens, a kit that is shielded: from the description of each kind.
SHIELDED = [
    ("large-animals", ("ground", NET), ("roof",)),
    ("large-animals", ("raised",), ("hard",)),
    ("water-animals", ("ground",), ("roof",)),
    ("crawling-animals", ("ground",), ("raised",)),
    ("biting-insects", ("ground",), ("ground", NET)),
    ("dust-storm", ("roof", NET), ("hard",)),
    ("lightning", ("raised",), ("hard",)),
]
NEVER_SHIELDED = [
    "flood",
    "flash-flood",
    "road-closed",
    "tropical-cyclone",
    "wildfire",
    "avalanche",
    "altitude",
    "security",
    "permit",
]


@pytest.mark.parametrize(("kind", "threatened", "shielded"), SHIELDED)
def test_kind_lowers_the_level_of_the_kit_that_shields_only(kind, threatened, shielded):
    """A serious hazard stays serious for the threatened and is an advisory for the shielded."""
    assert int(shielded_level(Level.SERIOUS, kind, threatened)) == Level.SERIOUS
    assert int(shielded_level(Level.SERIOUS, kind, shielded)) == Level.ADVISORY


@pytest.mark.parametrize("kind", sorted({kind for kind, _, _ in SHIELDED}))
def test_no_shield_makes_a_hazard_none(kind):
    """An advisory stays one, however the kit is built; and the words say what remains."""
    assert int(shielded_level(Level.ADVISORY, kind, PROTECTIONS)) == Level.ADVISORY
    for reason in HAZARD_KINDS[kind].shields.values():
        when, _, remains = reason.partition("; ")
        assert when.startswith("while you ") and remains


@pytest.mark.parametrize("kind", NEVER_SHIELDED)
def test_nothing_shields_from_what_no_kit_stands(kind):
    """Every protection at once leaves the level as it is."""
    levels = np.arange(5)
    np.testing.assert_array_equal(shielded_level(levels, kind, PROTECTIONS), levels)


def test_every_kind_is_either_shielded_or_never():
    """No kind of the table escapes the two tests above."""
    assert {kind for kind, _, _ in SHIELDED} | set(NEVER_SHIELDED) == set(HAZARD_KINDS)


@pytest.mark.parametrize("kind", sorted({kind for kind, _, _ in SHIELDED}))
def test_shields_lower_by_one_at_most_and_never_a_closure(kind):
    """All protections together count once; an order to stay away binds everyone."""
    assert shielded_level([0, 1, 2, 3, 4], kind, PROTECTIONS).tolist() == [0, 1, 1, 2, 4]


def test_each_kind_has_words_for_people():
    """Title and caution are there, and the caution is a sentence."""
    for kind in HAZARD_KINDS.values():
        assert kind.title and kind.caution.endswith("."), kind.name


@pytest.mark.parametrize(
    ("kinds", "told"),
    [
        (["altitude"], ["altitude"]),
        (["flood", "dust-storm", "flood"], ["flood", "dust-storm"]),
        # Different advice, so both.
        (["flood", "flash-flood"], ["flood", "flash-flood"]),
    ],
)
def test_kinds_met_together_caution_once(kinds, told):
    """No sentence stands twice on a page."""
    words = cautions(kinds)
    assert list(words) == told
    sentences = [one for text in words.values() for one in text.split(". ")]
    assert len(set(sentences)) == len(sentences)


def test_unknown_words_are_refused():
    """A typing error is not an absent hazard."""
    with pytest.raises(ValueError, match=r"protection: expected one of .* got 'balloon'"):
        shield("flood", ["balloon"])
    with pytest.raises(ValueError, match=r"hazard kind: expected one of .* got 'flod'"):
        shield("flod", ["ground"])
