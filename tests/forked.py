"""Runs the command line in a child of its own, and tells what it cost and whether it may end so.

In: arguments of a command. Out: its exit code, what it said, seconds of processor and memory.
Assumes a system that can fork: the child starts with everything loaded, in milliseconds.
"""

from __future__ import annotations

import importlib
import os
import pkgutil
import re
import resource
import signal
import sys
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import sheltermap
from sheltermap.cli import main

MOST_SECONDS = 10.0
"""judgement: a check of damaged files must not take longer, on a machine that does other work."""

MOST_MEMORY = 1.5 * 2**30
"""judgement: what a small machine has to spare. [bytes]"""

_LAZY = ("dask.array", "netCDF4", "rioxarray", "scipy.io", "xarray.backends.zarr", "zarr")
_TRACEBACK = 70
_MEANT = (0, 1, 2)
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")


@dataclass(frozen=True)
class Outcome:
    """How a command ended.

    Attributes
    ----------
    code : int
        Exit code; of a signal its number, negative.
    said : str
        Standard output and standard error.
    seconds : float
        Of the processor. [s]
    memory : int
        Most that was held at once. [bytes]
    """

    code: int
    said: str
    seconds: float
    memory: int

    @property
    def fault(self) -> str:
        """Return why a command must not end like this; empty where it may."""
        if self.code == -signal.SIGXCPU:
            return f"more than {MOST_SECONDS:.0f} s of the processor"
        if self.memory > MOST_MEMORY or "MemoryError" in self.said:
            return f"{self.memory / 2**30:.1f} GiB of memory"
        if self.code == _TRACEBACK or "Traceback (most recent" in self.said:
            return f"a traceback: {self.said.strip().splitlines()[-1]}"
        if self.code not in _MEANT:
            return f"exit code {self.code}"
        if self.code and not self.said.strip():
            return f"exit code {self.code} without a word"
        if _CONTROL.search(self.said):
            return "control characters in what is said"
        return ""


def told(faults: Sequence[str]) -> int:
    """Print the faults that a search found, and return its exit code."""
    print(f"{len(faults)} faults")
    for fault in faults:
        print(f"- {fault}")
    return int(bool(faults))


def load_everything() -> None:
    """Load all that a command may load, so that children need not; starts no thread."""
    for module in pkgutil.walk_packages(sheltermap.__path__, "sheltermap."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    for name in _LAZY:
        importlib.import_module(name)


def started(command: Callable[[], object], log: Path) -> int:
    """
    Return the process of a child that runs a command.

    Parameters
    ----------
    command : callable
        Ends with SystemExit, or returns.
    log : path
        A file for what it says.

    Returns
    -------
    int
    """
    sys.stdout.flush()
    sys.stderr.flush()
    child = os.fork()
    if child == 0:
        _run(command, log)
    return child


def ended(child: int, log: Path) -> Outcome:
    """Return how a child ended that `started` gave, once it has."""
    _, status, used = os.wait4(child, 0)
    said = log.read_text(encoding="utf-8", errors="surrogateescape")
    code = os.waitstatus_to_exitcode(status)
    return Outcome(code, said, used.ru_utime + used.ru_stime, used.ru_maxrss * 1024)


def command_line(arguments: Sequence[str]) -> Callable[[], object]:
    """Return what runs a command of sheltermap."""
    return lambda: main(list(arguments), prog_name="sheltermap")


def _run(command: Callable[[], object], log: Path) -> None:
    """Run a command in this process, within limits, and end the process."""
    code = _TRACEBACK
    try:
        log.unlink(missing_ok=True)
        written = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        for stream in (1, 2):
            os.dup2(written, stream)
        signal.signal(signal.SIGXCPU, signal.SIG_DFL)
        spent = int(sum(resource.getrusage(resource.RUSAGE_SELF)[:2]))
        resource.setrlimit(
            resource.RLIMIT_CPU, (spent + int(MOST_SECONDS), resource.RLIM_INFINITY)
        )
        sys.stdout, sys.stderr = (
            open(stream, "w", encoding="utf-8", closefd=False)  # noqa: SIM115
            for stream in (1, 2)
        )
        try:
            command()
            code = 0
        except SystemExit as ended:
            code = ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
