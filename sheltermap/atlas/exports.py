"""The cells of an atlas for other programs: NetCDF to the CF conventions, GeoTIFF.

In: the facts and the store of an atlas. Out: files, written month by month. Assumes readers who
unpack: every value is a byte, as tiles have it, with what it means beside it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from importlib.util import find_spec
from pathlib import Path

import netCDF4
import numpy as np

from sheltermap.atlas.area import AtlasGrid
from sheltermap.atlas.codes import NO_FACTOR_CODE
from sheltermap.atlas.facts import AtlasFacts
from sheltermap.atlas.store import Store
from sheltermap.atlas.tables import described
from sheltermap.shelters.kit import Kit
from sheltermap.vocabulary import FACTORS, InputError, Problem
from sheltermap.website.overlays import HALF_PERCENTS, MISSING_CODE

GRID = "atlas.nc"

_LONG_NAMES = {
    "share": ("sound_share", "probability that nothing spoils the night"),
    "danger": ("dangerous_share", "probability of cold or heat that endangers"),
    "factor": ("limiting_factor", "what spoils most nights"),
}
_GEOTIFFS = ("share", "danger")


def write_grid(path: Path, facts: AtlasFacts, store: Store) -> None:
    """
    Write the cells as NetCDF to the CF conventions.

    Parameters
    ----------
    path : path
    facts : AtlasFacts
    store : Store
        Read month by month.
    """
    rows, columns = facts.grid.shape
    with netCDF4.Dataset(path, "w") as file:
        described(file, facts)
        _axes(file, facts.grid)
        height = file.createVariable(
            "elevation", "f4", ("latitude", "longitude"), zlib=True, fill_value=np.nan
        )
        height.setncatts({"standard_name": "surface_altitude", "units": "m"})
        height[:] = store.height()
        for layer, (name, words) in _LONG_NAMES.items():
            variable = file.createVariable(
                name,
                "u1",
                ("kit", "month", "latitude", "longitude"),
                zlib=True,
                complevel=6,
                fill_value=MISSING_CODE,
                chunksizes=(1, 1, min(rows, 512), min(columns, 512)),
            )
            variable.set_auto_maskandscale(False)
            variable.setncatts({"long_name": words, **_meaning(layer)})
            for place in range(len(facts.kits)):
                for number in range(12):
                    variable[place, number] = store.month(layer, place, number)


def _axes(file: netCDF4.Dataset, grid: AtlasGrid) -> None:
    """Write latitude and longitude; over the 180th meridian longitudes go on, as CF allows."""
    longitude = np.where(
        grid.longitude < grid.longitude[0], grid.longitude + 360.0, grid.longitude
    )
    for name, values, units in (
        ("latitude", grid.latitude, "degrees_north"),
        ("longitude", longitude, "degrees_east"),
    ):
        file.createDimension(name, values.size)
        axis = file.createVariable(name, "f8", (name,))
        axis.setncatts({"standard_name": name, "units": units})
        axis[:] = values


def _meaning(layer: str) -> dict:
    """Return the attributes that say what a stored byte means."""
    if layer != "factor":
        return {"units": "1", "scale_factor": np.float32(1 / HALF_PERCENTS)}
    return {
        "flag_values": np.arange(NO_FACTOR_CODE + 1, dtype=np.uint8),
        "flag_meanings": " ".join([*FACTORS, "none"]),
    }


def require_geotiff() -> None:
    """
    Raise where GeoTIFF files cannot be written.

    Raises
    ------
    InputError
        If the extra that brings the library is not installed.
    """
    if find_spec("rasterio") is None:
        mend = "Install it: pip install 'sheltermap[data]'. Or leave out --geotiff."
        raise InputError([Problem("", "--geotiff", "the package rasterio", "none", mend)])


def geotiffs(kits: Sequence[Kit]) -> dict[tuple[int, str], str]:
    """
    Return the GeoTIFF files of kits.

    Parameters
    ----------
    kits : sequence of Kit

    Returns
    -------
    dict of (int, str) to str
        Path in the site by the kit's position and the layer.
    """
    return {
        (place, layer): f"geotiff/{kit.id}-{_LONG_NAMES[layer][0].replace('_', '-')}.tif"
        for place, kit in enumerate(kits)
        for layer in _GEOTIFFS
    }


def write_geotiffs(folder: Path, facts: AtlasFacts, store: Store) -> Iterator[tuple[str, Path]]:
    """
    Write and yield a GeoTIFF for each kit and share, with a band for each month.

    Parameters
    ----------
    folder : path
        To write into.
    facts : AtlasFacts
    store : Store

    Yields
    ------
    str
        Path in the site.
    pathlib.Path
        Where the file lies.
    """
    import rasterio
    from rasterio.transform import from_origin

    west, _, _, north = facts.grid.box
    rows, columns = facts.grid.shape
    profile = {
        "driver": "GTiff",
        "width": columns,
        "height": rows,
        "count": 12,
        "dtype": "uint8",
        "crs": "EPSG:4326",
        "transform": from_origin(west, north, facts.grid.step[1], facts.grid.step[0]),
        "nodata": MISSING_CODE,
        "compress": "deflate",
        "tiled": True,
    }
    for (place, layer), name in geotiffs(facts.kits).items():
        path = folder / Path(name).name
        with rasterio.open(path, "w", **profile) as file:
            file.scales = (1 / HALF_PERCENTS,) * 12
            for month in range(12):
                # Rasters start in the north.
                file.write(store.month(layer, place, month)[::-1], month + 1)
        yield name, path
