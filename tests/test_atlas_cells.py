"""An atlas's cells: what ``night`` answers there, to the half percent in which they are stored."""

from __future__ import annotations

import json

import numpy as np
import pytest
from atlases import Cells
from click.testing import CliRunner

from sheltermap.atlas.area import Block, grid_in
from sheltermap.atlas.asked import asked
from sheltermap.atlas.build import build
from sheltermap.atlas.crew import results
from sheltermap.atlas.scored import scored_block
from sheltermap.atlas.tiles import packed
from sheltermap.cli import main
from sheltermap.climate.world import world_climatology
from sheltermap.climate.writer import write_climatology
from sheltermap.resources import bundled
from sheltermap.shelters.kit import Sleeper, load_kits, read_kits
from sheltermap.vocabulary import FACTORS, InputError

HALF_STEP = 0.0025
"""Shares are stored in 1/200."""


def answered(*words: object) -> str:
    """Return what a command prints; it must be happy."""
    done = CliRunner().invoke(main, list(map(str, words)), catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout


@pytest.fixture(scope="module")
def caucasus(tmp_path_factory):
    """An atlas of two degrees of coast, mountains and steppe in all shipped kits."""
    folder = tmp_path_factory.mktemp("atlas") / "site"
    answered("atlas", "--box", "41,42,43,44", "-o", folder, "-q")
    return Cells(folder)


def same_as_night(cells: Cells, latitude: float, longitude: float, kit: str, *options: str):
    """Compare a cell's twelve months in a kit with the command's."""
    cell = cells.at(latitude, longitude)
    where = ("--elevation", cell["height"], "--kit", kit, *options, "--json")
    months = json.loads(answered("night", latitude, longitude, *where))["months"]
    place = cells.kits.index(kit)
    for layer, name in (("share", "sound_share"), ("danger", "dangerous")):
        expected = [month[name] for month in months]
        found = cell[layer][place] / 200
        np.testing.assert_allclose(found, expected, rtol=0, atol=HALF_STEP + 1e-6)
    factors = [*FACTORS, "none"]
    assert [factors[code] for code in cell["factor"][place]] == [
        month["limiting_factor"] for month in months
    ]


@pytest.mark.parametrize("kit", load_kits())
def test_a_cell_is_what_night_answers_in_every_kit(caucasus, kit):
    """Same cell, same height: the same night, whoever asks."""
    same_as_night(caucasus, 42.5, 42.5, kit)


@pytest.mark.parametrize(("latitude", "longitude"), [(42.0, 41.5), (43.0, 42.5), (44.0, 43.0)])
def test_cells_are_what_night_answers_everywhere(caucasus, latitude, longitude):
    """On the coast, on the main range, in the steppe north of it."""
    same_as_night(caucasus, latitude, longitude, "ground-tent")


def test_bedding_and_sleeper_mean_what_they_mean_for_night(tmp_path):
    """Winter bedding and a cold sleeper, by the same words."""
    options = ("--bedding", "winter", "--sleeper", "cold")
    box = ("--box", "42.5,43,42.5,43")
    answered("atlas", *box, "--kits", "Roof-Tent", *options, "-o", tmp_path / "one", "-q")
    cells = Cells(tmp_path / "one")
    assert cells.kits == ["roof-tent"] and cells.block["bedding"] == "winter"
    same_as_night(cells, 43.0, 42.5, "roof-tent", *options)


def test_packing_is_undone_by_sums():
    """By hand: 7, then 7 - 7, then 2 - 7 = -5, which is 251."""
    import base64
    import zlib

    text = packed(np.array([[7, 7], [2, 255]], np.uint8))
    assert list(zlib.decompress(base64.b64decode(text))) == [7, 0, 251, 253]


def test_tiles_lie_where_their_names_say(caucasus):
    """A box smaller than a tile has one; positions count rows of 20 from the south-west."""
    grid = caucasus.block["grid"]
    assert (grid["rows"], grid["columns"], grid["tile_cells"]) == (5, 5, 20)
    assert caucasus.block["box"] == [40.75, 41.75, 43.25, 44.25]
    assert caucasus.block["tiles"] == ["0_0"]


def test_a_box_over_the_180th_meridian_is_whole(tmp_path):
    """Chukotka lies on both sides; both are one map, eastwards."""
    answered(
        "atlas", "--box", "178,66,-178,68", "--kits", "ground-tent", "-o", tmp_path / "a", "-q"
    )
    cells = Cells(tmp_path / "a")
    assert cells.block["box"] == [177.75, 65.75, 182.25, 68.25]
    assert cells.block["grid"]["columns"] == 9
    same_as_night(Beyond(cells), 66.5, -179.0, "ground-tent")


class Beyond(Cells):
    """Cells whose longitudes go on over 180."""

    def __init__(self, cells: Cells) -> None:
        self.folder, self.block, self.kits = cells.folder, cells.block, cells.kits

    def at(self, latitude: float, longitude: float) -> dict:
        return super().at(latitude, longitude + 360 if longitude < 0 else longitude)


def test_cells_at_sea_stay_without_a_verdict():
    """Missing in, missing out: no share, no danger, no factor, no height."""
    sea = world_climatology((28.0, 42.0, 33.0, 44.0))
    grid = grid_in(sea, (30.0, 43.0, 31.0, 43.5))
    (block,) = grid.blocks()
    found = scored_block(block, sea, [load_kits()["bedroll"]], [Sleeper()])
    assert not found.known.any() and np.isnan(found.height).all()
    assert all((codes == 255).all() for codes in found.codes.values())


def test_a_cell_that_misses_one_month_has_no_verdict():
    """Half a year of rain is no year: the cell is left out whole."""
    climate = world_climatology((42.0, 42.0, 43.0, 43.0)).copy(deep=True)
    climate["rainfall"][3, 1, 1] = np.nan
    block = Block(0, 0, climate["latitude"].values[1:3], climate["longitude"].values[1:3])
    found = scored_block(block, climate, [load_kits()["bedroll"]], [Sleeper()])
    assert found.known.tolist() == [[False, True], [True, True]]
    assert (found.codes["share"][..., 0, 0] == 255).all()
    assert (found.codes["share"][..., found.known] <= 200).all()


def test_an_empty_box_is_told_with_what_there_is():
    """Between two nodes lies none."""
    with pytest.raises(InputError, match=r"box: expected .*, got 30.1,40.1,30.2,40.2.*steps"):
        grid_in(world_climatology((28.0, 38.0, 32.0, 42.0)), (30.1, 40.1, 30.2, 40.2))


def test_an_area_is_asked_for_once(tmp_path):
    """No area and two areas are both wrong, and say what is right."""
    for words in ([], ["--world", "--around", "Osh"]):
        done = CliRunner().invoke(main, ["atlas", *words, "-o", str(tmp_path / "a")])
        assert done.exit_code == 2 and "Give one of --world" in done.output
    assert not (tmp_path / "a").exists()


def refused(folder, *words: str) -> str:
    """Return what a command says that must be refused; nothing may be written."""
    done = CliRunner().invoke(main, ["atlas", *words, "-q", "-o", str(folder / "a")])
    assert done.exit_code == 2 and "nothing was written" in done.stderr
    assert list(folder.iterdir()) == []
    return done.stderr


def test_all_that_is_wrong_is_told_at_once(tmp_path):
    """Two kits, the bedding, a layer: four problems, each with what is right."""
    wrong = ("--kits", "ground-tnt,bedroll,yurt", "--bedding", "warm", "--hazards", "no.geojson")
    said = refused(tmp_path, "--world", *wrong)
    assert said.startswith("4 problems")
    assert all(
        word in said for word in ("--kits", "ground-tent", "yurt", "--bedding", "no.geojson")
    )


def test_the_open_sea_has_no_atlas(tmp_path):
    """A box without land is told, and the former site stays."""
    assert "-140.25,-40.25,-138.75,-38.75" in refused(tmp_path, "--box", "-140,-40,-139,-39")


def test_around_takes_what_night_takes():
    """A name, or the coordinates that its message offers instead."""
    by_name, by_place = asked(around="Osh, Kyrgyzstan"), asked(around=(40.53, 72.8))
    assert by_name.box == by_place.box
    assert (by_name.title, by_place.title) == ("Around Osh, Kyrgyzstan", "Around 40.53, 72.8")


def test_coordinates_are_read_as_they_are_offered(tmp_path):
    """With a comma and a blank between them, latitude first."""
    said = refused(tmp_path, "--around", "-39.5, -139.5", "--kits", "bedroll")
    assert "-144.75,-44.75,-134.25,-34.25" in said


def test_own_kits_come_along(tmp_path):
    """Without ids all that ship and those of a file; the same id twice is one kit."""
    path = bundled("regions") / "river-survey" / "kits.toml"
    own = list(read_kits(path))
    assert [kit.id for kit in asked(files=[path]).kits] == [*load_kits(), *own]
    assert [kit.id for kit in asked(kit_ids=["bedroll", "Bedroll"]).kits] == ["bedroll"]


def test_work_comes_back_in_its_order_whatever_takes_longest():
    """Results are asked for one by one; a failure is told, not lost."""
    import time

    def slow(number: int) -> int:
        time.sleep(0.02 if number == 0 else 0.0)
        return number

    assert list(results(slow, [(number,) for number in range(9)])) == list(range(9))
    with pytest.raises(ZeroDivisionError):
        list(results(divmod, [(1, 0)]))


def test_a_cluster_of_the_caller_is_used_and_changes_nothing(tmp_path):
    """Two workers, a climatology of one's own: the same bytes."""
    distributed = pytest.importorskip("distributed")
    own = tmp_path / "own.nc"
    write_climatology(world_climatology((41.0, 41.0, 46.0, 45.0)), own)
    what = asked(box=(42.0, 42.0, 45.0, 44.0), kit_ids=["ground-tent"], climate=own)
    told = []
    alone = build(what, tmp_path / "alone", lambda *step: told.append(step))
    # One block: eight tenths for its nights, then the maps, then the data.
    assert told == [(8, 10, "Scoring nights"), (8, 10, "Drawing maps"), (9, 10, "Writing data")]
    assert (alone / "regions.nc").is_file() and not (alone / "atlas.nc").exists()
    cluster = distributed.LocalCluster(
        2, processes=False, protocol="tcp://", host="127.0.0.1", dashboard_address=None
    )
    with cluster, distributed.Client(cluster):
        together = build(what, tmp_path / "together")
        assert "with_tiles" in cluster.scheduler.task_prefixes
    for path in (alone / "tiles").iterdir():
        assert path.read_bytes() == (together / "tiles" / path.name).read_bytes()
