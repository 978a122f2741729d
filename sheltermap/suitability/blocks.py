"""Blocks: nights scored piece by piece, on every processor.

In: a formula, and arrays of nights of any size. Out: its results as arrays, one row a kit.
Assumes every night stands alone. A block is a run of nights whose arrays all fit a
processor's cache: only then does the time a night takes stay the same however many there
are, and memory hold no more than the inputs, the results and one block a processor.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import DTypeLike, NDArray

from sheltermap import elementwise

_NIGHTS = 1 << 13
"""In a block: more do not fit a cache, fewer cost calls."""


def walked(
    formula: Callable[[Mapping[str, NDArray]], Iterable[Mapping[str, NDArray]]],
    given: Mapping[str, NDArray],
    rows: int,
    results: Mapping[str, DTypeLike],
    workers: int | None = None,
) -> dict[str, NDArray]:
    """
    Return a formula's results on every night.

    Parameters
    ----------
    formula : callable
        Takes a block of `given` in double precision, all of one shape; yields the results
        of each row, by name, in that shape.
    given : mapping of str to array
        Of shapes that broadcast.
    rows : int
        How many results the formula yields: one a kit.
    results : mapping of str to dtype
        Which of its results to keep; writing them takes as long as finding them.
    workers : int, optional
        Threads; as many as processors by default.

    Returns
    -------
    dict of arrays, shape (rows, ...)
    """
    shape = np.broadcast_shapes(*(array.shape for array in given.values()))
    laid_out = shape or (1,)  # a single night is a row of one
    given = {name: np.broadcast_to(array, laid_out) for name, array in given.items()}
    found = {name: np.empty((rows, *laid_out), kind) for name, kind in results.items()}

    def fill(index: tuple[slice, ...]) -> None:
        block = {name: array[index].astype(float, order="C") for name, array in given.items()}
        with np.errstate(all="ignore"):
            for row, values in enumerate(formula(block)):
                for name, target in found.items():
                    target[row][index] = values[name]

    indices = list(elementwise.blocks(laid_out, _NIGHTS))
    workers = min(workers or os.cpu_count() or 1, len(indices))
    if workers <= 1:
        for index in indices:
            fill(index)
    else:
        with ThreadPoolExecutor(workers) as pool:
            list(pool.map(fill, indices))
    return {name: values.reshape(rows, *shape) for name, values in found.items()}
