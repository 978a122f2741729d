"""The kernel's arithmetic, compiled: what the optional extra ``speed`` adds.

In: a block of nights and the kits. Out: the same results as from ``suitability.blocks``'s
own loop. Assumes numba is installed and single precision. The arithmetic is the kernel's
source, compiled with elementary functions free of branches and calls, because only those
become vector code; the functions below are meant for that and not to be called as they are.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from types import FunctionType

import numpy as np
from numpy.polynomial import Chebyshev, Polynomial

from sheltermap import air
from sheltermap.suitability import kernel
from sheltermap.suitability.kernel import kit_risks, night_terms
from sheltermap.suitability.plain_numbers import KitNumbers, NightNumbers, choices
from sheltermap.vocabulary import FACTORS, MISSING_FACTOR, NO_FACTOR

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
_TAIL = tuple(
    np.float32(c)
    for c in (
        1.0,
        -0.09973637,
        -0.034806571,
        -0.00076853847,
        0.0016946547,
        -5.4894799e-06,
        -4.7564675e-05,
        4.2962642e-06,
    )
)  # eighth root of erfc(z / root 2) up to `FURTHEST`, fitted here; error 9e-8, rounded 2.8e-7

_ZERO, _ONE, _HALF, _ROOT = map(np.float32, (0, 1, 0.5, _ROOT2))
_PER_LN2, _LN2_ALL, _MINUS_INFINITY = map(np.float32, (1 / _LN2, _LN2, -np.inf))
_LEAST_POWER, _FURTHEST = np.float32(-87), np.float32(kernel.FURTHEST)
_AT_ZERO, _PER_AT_ZERO = map(np.float32, (air.SATURATION_AT_ZERO, 1 / air.SATURATION_AT_ZERO))
_SLOPE, _OFFSET = np.float32(air.SATURATION_SLOPE), np.float32(air.SATURATION_OFFSET)
_BIAS, _MANTISSA_BITS = np.int32(127), np.int32(23)
_MANTISSA, _ONE_BITS = np.int32(0x7FFFFF), np.int32(0x3F800000)
_LEAST_RISK = np.float32(kernel.LEAST_RISK)
_NO_FACTOR, _MISSING_FACTOR = np.float32(NO_FACTOR), np.float32(MISSING_FACTOR)
_COLD, _HEAT, _WET, _WIND, _CONDENSATION = (np.float32(i) for i in range(5))
_INPUTS, _TERMS, _RESULTS = len(kernel.INPUTS) + 1, len(kernel.Terms._fields), len(kernel.CORE) + 1
_BLOCK = kernel.BLOCK
# Rows a power of two apart would all compete for the same places in the cache.
_ROW = _BLOCK + 144
_thread = threading.local()


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
    c = _TAIL
    p = c[3] + a * (c[4] + a * (c[5] + a * (c[6] + a * c[7])))
    p = c[0] + a * (c[1] + a * (c[2] + a * p))
    p = p * p
    p = p * p
    tail = _HALF * p * p
    return _ONE - tail if z > _ZERO else tail


# One array with a fixed length a row holds all that the loops below read and write. With
# two, or a length that only the call knows, the compiler cannot see that results never
# overwrite terms, and stays with one night at a time.


def prepare(rows, windy, numbers):
    """Fill the terms of a block, which stand behind its inputs in `rows`."""
    for i in range(_BLOCK):
        (t0, t1, t2, t3, t4, t5, t6, t7, t8, t9, t10, t11, t12, t13, t14, t15, gale) = night_terms(
            rows[0 * _ROW + i],
            rows[1 * _ROW + i],
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
            None if windy is None else rows[12 * _ROW + i],
            rows[13 * _ROW + i],
            numbers,
        )
        rows[14 * _ROW + i] = t0
        rows[15 * _ROW + i] = t1
        rows[16 * _ROW + i] = t2
        rows[17 * _ROW + i] = t3
        rows[18 * _ROW + i] = t4
        rows[19 * _ROW + i] = t5
        rows[20 * _ROW + i] = t6
        rows[21 * _ROW + i] = t7
        rows[22 * _ROW + i] = t8
        rows[23 * _ROW + i] = t9
        rows[24 * _ROW + i] = t10
        rows[25 * _ROW + i] = t11
        rows[26 * _ROW + i] = t12
        rows[27 * _ROW + i] = t13
        rows[28 * _ROW + i] = t14
        rows[29 * _ROW + i] = t15
        rows[30 * _ROW + i] = _ZERO if windy is None else gale


def fill(rows, windy, kit, open_cold, wet_mode, awning, dry_cold, dry_face):
    """Fill one kit's results of a block, which stand behind its terms in `rows`."""
    for i in range(_BLOCK):
        cold, heat, wet, wind, condensation, share, _, _, _, _, _ = kit_risks(
            rows[14 * _ROW + i],
            rows[15 * _ROW + i],
            rows[16 * _ROW + i],
            rows[17 * _ROW + i],
            rows[18 * _ROW + i],
            rows[19 * _ROW + i],
            rows[20 * _ROW + i],
            rows[21 * _ROW + i],
            rows[22 * _ROW + i],
            rows[23 * _ROW + i],
            rows[24 * _ROW + i],
            rows[25 * _ROW + i],
            rows[26 * _ROW + i],
            rows[27 * _ROW + i],
            rows[28 * _ROW + i],
            rows[29 * _ROW + i],
            None if windy is None else rows[30 * _ROW + i],
            kit,
            open_cold,
            wet_mode,
            awning,
            dry_cold,
            dry_face,
        )
        largest, factor = _LEAST_RISK, _NO_FACTOR
        factor = _COLD if cold > largest else factor
        largest = at_least(largest, cold)
        factor = _HEAT if heat > largest else factor
        largest = at_least(largest, heat)
        factor = _WET if wet > largest else factor
        largest = at_least(largest, wet)
        factor = _WIND if wind > largest else factor
        largest = at_least(largest, wind)
        factor = _CONDENSATION if condensation > largest else factor
        rows[31 * _ROW + i] = cold
        rows[32 * _ROW + i] = heat
        rows[33 * _ROW + i] = wet
        rows[34 * _ROW + i] = wind
        rows[35 * _ROW + i] = condensation
        rows[36 * _ROW + i] = share
        rows[37 * _ROW + i] = factor if share == share else _MISSING_FACTOR


def _state() -> str:
    """
    Return a digest of all that the machine code is made from.

    The compiler's store on disk looks at one file; a change in another would find the
    former code there, and run it.
    """
    files = (__file__, kernel.__file__, air.__file__)
    return hashlib.sha256(b"".join(Path(file).read_bytes() for file in files)).hexdigest()[:12]


@cache
def machine_code():
    """Return `prepare` and `fill` compiled, with the kernel's functions and those above."""
    import numba

    options = {"error_model": "numpy", "fastmath": {"contract"}, "nogil": True, "cache": True}
    try:
        numba.njit(**options)(minimum)
    except RuntimeError:  # nowhere to write: compile again in every process
        options["cache"] = False
    constants = {
        name: np.float32(value) for name, value in vars(kernel).items() if isinstance(value, float)
    }
    names, state = dict(globals(), **constants), _state()
    small = (minimum, maximum, at_least, at_most, power, exp, log, sqrt, saturation, dewpoint)
    limits = (kernel.coldest_allowed, kernel.warmest_allowed)
    middle = (normal, *limits, kernel.chill, kernel.swelter, kernel.drip)
    inlined = (*small, *middle, night_terms, kit_risks)
    for function in (*inlined, prepare, fill):
        copied = FunctionType(function.__code__, names, function.__name__)
        copied.__qualname__ = f"{function.__name__}_{state}"
        one_body = function in inlined  # so that the compiler can widen the loops
        names[function.__name__] = numba.njit(**options, forceinline=one_body)(copied)
    return names["prepare"], names["fill"]


def single_precision(numbers):
    """Return the numbers of a tuple in single precision, its names and nesting kept."""
    if isinstance(numbers, tuple):
        parts = [single_precision(part) for part in numbers]
        return type(numbers)(*parts) if hasattr(numbers, "_fields") else tuple(parts)
    return np.float32(numbers)


def _rows_of_this_thread() -> np.ndarray:
    """Return room for a block; fresh memory for every block would cost a third of the time."""
    if not hasattr(_thread, "rows"):
        _thread.rows = np.empty((_INPUTS + _TERMS + _RESULTS, _ROW), np.float32)
    return _thread.rows


def risks(
    night: Sequence[np.ndarray | None],
    heavy: np.ndarray,
    numbers: NightNumbers,
    kits: Iterable[KitNumbers],
    drops: bool,
):
    """
    Yield each kit's results on a block, as the loop of ``suitability.blocks`` does.

    Parameters
    ----------
    night : sequence of arrays
        As ``kernel.INPUTS`` lists them: of one length, at most a block, or single values.
    heavy : array
        From ``kernel.heavy_share``.
    numbers : NightNumbers
    kits : iterable of KitNumbers
        Both from `single_precision`.
    drops : bool
        As for ``plain_numbers.choices``.

    Yields
    ------
    sequence of arrays
        As ``kernel.CORE`` lists them; valid until the next kit.
    array
        Limiting factor.
    None
        In the place of the terms.
    """
    prepare_block, fill_block = machine_code()
    count = max(np.size(values) for values in night if values is not None)
    rows = _rows_of_this_thread()
    for row, values in zip(rows, (*night, heavy), strict=False):
        row[:count] = _ZERO if values is None else values
        row[count:] = _ONE
    windy = None if night[-1] is None else True
    prepare_block(rows.reshape(-1), windy, numbers)
    results = rows[-_RESULTS:, :count]
    for kit in kits:
        fill_block(rows.reshape(-1), windy, kit, *choices(kit, drops))
        if windy is None:
            results[FACTORS.index("wind")] = np.nan
        yield results[:-1], results[-1], None
