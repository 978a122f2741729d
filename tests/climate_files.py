"""Writes small files in the layouts that climate data are published in.

The values follow from a formula, so that a test can say what every cell must hold. The
layouts are those of the publishers' own files: dimension names and order, packing, units
and spelling of attributes.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import xarray as xr

# A small box in Anatolia, where the embedded climatology has land everywhere.
NORTH, SOUTH, WEST, EAST = 40.0, 38.0, 32.0, 34.0
MONTHS = np.arange(1, 13)


def warmth(month, latitude, longitude):
    """Return a mean temperature that no two cells or months share. [degC]"""
    season = -np.cos((month - 1) / 6 * np.pi)
    return 11 + 11 * season - (latitude - 39) + (longitude - 33) / 10


def rain(month, latitude, longitude):
    """Return a monthly rain that no two cells or months share. [mm]"""
    return 40 - 25 * -np.cos((month - 1) / 6 * np.pi) + (latitude - 39) + (longitude - 33) / 10


def vapour(month, latitude, longitude):
    """Return a vapour pressure below saturation. [kPa]"""
    return 0.6 + 0.03 * (warmth(month, latitude, longitude) - 11)


def grid_of(formula, time, latitude, longitude):
    """Return a formula on months of `time` x latitude x longitude."""
    month = np.asarray(time)[:, None, None]
    return formula(month, np.asarray(latitude)[None, :, None], np.asarray(longitude)[None, None])


def months_of(years):
    """Return the first of every month of some years."""
    return pd.date_range(f"{years[0]}-01-01", f"{years[-1]}-12-01", freq="MS")


def era5(path, years=(2000, 2001), time_name="valid_time", expver=False, step=0.25):
    """Write ERA5 monthly means as the Copernicus store delivers them.

    Latitude falls, longitude runs from 0, temperature is in K, rain in m (of one day).
    """
    time = months_of(years)
    latitude = np.arange(NORTH, SOUTH - step / 2, -step)
    longitude = np.arange(WEST, EAST + step / 2, step)
    air = grid_of(warmth, time.month, latitude, longitude) + 273.15
    # Each year is a little warmer, so that a period can be told from another.
    air = air + (time.year.to_numpy() - years[0])[:, None, None] * 0.2
    dew = air - 6
    wet = grid_of(rain, time.month, latitude, longitude) / 1000
    wet = wet / time.days_in_month.to_numpy()[:, None, None]
    dims = (time_name, "latitude", "longitude")
    variables = {
        "t2m": (air, {"units": "K", "long_name": "2 metre temperature"}),
        "d2m": (dew, {"units": "K", "long_name": "2 metre dewpoint temperature"}),
        "tp": (wet, {"units": "m", "long_name": "Total precipitation"}),
        "u10": (np.full_like(air, 3.0), {"units": "m s**-1"}),
        "v10": (np.full_like(air, -4.0), {"units": "m s**-1"}),
    }
    dataset = xr.Dataset(
        {
            name: (dims, values.astype("float32"), attrs)
            for name, (values, attrs) in variables.items()
        },
        {time_name: time, "latitude": latitude, "longitude": longitude},
        {"Conventions": "CF-1.7", "institution": "ECMWF"},
    )
    dataset["latitude"].attrs["units"] = "degrees_north"
    dataset["longitude"].attrs["units"] = "degrees_east"
    if expver == "dimension":
        # The last year is preliminary: missing in version 1, present in version 5.
        final = dataset[time_name].dt.year < years[-1]
        dataset = xr.concat([dataset.where(final), dataset.where(~final)], dim="expver")
        dataset = dataset.assign_coords(expver=[1, 5]).transpose(time_name, "expver", ...)
    elif expver:
        dataset = dataset.assign_coords(number=0, expver=(time_name, ["0001"] * time.size))
    dataset.to_netcdf(path, engine="netcdf4")
    return path


def era5_by_hour(path, year=2000, amplitude=8.0, peak=14.5):
    """Write ERA5 monthly means by hour of day: a cosine that peaks at a solar hour."""
    latitude, longitude = np.array([40.0, 39.0]), np.array([30.0, 33.75])
    time = pd.DatetimeIndex(
        [f"{year}-{month:02d}-01T{hour:02d}:00" for month in MONTHS for hour in range(24)]
    )
    mean = grid_of(warmth, time.month, latitude, longitude)
    solar = time.hour.to_numpy()[:, None, None] + longitude / 15
    air = mean + amplitude / 2 * np.cos((solar - peak) / 12 * np.pi) + 273.15
    wet = grid_of(rain, time.month, latitude, longitude) / 1000 / 24
    wet = wet / time.days_in_month.to_numpy()[:, None, None]
    dims = ("valid_time", "latitude", "longitude")
    xr.Dataset(
        {
            "t2m": (dims, air.astype("float32"), {"units": "K"}),
            "d2m": (dims, mean.astype("float32") + 268.15, {"units": "K"}),
            "tp": (dims, wet.astype("float32"), {"units": "m"}),
        },
        {"valid_time": time, "latitude": latitude, "longitude": longitude},
    ).to_netcdf(path, engine="netcdf4")
    return path


def cru_ts(folder, years=(1991, 1996)):
    """Write CRU TS files: classic NetCDF, one variable each beside its station counts."""
    time = pd.date_range(f"{years[0]}-01-01", f"{years[1]}-12-31", freq="MS") + pd.Timedelta("15D")
    latitude, longitude = np.arange(38.25, 40, 0.5), np.arange(32.25, 34, 0.5)
    air = grid_of(warmth, time.month, latitude, longitude)
    tables = {
        "tmp": (air, "degrees Celsius"),
        "tmn": (air - 5, "degrees Celsius"),
        "tmx": (air + 6, "degrees Celsius"),
        "dtr": (np.full_like(air, 11.0), "degrees Celsius"),
        "pre": (grid_of(rain, time.month, latitude, longitude), "mm/month"),
        "vap": (grid_of(vapour, time.month, latitude, longitude) * 10, "hPa"),
        "wet": (np.full_like(air, 29.0), "days"),
    }
    paths = []
    for name, (values, units) in tables.items():
        dims = ("time", "lat", "lon")
        dataset = xr.Dataset(
            {
                name: (dims, values.astype("float32"), {"units": units}),
                "stn": (dims, np.full(values.shape, 8, "int32"), {"description": "stations"}),
            },
            {"time": time, "lat": latitude, "lon": longitude},
        )
        dataset["lat"].attrs, dataset["lon"].attrs = (
            {"units": "degrees_north"},
            {"units": "degrees_east"},
        )
        path = folder / f"cru_ts4.07.{years[0]}.{years[1]}.{name}.dat.nc"
        encoding = {
            name: {"_FillValue": np.float32(9.96921e36)},
            "time": {"units": "days since 1900-1-1", "calendar": "gregorian"},
        }
        dataset.to_netcdf(path, engine="netcdf4", format="NETCDF3_CLASSIC", encoding=encoding)
        paths.append(path)
    return paths


def worldclim(folder, names=("tmin", "tmax", "tavg", "prec", "vapr", "wind"), elevation=True):
    """Write a WorldClim 2.1 set: one GeoTIFF a variable and month, names tell which."""
    import rasterio
    from rasterio.transform import from_origin

    step = 1 / 6
    columns, rows = round((EAST - WEST) / step), round((NORTH - SOUTH) / step)
    latitude = NORTH - (np.arange(rows) + 0.5) * step
    longitude = WEST + (np.arange(columns) + 0.5) * step
    profile = {
        "driver": "GTiff",
        "dtype": "float32",
        "count": 1,
        "height": rows,
        "width": columns,
        "crs": "EPSG:4326",
        "transform": from_origin(WEST, NORTH, step, step),
        "nodata": -3.4e38,
    }
    air = grid_of(warmth, MONTHS, latitude, longitude)
    tables = {
        "tmin": air - 5,
        "tmax": air + 6,
        "tavg": air,
        "prec": grid_of(rain, MONTHS, latitude, longitude),
        "vapr": grid_of(vapour, MONTHS, latitude, longitude),
        "wind": np.full_like(air, 2.5),
    }
    layers = {f"{name}_{m:02d}": tables[name][m - 1] for name in names for m in MONTHS}
    if elevation:
        layers["elev"] = np.broadcast_to(900 + latitude[:, None], (rows, columns))
    paths = []
    for name, values in layers.items():
        path = folder / f"wc2.1_10m_{name}.tif"
        with rasterio.open(path, "w", **profile) as raster:
            raster.write(values.astype("float32"), 1)
        paths.append(path)
    return paths


def terraclimate(folder):
    """Write TerraClimate normals: packed integers, latitude falling, a year of dummy dates."""
    time = pd.date_range("1961-01-01", "1961-12-01", freq="MS")
    latitude, longitude = np.arange(39.75, 38, -0.25), np.arange(32.25, 34, 0.25)
    air = grid_of(warmth, MONTHS, latitude, longitude)
    tables = {
        "tmax": (air + 6, "degC", 0.01, -99.0),
        "tmin": (air - 5, "degC", 0.01, -99.0),
        "ppt": (grid_of(rain, MONTHS, latitude, longitude), "mm", 0.1, 0.0),
        "vap": (grid_of(vapour, MONTHS, latitude, longitude), "kPa", 0.001, 0.0),
        "ws": (np.full_like(air, 2.5), "m/s", 0.01, 0.0),
    }
    paths = []
    for name, (values, units, scale, offset) in tables.items():
        dims = ("time", "lat", "lon")
        dataset = xr.Dataset(
            {
                name: (dims, values, {"units": units}),
                "crs": ((), np.int32(0), {"grid_mapping_name": "latitude_longitude"}),
            },
            {"time": time, "lat": latitude, "lon": longitude},
        )
        path = folder / f"TerraClimate19812010_{name}.nc"
        packing = {
            "dtype": "int32",
            "scale_factor": scale,
            "add_offset": offset,
            "_FillValue": np.int32(-2147483648),
        }
        encoding = {
            name: packing,
            "time": {"units": "days since 1900-01-01"},
        }
        dataset.to_netcdf(path, engine="netcdf4", encoding=encoding)
        paths.append(path)
    return paths


def cf_months(latitude, longitude):
    """Return a plain CF climatology: standard names, own variable names, months 1 to 12."""
    air = grid_of(warmth, MONTHS, latitude, longitude)
    dims = ("month", "lat", "lon")
    mean = {"standard_name": "air_temperature", "units": "K"}
    tables = {
        "a": (air + 273.15, mean | {"cell_methods": "time: mean"}),
        "b": (
            air + 268.15,
            mean | {"cell_methods": "time: minimum within days time: mean over days"},
        ),
        "c": (
            air + 279.15,
            mean | {"cell_methods": "time: maximum within days time: mean over days"},
        ),
        "d": (
            grid_of(rain, MONTHS, latitude, longitude) / 30 / 86400,
            {"standard_name": "precipitation_flux", "units": "kg m-2 s-1"},
        ),
        "e": (
            grid_of(vapour, MONTHS, latitude, longitude) * 1000,
            {"standard_name": "water_vapor_partial_pressure_in_air", "units": "Pa"},
        ),
    }
    return xr.Dataset(
        {name: (dims, values, attributes) for name, (values, attributes) in tables.items()},
        {"month": MONTHS, "lat": latitude, "lon": longitude},
    )
