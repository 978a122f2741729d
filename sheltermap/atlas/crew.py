"""Work on every processor: pieces in, their results out in the same order.

In: a function and its arguments, piece by piece. Out: results as they are asked for. Assumes that
a piece fits in memory several times: as many are held as there are workers, and one more. The
caller's dask cluster is used where a client is active, as dask does by itself.
"""

from __future__ import annotations

import os
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack
from functools import partial
from typing import Any, TypeVar

Result = TypeVar("Result")


def results(
    work: Callable[..., Result], pieces: Iterable[tuple[Any, ...]], *, afar: bool = False
) -> Iterator[Result]:
    """
    Yield what a function returns for every piece, in their order.

    Parameters
    ----------
    work : callable
        Of a module, so that a cluster can be sent it. It spends its time outside Python's lock:
        in numpy, zlib or files.
    pieces : iterable of tuples
        Arguments; taken as they are needed.
    afar : bool
        Whether a cluster may do it: the work needs no file of this machine.

    Yields
    ------
    Result

    Examples
    --------
    >>> list(results(pow, [(2, 3), (3, 2)]))
    [8, 9]
    """
    client = _active_client() if afar else None
    with ExitStack() as held:
        if client is None:
            workers = os.cpu_count() or 1
            submit: Callable[..., Any] = held.enter_context(ThreadPoolExecutor(workers)).submit
        else:
            workers, submit = sum(client.nthreads().values()), partial(client.submit, pure=False)
        waiting: deque[Future[Result]] = deque()
        held.callback(lambda: [one.cancel() for one in waiting])
        for piece in pieces:
            waiting.append(submit(work, *piece))
            if len(waiting) > workers:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()


def _active_client() -> Any:
    """Return the client of a dask cluster that the caller has set up, or None."""
    distributed = sys.modules.get("distributed")  # Who has a client has imported it.
    if distributed is None:
        return None
    try:
        return distributed.default_client()
    except ValueError:
        return None
