"""`night --trip --leg` says of a leg what the trip's own site says."""

from __future__ import annotations

import json

import numpy as np
import pytest
from click.testing import CliRunner
from small_trips import leg, saved, stored, trip

from sheltermap import pipeline
from sheltermap.cli import main
from sheltermap.report.night_words import in_words
from sheltermap.website.placecharts import kit_rows

MORE = 'camp_elevation_m = 600\nsite = "valley"'


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """Return a trip of people who are not the usual ones, and its climate."""
    folder = tmp_path_factory.mktemp("leg")
    text = trip(leg("Meadow", more=MORE), leg("Hill", (41.0, 31.0)), kits="bedroll roof-tent")
    text += "\n[party]\ncold_sleeper = true\nbedding = 8\n[vehicle]\ncarries = ['roof_rack']\n"
    return saved(folder, text), stored(folder, mean=9.0, swing=9.0, spread=4.0)


@pytest.fixture(scope="module")
def place(files):
    """Return the first leg's place as the site has it."""
    path, climate = files
    return pipeline.plan(path, climate=climate).places[0]


@pytest.mark.parametrize("kit", ["bedroll", "roof-tent"])
def test_months_are_those_of_the_region_page(files, place, kit):
    """Share, grade, danger and cause of every month, in each kit."""
    path, climate = files
    answer = pipeline.leg_night(path, "meadow", kit, climate=climate)
    rows = kit_rows(place.seasons[kit], place.findings)
    for month, row in zip(answer["months"], rows, strict=True):
        assert month["sound_share"] == pytest.approx(row["share"], abs=1e-6)
        assert month["dangerous"] == pytest.approx(row["dangerous"], abs=1e-6)
        assert (month["grade"], month["close"]) == (row["word"], row["close"])
    assert answer["not_checked"] == list(place.not_checked)
    assert answer["signs"] == [sign.record for sign in place.signs]
    assert answer["elevation_m"] == 600 and "wind" not in answer["not_assessed"]


def test_hot_hours_are_those_of_the_region_page(tmp_path):
    """From when to when the sun is too hot for work; null in winter."""
    path = saved(tmp_path, trip(leg("Plain")))
    climate = stored(tmp_path, mean=np.repeat([15.0, 33.0, 15.0], [4, 5, 3]), vapour=2.0)
    months = pipeline.leg_night(path, "Plain", "bedroll", climate=climate)["months"]
    year = pipeline.plan(path, climate=climate).places[0].climate
    for name, expected in (("hot_from_h", year.hot_from), ("hot_to_h", year.hot_to)):
        found = np.array([month[name] for month in months], float)
        np.testing.assert_allclose(found, expected)
        assert np.isnan(found[0]) and np.isfinite(found[6])


def test_the_command_prints_a_leg(files):
    """In words and as JSON, with the keys of any other place."""
    path, climate = files
    arguments = ["night", "--trip", str(path), "--leg", "Meadow", "--climate", str(climate)]
    said = CliRunner().invoke(main, [*arguments, "--json"])
    answer = json.loads(said.stdout)
    elsewhere = CliRunner().invoke(main, ["night", "41", "29", "--json"])
    assert set(answer) == set(json.loads(elsewhere.stdout))
    assert set(answer["months"][0]) == set(json.loads(elsewhere.stdout)["months"][0])
    words = CliRunner().invoke(main, arguments).stdout
    assert "Meadow" in words and words.splitlines() == in_words(answer)
    # As on the site: a share that is workable may stand beside the grade of a harder day.
    told = "The grade is that of the month's worst day, the share the mean of its nights."
    assert told in words and told not in "\n".join(in_words(answer | {"leg": None}))


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--leg", "Medow"], "--leg: expected one of Meadow, Hill, got 'Medow'"),
        (["--leg", "Hill", "--kit", "yurt"], "--kit: expected one of bedroll, roof-tent"),
        ([], "Give LAT LON, a NAME, or --trip FILE with --leg NAME."),
    ],
)
def test_wrong_names_are_told(files, arguments, said):
    """With what was meant."""
    path, climate = files
    result = CliRunner().invoke(
        main, ["night", "--trip", str(path), *arguments, "--climate", str(climate)]
    )
    assert result.exit_code == 2 and said in result.output
