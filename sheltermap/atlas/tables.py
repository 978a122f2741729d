"""The regions' table for other programs: comma-separated, and NetCDF to the CF conventions.

In: the facts of an atlas. Out: bytes, or a file. Assumes one line for each region, kit and month,
as spreadsheets and statistics programs group them.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

import netCDF4
import numpy as np

from sheltermap.atlas.facts import AtlasFacts
from sheltermap.atlas.regions import RegionRow
from sheltermap.vocabulary import MONTHS

TABLE, TABLE_GRID = "regions.csv", "regions.nc"
"""Names of the table in its two forms."""

_SHARES = {
    "median": ("median_sound_share", "share of sound nights that half of the area exceeds"),
    "worst": ("worst_tenth_sound_share", "share that all but the worst tenth of the area exceeds"),
    "dangerous": ("mean_dangerous_share", "mean probability of a dangerous night"),
}


def table(rows: tuple[RegionRow, ...]) -> bytes:
    """
    Return the regions as a comma-separated table.

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
    names = [name for name, _ in _SHARES.values()]
    writer.writerow(("region", "area_km2", "kit", "month", *names, "why_not"))
    for row in rows:
        for kit, year in row.kits.items():
            for month in range(12):
                shares = (f"{getattr(year, name)[month]:.3g}" for name in _SHARES)
                why = year.why[month] or ""
                writer.writerow((row.name, round(row.area_km2), kit, month + 1, *shares, why))
    return text.getvalue().encode()


def write_table(path: Path, facts: AtlasFacts) -> None:
    """
    Write the regions as NetCDF to the CF conventions.

    Parameters
    ----------
    path : path
    facts : AtlasFacts
    """
    with netCDF4.Dataset(path, "w") as file:
        described(file, facts)
        file.createDimension("region", len(facts.regions))
        name = file.createVariable("region", str, ("region",))
        name.long_name = "country, as Natural Earth names it"
        name[:] = np.array([row.name for row in facts.regions], dtype=object)
        area = file.createVariable("area", "f8", ("region",))
        area.setncatts({"long_name": "area with a climate", "units": "km2"})
        area[:] = [row.area_km2 for row in facts.regions]
        for key, (called, words) in _SHARES.items():
            variable = file.createVariable(called, "f4", ("region", "kit", "month"), zlib=True)
            variable.setncatts({"long_name": words, "units": "1"})
            for place, row in enumerate(facts.regions):
                variable[place] = np.array([getattr(row.kits[kit.id], key) for kit in facts.kits])


def described(file: netCDF4.Dataset, facts: AtlasFacts) -> None:
    """
    Write into a file what an atlas is, its kits and its months.

    Parameters
    ----------
    file : netCDF4.Dataset
        Open and new.
    facts : AtlasFacts
    """
    file.Conventions = "CF-1.11"
    file.title = f"Nights outdoors by month and kit: {facts.title}"
    file.source = f"sheltermap, from {facts.climatology['source']}"
    file.comment = str(facts.block["caution"])
    file.setncatts({"bedding": facts.bedding or "each kit's own"})
    file.createDimension("kit", len(facts.kits))
    file.createDimension("month", len(MONTHS))
    kit = file.createVariable("kit", str, ("kit",))
    kit.long_name = "sleep kit"
    kit[:] = np.array([one.id for one in facts.kits], dtype=object)
    month = file.createVariable("month", "i4", ("month",))
    month.setncatts({"long_name": "month of the year", "units": "1"})
    month[:] = np.arange(1, len(MONTHS) + 1)
