"""Builds that are broken off at random moments: 40 of them, or as many as one likes by hand.

    .venv/bin/python tests/kill.py --times 500 --seed 7

Two sites of one trip are known byte by byte. Over and over one of them is built in the place of
the other and broken off, by SIGKILL, SIGTERM or SIGINT, at any moment, half of the times just
when it is written. Afterwards one of the two must lie there whole, and once the next build has
written, nothing hidden beside it: of that build only the writer is run. Prints its counts.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import small_trips
from forked import command_line, ended, load_everything, started, told

from sheltermap.website.write import MARKER, write_file, write_site

SIGNALS = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT)
_BROKEN_OFF = 130
_WRITING_S = 0.05  # About as long as writing takes; a moment after it is one of its moments.


@dataclass
class Tally:
    """What was seen after so many interruptions."""

    seen: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Target:
    """An output, and the two states that it may be in."""

    path: Path
    options: tuple[str, ...]
    whole: tuple[str, str]
    content: tuple[dict[str, bytes], dict[str, bytes]]

    def build(self, folder: Path, which: int) -> int:
        """Return the process that writes one of the two."""
        return _started(folder, which, self.path, self.options)

    def write(self, which: int) -> None:
        """Write one of the two, as a build does at its end."""
        pages = self.content[which]
        if self.options:
            write_file(pages["."], self.path)
        else:
            write_site(pages, self.path)

    def state(self) -> int | None:
        """Return which of the two lies there; None where it is neither."""
        found = _digest(self.path)
        return self.whole.index(found) if found in self.whole else None


def _started(folder: Path, which: int, path: Path, options: tuple[str, ...]) -> int:
    """Return the process of a build of one of the two trips."""
    trip, climate = folder / f"trip{which}", folder / "climate.nc"
    arguments = ["build", trip, "-o", path, "--climate", climate, "-q", *options]
    return started(command_line([str(one) for one in arguments]), folder / "said.txt")


def _content(path: Path) -> dict[str, bytes]:
    """Return what a site or a page holds, without the list of its files."""
    files = [one for one in path.rglob("*") if one.is_file()] if path.is_dir() else [path]
    found = {one.relative_to(path).as_posix(): one.read_bytes() for one in files}
    return {name: content for name, content in found.items() if name != MARKER}


def _digest(path: Path) -> str:
    """Return what stands for every name and byte of a file or folder; empty for none."""
    if not path.exists():
        return ""
    found = hashlib.sha256()
    for file in sorted(path.rglob("*")) if path.is_dir() else [path]:
        if file.is_file():
            found.update(f"{file.relative_to(path)}\0".encode() + file.read_bytes())
    return found.hexdigest()


def targets(folder: Path) -> tuple[list[Target], float]:
    """Return a site and a page that are built once each way, and how long that takes. [s]"""
    for which, title in enumerate(("The first", "The second")):
        (folder / f"trip{which}").mkdir()
        legs = small_trips.leg("A"), small_trips.leg("B", (41.0, 30.0), more="kilometres = 300")
        text = small_trips.trip(*legs, changed=[("Two camps", title)])
        small_trips.saved(folder / f"trip{which}", text)
    small_trips.stored(folder)
    made, longest = [], 0.0
    for name, options in (("site", ()), ("page.html", ("--one-file",))):
        whole, content = [], []
        for which in (0, 1):
            begun = time.monotonic()
            child = _started(folder, which, folder / name, options)
            end = ended(child, folder / "said.txt")
            longest = max(longest, time.monotonic() - begun)
            assert end.code == 0, end.said
            whole.append(_digest(folder / name))
            content.append(_content(folder / name))
        assert whole[0] != whole[1]
        made.append(Target(folder / name, options, (whole[0], whole[1]), (content[0], content[1])))
    return made, longest


def interrupted(folder: Path, target: Target, longest: float, chance: random.Random) -> str:
    """Break off one build; return what was seen, with "fault" in it where it must not be."""
    before = target.state()
    assert before is not None
    which, sent = chance.choice((0, 1)), chance.choice(SIGNALS)
    child = target.build(folder, which)
    if chance.random() < 0.5:
        time.sleep(chance.uniform(0, longest))
    else:
        _wait_for_writing(folder, target, child)
        time.sleep(chance.uniform(0, _WRITING_S))
    os.kill(child, sent)  # A child that is done waits to be asked for its end.
    end = ended(child, folder / "said.txt")
    said = f"{sent.name}: "
    if end.code not in (0, -sent, _BROKEN_OFF) or "Traceback" in end.said:
        return f"{said}fault, exit code {end.code}: {end.said[-300:]}"
    between = not target.path.exists() and sent != signal.SIGINT
    after = before if between else target.state()
    if after not in (before, which):
        there = _content(target.path) if target.path.exists() else {}
        unlike = [
            sorted(n for n in there.keys() | one if there.get(n) != one.get(n))[:9]
            for one in target.content
        ]
        name = target.path.name
        return f"{said}fault, code {end.code}, neither {name} is whole, unlike {unlike}"
    if end.code == 0 and after != which:
        return f"{said}fault, it says it is done, and the former one is there"
    other = 1 - which
    target.write(other)
    if target.state() != other or _hidden(folder):
        return f"{said}fault, the next build leaves {_hidden(folder)} behind, or no whole site"
    if end.code == 0:
        return f"{said}too late, the new one is there"
    words = "between the two, mended by the next build" if between else "the former one is there"
    return said + (words if between or after != which else "one is there")


def _wait_for_writing(folder: Path, target: Target, child: int) -> None:
    """Wait until a build has its workroom, or is done."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        if os.waitid(os.P_PID, child, os.WEXITED | os.WNOHANG | os.WNOWAIT):
            return
        with contextlib.suppress(FileNotFoundError):  # One is made only to try the place.
            if any(folder.glob(f".{target.path.name}.sheltermap-*/*")):
                return
        time.sleep(0.001)


def _hidden(folder: Path) -> list[str]:
    """Return what lies hidden beside the outputs."""
    return sorted(path.name for path in folder.iterdir() if path.name.startswith("."))


def main() -> int:
    """Break off builds, and print the counts."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--times", type=int, default=40)
    options.add_argument("--seed", type=int, default=1)
    asked = options.parse_args()
    load_everything()
    chance, tally, begun = random.Random(asked.seed), Tally(), time.monotonic()
    with tempfile.TemporaryDirectory(prefix="kill-") as name:
        folder = Path(name)
        outputs, longest = targets(folder)
        for _ in range(asked.times):
            seen = interrupted(folder, chance.choice(outputs), longest, chance)
            if "fault" in seen:
                tally.faults.append(seen)
                break  # What lies there is no longer known.
            tally.seen[seen] += 1
    print(f"{asked.times} interruptions in {time.monotonic() - begun:.0f} s, seed {asked.seed}")
    for words, count in sorted(tally.seen.items()):
        print(f"  {count:4d}  {words}")
    return told(tally.faults)


if __name__ == "__main__":
    sys.exit(main())
