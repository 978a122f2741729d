"""The README is short, and what it shows is what the program says today."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from sheltermap.cli import main

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_it_is_read_in_one_go():
    """Under 150 lines."""
    assert len(README.splitlines()) < 150


def test_six_lines_are_a_whole_trip(tmp_path):
    """As printed: it is checked without a problem, and its dates are found."""
    (trip,) = re.findall(r"```toml\n(.*?)```", README, re.DOTALL)
    assert len(trip.splitlines()) == 6
    (tmp_path / "trip.toml").write_text(trip, encoding="utf-8")
    checked = CliRunner().invoke(main, ["check", str(tmp_path)])
    assert checked.exit_code == 0 and "no problem found" in checked.output
    told = CliRunner().invoke(main, ["depart", str(tmp_path)])
    assert told.exit_code == 0 and "of 26 nights rough" in told.output


def test_night_prints_what_is_quoted():
    """Every line of the quotation, in order; the columns mean nothing if one has moved."""
    (command,) = re.findall(r'`sheltermap night "(.*?)"` prints', README)
    quoted = README.partition('"` prints')[2].split("```")[1].strip("\n").splitlines()
    printed = CliRunner().invoke(main, ["night", command]).output.splitlines()
    assert len(quoted) > 12 and printed[: len(quoted)] == quoted


@pytest.mark.parametrize("name", ["phone", "chart", "map", "kits", "atlas"])
def test_pictures_are_there_light_and_small(name):
    """Shown in the README, at most 60 kB each, none wider than a page."""
    file = f"regions/pictures/{name}.png"
    assert file in README
    assert (ROOT / file).stat().st_size <= 60_000
    with Image.open(ROOT / file) as picture:
        assert picture.width <= 1280


def test_links_lead_to_files():
    """No link into the repository is dead."""
    for target in re.findall(r"\]\(([\w./-]+)\)|src=\"([\w./-]+)\"", README):
        assert (ROOT / "".join(target)).exists(), target
