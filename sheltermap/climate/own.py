"""A climatology of the user's own, with all that nights are computed from.

In: a file in our form, a box. Out: the loaded climatology. Assumes that
``sheltermap climate import`` wrote it, which estimates what its sources lack.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import xarray as xr

from sheltermap.climate.readers import open_climatology
from sheltermap.vocabulary import Box, InputError, Problem

NEEDED = ("air_temperature_min", "air_temperature_max", "wet_days", "night_low_spread")
"""What nights need beside the variables that every climatology must have."""


def own_climatology(path: Path | str, box: Box | None = None) -> xr.Dataset:
    """
    Return a user's climatology over a box, loaded.

    Parameters
    ----------
    path : path or str
        NetCDF file or Zarr store.
    box : tuple of four floats, optional
        West, south, east, north; all there is by default. [degrees] One more cell on each
        side is kept; west beyond east crosses the 180th meridian.

    Returns
    -------
    Dataset, month x latitude x longitude
        ``elevation`` is missing everywhere where the file has none.

    Raises
    ------
    InputError
        If it cannot be read, does not keep the contract, or lacks what nights need.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from sheltermap.climate.writer import write_climatology
    >>> from sheltermap.climate.world import world_climatology
    >>> embedded = world_climatology((28.0, 40.0, 30.0, 42.0))
    >>> with TemporaryDirectory() as folder:
    ...     write_climatology(embedded, Path(folder) / "mine.nc")
    ...     mine = own_climatology(Path(folder) / "mine.nc")
    >>> mine.sizes == embedded.sizes
    True
    """
    return lazy_climatology(path, box).load()


def lazy_climatology(path: Path | str, box: Box | None = None) -> xr.Dataset:
    """
    Return a user's climatology over a box, read as it is used where dask is installed.

    Parameters
    ----------
    path, box
        As for `own_climatology`.

    Returns
    -------
    Dataset, month x latitude x longitude
        As from `own_climatology`, but for a large file in blocks that are not yet read.

    Raises
    ------
    InputError
        As `own_climatology`.
    """
    climatology = open_climatology(path, box)
    problems = [
        Problem(
            str(path),
            name,
            "this variable",
            "none",
            "Import the source with `sheltermap climate import`, which estimates it.",
        )
        for name in NEEDED
        if name not in climatology
    ]
    if problems:
        raise InputError(problems)
    if "elevation" not in climatology:
        unknown = climatology["air_temperature"].isel(month=0, drop=True) * np.nan
        climatology = climatology.assign(elevation=unknown.assign_attrs(units="m"))
    return climatology
