"""Speed and sizes: ``python tests/bench.py``, or ``make bench``.

Prints each figure with its goal, and exits with 1 when a goal is missed. Where a figure
depends on the machine it is also given as a ratio to something measured in the same run, as
users have it installed: what the test tools bring is not there to be imported.
The benchmarks beside this one run last.
"""

from __future__ import annotations

import gzip
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import unquote, urlsplit

from browsing import ARGUMENTS, CHROMIUM
from installation import as_users_have_it

from sheltermap.shelters.kit import load_kits

HERE = Path(__file__).parent
TRIP = HERE.parent / "regions" / "silk-seeds" / "trip.toml"
ENVIRONMENT = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
ENVIRONMENT["PYTHONPATH"] = str(HERE.parent)
RUNS = 5

ONE_FILE = "one-file.html"
PACKED = "base.js"
"""The base map, which servers send compressed: counted as gzip makes it."""

READABLE = """
() => {
  const paint = performance.getEntriesByName("first-contentful-paint")[0];
  const [page] = performance.getEntriesByType("navigation");
  return paint && page.loadEventEnd ? [paint.startTime, page.loadEventEnd] : null;
}
"""
"""When the answer is first on the screen, and when all is there. [ms]"""


class Bench:
    """Prints figures and remembers whether every goal was met."""

    def __init__(self):
        self.met = True

    def figure(self, name: str, value: float, unit: str, goal: float | None = None):
        """Print one figure; a goal is the largest value allowed."""
        self.met &= goal is None or value <= goal
        verdict = "" if goal is None else f" (goal: at most {goal:g} {unit})"
        missed = " MISSED" if goal is not None and value > goal else ""
        print(f"{name}: {value:.3g} {unit}{verdict}{missed}", flush=True)


def run(*command: str | Path) -> tuple[float, float, float]:
    """Return a command's wall time [s], processor time [s] and largest memory [MiB]."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, env=ENVIRONMENT)
    _, status, used = os.wait4(process.pid, 0)
    wall = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        sys.exit(f"{' '.join(map(str, command))}: exit code {process.returncode}")
    return wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


NEEDED = "import click, netCDF4, pydantic.main, scipy.special, xarray"
"""What one answer for a place can't do without."""

LIBRARIES = (
    "import astral.moon, click, exactextract, folium, geopandas, gpxpy, icalendar, jinja2, "
    "netCDF4, numpy, pandas, PIL.Image, pydantic.main, pyproj, rich.progress, scipy.sparse, "
    "scipy.special, shapely, xarray"
)
"""What a build imports of others."""

OPENED = f"""{NEEDED}
from sheltermap.climate.world import embedded_file
with xarray.open_dataset(embedded_file(), engine="netcdf4", cache=False) as stored:
    float(stored["air_temperature"].sel(latitude=41.0, longitude=29.0, method="nearest").mean())
"""

REBUILT = """import re, sys, time
from pathlib import Path
from sheltermap.pipeline import build
folder = Path(sys.argv[1])
trip = folder / "trip.toml"
build(trip, folder / "site")
first = time.process_time()
text, changed = re.subn("daily_km = [0-9.]+", "daily_km = 190", trip.read_text())
assert changed
trip.write_text(text)
build(trip, folder / "site")
print((time.process_time() - first) / first)
"""


def starts(bench: Bench, python: Path) -> None:
    """Measure what waits at the command line, in turn, so that all share the same load."""
    sheltermap = (python, "-m", "sheltermap")
    commands = {
        "help": (*sheltermap, "--help"),
        "night": (*sheltermap, "night", "41.0", "28.9", "--json"),
        "opened": (python, "-c", OPENED),
        "check": (*sheltermap, "check", TRIP),
        "libraries": (python, "-c", LIBRARIES),
    }
    turns = [{name: run(*command) for name, command in commands.items()} for _ in range(RUNS + 1)]
    turns = turns[1:]  # the first warms the caches
    wall = statistics.median(turn["help"][0] for turn in turns)
    processor = statistics.median(turn["night"][1] for turn in turns)
    bench.figure("sheltermap --help", wall, "s", 0.4)
    bench.figure("sheltermap night --json", processor, "s of processor time")
    night, check = ratio(turns, "night", "opened"), ratio(turns, "check", "libraries")
    bench.figure("  night / its imports and one opening", night, "times", 1.15)
    bench.figure("check / importing a build's libraries", check, "times", 2.5)


def ratio(turns: list[dict[str, tuple[float, float, float]]], one: str, other: str) -> float:
    """Return how many times the processor time of the other one takes, the median of turns."""
    return statistics.median(turn[one][1] / turn[other][1] for turn in turns)


def build(bench: Bench, python: Path, folder: Path) -> None:
    """Build the demo site into `folder`, measuring processor time and memory."""
    command = (python, "-m", "sheltermap", "build", "-q", "-o")
    commands = {"libraries": (python, "-c", LIBRARIES), "build": (*command, folder, TRIP)}
    turns = [{name: run(*command) for name, command in commands.items()} for _ in range(RUNS + 1)]
    turns = turns[1:]
    processor = statistics.median(turn["build"][1] for turn in turns)
    bench.figure("demo build", processor, "s of processor time")
    bench.figure(
        "  demo build / importing its libraries", ratio(turns, "build", "libraries"), "times", 4.0
    )
    bench.figure("  largest memory", max(turn["build"][2] for turn in turns), "MiB", 230.0)
    with tempfile.TemporaryDirectory() as copy:
        shutil.copytree(TRIP.parent, copy, dirs_exist_ok=True)
        long = Path(copy) / "long.toml"
        long.write_text(long_trip(), encoding="utf-8")
        _, longest, largest = run(*command, Path(copy) / "long", long)
        long_sizes(bench, Path(copy) / "long")
        again = [rebuilt(python, Path(copy)) for _ in range(3)]
    bench.figure("  again with one number changed / first", statistics.median(again), "times", 0.5)
    bench.figure("  40 legs, 9 kits, 365 departures / demo", longest / processor, "times", 2.5)
    bench.figure("    its largest memory", largest, "MiB")


def rebuilt(python: Path, folder: Path) -> float:
    """Return how long the second build in one process takes, measured by the first.

    What it wrote must be what a fresh process writes.
    """
    (folder / "trip.toml").write_bytes(TRIP.read_bytes())
    found = subprocess.run(
        [python, "-c", REBUILT, folder],
        check=True,
        capture_output=True,
        text=True,
        env=ENVIRONMENT,
    )
    run(python, "-m", "sheltermap", "build", folder, "-q", "-o", folder / "fresh")
    if contents(folder / "site") != contents(folder / "fresh"):
        sys.exit("the second build in one process differs from a fresh one")
    return float(found.stdout)


def contents(folder: Path) -> dict[str, bytes]:
    """Return the files of a folder by their paths in it."""
    files = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def long_trip() -> str:
    """Return a trip of 40 legs, nine kits and a year of departures across Eurasia."""
    kits = ", ".join(f'"{name}"' for name in list(load_kits())[:9])
    head = (
        'title = "Long"\n\n[party]\npeople = 2\nbedding = "winter"\n\n[departure]\n'
        "earliest = 2027-01-01\nlatest = 2027-12-31\nfinish_by = 2029-06-30\nmost_danger = 1\n\n"
        f"[shelter]\nkits = [{kits}]\n\n"
        # A kit that needs what the vehicle lacks is refused, and would not be measured.
        '[vehicle]\ncarries = ["roof_rack", "load_bed", "bed_rack", "pop_roof"]\n'
    )
    legs = (
        f'\n[[legs]]\nname = "Leg {n}"\nplace = [{40 + n % 3 * 2.0}, {30.0 + n}]\n'
        "nights = [2, 4, 6]\ncamp_elevation_m = 500\n"
        for n in range(40)
    )
    return head + "".join(legs)


def sizes(bench: Bench, folder: Path) -> None:
    """Print the sizes that need no browser."""
    total = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    bench.figure("whole site", total / 1e6, "MB", 8.0)
    bench.figure("  one-file copy", kilobytes(folder / ONE_FILE) / 1e3, "MB", 3.0)
    month = max(folder.glob("overlays/**/*.png"), key=lambda path: path.stat().st_size)
    bench.figure("  largest month's overlay", kilobytes(month), "kB", 40.0)


def long_sizes(bench: Bench, folder: Path) -> None:
    """Print the sizes of a site with 40 legs and 365 departures."""
    bench.figure("  40 legs: one-file copy", kilobytes(folder / ONE_FILE) / 1e3, "MB", 2.5)
    with chromium() as browser:
        if browser is not None:
            weights = page_weights(browser, folder)
            heaviest = max(weights, key=weights.get)
            name = f"  40 legs: heaviest page with its files, {heaviest}"
            bench.figure(name, weights[heaviest], "kB", 500.0)
            bench.figure("  40 legs: Calendar", weights["calendar.html"], "kB", 500.0)


@contextmanager
def chromium() -> Iterator:
    """Start Chromium; None where there is none and none is required."""
    if CHROMIUM is None:
        if os.environ.get("SHELTERMAP_BROWSER") == "required":
            sys.exit("Chromium is required and not installed")
        yield None
        return
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield browser
        browser.close()


def page_weights(browser, folder: Path) -> dict[str, float]:
    """Return the size of each page of a site with what it loads at first. [kB]"""
    return {
        path.name: first_load(browser, path)
        for path in sorted(folder.glob("*.html"))
        if path.name != ONE_FILE
    }


def kilobytes(path: Path) -> float:
    """Return the size of a file as the goals count it. [kB]"""
    content = path.read_bytes()
    if path.name == PACKED:
        content = gzip.compress(content, mtime=0)
    return len(content) / 1e3


def pages(bench: Bench, folder: Path) -> None:
    """Open every page in Chromium: what it loads at first, and when it can be read."""
    with chromium() as browser:
        if browser is None:
            print("pages: not measured, there is no Chromium here")
            return
        weights = page_weights(browser, folder)
        heaviest = max(weights, key=weights.get)
        bench.figure(f"heaviest page with its files, {heaviest}", weights[heaviest], "kB", 400.0)
        bench.figure("  Plan page with its files", weights["index.html"], "kB", 400.0)
        plain = reading(browser, folder / "index.html", 1)
        slowed = reading(browser, folder / "index.html", 4)
    bench.figure("Plan page readable, processor 4 times slower", slowed[0], "s")
    bench.figure("  and complete", slowed[1], "s")
    bench.figure("  readable, slowed / as it is", slowed[0] / plain[0], "times")


def first_load(browser, path: Path) -> float:
    """Return the size of a page and of all it asks for until it is quiet. [kB]"""
    asked = set()
    page = browser.new_page()
    page.on("request", lambda request: asked.add(request.url))
    page.goto(path.resolve().as_uri())
    page.wait_for_load_state("networkidle")
    page.close()
    addresses = (urlsplit(url) for url in asked)
    files = {unquote(address.path) for address in addresses if address.scheme == "file"}
    return sum(kilobytes(Path(name)) for name in files)


def reading(browser, path: Path, slowdown: int) -> tuple[float, float]:
    """Return the times until a page can be read and until it is complete, medians. [s]"""
    times = []
    for turn in range(RUNS + 1):
        page = browser.new_page()
        page.context.new_cdp_session(page).send(
            "Emulation.setCPUThrottlingRate", {"rate": slowdown}
        )
        page.goto(path.resolve().as_uri())
        found = page.wait_for_function(READABLE).json_value()
        if turn:
            times.append(found)
        page.close()
    return tuple(statistics.median(column) / 1e3 for column in zip(*times, strict=True))


def others(bench: Bench) -> None:
    """Run the benchmarks beside this one: the score, the planner, large regions."""
    for script in sorted(HERE.glob("bench_*.py")):
        print(f"\n{script.stem}", flush=True)
        bench.met &= subprocess.run([sys.executable, script], env=ENVIRONMENT).returncode == 0


def main() -> bool:
    """Print every figure; return whether every goal was met."""
    bench = Bench()
    with tempfile.TemporaryDirectory() as folder:
        python = as_users_have_it(Path(folder) / "installation")
        starts(bench, python)
        site = Path(folder) / "site"
        build(bench, python, site)
        sizes(bench, site)
        pages(bench, site)
    others(bench)
    return bench.met


if __name__ == "__main__":
    sys.exit(0 if main() else 1)
