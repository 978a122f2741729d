"""The kernel's arithmetic, compiled: what the optional extra ``speed`` adds.

In: the functions of ``suitability.kernel``. Out: a function that fills a block of results.
Assumes numba is installed and single precision. The arithmetic is the kernel's own source,
compiled with elementary functions free of branches and calls, because only those become
vector code.
"""

from __future__ import annotations

from collections.abc import Iterable
from types import FunctionType

import numba
import numpy as np
from numpy.polynomial import Chebyshev, Polynomial

from sheltermap import air
from sheltermap.suitability import kernel
from sheltermap.vocabulary import FACTORS, MISSING_FACTOR, NO_FACTOR

_OPTIONS = {"error_model": "numpy", "fastmath": {"contract"}, "nogil": True, "cache": True}
_compile = numba.njit(**_OPTIONS, forceinline=True)  # one loop body, which LLVM can widen
_LN2, _ROOT2 = np.log(2.0), np.sqrt(2.0)


def _fit(function, low: float, high: float, degree: int) -> tuple[np.float32, ...]:
    """Return a near-minimax polynomial's coefficients, constant first."""
    fitted = Chebyshev.interpolate(function, degree, (low, high)).convert(kind=Polynomial)
    return tuple(np.float32(c) for c in fitted.coef)


def _log1p_over_x(x):
    """Return log(1 + x) / x, 1 at 0."""
    return np.where(x == 0, 1.0, np.log1p(x) / np.where(x == 0, 1.0, x))


_EXP = _fit(np.exp, -_LN2 / 2, _LN2 / 2, 5)  # error 2e-7 of the result
_LOG = _fit(_log1p_over_x, 1 / _ROOT2 - 1, _ROOT2 - 1, 9)  # error 6e-8
_NORMAL = tuple(np.float32(c) for c in kernel.NORMAL)

_ONE, _HALF, _ROOT = np.float32(1), np.float32(0.5), np.float32(_ROOT2)
_PER_LN2, _LN2_ALL = np.float32(1 / _LN2), np.float32(_LN2)
_LEAST_POWER, _FURTHEST = np.float32(-87), np.float32(kernel.FURTHEST)
_PER_VAPOUR = np.float32(1 / air.SATURATION_AT_ZERO)
_SLOPE, _OFFSET = np.float32(air.SATURATION_SLOPE), np.float32(air.SATURATION_OFFSET)
_BIAS, _MANTISSA_BITS = np.int32(127), np.int32(23)
_MANTISSA, _ONE_BITS = np.int32(0x7FFFFF), np.int32(0x3F800000)
_NEVER = np.float32(-1e30)
_LEAST_RISK = np.float32(kernel.LEAST_RISK)
_NO_FACTOR, _MISSING_FACTOR = np.float32(NO_FACTOR), np.float32(MISSING_FACTOR)
_COLD, _HEAT, _WET, _WIND, _CONDENSATION = (np.float32(i) for i in range(5))
_BLOCK, _RESULTS = kernel.BLOCK, len(kernel.CORE) + 1
# Rows a power of two apart would all compete for the same places in the cache.
_ROW = _BLOCK + 144


@_compile
def maximum(a, b):
    """Return the larger number, missing if one is."""
    return a if a > b or a != a else b


@_compile
def minimum(a, b):
    """Return the smaller number, missing if one is."""
    return a if a < b or a != a else b


@_compile
def at_least(value, limit):
    """Return a number, or the limit where it is below it; missing stays missing."""
    return limit if value < limit else value


@_compile
def at_most(value, limit):
    """Return a number, or the limit where it is above it; missing stays missing."""
    return limit if value > limit else value


@_compile
def exp(x):
    """Return exp of a number below 87; 0 below -87."""
    return _power(at_least(x, _LEAST_POWER))


@_compile
def _power(x):
    """Return exp of a number from -87 to 87: a power of two times a polynomial."""
    whole = np.floor(x * _PER_LN2 + _HALF)
    r = x - whole * _LN2_ALL
    c = _EXP
    p = c[0] + r * (c[1] + r * (c[2] + r * (c[3] + r * (c[4] + r * c[5]))))
    power = np.int32((np.int32(whole) + _BIAS) << _MANTISSA_BITS)
    return p * power.view(np.float32)


@_compile
def dewpoint(vapour):
    """Return the dewpoint of a vapour pressure above 0 [kPa]. [degC]"""
    ratio = np.float32(vapour * _PER_VAPOUR)
    bits = ratio.view(np.int32)
    power = np.int32((bits >> _MANTISSA_BITS) - _BIAS)
    m = np.int32((bits & _MANTISSA) | _ONE_BITS).view(np.float32)
    upper = m > _ROOT
    m = m * _HALF if upper else m
    x = m - _ONE
    c = _LOG
    p = c[5] + x * (c[6] + x * (c[7] + x * (c[8] + x * c[9])))
    p = c[0] + x * (c[1] + x * (c[2] + x * (c[3] + x * (c[4] + x * p))))
    k = np.float32(power) + (_ONE if upper else np.float32(0))
    g = x * p + k * _LN2_ALL
    # The bits of a missing number are a number: put the missing one back.
    g = g + (ratio - ratio)
    return _OFFSET * g / (_SLOPE - g)


@_compile
def normal(z):
    """Return the normal distribution function of a number, as the kernel fits it."""
    z = at_most(at_least(z, -_FURTHEST), _FURTHEST)
    t = z * z
    c = _NORMAL
    odds = c[0] + t * (c[1] + t * (c[2] + t * (c[3] + t * (c[4] + t * c[5]))))
    return _ONE / (_ONE + _power(-odds * z))


def _compiled(function):
    """Return a function of the kernel compiled with this module's names in it."""
    return _compile(FunctionType(function.__code__, globals(), function.__name__))


chill = _compiled(kernel.chill)
swelter = _compiled(kernel.swelter)
drip = _compiled(kernel.drip)
kit_risks = _compiled(kernel.kit_risks)


@numba.njit(**_OPTIONS)
def _fill(rows, windy, kit, open_cold, wet_mode, awning):
    """Fill one kit's block: terms stand first in `rows`, results behind them."""
    # One array with a fixed length a row: with two, or a length that only the call knows,
    # the compiler cannot see that results never overwrite terms and stays with one night
    # at a time.
    for i in range(_BLOCK):
        cold, heat, wet, wind, condensation, share, _, _, _, _, _ = kit_risks(
            rows[i],
            rows[_ROW + i],
            rows[2 * _ROW + i],
            rows[3 * _ROW + i],
            rows[4 * _ROW + i],
            rows[5 * _ROW + i],
            rows[6 * _ROW + i],
            rows[7 * _ROW + i],
            rows[8 * _ROW + i],
            rows[9 * _ROW + i],
            rows[10 * _ROW + i],
            rows[11 * _ROW + i],
            rows[12 * _ROW + i],
            rows[13 * _ROW + i],
            rows[14 * _ROW + i],
            rows[15 * _ROW + i],
            None if windy is None else rows[16 * _ROW + i],
            kit,
            open_cold,
            wet_mode,
            awning,
        )
        largest, factor = _LEAST_RISK, _NO_FACTOR
        factor = _COLD if cold > largest else factor
        largest = maximum(cold, largest)
        factor = _HEAT if heat > largest else factor
        largest = maximum(heat, largest)
        factor = _WET if wet > largest else factor
        largest = maximum(wet, largest)
        factor = _WIND if wind > largest else factor
        largest = maximum(wind, largest)
        factor = _CONDENSATION if condensation > largest else factor
        rows[17 * _ROW + i] = cold
        rows[18 * _ROW + i] = heat
        rows[19 * _ROW + i] = wet
        rows[20 * _ROW + i] = wind
        rows[21 * _ROW + i] = condensation
        rows[22 * _ROW + i] = share
        rows[23 * _ROW + i] = factor if share == share else _MISSING_FACTOR


def single_precision(numbers):
    """Return a kit's numbers with every float in single precision, tuples kept."""
    if isinstance(numbers, tuple):
        parts = [single_precision(part) for part in numbers]
        return type(numbers)(*parts) if hasattr(numbers, "_fields") else tuple(parts)
    return np.float32(numbers)


def risks(terms: kernel.Terms, kits: Iterable[kernel.KitNumbers]):
    """
    Yield each kit's results on a block, as the kernel's own loop does.

    Parameters
    ----------
    terms : kernel.Terms
        Arrays of one shape, at most a block long, or single values.
    kits : iterable of KitNumbers
        From `single_precision`.

    Yields
    ------
    sequence of arrays
        As ``kernel.CORE`` lists them; valid until the next kit.
    array
        Limiting factor.
    """
    count = max(np.size(term) for term in terms if term is not None)
    rows = np.empty((len(terms) + _RESULTS, _ROW), np.float32)
    for row, term in zip(rows, terms, strict=False):
        row[:count] = _NEVER if term is None else term
    rows[:, count:] = 0
    results = rows[len(terms) :, :count]
    windy = None if terms.wind is None else True
    for kit in kits:
        _fill(rows.reshape(-1), windy, kit, *kernel.choices(kit))
        if terms.wind is None:
            results[FACTORS.index("wind")] = np.nan
        yield results[:-1], results[-1]
