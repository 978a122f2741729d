"""The walk of the README's first example: a recorded track becomes a plan with one edit."""

import json
import re
import tomllib
from itertools import pairwise

import pytest
from click.testing import CliRunner
from pyproj import Geod

from sheltermap.cli import main

# Towns on the way, latitude and longitude from an atlas (from memory, to 0.1 degrees).
WAY = [
    (49.8, 73.1),  # Karaganda
    (46.8, 75.0),  # Balkhash
    (43.3, 76.9),  # Almaty
    (42.9, 74.6),  # Bishkek
    (42.9, 71.4),  # Taraz
    (42.3, 69.6),  # Shymkent
    (41.3, 69.3),  # Tashkent
    (39.7, 67.0),  # Samarkand
    (39.8, 64.4),  # Bukhara
    (38.0, 58.4),  # Ashgabat
    (36.3, 59.6),  # Mashhad
    (35.7, 51.4),  # Tehran
    (38.1, 46.3),  # Tabriz
]
COUNTRIES = {"Kazakhstan", "Kyrgyzstan", "Uzbekistan", "Turkmenistan", "Iran"}
_GEOD = Geod(ellps="WGS84")


def track():
    """Return a recorded track: a point every kilometre or so, with a height each."""
    points = []
    for (south, west), (north, east) in pairwise(WAY):
        count = round(_GEOD.inv(west, south, east, north)[2] / 1000)
        share = [step / count for step in range(count)]
        points += [(south + s * (north - south), west + s * (east - west)) for s in share]
    points.append(WAY[-1])
    body = "".join(
        f'<trkpt lat="{lat:.5f}" lon="{lon:.5f}"><ele>400</ele></trkpt>' for lat, lon in points
    )
    return (
        '<gpx version="1.1" creator="a recorder" xmlns="http://www.topografix.com/GPX/1/1">'
        f"<trk><trkseg>{body}</trkseg></trk></gpx>"
    )


def run(*arguments):
    """Return the result of one command."""
    return CliRunner().invoke(main, [str(one) for one in arguments])


@pytest.fixture(scope="module")
def walk(tmp_path_factory):
    """Return the folder of the new trip, and what `new` said."""
    folder = tmp_path_factory.mktemp("walk")
    (folder / "track.gpx").write_text(track(), encoding="utf-8")
    result = run("new", folder / "steppe", "--route", folder / "track.gpx")
    assert result.exit_code == 0, result.output
    return folder / "steppe", result.output


def legs(folder):
    """Return the legs of the trip file as TOML has them."""
    return tomllib.loads((folder / "trip.toml").read_text(encoding="utf-8"))["legs"]


def test_the_track_is_4000_km_over_five_countries(walk):
    """Its kilometres are the geodesic's, all of them in some leg."""
    folder, said = walk
    east, north = [lon for _, lon in WAY], [lat for lat, _ in WAY]
    length = _GEOD.line_length(east, north) / 1000
    assert 4000 < length < 4400
    assert sum(leg["kilometres"] for leg in legs(folder)) == pytest.approx(length, rel=0.005)
    assert {leg["note"].rstrip(".") for leg in legs(folder)} == COUNTRIES
    assert "5 countries." in said and said.rstrip().endswith("trip.toml")


def test_legs_are_named_by_places_and_hold_what_the_track_tells(walk):
    """Every leg has a name of its own, from a place to a place, and the track's height."""
    names = [leg["name"] for leg in legs(walk[0])]
    assert len(set(names)) == len(names) > len(COUNTRIES)
    assert all(re.fullmatch(r"Around .+|.+ to .+", name) for name in names)
    assert names[0].startswith("Karagandy to ") and names[-1].endswith(" to Tabriz")
    assert {leg["camp_elevation_m"] for leg in legs(walk[0])} == {400}


def test_the_new_trip_has_no_problem(walk):
    """It builds as it is."""
    result = run("check", walk[0])
    assert result.exit_code == 0 and "no problem found" in result.stdout


def test_one_edit_gives_a_plan(walk):
    """The dates are what nobody but the traveller knows."""
    file = walk[0] / "trip.toml"
    text = file.read_text(encoding="utf-8")
    edited, count = re.subn(r"latest = (\d{4})-12-31", r"latest = \1-04-30", text)
    assert count == 1
    file.write_text(edited, encoding="utf-8")
    result = run("depart", walk[0], "--json")
    assert result.exit_code == 0, result.output
    best = json.loads(result.stdout)["best"]
    assert best["rough_nights"] < best["nights"]
    assert [leg["region"] for leg in best["legs"]] == [leg["name"] for leg in legs(walk[0])]
