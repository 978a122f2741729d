"""Reading the published reference values that tests hold the code against."""

from __future__ import annotations

import tomllib
from pathlib import Path

_FOLDER = Path(__file__).parent / "published"


def published(file, name):
    """Return one table of tests/published: its source, tolerance and rows; never without rows."""
    table = tomllib.loads((_FOLDER / f"{file}.toml").read_text(encoding="utf-8"))[name]
    assert table.get("rows", True), f"{file}.toml, {name}: a loop over no row checks nothing"
    return table
