"""What a fuzzed command must not do is seen: the search for faults can fail."""

from __future__ import annotations

import sys

import forked
import pytest
from forked import ended, started


def outcome(command, folder):
    """Return how a child ends that runs a function."""
    log = folder / "said.txt"
    return ended(started(command, log), log)


def _burns():
    """Never end."""
    while True:
        pass


def _raises():
    """Fail as a fault of the program does."""
    raise KeyError("month")


def _speaks():
    """Let a file's text reach the terminal as it is."""
    print("\x1b[2J")


@pytest.mark.parametrize(
    ("command", "fault"),
    [
        (_raises, "a traceback: KeyError: 'month'"),
        (_speaks, "control characters"),
        (lambda: sys.exit(3), "exit code 3"),
        (lambda: sys.exit(2), "exit code 2 without a word"),
        (lambda: print("done"), ""),
    ],
)
def test_faults_are_told_from_messages(tmp_path, command, fault):
    """Exit codes 0 to 2 with words are none."""
    found = outcome(command, tmp_path).fault
    assert fault in found if fault else not found


def test_time_and_memory_are_bounded(tmp_path, monkeypatch):
    """Of the processor, so that a busy machine makes no fault; what is held is measured."""
    monkeypatch.setattr(forked, "MOST_SECONDS", 1.0)
    assert outcome(_burns, tmp_path).fault == "more than 1 s of the processor"
    held = outcome(lambda: bytearray(200 * 2**20).count(1), tmp_path)
    assert held.memory > 200 * 2**20
    monkeypatch.setattr(forked, "MOST_MEMORY", held.memory - 1)
    assert "GiB of memory" in held.fault
