"""What is not known stays so through every sum: it is never nought, and never small."""

from __future__ import annotations

import math

import pytest

from sheltermap.economy.unknown import (
    beyond,
    difference,
    known,
    largest,
    product,
    quotient,
    smallest,
    total,
)


@pytest.mark.parametrize("combined", [total, largest, smallest, lambda terms: product(*terms)])
def test_one_unknown_term_makes_the_whole_unknown(combined):
    """Whichever place it has."""
    for terms in ([None, 2.0, 3.0], [2.0, None, 3.0], [2.0, 3.0, None], [None]):
        assert combined(terms) is None


def test_known_terms_by_hand():
    """5, 3, 2 and 6."""
    assert (total([2.0, 3.0]), largest([2.0, 3.0]), smallest([2.0, 3.0])) == (5, 3, 2)
    assert product(2.0, 3.0) == 6
    assert difference(5.0, 3.0) == 2
    assert quotient(6.0, 3.0) == 2
    assert (beyond(5.0, 3.0), beyond(2.0, 3.0)) == (2, 0)
    assert known(0) == 0.0 and isinstance(known(0), float)


def test_unknown_operands():
    """None or not a number; and nothing lasts for ever because nothing is used up."""
    assert known(None) is None and known(math.nan) is None
    assert difference(None, 3.0) is None and difference(5.0, None) is None
    assert quotient(None, 3.0) is None and quotient(6.0, None) is None
    assert quotient(6.0, 0.0) is None and quotient(0.0, 3.0) == 0
    assert beyond(None, 3.0) is None
