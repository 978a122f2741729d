"""Small faults, planted one at a time, and how many of them the tests notice: ``make mutants``.

    .venv/bin/python tests/mutants.py --sample 50 --seed 7 --part planner

A comparison, a sign, a number, a condition of the program or of the site's scripts is changed
in a copy of the checkout, and the tests that run the changed line, as `executed.py` has found,
are run there in a child of this process, the quickest first; for a script those that open the
pages which load it. Prints every survivor with its place, and the share that was
killed by package. Survivors are to be judged by hand: some change nothing. All tests must pass
first: one that fails without a fault would kill every fault it is shown.
"""

from __future__ import annotations

import argparse
import compileall
import importlib
import os
import shutil
import signal
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from pathlib import Path

from executed import Choice, Executed, in_checkout, recorded
from planted import ROOT, SCRIPTS, Mutant, sampled

SHOWN_S = 20.0
"""Of the processor, for the tests that run the line of one fault, as they were recorded. [s]"""

LEAST_WAIT_S = 120.0
"""A machine that does other work is slow by turns; that kills no fault. [s]"""

SCRIPT_WAIT_S = 400.0
"""For a test file in a browser. [s]"""

_LOADED = (
    "numpy", "scipy.stats", "scipy.optimize", "pandas", "xarray", "geopandas", "pydantic",
    "hypothesis", "pytest", "shapely", "rasterio", "rioxarray", "folium", "netCDF4", "jinja2",
    "PIL.Image", "dask.array", "icalendar", "rich", "click.testing", "astral",
)  # fmt: skip


class Chosen:
    """Lets pytest run chosen tests only: those of the line first, then what has time."""

    def __init__(self, choice: Choice, took: dict[str, float], budget: float) -> None:
        self._first = {name: number for number, name in enumerate(choice.first)}
        self._took, self._budget = took, budget

    def pytest_collection_modifyitems(self, items: list) -> None:
        """Put tests in order, and leave out what is over the time."""
        last = len(self._first)
        doctests = [item for item in items if item.nodeid.startswith("sheltermap")]
        known = [item for item in items if item.nodeid in self._took]
        known.sort(key=lambda one: (self._first.get(one.nodeid, last), self._took[one.nodeid]))
        left, kept = self._budget, doctests
        for item in known:
            left -= self._took[item.nodeid]
            if left > 0 or not kept:
                kept.append(item)
        items[:] = kept


def run_apart(work: Callable[[], object], seconds: float) -> str:
    """Return how work ended in a child: "survived" with code 0, "killed" or "timed out"."""
    child = os.fork()
    if child == 0:
        code = 3
        try:
            os.setsid()
            nowhere = os.open(os.devnull, os.O_WRONLY)
            for stream in (1, 2):
                os.dup2(nowhere, stream)
            code = int(work() or 0)  # type: ignore[call-overload]
        finally:
            os._exit(code)
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return "survived" if os.waitstatus_to_exitcode(status) in (0, 5) else "killed"
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return "timed out"


def _tested(copy: Path, arguments: Sequence[str], plugins: Sequence[object]) -> int:
    """Return pytest's exit code in this process; 5 is that nothing was collected."""
    in_checkout(copy)
    import pytest

    options = ["-x", "-q", "--no-header", "-p", "no:cacheprovider", "-p", "no:xdist"]
    return int(pytest.main([*options, *arguments], plugins=[*plugins]))


class Planting:
    """A copy of the checkout in which faults are planted and shown to tests."""

    def __init__(self, copy: Path, executed: Executed, seconds: float) -> None:
        self._copy, self._executed, self._seconds = copy, executed, seconds
        self._sound: dict[Path, bool] = {}
        for part in ("sheltermap", "site_template", "regions", "tests"):
            shutil.copytree(ROOT / part, copy / part, ignore=shutil.ignore_patterns("__pycache__"))
        for file in ROOT.iterdir():
            if file.is_file() and not file.name.startswith("."):
                shutil.copy(file, copy / file.name)
        compileall.compile_dir(copy / "sheltermap", quiet=2)

    def shown(self, mutant: Mutant) -> str:
        """Return "killed", "survived" or "no test" for a fault shown to one file after another."""
        target = self._copy / mutant.file
        before, made = target.read_bytes(), target.stat()
        choices = self._executed.choices(mutant)
        if mutant.part == SCRIPTS:
            choices = [one for one in choices if self._is_sound(one)]
        changed = before[: mutant.start] + mutant.new.encode() + before[mutant.end :]
        target.write_bytes(changed)
        try:
            return self._noticed(mutant, choices)
        finally:
            target.write_bytes(before)
            os.utime(target, ns=(made.st_atime_ns, made.st_mtime_ns))  # compiled as it was

    def _noticed(self, mutant: Mutant, choices: Sequence[Choice]) -> str:
        left, arguments = self._seconds, [mutant.file] if mutant.file.endswith(".py") else []
        seen = "survived" if choices else "no test"
        for choice in choices:
            if left <= 0:
                break
            name = str(choice.file.relative_to(ROOT))
            if self._run([*arguments, name], choice, left) != "survived":
                return "killed"
            arguments = []  # Its doctests have been run.
            left -= max(choice.seconds, 0.2)
        return seen

    def _run(self, arguments: Sequence[str], choice: Choice, left: float) -> str:
        in_browser = not choice.first
        plugins = [] if in_browser else [Chosen(choice, self._executed.took, left)]
        wait = SCRIPT_WAIT_S if in_browser else LEAST_WAIT_S
        return run_apart(lambda: _tested(self._copy, arguments, plugins), wait)

    def _is_sound(self, choice: Choice) -> bool:
        """Return whether a test file passes without a fault."""
        if choice.file not in self._sound:
            name = str(choice.file.relative_to(ROOT))
            self._sound[choice.file] = self._run([name], choice, 0.0) == "survived"
        return self._sound[choice.file]


def main() -> None:
    """Plant faults, and print what survived and what was killed by package."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--sample", type=int, default=200)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--from", type=int, default=0, dest="first", help="leave out so many")
    options.add_argument(
        "--part", help="a package, sheltermap for its root's modules, scripts, or planner/costs.py"
    )
    options.add_argument("--shown", type=float, default=SHOWN_S, help="seconds of tests a fault")
    options.add_argument("--seconds", type=float, default=1e9, help="stop after so many")
    options.add_argument("--record", action="store_true", help="only record what runs which line")
    asked = options.parse_args()
    begun = time.monotonic()
    for name in _LOADED:
        importlib.import_module(name)
    recorded(run_apart, asked.seconds)
    if asked.record:
        return
    ends: dict[str, Counter[str]] = defaultdict(Counter)
    with tempfile.TemporaryDirectory(prefix="mutants-") as name:
        planting = Planting(Path(name), Executed(), asked.shown)
        for mutant in sampled(asked.sample, asked.seed, asked.part)[asked.first :]:
            if time.monotonic() - begun > asked.seconds:
                break
            end = planting.shown(mutant)
            ends[mutant.part][end] += 1
            if end != "killed":
                print(f"{end}: {mutant.told()}", flush=True)
    print_rates(ends)
    print(f"in {time.monotonic() - begun:.0f} s, seed {asked.seed}")


def print_rates(ends: dict[str, Counter[str]]) -> None:
    """Print the share killed, by package and in all."""
    groups = {
        "Python": [part for part in ends if part != SCRIPTS],
        "website": ["website"],
        SCRIPTS: [SCRIPTS],
    }
    for part, counts in sorted(ends.items()):
        print(f"  {part:12s} {counts['killed']:4d} of {counts.total():4d} killed, {dict(counts)}")
    for name, parts in groups.items():
        killed = sum(ends[part]["killed"] for part in parts if part in ends)
        count = sum(ends[part].total() for part in parts if part in ends)
        if count:
            print(f"{name}: {100 * killed / count:.0f} % of {count} killed")


if __name__ == "__main__":
    main()
