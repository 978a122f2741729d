"""What looks like a slip is told in the same words wherever a trip is read or planned."""

from __future__ import annotations

import html
import json
import re

import numpy as np
from click.testing import CliRunner
from small_trips import LATITUDE, LONGITUDE, climate, leg, saved, stored, trip

from sheltermap.cli import main
from sheltermap.places.ground import camps, extents
from sheltermap.report.doubts import input_doubts
from sheltermap.trip.inputs import read_inputs

FEET = "camp_elevation_m = 1640"
"""The plain near 46.5 north, 20.2 east lies at 80 m; 1,640 is its 500 m in feet."""

PLAIN = (46.5, 20.2)
PERMIT = "\n[permits.East]\nlongest_stay_days = 30\n"


def told(command, *arguments):
    """Return what a command bids to look at again."""
    result = CliRunner().invoke(main, [command, *map(str, arguments)])
    assert result.exit_code == 0, result.output
    words = "Look again: "
    return [line.removeprefix(words) for line in result.stderr.splitlines() if words in line]


def test_check_build_depart_and_the_site_tell_the_same(tmp_path):
    """A second visit shares its place's figures, and has its own name all the same."""
    # From 46.5 to 45.5 north are 111 km in a straight line.
    near = leg("Near", (45.5, 20.2), more="kilometres = 20")
    path = saved(
        tmp_path, trip(leg("Plain", PLAIN, more=FEET), near, leg("Back", PLAIN, more=FEET), PERMIT)
    )
    checked = told("check", path)
    subjects = (
        "Near lies 111 km",
        "The permit East limits",
        "Plain: its camps",
        "Back: its camps",
    )
    assert len(checked) == 4
    assert all(map(str.startswith, checked, subjects)), checked
    site = tmp_path / "site"
    assert told("build", path, "-q", "-o", site) == checked
    page = html.unescape((site / "index.html").read_text(encoding="utf-8"))
    # The page has every quantity a second time, for readers who measure in miles.
    page = re.sub(
        r'<span class="metric">(.*?)</span><span class="imperial">.*?</span>', r"\1", page
    )
    assert all(f"<b>Look again:</b> {doubt}</p>" in page for doubt in checked)
    assert told("depart", path) == checked
    answer = CliRunner().invoke(main, ["depart", str(path), "--json"])
    assert json.loads(answer.stdout)["doubts"] == checked


def test_check_looks_into_the_climatology_that_build_will_use(tmp_path):
    """Cells at 2,100 m make 500 m doubtful, which the embedded data's hills do not."""
    own = stored(tmp_path, height=2100.0)
    path = saved(tmp_path, trip(leg("A", more="camp_elevation_m = 500")))
    assert told("check", path) == []
    (doubt,) = told("check", path, "--climate", own)
    assert "500 m" in doubt and "2,100" in doubt
    assert told("build", path, "-q", "--climate", own, "-o", tmp_path / "site") == [doubt]


def test_a_public_copy_keeps_doubts_to_the_traveller(tmp_path):
    """They state what such a copy leaves out: camps, kilometres, permits."""
    path = saved(tmp_path, trip(leg("Plain", PLAIN, more=FEET)))
    site = tmp_path / "site"
    assert len(told("build", path, "-q", "--public", "-o", site)) == 1
    assert "Look again" not in (site / "index.html").read_text("utf-8")


def test_a_place_that_is_stated_twice_is_doubted_once(tmp_path):
    """Both points lie in the sea, and one sentence says so."""
    points = '\n[[legs]]\nname = "Both"\npoints = [[41, 32], [41, 32]]\nnights = 4\n'
    land = np.where(LONGITUDE < 29.0, 1.0, 0.0) * np.ones((LATITUDE.size, 1))
    coast = climate().assign(land_fraction=(("latitude", "longitude"), land))
    inputs = read_inputs(saved(tmp_path, trip(points)))
    (doubt,) = input_doubts(inputs, camps(inputs, extents(inputs), coast), coast)
    assert doubt.startswith("Both: the climate data know no land within 75 km of 41, 32.")
