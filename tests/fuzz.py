"""Damaged and hostile input files, by the thousand: ``make fuzz``, or by hand for hours.

    .venv/bin/python tests/fuzz.py --seconds 3600 --seed 7

Takes files that are right, changes them at random and gives them to the command line. A case
fails on a traceback, an exit code other than 0, 1 and 2, more than ten seconds of the
processor, more than 1.5 GiB of memory, or control characters on the terminal. What failed is
made as small as hypothesis can and its files are kept. Prints its counts.
"""

from __future__ import annotations

import argparse
import json
import re
import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import climate_files
import numpy as np
import small_trips
from forked import Outcome, command_line, ended, load_everything, started, told
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from test_wrong_files import KITS, TRIP, right_regions

REGIONS = Path(__file__).parent.parent / "regions"
ROUND = 20
"""Cases of one family before the next has its turn."""

_HUGE = "9" * 310
_TOML_VALUES = [
    "0", "-1", "1e308", "-1e308", "nan", "inf", "-inf", _HUGE, "1e-320", "0x7fffffffffffffff",
    "true", '""', '" "', '"\\u0000"', '"\\u001b[31m"', '"\\u202e"', "[]", "[[]]", "{}", "[0]",
    "0001-01-01", "9999-12-31", "2028-02-29", "23:59:59", "2027-05-15T12:00:00Z",
    '"29 February"', '"June to May"', '"all year"', '"00-00"', '"Osh, Kyrgyzstan"', '"."',
    '"/dev/zero"', '"../trip.toml"', '"<script>alert(1)</script>"', '"{{ 7 * 7 }}"',
    '["bedroll", "bedroll"]', "[8, 5, 3]", "[0.0, 0.0]", "[91, 181]", "[89.0, 180.0]",
    f'"{"a" * 5000}"', "[" * 2000, '"""', "'", "\ufeff", "1_000", "+0", "-0.0",
]  # fmt: skip
_JSON_VALUES = [
    None, True, 0, -1, 1e308, "", " ", "\u0000", "\u001b[31m", "<script>", [], {}, [[]],
    [0, 0], [180, 90], [-180, -90], [1e9, 1e9], [[0, 0], [0, 0]], "Polygon", "Point",
    "9999-12-31", "0001-01-01..9999-12-31", "11-01..03-15", "closure", "prohibitive", "flood",
]  # fmt: skip

_COMMANDS = (
    "night", "night 41", "night 41 29 --elevation", "night 41 29 --bedding", "depart", "check",
    "climate import -o", "compare", "kits --file", "new",
)  # fmt: skip
_FEW = st.sampled_from((1, 1, 1, 2, 4))  # One change alone gets furthest.


@dataclass
class Tally:
    """What was tried, and how it ended."""

    codes: Counter[tuple[str, int]] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    slowest: float = 0.0
    largest: int = 0

    def add(self, family: str, end: Outcome) -> None:
        """Count one case."""
        self.codes[family, end.code] += 1
        self.slowest = max(self.slowest, end.seconds)
        self.largest = max(self.largest, end.memory)


@st.composite
def edited(draw: st.DrawFn, text: str, values: list[str]) -> str:
    """Return a text with a few of its lines changed, doubled, dropped, or cut."""
    lines = text.split("\n")
    for _ in range(draw(_FEW)):
        at = draw(st.integers(0, len(lines) - 1))
        other = draw(st.integers(0, len(lines) - 1))
        kind = draw(
            st.sampled_from(("value", "value", "value", "like", "drop", "twice", "swap", "text"))
        )
        if kind == "value":
            key, equals, _ = lines[at].partition("=")
            lines[at] = f"{key}{equals} {draw(st.sampled_from(values) | numbers())}"
        elif kind == "like":
            found = [line for line in lines if "=" in line]
            if found:
                lines[at] = (
                    lines[at].partition("=")[0]
                    + "="
                    + draw(st.sampled_from(found)).partition("=")[2]
                )
        elif kind == "drop":
            del lines[at]
            lines = lines or [""]
        elif kind == "twice":
            lines.insert(at, lines[other])
        elif kind == "swap":
            lines[at], lines[other] = lines[other], lines[at]
        else:
            cut = draw(st.integers(0, len(lines[at])))
            lines[at] = lines[at][:cut] + draw(st.text(max_size=20)) + lines[at][cut:]
    return "\n".join(lines)


def numbers() -> st.SearchStrategy[str]:
    """Return numbers and dates as TOML writes them."""
    return (
        st.integers().map(str)
        | st.floats().map(repr)
        | st.integers(-3, 40).map(str)
        | st.floats(0, 1).map(repr)
        | st.dates().map(str)
    )


@st.composite
def edited_json(draw: st.DrawFn, text: str) -> str:
    """Return a JSON text with a few of its values exchanged."""
    tree = json.loads(text)
    for _ in range(draw(_FEW)):
        spots = list(places(tree))
        if not spots:
            break
        table, key = draw(st.sampled_from(spots))
        kind = draw(st.sampled_from(("value", "value", "drop", "deep", "number")))
        if kind == "drop":
            del table[key]
        elif kind == "deep":
            table[key] = [[table[key]]]
        elif kind == "number":
            huge = st.integers(-(10**330), 10**330)
            table[key] = draw(st.floats() | huge | st.floats(-200, 200) | st.floats(20, 50))
        else:
            table[key] = draw(st.sampled_from(_JSON_VALUES) | st.text(max_size=20))
    return json.dumps(tree)


def places(tree: object) -> Iterator[tuple[dict | list, str | int]]:
    """Yield every value of a tree by its container and its key."""
    items = tree.items() if isinstance(tree, dict) else enumerate(tree)
    for key, value in list(items):
        yield tree, key
        if isinstance(value, dict | list):
            yield from places(value)


@st.composite
def damaged(draw: st.DrawFn, content: bytes) -> bytes:
    """Return bytes of which a few were changed, or the end was lost."""
    changed = bytearray(content)
    for _ in range(draw(_FEW)):
        at = draw(st.integers(0, len(changed) - 1))
        changed[at] = draw(st.integers(0, 255))
    if draw(st.integers(0, 3)) == 3:
        del changed[draw(st.integers(1, len(changed))) :]
    return bytes(changed)


def journeys() -> dict[str, str]:
    """Return trip files without a mistake, by name."""
    return {
        "silk-seeds": (REGIONS / "silk-seeds" / "trip.toml").read_text(encoding="utf-8"),
        "river-survey": (REGIONS / "river-survey" / "trip.toml").read_text(encoding="utf-8"),
        "small": small_trips.trip(*_LEGS, kits="bedroll ground-tent", departure=_FREELY),
        "under way": small_trips.trip(*_ON_THE_ROAD, kits="ground-tent bedroll"),
        "files": TRIP,
    }


class Families:
    """The kinds of files, each with how it is changed and which command reads it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.work = folder / "case"
        self.climate = small_trips.stored(folder, **_LIKE_THERE)
        self.trips = journeys()
        self.hazards = (REGIONS / "world" / "cyclones.geojson").read_text(encoding="utf-8")
        self.stores = dict(_climate_sources(folder))

    def trip(self, draw: st.DrawFn) -> list[str]:
        """Return a command that reads a trip file."""
        name = draw(st.sampled_from(sorted(self.trips)))
        if name in ("silk-seeds", "river-survey"):
            shutil.copytree(REGIONS / name, self.work, dirs_exist_ok=True)
        else:
            self._right_files()
        self._write("trip.toml", draw(edited(self.trips[name], _TOML_VALUES)))
        trip = str(self.work / "trip.toml")
        if name not in ("small", "under way"):
            return ["check", trip]
        near = ["--climate", str(self.climate)]
        done = ["-o", str(self.work / "site"), "-q"]
        return draw(
            st.sampled_from(
                (["check", trip], ["depart", trip, *near], ["build", trip, *near, *done])
            )
        )

    def kits(self, draw: st.DrawFn) -> list[str]:
        """Return a command that reads a kit file."""
        self._write("kits.toml", draw(edited(KITS, _TOML_VALUES)))
        return ["kits", "--file", str(self.work / "kits.toml")]

    def regions(self, draw: st.DrawFn) -> list[str]:
        """Return a command that reads a region file."""
        self._right_files()
        self._write("regions.geojson", draw(edited_json(right_regions())))
        return ["check", str(self.work / "trip.toml")]

    def hazards_layer(self, draw: st.DrawFn) -> list[str]:
        """Return a command that reads a hazard layer."""
        self._right_files()
        self._write("trip.toml", TRIP.replace("[files]", '[files]\nhazards = ["hazards.geojson"]'))
        self._write("hazards.geojson", draw(edited_json(self.hazards)))
        return ["check", str(self.work / "trip.toml")]

    def route(self, draw: st.DrawFn) -> list[str]:
        """Return a command that reads a route."""
        if draw(st.booleans()):
            name, text = "route.gpx", draw(edited(_GPX, ["x", "1e308", "-200", "nan"]))
        else:
            name, text = "route.geojson", draw(edited_json(_LINE))
        self._write(name, text)
        return ["new", str(self.work / "drafted"), "--route", str(self.work / name)]

    def climate_file(self, draw: st.DrawFn) -> list[str]:
        """Return a command that reads a climate file or store."""
        name = draw(st.sampled_from(sorted(self.stores)))
        source = self.stores[name]
        target = self.work / source.name
        if source.is_dir():
            shutil.copytree(source, target)
            inside = sorted(p for p in target.rglob("*") if p.is_file() and p.stat().st_size)
            file = draw(st.sampled_from(inside))
        else:
            file = target
            shutil.copy(source, target)
        if file.suffix != ".nc" and draw(st.booleans()) and file.read_bytes()[:1] == b"{":
            file.write_text(draw(edited_json(file.read_text())), encoding="utf-8")
        else:
            file.write_bytes(draw(damaged(file.read_bytes())))
        if draw(st.booleans()):
            return ["climate", "import", str(target), "-o", str(self.work / "out.nc")]
        trip = small_trips.saved(self.work, self.trips["small"])
        return ["check", str(trip), "--climate", str(target)]

    def words(self, draw: st.DrawFn) -> list[str]:
        """Return a command with odd words."""
        command = draw(st.sampled_from(_COMMANDS))
        word = st.text(st.characters(exclude_categories=("Cc", "Cs")), max_size=12)
        values = st.sampled_from(["91", "-0", "1e400", "nan", "--", "-o", "/", ".", "29,5"])
        return [*command.split(), *draw(st.lists(word | values, min_size=1, max_size=2))]

    def all(self) -> dict[str, Callable[[st.DrawFn], list[str]]]:
        """Return the families by name."""
        return {
            "trips": self.trip,
            "kits": self.kits,
            "regions": self.regions,
            "hazards": self.hazards_layer,
            "routes": self.route,
            "climate": self.climate_file,
            "words": self.words,
        }

    def require_right_files(self) -> None:
        """Raise unless files are accepted before they are changed: else nothing gets far."""
        self._right_files()
        commands = [["check", str(self.work / "trip.toml")]]
        commands += [
            ["climate", "import", str(one), "-o", f"{self.work}/{name}.nc"]
            for name, one in self.stores.items()
        ]
        for name in ("small", "under way"):
            (self.work / name).mkdir()
            trip = str(small_trips.saved(self.work / name, self.trips[name]))
            commands += [["check", trip], ["depart", trip, "--climate", str(self.climate)]]
        for command in commands:
            log = self.folder / "said.txt"
            end = ended(started(command_line(command), log), log)
            assert end.code == 0, f"{command}: {end.said}"

    def fresh(self) -> None:
        """Empty the folder of a case."""
        shutil.rmtree(self.work, ignore_errors=True)
        self.work.mkdir()

    def _right_files(self) -> None:
        """Write files without a mistake."""
        self._write("trip.toml", TRIP)
        self._write("regions.geojson", right_regions())
        self._write("kits.toml", KITS)

    def _write(self, name: str, text: str) -> None:
        """Write one file of a case; what UTF-8 cannot hold is damaged by itself."""
        (self.work / name).write_bytes(text.encode("utf-8", errors="surrogatepass"))


_FREELY = 'order = "free"\nfrom_elevation_m = 100'
_LEGS = (
    small_trips.leg("A", nights="[2, 3, 9]", more='closed = "November to April"'),
    small_trips.leg("B", (41.0, 30.0), more='site = "ridge"\nkilometres = 300'),
    small_trips.leg("C", (42.0, 31.0), more="camp_elevation_m = 1800\nbe_there = [2027-05-20]"),
    '\n[[hazards]]\nlegs = ["A"]\nkind = "flood"\nlevel = "serious"\nfirst = "05-01"\n'
    'last = "06-15"\nsource = "the park"\n',
    '\n[[links]]\nlegs = ["A", "B"]\nkilometres = 100\n',
    '\n[[links]]\nlegs = ["B", "C"]\nkilometres = 120\n',
    '\n[[links]]\nlegs = ["A", "C"]\nkilometres = 120\n',
    '\n[[slept]]\nplace = [40.0, 29.0]\nfirst = 2026-05-01\nnights = 3\nkit = "bedroll"\n'
    "cold = 1\nlow_c = [4.5, 6, 7]\n",
    "\n[party]\npeople = 1\n",
)
_ON_THE_ROAD = (
    small_trips.leg("A", nights="[2, 3, 9]", more='permit = "land"\nroom_price = 20'),
    small_trips.leg("B", (41.0, 30.0), more="kilometres = 300\napproach_km = 250"),
    small_trips.leg("C", (42.0, 31.0), more="camp_elevation_m = [1800, 2100]\nkilometres = 90"),
    "\n[permits.land]\nlongest_stay_days = 20\n",
    '\n[[done]]\nleg = "A"\narrived = 2027-05-03\nleft = 2027-05-06\nkit = "bedroll"\n',
    '\n[[slept]]\nleg = "A"\nnights = 3\nhot = 1\nrain = 1\n',
    "\n[party]\npeople = 1\n",
    "\n[money]\nbudget = 900\nfuel_price = 2\n",
    "\n[vehicle]\ntank_l = 80\nweighed_kg = 2400\nweighed_with_fuel_l = 40\n",
)
_LIKE_THERE = {"rain": 40.0, "wet": 6.0}  # An import compares with the embedded climatology.
_GPX = """\
<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="hand" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="40.0" lon="29.0"><ele>100</ele><name>A</name></wpt>
<trk><name>Way</name><trkseg>
<trkpt lat="40.0" lon="29.0"><ele>100</ele></trkpt>
<trkpt lat="40.5" lon="30.0"><ele>900</ele></trkpt>
<trkpt lat="41.0" lon="31.0"><ele>1500</ele></trkpt>
<trkpt lat="41.0" lon="33.0"><ele>1200</ele></trkpt>
</trkseg></trk>
</gpx>
"""
_LINE = json.dumps(
    {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"name": "Way"},
                "geometry": {
                    "type": "LineString",
                    "coordinates": [[29, 40, 100], [30, 40.5, 900], [31, 41], [33, 41]],
                },
            },
            {
                "type": "Feature",
                "properties": {"name": "Camp"},
                "geometry": {"type": "Point", "coordinates": [30, 40.5]},
            },
        ],
    }
)


def _climate_sources(folder: Path) -> Iterator[tuple[str, Path]]:
    """Yield climate files in several layouts, all small."""
    latitude, longitude = np.arange(38, 40.5, 0.5), np.arange(32, 34.5, 0.5)
    plain = climate_files.cf_months(latitude, longitude)
    plain.to_netcdf(folder / "cf.nc")
    yield "cf", folder / "cf.nc"
    yield "era5", climate_files.era5(folder / "era5.nc", years=(2000,), step=0.5)
    yield "own", folder / "climate.nc"
    for layout in (2, 3):
        store = folder / f"store{layout}.zarr"
        small_trips.climate(**_LIKE_THERE).astype("float32").to_zarr(
            store, zarr_format=layout, consolidated=False
        )
        yield store.name, store
    tifs = folder / "tifs"
    tifs.mkdir()
    climate_files.worldclim(tifs, names=("tavg", "prec"), elevation=False)
    yield "tifs", tifs


def tried(families: Families, name: str, number: int, tally: Tally) -> None:
    """Try a round of cases of one family; what fails is kept in the tally."""
    last: dict[str, object] = {}

    @seed(number)
    @settings(
        max_examples=ROUND,
        database=None,
        deadline=None,
        derandomize=False,
        phases=[Phase.generate, Phase.shrink],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.data())
    def case(data: st.DataObject) -> None:
        families.fresh()
        arguments = families.all()[name](data.draw)
        log = families.folder / "said.txt"
        end = ended(started(command_line(arguments), log), log)
        tally.add(name, end)
        if end.fault:
            last.update(arguments=arguments, end=end)
            kept = families.folder / "kept"
            shutil.rmtree(kept, ignore_errors=True)
            shutil.copytree(families.work, kept, symlinks=True)
            raise AssertionError(end.fault)

    try:
        case()
    except BaseException as error:
        if not last or isinstance(error, KeyboardInterrupt):
            raise
        kept = Path(tempfile.mkdtemp(prefix=f"fuzz-{name}-"))
        shutil.copytree(families.folder / "kept", kept, dirs_exist_ok=True)
        said = last["end"].said.strip().splitlines()[-12:]
        shown = "\n    ".join(re.sub(r"[^\x20-\x7e]", "?", line) for line in said)
        tally.faults.append(
            f"{name}, seed {number}: {last['end'].fault}\n  sheltermap "
            f"{' '.join(map(repr, last['arguments']))}\n  files: {kept}\n    {shown}"
        )


def main() -> int:
    """Try families in turn until the time is over, and print the counts."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--seconds", type=float, default=60.0)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--family", help="this one only")
    options.add_argument("--faults", type=int, default=20, help="stop after so many")
    asked = options.parse_args()
    load_everything()
    started, number, tally = time.monotonic(), asked.seed, Tally()
    with tempfile.TemporaryDirectory(prefix="fuzz-") as folder:
        families = Families(Path(folder))
        families.fresh()
        families.require_right_files()
        names = [asked.family] if asked.family else list(families.all())
        while time.monotonic() - started < asked.seconds and len(tally.faults) < asked.faults:
            tried(families, names[(number - asked.seed) % len(names)], number, tally)
            number += 1
    cases = sum(tally.codes.values())
    print(
        f"{cases} cases in {time.monotonic() - started:.0f} s, seeds {asked.seed} to {number - 1}"
    )
    for name in names:
        ends = {code: n for (family, code), n in sorted(tally.codes.items()) if family == name}
        print(f"  {name:8s} {sum(ends.values()):5d}  by exit code {ends}")
    print(f"  slowest {tally.slowest:.1f} s of the processor, most memory", end=" ")
    print(f"{tally.largest / 2**20:.0f} MiB")
    return told(tally.faults)


if __name__ == "__main__":
    sys.exit(main())
