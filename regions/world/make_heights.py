"""Make the embedded heights from the map inside the package pvlib.

In: ``Altitude.h5`` of pvlib (terrain tiles of Mapzen, 5 minutes; the extra ``world``) and the
countries of ``basemap.json``. Out: ``heights.nc`` beside this script. Run it from a checkout::

    python regions/world/make_heights.py

The map's own coding is kept, one byte a cell, so nothing is rounded twice. What is no height
of the ground becomes missing: the sea's bed, the bed of the deepest lakes, and Greenland, where
the map shows the bedrock under the ice. The same packages give the same bytes.
"""

from __future__ import annotations

import json
import sys
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path

import h5py
import numpy as np
import shapely
import xarray as xr
from shapely.geometry import shape

HERE = Path(__file__).parent
TARGET = HERE / "heights.nc"

CELLS_PER_DEGREE = 12
SOUTHERN_LIMIT = -60  # As the climatology's. [degrees]
STEP, OFFSET, MISSING = np.float32(28), np.float32(-450), np.uint8(255)
"""How pvlib.location.lookup_altitude reads the map. [m]"""
CHUNKS = (120, 120)
"""Cells read at once: one point costs 3 ms, and larger ones save only 1 % of the file."""

LOWEST_SHORE = -30.0
"""Height below which a cell is the bed of water, except in `DEPRESSIONS`. [m]"""

DEPRESSIONS = (
    (34.8, 30.0, 36.2, 33.2),  # Dead Sea and Jordan
    (24.5, 28.0, 31.0, 31.0),  # Qattara, Siwa, Fayum
    (39.5, 11.0, 43.0, 15.0),  # Danakil, Lake Assal
    (87.5, 41.5, 91.0, 43.7),  # Turfan
    (-117.6, 32.0, -115.0, 37.2),  # Death Valley, Salton Sea
    (46.0, 36.0, 60.0, 49.0),  # Shores of the Caspian Sea, Karagiye, Akchakaya
)
"""Land far below the sea: west, south, east, north. [degrees]"""

UNDER_ICE, SHORE_DEGREES = "Greenland", 0.1


def heights() -> xr.DataArray:
    """Return the coded heights, south to north, with what is no ground missing."""
    with h5py.File(files("pvlib") / "data" / "Altitude.h5") as source:
        coded = source["Altitude"][:]
    # The map lacks its first and last column: land on the 180th meridian goes on as beside.
    coded[:, 0], coded[:, -1] = coded[:, 1], coded[:, -2]
    rows, columns = coded.shape
    latitude = 90 - (np.arange(rows) + 0.5) / CELLS_PER_DEGREE
    longitude = -180 + (np.arange(columns) + 0.5) / CELLS_PER_DEGREE
    kept = latitude > SOUTHERN_LIMIT
    coded, latitude = coded[kept][::-1], latitude[kept][::-1]
    east, north = np.meshgrid(longitude, latitude)
    dry = np.zeros(coded.shape, bool)
    for box in DEPRESSIONS:
        dry |= shapely.contains_xy(shapely.box(*box), east, north)
    bed = (coded * STEP + OFFSET < LOWEST_SHORE) & ~dry
    ice = shapely.buffer(under_ice(), SHORE_DEGREES)
    shapely.prepare(ice)
    coded = np.where(bed | shapely.contains_xy(ice, east, north), MISSING, coded)
    return xr.DataArray(
        coded, coords={"latitude": latitude, "longitude": longitude}, name="elevation"
    )


def under_ice() -> shapely.Geometry:
    """Return the outline of the country whose heights lie under ice."""
    countries = json.loads((HERE / "basemap.json").read_text(encoding="utf-8"))["countries"]
    (found,) = (
        feature["geometry"]
        for feature in countries["features"]
        if feature["properties"]["name"] == UNDER_ICE
    )
    return shape(found)


def main(target: Path = TARGET) -> None:
    """Write the heights."""
    coded = heights()
    coded.attrs = {
        "standard_name": "surface_altitude",
        "long_name": "height of the ground, mean over the cell",
        "units": "m",
        "scale_factor": STEP,
        "add_offset": OFFSET,
        "_FillValue": MISSING,
    }
    coded["latitude"].attrs = {"standard_name": "latitude", "units": "degrees_north"}
    coded["longitude"].attrs = {"standard_name": "longitude", "units": "degrees_east"}
    dataset = coded.to_dataset()
    dataset.attrs = {
        "Conventions": "CF-1.11",
        "title": "Heights of the land in cells of 5 minutes",
        "source": f"Altitude.h5 of pvlib {version('pvlib')}: terrain tiles of Mapzen",
        "license": "BSD-3-Clause; attributions in SOURCES.md",
    }
    packing = {"zlib": True, "complevel": 9, "shuffle": False, "chunksizes": CHUNKS}
    exact = {"_FillValue": None, "zlib": True}
    dataset.to_netcdf(
        target,
        engine="netcdf4",
        encoding={"elevation": packing, "latitude": exact, "longitude": exact},
    )
    known = int((coded != MISSING).sum())
    print(f"{target.name}: {known} cells, {target.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
