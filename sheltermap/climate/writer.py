"""A climatology into a file of ours, which `readers.open_climatology` reads.

In: a checked climatology and a target. Out: a NetCDF file or a Zarr store, whole or not at
all. Assumes that `output` writes beside the target; this module tells a climatology of ours,
which may be replaced, from any other file or folder.
"""

from __future__ import annotations

import errno
import json
import os
import shutil
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from sheltermap.climate.readers import CHUNK
from sheltermap.files import unwritable
from sheltermap.output import Output, replace, require
from sheltermap.vocabulary import InputError, Problem

HISTORY = "written by sheltermap"
"""The attribute by which a climatology of ours is known."""

_NO_ROOM_BYTES = 256 * 2**10
"""Free space at which a failed write is put down to a full disk. judgement: less than a block
of one variable, since what was half written is still there."""

_EXPECTED = "a place that can be written, and sources that can be read to their end"
_METADATA = ("zarr.json", ".zattrs")


def require_climatology_target(path: str | Path) -> None:
    """
    Raise where a climatology cannot be written; ask before large sources are read.

    Parameters
    ----------
    path : str or path
        Ends in ``.nc`` or ``.zarr``; must be new, or a climatology of ours.

    Raises
    ------
    InputError
        If the path has another ending, is somebody else's, or cannot be written.
    """
    require(path, _output(Path(path)))


def write_climatology(climatology: xr.Dataset, path: str | Path) -> None:
    """
    Write a climatology, whole or not at all.

    Parameters
    ----------
    climatology : Dataset
        Keeps the contract.
    path : str or path
        Ends in ``.nc`` or ``.zarr``; must be new, or a climatology of ours, which is replaced.

    Raises
    ------
    InputError
        If the path has another ending, is somebody else's, or cannot be written.
    """
    path = Path(path)
    output = _output(path)
    marked = climatology.assign_attrs(history=HISTORY)

    def fill(fresh: Path) -> None:
        try:
            if path.suffix == ".nc":
                marked.to_netcdf(fresh, engine="netcdf4", encoding=_encoding(marked))
            else:
                marked.to_zarr(fresh, mode="w", consolidated=False)
        except (OSError, RuntimeError) as error:
            # Large sources are read meanwhile, and backends don't say which of both failed.
            # NetCDF says "Permission denied" or "HDF error" of a full disk.
            full = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            cause = full if _full(fresh.parent) else error
            raise InputError([unwritable(path, _EXPECTED, cause)]) from None

    replace(path, output, fill)


def _output(path: Path) -> Output:
    """Return what is written at a path of that ending."""
    foreign = {".nc": _foreign_file, ".zarr": _foreign_store}.get(path.suffix)
    if foreign is None:
        expected, mend = "a name that ends in .nc or .zarr", "Rename it."
        raise InputError([Problem(str(path), "", expected, path.name, mend)])
    return Output(_EXPECTED, foreign)


def _foreign_file(place: Path) -> Problem | None:
    """Return why a file must not be replaced by a climatology."""
    if place.is_dir():
        return _kept("a folder")
    if place.stat().st_size == 0:
        return None
    try:
        with xr.open_dataset(place, engine="netcdf4", decode_cf=False, cache=False) as dataset:
            ours = dataset.attrs.get("history") == HISTORY
    except (OSError, RuntimeError, ValueError):
        ours = False
    return None if ours else _kept("a file that sheltermap did not write")


def _foreign_store(place: Path) -> Problem | None:
    """Return why a folder must not be replaced by a store: another's, or more is in it."""
    if not place.is_dir():
        return _kept("a file")
    inside = {entry.name for entry in place.iterdir()}
    if not inside:
        return None
    if not any(_ours(place / name) for name in _METADATA):
        return _kept("a folder that sheltermap did not write")
    arrays = {name for name in inside if any((place / name / meta).exists() for meta in _ARRAYS)}
    if added := sorted(inside - arrays - set(_METADATA) - {".zgroup", ".zmetadata"}):
        return _kept(f"a store with {len(added)} more: {', '.join(added[:3])}")
    return None


_ARRAYS = ("zarr.json", ".zarray")


def _ours(metadata: Path) -> bool:
    """Return whether the metadata of a store has our history; of either version of Zarr."""
    try:
        said = json.loads(metadata.read_bytes())
        return said.get("attributes", said).get("history") == HISTORY
    except (OSError, ValueError, AttributeError):
        return False


def _kept(got: str) -> Problem:
    """Return the problem of what is not replaced."""
    expected = "a new name, or a climatology that sheltermap wrote"
    return Problem("", "", expected, got, "Choose another name, so that nothing is replaced.")


def _full(folder: Path) -> bool:
    """Return whether nothing more can be written into a folder, what is half written included."""
    with suppress(OSError):
        return shutil.disk_usage(folder).free < _NO_ROOM_BYTES
    return False


def _encoding(climatology: xr.Dataset) -> dict[str, dict[str, Any]]:
    """Return how variables are stored: four bytes, lightly compressed, in blocks."""
    return {
        str(name): {
            "dtype": "float32",
            "zlib": True,
            "complevel": 1,
            "chunksizes": tuple(min(CHUNK, size) for size in array.shape),
            "_FillValue": np.float32(np.nan),
        }
        for name, array in climatology.items()
    }
