"""A trip edited and built again in one process: the same bytes as in a fresh one."""

import sys

from sheltermap.pipeline import build

TRIP = """
title = "A bay"
party = { people = 2, bedding = "three-season" }
departure = { earliest = 2027-05-01, latest = 2027-05-10, finish_by = 2027-06-30 }
shelter = { kits = ["ground-tent"] }
[[legs]]
name = "Bay"
place = [36.6, 30.6]
nights = 7
"""


def forget():
    """Leave nothing remembered, as in a process that has just started."""
    for name, module in list(sys.modules.items()):
        if name.partition(".")[0] == "sheltermap":
            for key, value in list(vars(module).items()):
                # Templates are the same for every trip, and slow to compile.
                if hasattr(value, "cache_clear") and key != "environment":
                    value.cache_clear()


def written(text, folder):
    """Return every file of the site of a trip, by path."""
    trip = folder / "trip.toml"
    trip.write_text(text, encoding="utf-8")
    build(trip, folder / "site")
    files = (path for path in (folder / "site").rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def test_an_edited_trip_is_built_as_a_new_one(tmp_path):
    """Other bedding in the same kit at the same place: nothing of the former nights is left."""
    edited = TRIP.replace("three-season", "winter")
    former, found = (written(text, tmp_path) for text in (TRIP, edited))
    forget()
    assert found == written(edited, tmp_path)
    assert found["site/index.html"] != former["site/index.html"]
