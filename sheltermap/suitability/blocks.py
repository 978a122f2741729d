"""Blocks: the kernel walked over arrays of any size, on every processor.

In: arrays of nights as ``kernel.INPUTS`` lists them and kits as plain numbers. Out: arrays,
one row a kit. Assumes every night stands alone. A block fits a cache, so memory is read
and written once whatever the number of kits.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from importlib.util import find_spec

import numpy as np

from sheltermap.suitability import compiled
from sheltermap.suitability.kernel import (
    BLOCK,
    CORE,
    INPUTS,
    LEAST_RISK,
    Terms,
    heavy_share,
    kit_risks,
    night_terms,
)
from sheltermap.suitability.plain_numbers import KitNumbers, NightNumbers, choices
from sheltermap.vocabulary import FACTORS, MISSING_FACTOR, NO_FACTOR

_FEWEST_FOR_NUMBA = 20_000_000  # nights times kits; below, loading it takes longer than numpy
_MOST_LIMITS = 2  # of one kind that the compiled code unrolls


def walked(
    night: Sequence[np.ndarray | None],
    kits: Sequence[KitNumbers],
    numbers: NightNumbers,
    tails: np.ndarray,
    keep: Sequence[str],
    explain: Sequence[Callable] = (),
    explained: int = 0,
    engine: str = "auto",
    workers: int | None = None,
) -> tuple[np.ndarray, ...]:
    """
    Return the results of every kit on every night.

    Parameters
    ----------
    night : sequence of arrays
        As `INPUTS` lists them, of shapes that broadcast.
    kits : sequence of KitNumbers
    numbers : NightNumbers
    tails : array
        From ``night.rain.heavy_tails``.
    keep : sequence of str
        Names out of `CORE` to return; writing results takes as long as finding them.
    explain : sequence of callables, optional
        One a kit: takes terms and parts of a block, returns `explained` more arrays.
    explained : int
        How many arrays those return.
    engine : {"auto", "numpy", "numba"}
        "auto" takes numba, where installed, for many nights in single precision.
    workers : int, optional
        Threads; as many as processors by default.

    Returns
    -------
    tuple of arrays, shape (kits, ...)
        Those of `keep`, the limiting factor (int8), and what `explain` adds.
    """
    kind = np.result_type(*(array for array in night if array is not None))
    shape = np.broadcast_shapes(*(array.shape for array in night if array is not None))
    count = int(np.prod(shape))
    flat = [_flat(array, shape, kind) for array in night]
    floats = [np.empty((len(kits), count), kind) for _ in range(len(keep) + explained)]
    which = np.empty((len(kits), count), np.int8)
    kept = [CORE.index(name) for name in keep]
    risks, tails = _numpy_risks, tails.astype(kind)
    if not explain and _compiles(engine, kits, kind, count * len(kits)):
        risks, kits = compiled.risks, [compiled.single_precision(kit) for kit in kits]
        numbers = compiled.single_precision(numbers)
        compiled.machine_code()  # once, before threads ask for it

    # Most nights drop nowhere: then dry ones are as cold as wet ones to most kits.
    drop = night[INPUTS.index("dry_drop")]
    drops = bool(drop.size > 1 or drop != 0)

    def walk(start):
        here = slice(start, min(start + BLOCK, count))
        with np.errstate(all="ignore"):
            block = [a if a is None or a.ndim == 0 else a[here] for a in flat]
            heavy = heavy_share(block, tails)
            found = risks(block, heavy, numbers, kits, drops)
            for row, (results, factor, terms) in enumerate(found):
                which[row, here] = factor
                for target, position in zip(floats, kept, strict=False):
                    target[row, here] = results[position]
                if explain:
                    # A night that misses an input has no explanation either.
                    known = 0.0 * results[len(FACTORS)]
                    more = explain[row](terms, results[len(CORE) :])
                    for target, value in zip(floats[len(kept) :], more, strict=True):
                        target[row, here] = value + known

    starts = range(0, count, BLOCK)
    workers = workers or os.cpu_count() or 1
    if len(starts) < 2 or workers == 1:
        for start in starts:
            walk(start)
    else:
        with ThreadPoolExecutor(workers) as pool:
            list(pool.map(walk, starts))
    ordered = (*floats[: len(kept)], which, *floats[len(kept) :])
    return tuple(values.reshape(len(kits), *shape) for values in ordered)


def _numpy_risks(night, heavy, numbers, kits, drops):
    """Yield each kit's `CORE` and `PARTS` on a block, its limiting factor, and the terms."""
    wind = FACTORS.index("wind")
    terms = Terms(*night_terms(*night, heavy, numbers))
    for kit in kits:
        results = kit_risks(*terms, kit, *choices(kit, drops))
        if terms.wind is None:
            results = (*results[:wind], np.nan, *results[wind + 1 :])
        yield results, limiting_factor(results[: len(FACTORS)], results[len(FACTORS)]), terms


def _flat(array, shape, kind):
    """Return an array as one row; a single value stays one."""
    if array is None:
        return None
    array = np.asarray(array, kind)
    if array.size == 1 and np.prod(shape) > 1:
        return array.reshape(())
    return np.broadcast_to(array, shape).reshape(-1)


def _compiles(engine, kits, kind, count):
    """Return whether numba is wanted, there, able, and worth loading."""
    if engine == "numpy" or kind != np.float32:
        return False
    few = all(
        len(limits) <= _MOST_LIMITS
        for kit in kits
        for mode in (kit.dry, kit.closed, kit.wet)
        for limits in (mode.cold, mode.hot)
    )
    return few and (engine == "numba" or (count >= _FEWEST_FOR_NUMBA and _has_numba()))


@cache
def _has_numba():
    """Return whether numba can be imported."""
    return find_spec("numba") is not None


def limiting_factor(factors: Sequence[np.ndarray], share: np.ndarray) -> np.ndarray:
    """
    Return which factor spoils most nights.

    Parameters
    ----------
    factors : sequence of arrays
        Probabilities in the order of `FACTORS`; NaN throughout where not assessed.
    share : array
        Share of sound nights; NaN where an input is missing.

    Returns
    -------
    int8 array
        Position in `FACTORS`, `NO_FACTOR` or `MISSING_FACTOR`.

    Examples
    --------
    >>> limiting_factor([np.array([0.1, 0.0]), np.array([0.3, 0.0])], np.array([0.6, 1.0]))
    array([ 1, -1], dtype=int8)
    """
    largest = np.full(np.shape(share), LEAST_RISK, np.result_type(share))
    which = np.full(np.shape(share), NO_FACTOR, np.int8)
    for position, risk in enumerate(factors):
        # Small integers times 0 or 1: choosing by mask would take ten times longer.
        larger = np.greater(risk, largest).astype(np.int8)
        which += (np.int8(position) - which) * larger
        largest = np.fmax(largest, risk)
    missing = np.isnan(share).astype(np.int8)
    return which + (np.int8(MISSING_FACTOR) - which) * missing
