"""Elementary functions for compiled code: exp, log, normal and their like, free of branches.

In: one number in single precision. Out: one number. Assumes a compiler that widens the loop
in which they stand: that is why none of them branches or calls a library, and why
constants are in single precision. ``suitability.compiled`` puts them in the place of the
functions that the kernel calls by the same names; as they are they serve nobody.
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial import Chebyshev, Polynomial

from sheltermap import air
from sheltermap.suitability import kernel

_LN2, _ROOT2 = np.log(2.0), np.sqrt(2.0)


def _fit(function, low: float, high: float, degree: int) -> tuple[np.float32, ...]:
    """Return a near-minimax polynomial's coefficients, constant first."""
    fitted = Chebyshev.interpolate(function, degree, (low, high)).convert(kind=Polynomial)
    return tuple(np.float32(c) for c in fitted.coef)


def _log1p_over_x(x):
    """Return log(1 + x) / x, 1 at 0."""
    return np.where(x == 0, 1.0, np.log1p(x) / np.where(x == 0, 1.0, x))


_EXP = _fit(np.exp, -_LN2 / 2, _LN2 / 2, 5)  # error 1e-7 of the result
_LOG = _fit(_log1p_over_x, 1 / _ROOT2 - 1, _ROOT2 - 1, 7)  # error 8e-8, a float32 is no finer
_NORMAL = tuple(np.float32(c) for c in kernel.NORMAL)

_ZERO, _ONE, _HALF, _ROOT = map(np.float32, (0, 1, 0.5, _ROOT2))
_PER_LN2, _LN2_ALL, _MINUS_INFINITY = map(np.float32, (1 / _LN2, _LN2, -np.inf))
_LEAST_POWER, _FURTHEST = np.float32(-87), np.float32(kernel.FURTHEST)
_AT_ZERO, _PER_AT_ZERO = map(np.float32, (air.SATURATION_AT_ZERO, 1 / air.SATURATION_AT_ZERO))
_SLOPE, _OFFSET = np.float32(air.SATURATION_SLOPE), np.float32(air.SATURATION_OFFSET)
_BIAS, _MANTISSA_BITS = np.int32(127), np.int32(23)
_MANTISSA, _ONE_BITS = np.int32(0x7FFFFF), np.int32(0x3F800000)


def minimum(a, b):
    """Return the smaller number; missing if the first is."""
    return b if b < a else a


def maximum(a, b):
    """Return the larger number; missing if the first is."""
    return b if b > a else a


def at_least(value, limit):
    """Return a number, or the limit where it is below it; missing stays missing."""
    return limit if value < limit else value


def at_most(value, limit):
    """Return a number, or the limit where it is above it; missing stays missing."""
    return limit if value > limit else value


def power(x):
    """Return exp of a number from -87 to 87: a power of two times a polynomial."""
    whole = np.floor(x * _PER_LN2 + _HALF)
    r = x - whole * _LN2_ALL
    c = _EXP
    p = c[0] + r * (c[1] + r * (c[2] + r * (c[3] + r * (c[4] + r * c[5]))))
    two = np.int32((np.int32(whole) + _BIAS) << _MANTISSA_BITS)
    return p * two.view(np.float32)


def exp(x):
    """Return exp of a number below 87; 0 below -87."""
    return power(at_least(x, _LEAST_POWER))


def log(x):
    """Return the logarithm of a number, minus infinity up to 0."""
    x = np.float32(x)
    bits = x.view(np.int32)
    two = np.float32((bits >> _MANTISSA_BITS) - _BIAS)
    m = np.int32((bits & _MANTISSA) | _ONE_BITS).view(np.float32)
    upper = m > _ROOT
    m = m * _HALF if upper else m
    two = two + _ONE if upper else two
    r = m - _ONE
    c = _LOG
    p = c[4] + r * (c[5] + r * (c[6] + r * c[7]))
    p = c[0] + r * (c[1] + r * (c[2] + r * (c[3] + r * p)))
    found = r * p + two * _LN2_ALL
    # The bits of a missing number are those of some number: put the missing one back.
    return _MINUS_INFINITY if x <= _ZERO else found + (x - x)


def sqrt(x):
    """Return the square root of a number."""
    return np.sqrt(x)


def saturation(t):
    """Return FAO-56 eq. 11."""
    return _AT_ZERO * exp(_SLOPE * t / (t + _OFFSET))


def dewpoint(vapour):
    """Return FAO-56 eq. 11 solved for temperature, for a pressure above 0."""
    g = log(vapour * _PER_AT_ZERO)
    return _OFFSET * g / (_SLOPE - g)


def normal(z):
    """Return the normal distribution function of a number, without exp and division."""
    a = at_most(abs(z), _FURTHEST)
    c = _NORMAL
    # Sums side by side instead of one long one: the processor waits less.
    square = a * a
    low = (c[0] + a * c[1]) + square * (c[2] + a * c[3])
    high = (c[4] + a * c[5]) + square * (c[6] + a * c[7])
    p = low + square * square * high
    p = p * p
    p = p * p
    tail = _HALF * p * p
    return _ONE - tail if z > _ZERO else tail


FUNCTIONS = (
    minimum,
    maximum,
    at_least,
    at_most,
    power,
    exp,
    log,
    sqrt,
    saturation,
    dewpoint,
    normal,
)
"""All of them, each after those it calls."""
