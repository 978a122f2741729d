"""Opening what people have: NetCDF files, Zarr stores, sets of monthly GeoTIFF files.

In: paths and addresses. Out: datasets as their publishers wrote them, read lazily, each
with the name a message should give it. Assumes nothing about what the variables mean.
"""

from __future__ import annotations

import asyncio
import math
import re
import sys
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from sheltermap.climate.recognise import RULES
from sheltermap.files import unreadable
from sheltermap.gathered import Gathered
from sheltermap.vocabulary import InputError, Problem

_NETCDF = {".nc", ".nc4", ".cdf", ".netcdf", ".h5"}
_GEOTIFF = {".tif", ".tiff"}
_PACKED = {".zip", ".gz", ".tar", ".tgz", ".bz2", ".7z"}
_ZARR_MARKS = ("zarr.json", ".zgroup", ".zmetadata")
_LARGEST_BLOCK = 2**30
"""judgement: what is read at once must fit a small machine; blocks in use take megabytes."""
_LARGEST_PACKING = 300
"""judgement: climate fields shrink to a third or a tenth, with all seas missing to a fiftieth."""
_HARMLESS = 256 * 2**20
_FILE_NAME = re.compile(r"(?:^|[_.-])(?P<name>[a-z]+)(?:[_.-](?P<month>0?[1-9]|1[0-2]))?$", re.I)

_WORDS = {"title", "source", "period", "licence", "units", "long_name", "standard_name"}
_WORDS |= {"estimated", "uncertainty"}

# WorldClim 2.1 writes its units on the website, not into the files.
_GEOTIFF_UNITS = {
    "temperature": "degC",
    "difference": "degC",
    "rain": "mm",
    "pressure": "kPa",
    "speed": "m s-1",
    "height": "m",
}


@dataclass(frozen=True)
class Opened:
    """One opened source.

    Attributes
    ----------
    label : str
        What messages call it.
    dataset : Dataset
        As its publisher wrote it.
    month : int or None
        The month all of it belongs to, where its name says so.
    """

    label: str
    dataset: xr.Dataset
    month: int | None = None


def opened(sources: Sequence[str | Path]) -> list[Opened]:
    """
    Return every source, opened lazily.

    Parameters
    ----------
    sources : sequence of str or path
        Files, folders of them, Zarr stores, or addresses of Zarr stores (``s3://...``).

    Returns
    -------
    list of Opened

    Raises
    ------
    InputError
        With every source that is missing, unreadable, unknown, or damaged.
    """
    gather, found = Gathered(), list[Opened]()
    for source in sources:
        found += gather(_opened, str(source)) or []
    if gather.problems:
        raise InputError(gather.problems)
    return found


def _opened(source: str) -> list[Opened]:
    """Return what one source holds."""
    path = Path(source)
    try:
        if "://" in source:
            return [_of_address(source)]
        if path.is_dir():
            return _of_folder(path)
        if path.exists():
            return [_of_file(path)]
    except OSError as error:
        expected = "a file or folder that can be read"
        raise InputError([unreadable(source, expected, error)]) from None
    mend = "Check the name and the folder."
    raise InputError([Problem(source, "", "a file or folder", "nothing there", mend)])


def _of_address(source: str) -> Opened:
    """Return the Zarr store at an address."""
    if re.match("https?:", source, re.I) and Path(source).suffix.lower() != ".zarr":
        expected, got = "a file on this disk, or the address of a Zarr store", "a web address"
        mend = "Fetch the file first and name it here."
        raise InputError([Problem(source, "", expected, got, mend)])
    return Opened(source, _dataset(source, source, engine="zarr"))


def _of_folder(path: Path) -> list[Opened]:
    """Return a Zarr store, or every file inside a folder that can be a source."""
    if path.suffix == ".zarr" or any((path / mark).exists() for mark in _ZARR_MARKS):
        return [Opened(str(path), _bounded(_dataset(str(path), str(path), engine="zarr"), path))]
    kinds = _NETCDF | _GEOTIFF
    inside = sorted(str(entry) for entry in path.iterdir() if entry.suffix.lower() in kinds)
    if not inside:
        expected = "a Zarr store, or NetCDF or GeoTIFF files inside"
        raise InputError([Problem(str(path), "", expected, "none", "Name the files.")])
    return opened(inside)


def _of_file(path: Path) -> Opened:
    """Return what a file holds, by its ending."""
    source, suffix = str(path), path.suffix.lower()
    if suffix in _GEOTIFF:
        return _geotiff(path)
    if suffix in _PACKED:
        raise InputError([Problem(source, "", "an unpacked file", suffix, "Unpack it first.")])
    if suffix not in _NETCDF:
        expected, got = "a NetCDF (.nc), GeoTIFF (.tif) or Zarr source", suffix or "no file ending"
        raise InputError([Problem(source, "", expected, got, "Convert it first.")])
    _refuse_cut_classic(path)
    return Opened(source, _bounded(_dataset(source, source, engine="netcdf4"), path))


def _refuse_cut_classic(path: Path) -> None:
    """Raise InputError for a classic NetCDF file that ends before its header says.

    The backend reads what is missing as zeros.
    """
    with path.open("rb") as file:
        if file.read(4) not in (b"CDF\x01", b"CDF\x02"):
            return
    from scipy.io import netcdf_file

    try:
        # Mapping the file needs its full length; only the header is read.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            netcdf_file(path, "r", mmap=True).close()
    except (ValueError, TypeError, OSError, EOFError, IndexError) as error:
        raise InputError([damaged(str(path), error)]) from None


def _dataset(address: str, label: str, engine: str) -> xr.Dataset:
    """Return a NetCDF file or Zarr store, its times decoded where they can be."""
    # Units of "days" count wet days here; they are no time spans. Naming the engine spares
    # loading every other one that is installed.
    settings: dict[str, Any] = {
        "engine": engine,
        "cache": False,
        "decode_timedelta": False,
        "chunks": None,
    }
    try:
        try:
            with warnings.catch_warnings():
                # Stores without collected metadata open all the same.
                warnings.filterwarnings("ignore", message="Failed to open Zarr store with consol")
                return _worded(xr.open_dataset(address, **settings))
        except (ValueError, OverflowError) as error:
            if "decode" not in str(error) and "time" not in str(error):
                raise
            return _worded(xr.open_dataset(address, decode_times=False, **settings))
    except ImportError as error:
        mend = f"Install it: pip install 'sheltermap[data]' ({error.name or error})."
        raise InputError([Problem(label, "", "a reader for it", "none installed", mend)]) from None
    except Exception as error:  # Backends raise types of their own for damaged files.
        raise InputError([damaged(label, error)]) from None


def _bounded(dataset: xr.Dataset, path: Path) -> xr.Dataset:
    """Return a dataset that unpacks to what its size on disk makes likely, or raise InputError.

    Headers tell sizes before a byte is unpacked: a store of some kilobytes can hold blocks of
    gigabytes, by damage or to do harm.
    """
    stored = _stored_bytes(path)
    problems = []
    for name, array in dataset.variables.items():
        block = _block_bytes(array)
        if block > _LARGEST_BLOCK:
            expected = f"blocks of at most {_LARGEST_BLOCK / 2**30:.0f} GiB"
            got = f"{block / 2**30:.1f} GiB"
            mend = "Store it anew in smaller chunks."
            problems.append(Problem(str(path), str(name), expected, got, mend))
    if dataset.nbytes > max(_HARMLESS, _LARGEST_PACKING * stored):
        expected = f"values that take at most {_LARGEST_PACKING} times the room of the file"
        got = f"{dataset.nbytes / 2**30:.1f} GiB in {stored / 2**20:.2g} MiB"
        mend = "It is empty for the most part, damaged or made to harm: cut out what it holds."
        problems.append(Problem(str(path), "", expected, got, mend))
    if problems:
        raise InputError(problems)
    return dataset


def _stored_bytes(path: Path) -> int:
    """Return what a file or a folder takes on disk."""
    files = path.rglob("*") if path.is_dir() else (path,)
    return sum(file.stat().st_size for file in files if file.is_file())


def _block_bytes(array: xr.Variable) -> int:
    """Return what one stored block takes once it is unpacked."""
    shape = array.encoding.get("chunks") or array.encoding.get("chunksizes")
    if not shape or len(shape) != array.ndim:
        return 0  # Stored in one piece: read as far as is asked for.
    stored = np.dtype(array.encoding.get("dtype", array.dtype))
    return math.prod(int(length) for length in shape) * max(stored.itemsize, 1)


def _worded(dataset: xr.Dataset) -> xr.Dataset:
    """Return a dataset whose attributes that people read are text, whatever the file holds."""
    for attrs in (dataset.attrs, *(one.attrs for one in dataset.variables.values())):
        for name in _WORDS & attrs.keys():
            attrs[name] = str(attrs[name])
    return dataset


def damaged(label: str, error: Exception) -> Problem:
    """
    Return the problem of a file that cannot be read to its end.

    Parameters
    ----------
    label : str
        The file.
    error : Exception
        What the backend said.

    Returns
    -------
    Problem
    """
    _wait_for_readers()
    said = " ".join(str(error).split())[:120] or type(error).__name__
    mend = "It may be truncated or damaged: fetch it again and compare its size."
    return Problem(label, "", "a file that can be read to its end", said, mend)


def _wait_for_readers() -> None:
    """Wait for the other blocks of a Zarr store of which one failed.

    Left alone, they complain on stderr after the message that matters.
    """
    if "zarr" not in sys.modules:
        return
    from zarr.core.sync import sync

    async def rest() -> None:
        others = asyncio.all_tasks() - {asyncio.current_task()}
        await asyncio.gather(*others, return_exceptions=True)

    sync(rest())


def _geotiff(path: Path) -> Opened:
    """Return one raster whose variable and month stand in its name."""
    label = str(path)
    try:
        import rioxarray
    except ImportError:
        mend = "Install it: pip install 'sheltermap[data]'."
        raise InputError([Problem(label, "", "rioxarray", "not installed", mend)]) from None
    match = _FILE_NAME.search(path.stem)
    names = {name: rule for rule in RULES for name in rule.names}
    if match is None or match["name"].lower() not in names:
        expected = "a name that ends in variable and month, such as wc2.1_10m_tmin_01.tif"
        mend = "Rename it."
        raise InputError([Problem(label, "", expected, path.name, mend)])
    name = match["name"].lower()
    try:
        raster = rioxarray.open_rasterio(path, masked=True, cache=False, lock=False)
    except Exception as error:  # GDAL raises types of its own for damaged files.
        raise InputError([damaged(label, error)]) from None
    if not isinstance(raster, xr.DataArray):  # One dataset, or several of unlike sizes.
        mend = "Export each raster to a file of its own."
        raise InputError([Problem(label, "", "one raster", "several in one file", mend)])
    if raster.rio.crs is None or not raster.rio.crs.is_geographic:
        got = str(raster.rio.crs or "none")
        mend = "Reproject it to latitudes and longitudes (EPSG:4326) first."
        raise InputError([Problem(label, "crs", "degrees", got, mend)])
    raster = raster.drop_attrs().assign_attrs(units=_GEOTIFF_UNITS[names[name].kind])
    month = int(match["month"]) if match["month"] else None
    return Opened(label, raster.to_dataset(name=name), month)
