"""Blocks: kits scored over arrays of any size, on every processor.

In: arrays of nights as ``kernel.INPUTS`` lists them and kits as plain numbers. Out: arrays,
one row a kit. Assumes every night stands alone. A block fits a cache, so memory is read
and written once whatever the number of kits.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from importlib.util import find_spec

import numpy as np

from sheltermap import elementwise
from sheltermap.suitability import compiled, vectors
from sheltermap.suitability.kernel import CORE, INPUTS
from sheltermap.suitability.questions import KitNumbers, NightNumbers, questions_of

_NIGHTS = {"numpy": 1 << 16, "numba": 1 << 17}
"""In a block: more do not fit a cache, fewer cost calls. Compiled code cuts it further."""

_FEWEST_FOR_NUMBA = 20_000_000  # nights times kits; below, loading it takes longer than numpy


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
    given = [array for array in night if array is not None]
    kind = np.result_type(*given)
    shape = np.broadcast_shapes(*(array.shape for array in given))
    count = int(np.prod(shape))
    # Most nights drop nowhere: then dry ones are as cold as wet ones to most kits.
    drop = night[INPUTS.index("dry_drop")]
    drops, windy = bool(drop.size > 1 or drop != 0), night[-1] is not None
    asked, table = questions_of(kits, kind, drops=drops, windy=windy)
    tails, kept = tails.astype(kind), [CORE.index(name) for name in keep]
    floats = np.empty((len(keep) + explained, len(kits), count), kind)
    which = np.empty((len(kits), count), np.int8)
    compiles = not explain and _compiles(engine, kind, count * len(kits))
    if compiles:
        compiled.machine_code()  # once, before threads ask for it
    laid_out = shape or (1,)
    night = [array if array is None else _laid_out(array, laid_out) for array in night]

    thread = threading.local()

    def fill(index):
        block = [array if array is None else _run(array, index, kind) for array in night]
        start = np.ravel_multi_index([part.start or 0 for part in index], laid_out)
        if compiles:
            compiled.fill(block, tails, numbers, asked, table, kept, floats, which, start)
            return
        length = max(array.size for array in block if array is not None)
        here = slice(start, start + length)
        with np.errstate(all="ignore"):
            answers = _room(thread, (asked.count, length), kind)
            found = vectors.risks(block, tails, numbers, asked, table, answers)
            for row, (core, factor, terms, parts) in enumerate(found):
                which[row, here] = factor
                for target, position in zip(floats, kept, strict=False):
                    target[row, here] = core[position]
                if explain:
                    # A night that misses an input has no explanation either.
                    known = 0.0 * core[-1]
                    more = explain[row](terms, parts)
                    for target, values in zip(floats[len(kept) :], more, strict=True):
                        target[row, here] = values + known

    indices = elementwise.blocks(laid_out, _NIGHTS["numba" if compiles else "numpy"])
    workers = workers or os.cpu_count() or 1
    if workers == 1 or count <= _NIGHTS["numpy"]:
        for index in indices:
            fill(index)
    else:
        with ThreadPoolExecutor(workers) as pool:
            list(pool.map(fill, indices))
    return tuple(
        values.reshape(len(kits), *shape)
        for values in (*floats[: len(kept)], which, *floats[len(kept) :])
    )


def _laid_out(array, shape):
    """Return an array in the shape of all; a single value among many stays one."""
    if array.size == 1 and np.prod(shape) > 1:
        return array.reshape(())
    return array if array.shape == shape else np.broadcast_to(array, shape)


def _run(array, index, kind):
    """Return a block of an array as one row; a view where it lies so in memory."""
    part = array[index] if array.ndim else array
    return part.astype(kind, copy=False).reshape(-1 if array.ndim else ())


def _room(thread, shape, kind):
    """Return an array for a block's answers, the same memory for all blocks of a thread."""
    rows, length = shape
    if not hasattr(thread, "room") or thread.room.size < rows * length:
        thread.room = np.empty(rows * length, kind)
    return thread.room[: rows * length].reshape(shape)


def _compiles(engine, kind, count):
    """Return whether numba is wanted, there, able, and worth loading."""
    if engine == "numpy" or kind != np.float32:
        return False
    return engine == "numba" or (count >= _FEWEST_FOR_NUMBA and _has_numba())


@cache
def _has_numba():
    """Return whether numba can be imported."""
    return find_spec("numba") is not None
