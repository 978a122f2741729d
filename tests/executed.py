"""Which tests run which lines of the program, as `mutants.py` needs to know.

In: the test files. Out: for each line the tests that run it, quickest first. Assumes that a test
runs the same lines each time. Recorded once for a state of the sources, a process for each test
file, since fixtures that tests share run in none of them alone.
"""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parent.parent
RECORDS = ROOT / ".mutants"
_MOST_SECONDS = 600


@dataclass
class Executed:
    """
    What the recording found.

    Attributes
    ----------
    lines : dict
        By module as a path from the root, and by line: test files, and of each the test
        functions that run it. Without a function the line runs in a fixture or on import.
    seconds : dict of str to float
        What a test file, or a function as ``file::function``, took. [s]
    """

    lines: dict[str, dict[int, dict[str, set[str]]]] = field(default_factory=dict)
    seconds: dict[str, float] = field(default_factory=dict)

    def tests_of(self, module: str, lines: Sequence[int]) -> list[str]:
        """Return what runs any of some lines, quickest first: functions, and whole files.

        A file that runs them in a fixture is run whole.
        """
        found = defaultdict[str, set[str]](set)
        for line in lines:
            for file, functions in self.lines.get(module, {}).get(line, {}).items():
                found[file] |= functions or {""}
        nodes = [
            f"{file}::{name}" if name and "" not in names else file
            for file, names in found.items()
            for name in names
        ]
        return sorted(dict.fromkeys(nodes), key=lambda node: (self.took(node), node))

    def took(self, node: str) -> float:
        """Return what a test took. [s]"""
        return self.seconds.get(node, 0.0)


def recorded(files: Sequence[Path]) -> Executed:
    """Return what test files execute, recording what is not on record for these sources."""
    folder = RECORDS / _state()
    folder.mkdir(parents=True, exist_ok=True)
    executed = Executed()
    for number, file in enumerate(files, 1):
        data = folder / f"{file.name}.coverage"
        if not data.exists():
            print(f"recording {number} of {len(files)}: {file.name}", flush=True)
            _record(file, data)
        _add(executed, file, data)
    return executed


def _state() -> str:
    """Return what stands for the program as it is."""
    known = hashlib.sha256()
    for path in sorted((ROOT / "sheltermap").rglob("*.py")):
        known.update(path.read_bytes())
    return known.hexdigest()[:16]


def _record(file: Path, data: Path) -> None:
    """Run a test file and keep which lines it runs, and how long its tests took."""
    settings = data.with_suffix(".ini")
    settings.write_text(
        f"[run]\nsource = {ROOT / 'sheltermap'}\ndynamic_context = test_function\n"
        f"data_file = {data}.part\n",
        encoding="utf-8",
    )
    coverage = [sys.executable, "-m", "coverage", "run", f"--rcfile={settings}"]
    tests = ["-m", "pytest", "-q", "-p", "no:cacheprovider", "--durations=0", "-vv", str(file)]
    begun = time.monotonic()
    run = subprocess.run(
        [*coverage, *tests],
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=_MOST_SECONDS,
    )
    took = f"{time.monotonic() - begun:.2f}s call {file.relative_to(ROOT)}::\n"
    data.with_suffix(".txt").write_text(took + run.stdout, encoding="utf-8")
    Path(f"{data}.part").rename(data)


def _add(executed: Executed, file: Path, data: Path) -> None:
    """Add what one test file runs."""
    from coverage import CoverageData

    name = str(file.relative_to(ROOT))
    for node, seconds in _durations(data.with_suffix(".txt").read_text(encoding="utf-8")):
        key = node.removesuffix("::")
        executed.seconds[key] = executed.seconds.get(key, 0.0) + seconds
    record = CoverageData(str(data))
    record.read()
    for path in record.measured_files():
        module = str(Path(path).relative_to(ROOT))
        by_line = executed.lines.setdefault(module, {})
        for line, contexts in record.contexts_by_lineno(path).items():
            functions = {context.rpartition(".")[2] for context in contexts}
            by_line.setdefault(line, {})[name] = functions - {""}


def _durations(told: str) -> Iterator[tuple[str, float]]:
    """Yield what tests took, as pytest tells it; a function's cases are its own together."""
    for line in told.splitlines():
        found = re.match(r"([\d.]+)s (?:call|setup) +(\S+?::\w*)", line)
        if found:
            yield found[2], float(found[1])
