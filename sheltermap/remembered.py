"""Results remembered within a process, found again by the content of what they rest on.

In: a function of values. Out: the same function, which works out only once what the same
values give. Assumes that the function reads nothing but its arguments and that nobody writes
into its result. The key is all that the arguments hold, never a name or a time of a file, so
what was remembered cannot be stale: an edited trip that is built again in one process, as
while somebody looks at it, finds what the edit leaves untouched.
"""

from __future__ import annotations

import dataclasses
import hashlib
import sys
from collections import OrderedDict
from collections.abc import Callable, Mapping
from datetime import date
from functools import wraps
from typing import Any, ParamSpec, TypeVar

import numpy as np
import xarray as xr
from pydantic import BaseModel

_P = ParamSpec("_P")
_R = TypeVar("_R")
_PLAIN = (bool, int, float, str, bytes, date, slice, type(None), np.generic)


def remembered(size: int) -> Callable[[Callable[_P, _R]], Callable[_P, _R]]:
    """
    Return a decorator that keeps a function's latest results.

    Parameters
    ----------
    size : int
        How many to keep.

    Returns
    -------
    callable

    Examples
    --------
    >>> @remembered(size=1)
    ... def total(values):
    ...     print("adding")
    ...     return float(values.sum())
    >>> total(np.arange(3.0)), total(np.arange(3.0))
    adding
    (3.0, 3.0)
    """

    def decorated(function: Callable[_P, _R]) -> Callable[_P, _R]:
        known: OrderedDict[bytes, _R] = OrderedDict()

        @wraps(function)
        def found(*args: _P.args, **kwargs: _P.kwargs) -> _R:
            key = fingerprint((args, kwargs))
            if key not in known:
                known[key] = function(*args, **kwargs)
            known.move_to_end(key)
            if len(known) > size:
                known.popitem(last=False)
            return known[key]

        vars(found)["cache_clear"] = known.clear  # as functools.lru_cache has it
        return found

    return decorated


def fingerprint(value: object) -> bytes:
    """
    Return a digest of all that a value holds.

    Parameters
    ----------
    value : object
        Plain values, arrays, xarray's, shapes, dataclasses, pydantic's models, and mappings
        and sequences of them.

    Returns
    -------
    bytes

    Raises
    ------
    TypeError
        For anything else: what is not known to be told apart must not be remembered.
    """
    digest = hashlib.blake2b()
    _feed(digest, value)
    return digest.digest()


def _feed(digest: hashlib.blake2b, value: Any) -> None:
    """Add a value to a digest: its type, the length of what it holds, and that."""
    digest.update(f"{type(value).__qualname__}:".encode())
    if isinstance(value, np.ndarray) and value.dtype.kind != "O":
        _feed(digest, (value.dtype.str, value.shape))
        digest.update(np.ascontiguousarray(value).data)
    elif isinstance(value, _PLAIN):
        text = repr(value).encode()
        digest.update(b"%d:" % len(text) + text)
    else:
        parts = _parts(value)
        digest.update(b"%d:" % len(parts))
        for part in parts:
            _feed(digest, part)


def _parts(value: Any) -> list[Any]:
    """Return what a value is made of."""
    if isinstance(value, xr.Dataset):
        return [value.attrs, *value.variables.items()]
    if isinstance(value, xr.DataArray):
        return [value.name, value.variable, dict(value.coords.variables)]
    if isinstance(value, xr.Variable):
        return [value.dims, value.attrs, value.values]
    if _is_shape(value):
        return [value.wkb]
    if isinstance(value, BaseModel):
        return [value.__dict__, value.__pydantic_private__]
    if dataclasses.is_dataclass(value):
        return [getattr(value, field.name) for field in dataclasses.fields(value)]
    if isinstance(value, Mapping):
        return list(value.items())
    if isinstance(value, tuple | list | np.ndarray):
        return list(value)
    raise TypeError(f"expected values that can be told apart, got {type(value).__name__}")


def _is_shape(value: Any) -> bool:
    """Return whether a value is a shape: where there is one, its library has been imported."""
    shapely = sys.modules.get("shapely")
    return shapely is not None and isinstance(value, shapely.Geometry)
