"""Sums and products that stay unknown when a term is unknown.

In: numbers or None. Out: a number, or None. NaN from arrays becomes None at the door.
"""

from __future__ import annotations

import math


def known(value) -> float | None:
    """Return a number, or None where it is missing."""
    if value is None or math.isnan(value):
        return None
    return float(value)


def product(*factors: float | None) -> float | None:
    """Return a product; unknown if a factor is."""
    return None if any(factor is None for factor in factors) else math.prod(factors)


def quotient(value: float | None, divisor: float | None) -> float | None:
    """Return a quotient; unknown if a term is, or if nothing is used up."""
    return value / divisor if value is not None and divisor else None


def beyond(value: float | None, limit: float) -> float | None:
    """Return how much of a value a limit does not take."""
    return None if value is None else max(0.0, value - limit)


def total(values) -> float | None:
    """Return a sum; unknown if a term is."""
    values = list(values)
    return None if any(value is None for value in values) else math.fsum(values)


def largest(values) -> float | None:
    """Return the largest value; unknown if one is."""
    values = list(values)
    return None if any(value is None for value in values) else max(values)


def smallest(values) -> float | None:
    """Return the smallest value; unknown if one is."""
    values = list(values)
    return None if any(value is None for value in values) else min(values)
