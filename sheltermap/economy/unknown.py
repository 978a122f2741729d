"""Sums and products that stay unknown when a term is unknown.

In: numbers or None. Out: a number, or None. NaN from arrays becomes None at the door.
"""

from __future__ import annotations

import math
from collections.abc import Iterable


def known(value: float | None) -> float | None:
    """Return a number, or None where it is missing."""
    if value is None or math.isnan(value):
        return None
    return float(value)


def difference(value: float | None, part: float | None) -> float | None:
    """Return what is left of a value; unknown if a term is."""
    return None if value is None or part is None else value - part


def product(*factors: float | None) -> float | None:
    """Return a product; unknown if a factor is."""
    terms = all_known(factors)
    return None if terms is None else math.prod(terms)


def quotient(value: float | None, divisor: float | None) -> float | None:
    """Return a quotient; unknown if a term is, or if nothing is used up."""
    return value / divisor if value is not None and divisor else None


def beyond(value: float | None, limit: float) -> float | None:
    """Return how much of a value a limit does not take."""
    return None if value is None else max(0.0, value - limit)


def total(values: Iterable[float | None]) -> float | None:
    """Return a sum; unknown if a term is."""
    terms = all_known(values)
    return None if terms is None else math.fsum(terms)


def largest(values: Iterable[float | None]) -> float | None:
    """Return the largest value; unknown if one is."""
    terms = all_known(values)
    return None if terms is None else max(terms)


def smallest(values: Iterable[float | None]) -> float | None:
    """Return the smallest value; unknown if one is."""
    terms = all_known(values)
    return None if terms is None else min(terms)


def all_known(values: Iterable[float | None]) -> list[float] | None:
    """Return values where all are known, else None."""
    terms = list(values)
    found = [term for term in terms if term is not None]
    return found if len(found) == len(terms) else None
