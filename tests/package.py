"""The wheel and the source archive, built, installed elsewhere and tried: ``make package``.

    .venv/bin/python tests/package.py --python python3.13

Builds both, builds a wheel out of the source archive, and compares the two member by member.
Installs the wheel into a new environment outside the repository and lets it answer and build;
the site must have the bytes that the checkout writes. What the package requires is linked into
that environment from this one, and nothing else; with --python it is fetched for that Python.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from collections.abc import Sequence
from pathlib import Path

from installation import as_users_have_it

ROOT = Path(__file__).parent.parent


def _done(arguments: Sequence[str | Path], folder: Path) -> str:
    """Return what a command prints that runs in a folder and finds no checkout by itself."""
    environ = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    run = subprocess.run(
        [str(one) for one in arguments], cwd=folder, env=environ, capture_output=True, text=True
    )
    if run.returncode:
        sys.exit(f"{arguments}: exit code {run.returncode}\n{run.stdout}{run.stderr}")
    return run.stdout


def built(source: Path, into: Path, *kinds: str) -> list[Path]:
    """Return the archives of those kinds that a source folder builds."""
    targets = [word for kind in kinds for word in ("-t", kind)]
    _done([sys.executable, "-m", "hatchling", "build", "-d", into, *targets], source)
    return sorted(into.iterdir())


def members(wheel: Path) -> dict[str, str]:
    """Return what stands for each member of a wheel, by its name."""
    with zipfile.ZipFile(wheel) as archive:
        return {
            name: hashlib.sha256(archive.read(name)).hexdigest() for name in archive.namelist()
        }


def same_from_source(wheel: Path, sdist: Path, folder: Path) -> int:
    """Return how many members both wheels have; end the program where they differ."""
    with tarfile.open(sdist) as archive:
        archive.extractall(folder / "unpacked", filter="data")
    (source,) = (folder / "unpacked").iterdir()
    (again,) = built(source, folder / "again", "wheel")
    first, second = members(wheel), members(again)
    unlike = sorted(name for name in first.keys() | second if first.get(name) != second.get(name))
    if unlike:
        sys.exit(f"{sdist.name} builds another wheel than the checkout: {unlike[:9]}")
    return len(first)


def installed(wheel: Path, folder: Path, python: str | None) -> Path:
    """Return the Python of a new environment with the wheel."""
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check"]
    if python is None:
        own = as_users_have_it(folder / "environment")
        _done([*pip, "--python", own, "install", "-q", "--no-deps", "--no-index", wheel], folder)
        return own
    _done([python, "-m", "venv", folder / "environment"], folder)
    own = folder / "environment" / "bin" / "python"
    _done([*pip, "--python", own, "install", "-q", "-c", ROOT / "constraints.txt", wheel], folder)
    return own


def tried(python: Path, folder: Path) -> str:
    """Return the version that answers and builds there; end the program where it does not."""
    program = python.parent / "sheltermap"
    where = Path(_done([python, "-c", "import sheltermap; print(sheltermap.__file__)"], folder))
    if folder.resolve() not in where.resolve().parents:
        sys.exit(f"another installation answers: {where}")
    night = json.loads(_done([program, "night", "41.0", "28.9", "--json"], folder))
    if len(night["months"]) != 12:
        sys.exit(f"`night` has {len(night['months'])} months")
    _done([program, "new", "trip"], folder)
    _done([program, "build", "trip", "-o", "site", "-q"], folder)
    checkout = "import sys; sys.path.insert(0, sys.argv.pop(1)); "
    checkout += "from sheltermap.__main__ import main; main()"
    _done([sys.executable, "-c", checkout, ROOT, "build", "trip", "-o", "ours", "-q"], folder)
    site, ours = (
        {path.relative_to(top): path.read_bytes() for path in top.rglob("*") if path.is_file()}
        for top in (folder / "site", folder / "ours")
    )
    unlike = sorted(str(one) for one in site.keys() | ours if site.get(one) != ours.get(one))
    if unlike:
        first = _first_difference(*(side.get(Path(unlike[0]), b"") for side in (site, ours)))
        sys.exit(f"the installation writes another site: {unlike[:9]}, {first}")
    said = _done([program, "--version"], folder).strip()
    return f"{said}: {len(site)} files of a site as from the checkout"


def _first_difference(one: bytes, other: bytes) -> tuple[bytes, bytes]:
    """Return what stands in two files where they begin to differ."""
    pairs = enumerate(zip(one, other, strict=False))
    at = next((n for n, (a, b) in pairs if a != b), min(len(one), len(other)))
    return one[max(at - 60, 0) : at + 60], other[max(at - 60, 0) : at + 60]


def main() -> None:
    """Build, install and try, and print what was done."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--python", help="another Python, for which packages are fetched")
    asked = options.parse_args()
    with tempfile.TemporaryDirectory(prefix="package-") as name:
        folder = Path(name)
        wheel, sdist = built(ROOT, folder / "dist", "sdist", "wheel")
        count = same_from_source(wheel, sdist, folder)
        print(f"{sdist.name} and {wheel.name}: the same {count} members")
        (folder / "elsewhere").mkdir()
        python = installed(wheel, folder / "elsewhere", asked.python)
        version = _done([python, "--version"], folder).strip()
        print(f"{version}: {tried(python, folder / 'elsewhere')}")


if __name__ == "__main__":
    main()
