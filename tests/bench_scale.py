"""Memory and time of a large region: 2,000 x 2,000 cells x 12 months at 30 arc-seconds.

Run as a script. It writes a synthetic source in the layout of a CF monthly climatology,
imports it, scores one kit and makes an atlas of it in processes of their own, and prints the
peak memory of each: the goal is under 2 GiB.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

CELLS = 2000
STEP = 1 / 120
GOAL_GIB = 2.0


def source(path: Path) -> None:
    """Write a synthetic monthly climatology month by month; its own memory does not count."""
    import netCDF4

    rows = 38.0 + STEP * (np.arange(CELLS) + 0.5)
    columns = 50.0 + STEP * (np.arange(CELLS) + 0.5)
    with netCDF4.Dataset(path, "w") as file:
        for name, size in (("month", 12), ("lat", CELLS), ("lon", CELLS)):
            file.createDimension(name, size)
        for name, values, units in (
            ("month", np.arange(1, 13), "1"),
            ("lat", rows, "degrees_north"),
            ("lon", columns, "degrees_east"),
        ):
            variable = file.createVariable(name, "f8", (name,))
            variable[:] = values
            variable.units = units
        hills = 10 * np.sin(np.radians(rows * 40))[:, None] * np.cos(np.radians(columns * 40))
        for name, standard_name, units, mean, swing in (
            ("tas", "air_temperature", "degC", 9.0, 16.0),
            ("pr", "lwe_thickness_of_precipitation_amount", "mm", 20.0, -5.0),
            ("e", "water_vapor_partial_pressure_in_air", "kPa", 0.8, 0.4),
        ):
            variable = file.createVariable(
                name, "f4", ("month", "lat", "lon"), chunksizes=(1, 500, 500)
            )
            variable.units = units
            variable.standard_name = standard_name
            relief = hills if name == "tas" else 0.0 * hills
            for month in range(12):
                variable[month] = mean - swing * np.cos(2 * np.pi * month / 12) + relief


def imported(source_file: str, target: str) -> None:
    """Import the source into the contract."""
    from sheltermap.climate.readers import import_sources
    from sheltermap.climate.writer import write_climatology

    write_climatology(import_sources([source_file]), target)


def scored(climatology: str, target: str) -> None:
    """Score one kit over the whole region and store the share."""
    from sheltermap.climate.calendar import by_month
    from sheltermap.climate.readers import open_climatology
    from sheltermap.night.conditions import conditions
    from sheltermap.shelters.kit import load_kits
    from sheltermap.suitability.score import score

    night = conditions(by_month(open_climatology(climatology)))
    share = score(night, load_kits()["bedroll"], details=False).sound_share
    share.drop_attrs().to_dataset(name="sound_share").to_zarr(target, consolidated=False)


def atlas(climatology: str, target: str) -> None:
    """Write an atlas of the whole region in one kit."""
    from sheltermap.atlas.asked import asked
    from sheltermap.atlas.build import build

    build(asked(kit_ids=["bedroll"], climate=Path(climatology)), target)


def main() -> None:
    """Print seconds and peak memory of import and score."""
    with tempfile.TemporaryDirectory() as folder:
        names = ("raw.nc", "form.nc", "share", "atlas")
        raw, form, share, site = (str(Path(folder) / name) for name in names)
        source(Path(raw))
        print(f"large region: {CELLS} x {CELLS} cells x 12 months")
        steps = (("imported", (raw, form)), ("scored", (form, share)), ("atlas", (form, site)))
        for step, arguments in steps:
            start = time.perf_counter()
            done = subprocess.run(
                [sys.executable, __file__, step, *arguments],
                stdout=subprocess.PIPE,
                text=True,
                check=True,
            )
            peak = float(done.stdout.split()[-1])
            seconds = time.perf_counter() - start
            verdict = "met" if peak < GOAL_GIB else "NOT MET"
            print(f"  {step:9} {seconds:6.1f} s, peak {peak:.2f} GiB (goal {GOAL_GIB} {verdict})")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        {"imported": imported, "scored": scored, "atlas": atlas}[sys.argv[1]](*sys.argv[2:])
        print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20)
    else:
        main()
