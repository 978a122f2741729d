"""Files whose values are of another kind than they should be, thousands a minute: ``make fuzz``.

    .venv/bin/python tests/fuzz_values.py --seconds 600 --seed 7

A value of a right file is exchanged, dropped, nested or put under another key, and the file is
read in this process: `fuzz.py` starts the program for each case and so tries fewer. Only
InputError may come of it, and it must be able to say itself.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import tempfile
import time
import tomllib
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass
from datetime import date, datetime
from datetime import time as hour
from pathlib import Path
from typing import Any

from forked import told
from fuzz import REGIONS, journeys, places
from test_wrong_files import KITS, right_regions

from sheltermap.hazards.layers import read_layer, read_regions
from sheltermap.shelters.kit import read_addons, read_kits
from sheltermap.trip.inputs import read_inputs
from sheltermap.trip.model import read_trip
from sheltermap.vocabulary import InputError

VALUES: list[Any] = [
    None, True, False, 0, -1, 5, 1.5, float("nan"), float("inf"), 10**30, "", " ", "a", "x" * 300,
    "\u202e", "05-01", "29 February", "2027-05-01", "November to April", "all year", "1e400",
    "100 km", "40.5, 72.8", "Osh, Kyrgyzstan", "bedroll", [], [[]], [1], [8, 5, 3], [40, 72],
    [400, 72], ["a"], [["a"]], [True] * 3, {}, {"a": 1}, {"nights": 1}, [{}], [{"a": 1}],
    date(2027, 5, 1), date(1, 1, 1), date(9999, 12, 31), datetime(2027, 5, 1, 12), hour(5),
    [date(2027, 5, 1)],
]  # fmt: skip


@dataclass(frozen=True)
class Source:
    """A right file: its name, its tree, how it is read, and the files beside it."""

    file: str
    tree: dict[str, Any]
    reader: Callable[[Path], object]
    beside: dict[str, str]


def sources() -> Iterator[Source]:
    """Yield the files that are changed."""
    for name, text in journeys().items():
        beside = {}
        if (REGIONS / name).is_dir():
            files = [one for one in (REGIONS / name).iterdir() if one.is_file()]
            beside = {one.name: one.read_text(encoding="utf-8") for one in files}
        elif name == "files":
            beside = {"kits.toml": KITS, "regions.geojson": right_regions()}
        # By itself a trip is read ten times as fast.
        yield from [Source("trip.toml", tomllib.loads(text), read_trip, {})] * 3
        yield Source("trip.toml", tomllib.loads(text), read_inputs, beside)
    kits = tomllib.loads(KITS)
    yield Source("kits.toml", kits, lambda path: (read_kits(path), read_addons(path)), {})
    yield Source("regions.geojson", json.loads(right_regions()), read_regions, {})
    layer = (REGIONS / "world" / "cyclones.geojson").read_text(encoding="utf-8")
    yield Source("hazards.geojson", json.loads(layer), read_layer, {})


def changed(tree: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """Return a tree with one to three of its values changed."""
    tree = deepcopy(tree)
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        spots = list(places(tree))
        if not spots:
            break
        inside, key = chance.choice(spots)
        kind = chance.choices(("value", "drop", "nest", "move"), (7, 1, 1, 1))[0]
        if kind == "drop":
            del inside[key]
        elif kind == "nest":
            inside[key] = [inside[key]]
        elif kind == "move" and isinstance(inside, dict):
            other, its_key = chance.choice(spots)
            inside[str(its_key)] = deepcopy(other[its_key])
        else:
            inside[key] = deepcopy(chance.choice(VALUES))
    return tree


def written(tree: dict[str, Any], file: str) -> str:
    """Return a tree as its file has it."""
    if file.endswith(".geojson"):
        return json.dumps(tree, default=str)
    return "\n".join(f"{json.dumps(str(key))} = {_toml(value)}" for key, value in tree.items())


def _toml(value: Any) -> str:
    """Return a value as TOML writes it on one line; it has no word for nothing."""
    if isinstance(value, dict):
        inside = ", ".join(f"{json.dumps(str(key))} = {_toml(one)}" for key, one in value.items())
        return f"{{{inside}}}"
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, date | hour):
        return value.isoformat()
    return repr(value) if isinstance(value, float) else json.dumps("" if value is None else value)


def fault(source: Source, path: Path) -> str:
    """Return how the reading of a file failed; empty if it did as it should."""
    try:
        source.reader(path)
    except InputError as error:
        try:
            str(error)
        except Exception:
            return traceback.format_exc(limit=-3)
    except Exception:
        return traceback.format_exc(limit=-3)
    return ""


def main() -> int:
    """Read changed files until the time is over, and print the counts."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--seconds", type=float, default=15.0)
    options.add_argument("--seed", type=int, default=1)
    asked = options.parse_args()
    chance, faults, counts = random.Random(asked.seed), dict[str, str](), Counter[str]()
    every, begun = list(sources()), time.monotonic()
    with tempfile.TemporaryDirectory(prefix="fuzz-") as name:
        folder = Path(name)
        while time.monotonic() - begun < asked.seconds:
            source = chance.choice(every)
            for file, text in source.beside.items():
                (folder / file).write_text(text, encoding="utf-8")
            text = written(changed(source.tree, chance), source.file)
            (folder / source.file).write_text(text, encoding="utf-8", errors="surrogatepass")
            counts[source.file] += 1
            found = fault(source, folder / source.file)
            if found and found not in faults:  # Each place once.
                kept = Path(tempfile.mkdtemp(prefix="fuzz-values-")) / source.file
                kept.write_text(text, encoding="utf-8", errors="surrogatepass")
                faults[found] = f"{kept}, seed {asked.seed}:\n{found}"
    print(
        f"{counts.total()} files read in {asked.seconds:.0f} s, seed {asked.seed}: {dict(counts)}"
    )
    return told(list(faults.values()))


if __name__ == "__main__":
    sys.exit(main())
