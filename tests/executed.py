"""Which test runs which line of the program, recorded once and kept in ``.mutants``.

In: test files. Out: the tests to show a fault to, the most telling first. A file is recorded
again when it has changed; of a module that has changed since, every test of it is taken. The
first test that asks for a shared fixture or fills a cache has its lines: the others of its file
come right after those that run a line.
Not seen: what a test runs in another process.
"""

from __future__ import annotations

import hashlib
import json
import math
import os
import re
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import pytest
from planted import ROOT, SCRIPTS, Mutant, running_lines

KEPT = ROOT / ".mutants"
MOST_SECONDS = 200.0
"""A test file that takes longer is left out. [s]"""

_LEFT_OUT = re.compile(r"test_(face|packaging|layers|bundled|climate_evaluate|readme|demo)\.py")
_OPENS_PAGES = re.compile(r"BROWSER_MARKS|in_browser")
_OF_SCRIPTS = {
    "atlas": (
        "test_browser_atlas_figures.py",
        "test_browser_atlas_painted.py",
        "test_browser_atlas.py",
    ),
    "season": (
        "test_scripts.py",
        "test_scripts_journeys.py",
        "test_scripts_season.py",
        "test_drawn_weeks.py",
        "test_browser_season.py",
    ),
    "departure": (
        "test_scripts.py",
        "test_scripts_journeys.py",
        "test_browser_departures.py",
        "test_browser_season.py",
    ),
    "map": ("test_scripts.py", "test_scripts_labels.py", "test_browser_maps.py"),
    "log": ("test_scripts_forms.py", "test_scripts.py", "test_website_log.py"),
    "tonight": ("test_scripts_forms.py", "test_browser_tonight.py"),
    "words": ("test_scripts.py",),
    "display": ("test_browser_display.py", "test_browser_copies.py"),
    "first": ("test_browser_display.py",),
}
"""Test files that open the pages of a script, by the beginning of its name."""

_OF_FIELDS = "test_reference.py"

_OF_ANY_SCRIPT = (
    "test_browser_units.py",
    "test_browser_layout.py",
    "test_browser_controls.py",
    "test_browser.py",
)


@dataclass(frozen=True)
class Choice:
    """The tests of a file to show a fault to: those that run its line, then their neighbours.

    The neighbours may look at what the first test left in a cache or a shared fixture.
    """

    file: Path
    first: tuple[str, ...]
    seconds: float


def digest(path: Path) -> str:
    """Return what tells whether a file has changed."""
    return hashlib.sha256(path.read_bytes()).hexdigest()[:16]


def test_files() -> list[Path]:
    """Return the test files that are recorded, the small ones first."""
    every = (ROOT / "tests").glob("test_*.py")
    asked = [
        file
        for file in every
        if not _LEFT_OUT.fullmatch(file.name)
        and not _OPENS_PAGES.search(file.read_text(encoding="utf-8"))
    ]
    return sorted(asked, key=lambda file: (file.stat().st_size, file.name))


def _place(file: Path) -> Path:
    """Return where the record of a test file is kept, without its suffix."""
    return KEPT / file.stem


def is_recorded(file: Path) -> bool:
    """Return whether the record of a test file is there and of the file as it is."""
    told = _place(file).with_suffix(".json")
    return told.exists() and json.loads(told.read_text())["digest"] == digest(file)


def record(file: Path) -> None:
    """Run a test file in this process and keep which of its tests runs which line, and how long.

    Sources are compared by what they were when the run began.
    """
    import coverage

    place = _place(file)
    place.with_suffix(".lines").unlink(missing_ok=True)
    sources = {
        str(one.relative_to(ROOT)): digest(one) for one in (ROOT / "sheltermap").rglob("*.py")
    }
    watched = coverage.Coverage(
        data_file=str(place.with_suffix(".lines")),
        source=[str(ROOT / "sheltermap")],
        config_file=False,
        messages=False,
    )
    watched.set_option("run:relative_files", True)  # A record holds in any checkout.
    watch = _Watch(watched.switch_context)
    watched.start()
    options = ["-q", "--no-header", "-p", "no:cacheprovider", "-p", "no:xdist"]
    pytest.main([*options, str(file)], plugins=[watch])
    watched.stop()
    watched.save()
    told = {"digest": digest(file), "sources": sources, "took": watch.took}
    place.with_suffix(".json").write_text(json.dumps(told))


class _Watch:
    """A plugin of pytest that says which test runs, and what the good ones took. [s]"""

    def __init__(self, begun: Callable[[str], None]) -> None:
        self.took: dict[str, float] = {}
        self._begun = begun

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        """Say that a test and its fixtures begin."""
        self._begun(nodeid)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Add a part of a test; what fails without a fault tells nothing of one."""
        spent = self.took.get(report.nodeid, 0.0) + report.duration
        self.took[report.nodeid] = spent if report.passed else math.inf

    def pytest_sessionfinish(self) -> None:
        """Drop what failed."""
        self.took = {name: spent for name, spent in self.took.items() if spent < math.inf}


class Record:
    """What was recorded of one test file."""

    def __init__(self, file: Path) -> None:
        self.file = file
        told = json.loads(_place(file).with_suffix(".json").read_text())
        self.took: dict[str, float] = told["took"]
        self._sources: dict[str, str] = told["sources"]

    @cached_property
    def _data(self):
        import coverage

        data = coverage.CoverageData(str(_place(self.file).with_suffix(".lines")))
        data.read()
        return data

    def running(self, mutant: Mutant) -> set[str]:
        """Return the tests that run a fault, as far as this can be told by its lines."""
        by_line = self._data.contexts_by_lineno(mutant.file)
        changed = self._sources.get(mutant.file) != digest(ROOT / mutant.file)
        lines = running_lines(mutant)
        if lines is None:
            return set(self.took) if by_line else set()
        asked = by_line if changed else lines or by_line
        found = {name for line in asked for name in by_line.get(line, ())}
        return found & self.took.keys()


class Executed:
    """The records of all test files, asked for the tests that may notice a fault."""

    @cached_property
    def _records(self) -> list[Record]:
        return [Record(file) for file in test_files() if is_recorded(file)]

    @cached_property
    def took(self) -> dict[str, float]:
        """Return how long each test took. [s of the processor]"""
        return {name: spent for one in self._records for name, spent in one.took.items()}

    def choices(self, mutant: Mutant) -> list[Choice]:
        """Return the tests to show a fault to, by file: by name nearest, then the quickest."""
        if mutant.part == SCRIPTS:
            return [Choice(ROOT / "tests" / name, (), 0.0) for name in _by_script(mutant)]
        found, of_fields = [], not running_lines(mutant)
        for one in self._records:
            running = one.running(mutant)
            if of_fields and one.file.name == _OF_FIELDS:
                running = set(one.took)  # It reads them where they stand, and runs no line.
            if running:
                first = sorted(running, key=lambda name: (one.took[name], name))
                spent = sum(one.took[name] for name in first)
                found.append(Choice(one.file, tuple(first), spent))
        return sorted(found, key=lambda one: (-_nearness(mutant, one.file), one.seconds))


def _nearness(mutant: Mutant, file: Path) -> int:
    """Return how many of the names of package and module the name of a test file has.

    The reference page prints what fields may hold: nothing is nearer to them.
    """
    if file.name == _OF_FIELDS and not running_lines(mutant):
        return 3
    place = Path(mutant.file)
    return sum(name in file.stem for name in {place.parent.name, place.stem})


def _by_script(mutant: Mutant) -> list[str]:
    """Return the test files that open pages with a script."""
    stem = Path(mutant.file).stem
    near = [names for start, names in _OF_SCRIPTS.items() if stem.startswith(start)]
    return list(dict.fromkeys((*(near[0] if near else ()), *_OF_ANY_SCRIPT)))


def recorded(run_apart: Callable[[Callable[[], None], float], str], seconds: float) -> None:
    """Record every test file that is not, each in a child, for so long at most."""
    os.chdir(ROOT)
    KEPT.mkdir(exist_ok=True)
    begun = time.monotonic()
    for file in test_files():
        if is_recorded(file) or time.monotonic() - begun > seconds:
            continue
        started = time.monotonic()
        end = run_apart(lambda file=file: record(file), MOST_SECONDS)
        print(f"{file.name}: {end}, {time.monotonic() - started:.0f} s", flush=True)


def in_checkout(place: Path) -> None:
    """Make this process run tests of a checkout."""
    os.chdir(place)
    os.environ |= {"PYTHONPATH": f"{place}:{place / 'tests'}", "PYTHONDONTWRITEBYTECODE": "1"}
    sys.path[:0] = [str(place), str(place / "tests")]
    sys.dont_write_bytecode = True
