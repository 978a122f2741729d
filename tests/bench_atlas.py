"""The world's atlas: ``python tests/bench_atlas.py``; its speed, memory and sizes.

Scoring is held against one fast heat index of pythermalcomfort over the same cells and months,
and against a pass through memory that reads what scoring reads and writes what it writes: the
roof that no arithmetic gets above. The goal against the heat index is not reached: nine kits ask
87 normal probabilities of a night, which alone take a processor as long as 37 such indices (9 and
21 ns each), and the kernel is kept readable. The command runs in a process of its own. That time a
night stays flat from a million nights to sixteen is measured by ``bench_score.py``. A missed goal
of speed is printed, for neighbours on the same machine can cause it; exits with 1 when the atlas
is too large for a disk, a page or a memory.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from bench_score import figure

from sheltermap.climate.calendar import by_month
from sheltermap.climate.grid import cells
from sheltermap.climate.world import world_climatology
from sheltermap.night.conditions import conditions
from sheltermap.shelters.kit import load_kits
from sheltermap.suitability.score import INPUTS, scores

ROUNDS = 3
STORED = ("sound_share", "dangerous")

MOST_HEAT_INDICES = 30.0
MOST_SECONDS = 30.0
MOST_MEBIBYTES = 1024.0
MOST_ON_DISK, MOST_FIRST_PAGE, MOST_MONTH = 20e6, 500e3, 60e3

FIRST = ("index.html", "assets/", "maps/ground-tent/share-07.png")
"""What a page loads at first, by how paths begin; the base map and names come after."""


def shortest(function) -> tuple[float, float]:
    """Return the shortest wall and processor time of some calls. [s]"""
    times = []
    for _ in range(ROUNDS):
        wall, processor = time.perf_counter(), time.process_time()
        function()
        times.append((time.perf_counter() - wall, time.process_time() - processor))
    return min(wall for wall, _ in times), min(processor for _, processor in times)


def scoring() -> float:
    """Print what scoring the world takes; return its processor time. [s]"""
    night = conditions(by_month(cells(world_climatology())))
    kits = list(load_kits().values())
    count = night["bedtime_temperature"].size
    print(f"{count:,} nights x {len(kits)} kits, {os.cpu_count()} processors")
    wall, processor = shortest(lambda: scores(night, kits, keep=STORED))
    figure("scored, wall", wall, "s")
    figure("  a night and kit, processor", 1e9 * processor / count / len(kits), "ns")
    roof, _ = shortest(lambda: memory_pass(night, len(kits)))
    figure("  scored / reading the inputs and writing the results", wall / roof, "times")
    index = heat_index(night)
    if index is None:
        print("  heat index: not measured, pythermalcomfort is not installed")
    else:
        figure("  scored / one fast heat index", wall / index, "times", most=MOST_HEAT_INDICES)
    return processor


def memory_pass(night, kits: int) -> list[np.ndarray]:
    """Read every input once and write every result once."""
    total = sum(float(night[name].values.sum()) for name in INPUTS.values() if name in night)
    shape = (kits, *night["bedtime_temperature"].shape)
    floats = [np.full(shape, total) for _ in STORED]
    return [*floats, np.full(shape, 1, np.int8)]


def heat_index(night) -> float | None:
    """Return the time of one fast heat index over the nights. [s]"""
    try:
        from pythermalcomfort.models import heat_index_rothfusz
    except ImportError:
        return None
    warm = night["bedtime_temperature"].values.ravel()
    humid = np.full(warm.size, 60.0)

    def one() -> None:
        heat_index_rothfusz(warm, humid, round_output=False, limit_inputs=False)

    return shortest(one)[0]


def command(folder: Path, scored: float) -> bool:
    """Write the world's atlas; return whether it fits disk, page and memory."""
    words = [sys.executable, "-m", "sheltermap", "atlas", "--world", "-q", "-o", str(folder)]
    process = os.posix_spawn(sys.executable, words, os.environ)
    _, status, used = os.wait4(process, 0)
    if status:
        sys.exit(f"sheltermap atlas: exit code {os.waitstatus_to_exitcode(status)}")
    processor = used.ru_utime + used.ru_stime
    figure("the whole atlas, processor", processor, "s")
    figure("  without scoring", processor - scored, "s", most=MOST_SECONDS)
    size = {
        path.relative_to(folder).as_posix(): path.stat().st_size
        for path in folder.rglob("*")
        if path.is_file()
    }
    first = sum(bytes_ for name, bytes_ in size.items() if name.startswith(FIRST))
    month = max(bytes_ for name, bytes_ in size.items() if name.startswith("maps/"))
    fits = [
        figure("  largest memory", used.ru_maxrss / 1024, "MiB", most=MOST_MEBIBYTES),
        figure("  on disk", sum(size.values()) / 1e6, "MB", most=MOST_ON_DISK / 1e6),
        figure("  first page", first / 1e3, "kB", most=MOST_FIRST_PAGE / 1e3),
        figure("  largest picture", month / 1e3, "kB", most=MOST_MONTH / 1e3),
    ]
    for kind in ("tiles/", "maps/", "data/"):
        figure(
            f"  {kind}", sum(b for name, b in size.items() if name.startswith(kind)) / 1e6, "MB"
        )
    return all(fits)


def main() -> bool:
    """Print every figure; return whether the atlas fits."""
    processor = scoring()
    with tempfile.TemporaryDirectory() as folder:
        return command(Path(folder) / "atlas", processor)


if __name__ == "__main__":
    sys.exit(0 if main() else 1)
