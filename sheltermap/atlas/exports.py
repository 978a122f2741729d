"""Data beside the page: the regions' table, the cells as NetCDF and GeoTIFF.

In: the facts and the store of an atlas. Out: files. Assumes readers of their own: tables for
spreadsheets, grids to the CF conventions for scientists, bands with a geographic reference for
mapping programs.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import netCDF4
import numpy as np

from sheltermap.atlas.area import AtlasGrid
from sheltermap.atlas.codes import NO_FACTOR_CODE
from sheltermap.atlas.facts import AtlasFacts
from sheltermap.atlas.regions import RegionRow
from sheltermap.atlas.store import Store
from sheltermap.vocabulary import FACTORS, InputError, Problem
from sheltermap.website.overlays import HALF_PERCENTS, MISSING_CODE

TABLE, GRID = "regions.csv", "atlas.nc"
"""Names of the table and of the cells' file."""

_COLUMNS = (
    "region",
    "kit",
    "month",
    "median_sound_share",
    "worst_tenth_sound_share",
    "mean_dangerous_share",
    "why_not",
    "area_km2",
)
_LONG_NAMES = {
    "share": ("sound_share", "probability that nothing spoils the night"),
    "danger": ("dangerous_share", "probability of cold or heat that endangers"),
    "factor": ("limiting_factor", "what spoils most nights"),
}
_GEOTIFFS = ("share", "danger")


def table(rows: tuple[RegionRow, ...]) -> bytes:
    """
    Return the regions as a comma-separated table, one line for each region, kit and month.

    Parameters
    ----------
    rows : tuple of RegionRow

    Returns
    -------
    bytes
        UTF-8, with the names of the columns first. Shares are 0 to 1, areas km2.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for row in rows:
        for kit, year in row.kits.items():
            for month in range(12):
                shares = (year.median[month], year.worst[month], year.dangerous[month])
                written = (f"{share:.3f}" for share in shares)
                why = year.why[month] or ""
                writer.writerow((row.name, kit, month + 1, *written, why, round(row.area_km2)))
    return text.getvalue().encode()


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
        file.Conventions = "CF-1.11"
        file.title = f"Nights outdoors in {len(facts.kits)} kits: {facts.title}"
        file.source = f"sheltermap, from {facts.climatology['source']}"
        file.comment = str(facts.block["caution"])
        file.setncatts({"bedding": facts.bedding or "each kit's own"})
        file.createDimension("kit", len(facts.kits))
        file.createDimension("month", 12)
        _axes(file, facts.grid)
        kit = file.createVariable("kit", str, ("kit",))
        kit.long_name = "sleep kit"
        kit[:] = np.array([one.id for one in facts.kits], dtype=object)
        month = file.createVariable("month", "i4", ("month",))
        month.setncatts({"long_name": "month of the year", "units": "1"})
        month[:] = np.arange(1, 13)
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
    for place, kit in enumerate(facts.kits):
        for layer in _GEOTIFFS:
            name = f"{kit.id}-{_LONG_NAMES[layer][0].replace('_', '-')}.tif"
            with rasterio.open(folder / name, "w", **profile) as file:
                file.scales = (1 / HALF_PERCENTS,) * 12
                for month in range(12):
                    file.write(store.month(layer, place, month)[::-1], month + 1)
            yield f"geotiff/{name}", folder / name
