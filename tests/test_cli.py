"""The command line: what users type, read and get back."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner
from small_trips import leg, saved, stored, trip

import sheltermap
from sheltermap import terminal
from sheltermap.cli import main
from sheltermap.interrupt import exit_interrupted

PACKAGE = Path(sheltermap.__file__).parent
TITLE = 'title = "Hügel → 山" #'


def run(*arguments):
    """Return the result of one command."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def tree(folder):
    """Return every file below a folder with its bytes."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


@pytest.mark.parametrize(
    "command",
    [
        (),
        ("new",),
        ("check",),
        ("build",),
        ("depart",),
        ("night",),
        ("kits",),
        ("climate", "import"),
    ],
)
def test_help_has_an_example_for_every_command(command):
    """A command line is learnt from examples."""
    result = run(*command, "--help")
    assert result.exit_code == 0
    assert command == () or "Example:" in result.output


def test_help_imports_nothing_heavy():
    """`--help` must answer at once on a slow machine."""
    heavy = {"numpy", "pandas", "xarray", "geopandas", "folium", "pydantic", "scipy", "jinja2"}
    code = (
        "import sys, sheltermap.cli\n"
        "try: sheltermap.cli.main(['--help'])\n"
        "except SystemExit: print(*sys.modules, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "Usage:" in done.stdout
    assert heavy.isdisjoint(done.stderr.split())


def test_night_imports_nothing_of_shapes_or_pictures():
    """One place has no regions, no routes and no grid of its own, whose libraries take time."""
    unused = {"shapely", "geopandas", "pyproj", "scipy.ndimage"}
    code = (
        "import sys, sheltermap.cli\n"
        "try: sheltermap.cli.main(['night', '41.0', '28.9', '--json'])\n"
        "except SystemExit: print(*sys.modules, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert len(json.loads(done.stdout)["months"]) == 12
    assert unused.isdisjoint(done.stderr.split())


def test_night_prints_json_of_twelve_months():
    """What the contract of one month holds is tested where it is made."""
    answer = json.loads(run("night", 41.0, 28.9, "--json").output)
    assert [month["month"] for month in answer["months"]] == list(range(1, 13))


def test_night_says_what_it_does_not_know():
    """Wind is not in the embedded data: null, named, and never a good verdict."""
    answer = json.loads(run("night", 41.0, 28.9, "--json").output)
    assert answer["not_assessed"] == ["wind"]
    assert all(month["wind"] is None for month in answer["months"])
    assert "Not assessed: wind" in run("night", 41.0, 28.9).output


def test_night_is_colder_higher_up():
    """By hand: a camp 1,000 m above another loses 4.4 K/km of its minimum inland: 4.4 K.

    The night's low rests on the minimum and a little on the wider day above it.
    """
    low, high = (
        json.loads(run("night", 38.6, 34.8, "--elevation", height, "--json").output)
        for height in (1430, 2430)
    )
    drop = low["months"][0]["night_low_c"] - high["months"][0]["night_low_c"]
    assert drop == pytest.approx(4.4, abs=0.3)


def test_night_at_sea_is_refused():
    """No cell stands for the open ocean."""
    result = run("night", -40.0, -120.0)
    assert result.exit_code == 2
    assert "LAT LON: expected a place within 75 km" in result.output


def test_night_doubts_a_height_in_words_and_in_json():
    """The plain near 46.5 north, 20.2 east lies at 80 m; 1,640 is its 500 m in feet."""
    result = run("night", 46.5, 20.2, "--elevation", 1640, "--json")
    assert result.exit_code == 0
    (doubt,) = json.loads(result.stdout)["doubts"]
    assert "The camp lies at 1,640 m" in doubt
    assert result.stderr == f"Look again: {doubt}\n"


@pytest.mark.parametrize(
    ("table", "doubts"),
    [
        ("[vehicle]\nweighed_kg = 2910\nrated_kg = 2150", ["so nothing can be loaded"]),
        ("[vehicle]\nweighed_kg = 2150\nrated_kg = 2910", []),
        ('[money]\ncurrency = "NAD"', ["they count as so many NAD"]),
        ('[money]\ncurrency = "NAD"\neuro = 20', []),
    ],
)
def test_check_doubts_masses_and_prices_that_cannot_be_meant(tmp_path, table, doubts):
    """Ratings that leave no gram, and euros added to another currency."""
    path = saved(tmp_path, trip(leg("A"), f"\n{table}\n"))
    result = run("check", path)
    assert result.exit_code == 0
    said = [line for line in result.stderr.splitlines() if line.startswith("Look again: ")]
    assert len(said) == len(doubts)
    assert all(part in line for line, part in zip(said, doubts, strict=True))


def test_unknown_kit_names_the_known_ones():
    """A typing error shows the way out."""
    result = run("night", 41.0, 28.9, "--kit", "hammock")
    assert result.exit_code == 2
    assert "bedroll" in result.output


@pytest.fixture(scope="module")
def started(tmp_path_factory):
    """A fresh starter trip with its site built once."""
    folder = tmp_path_factory.mktemp("started")
    assert run("new", folder / "x").exit_code == 0
    result = run("build", folder / "x" / "trip.toml", "-o", folder / "site", "-q")
    assert result.exit_code == 0, result.output
    return folder


def test_night_takes_a_kit_of_the_users_own(tmp_path):
    """Whoever writes a kit wants to see its nights before a trip."""
    shipped = (PACKAGE / "shelters" / "kits.toml").read_text().split("[[kit]]")[1]
    own = tmp_path / "own.toml"
    own.write_text("[[kit]]" + shipped.replace('id = "bedroll"', 'id = "my-own"'))
    result = run("night", 41.0, 28.9, "--kit", "my-own", "--file", own, "--json")
    assert json.loads(result.output)["kit"] == "my-own"


def test_new_trip_builds_as_it_is(started):
    """The starter is the shortest way to a first site."""
    assert (started / "site" / "index.html").exists()


def test_new_refuses_a_folder_in_use(tmp_path):
    """Nobody's files are overwritten."""
    (tmp_path / "notes.txt").write_text("mine")
    result = run("new", tmp_path)
    assert result.exit_code == 2
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


@pytest.mark.parametrize("named", [".", "{}"])
def test_new_fills_the_empty_folder_one_stands_in(tmp_path, monkeypatch, named):
    """Made, entered, filled: the folder itself stays, so that the shell is not lost."""
    monkeypatch.chdir(tmp_path)
    before = tmp_path.stat().st_ino
    assert run("new", named.format(tmp_path)).exit_code == 0
    assert sorted(tree(tmp_path)) == ["SOURCES.md", "trip.toml"]
    assert [path for path in tmp_path.iterdir() if path.is_dir()] == []
    assert tmp_path.stat().st_ino == before


def test_failed_build_leaves_the_former_site_untouched(started, tmp_path):
    """A mistake in the trip costs nothing."""
    before = tree(started / "site")
    trip = tmp_path / "trip.toml"
    trip.write_text((started / "x" / "trip.toml").read_text() + "\n[[legs]]\nname = 3\n")
    result = run("build", trip, "-o", started / "site", "-q")
    assert result.exit_code == 2
    assert "nothing was written" in result.output
    assert tree(started / "site") == before


@pytest.mark.parametrize("command", ["check", "depart"])
def test_commands_that_write_nothing_do_not_say_so(command, tmp_path):
    """Only who writes files owes word of those left unwritten."""
    result = run(command, tmp_path / "nowhere.toml")
    assert result.exit_code == 2
    assert result.stderr.startswith("1 problem:\n")
    assert "nothing was written" not in run("night", 41, 28.9, "--kit", "x").stderr
    for writing in (("build",), ("climate", "import", "-o", tmp_path / "a.nc")):
        stderr = run(*writing, tmp_path / "nowhere.nc").stderr
        assert stderr.startswith("1 problem; nothing was written:\n")


def test_second_build_is_byte_identical(started):
    """The same inputs give the same site."""
    assert run("build", started / "x", "-o", started / "again", "-q").exit_code == 0
    assert tree(started / "again") == tree(started / "site")


def test_from_and_on_go_together(tmp_path):
    """Half a replanning request is a usage error."""
    assert run("depart", tmp_path, "--from", "Steppe").exit_code == 2


def test_wrong_box_says_what_it_expects():
    """The order of a box's numbers is easily mistaken."""
    result = run("climate", "import", "a.nc", "-o", "b.nc", "--bbox", "1,2,3")
    assert result.exit_code == 2
    assert "W,S,E,N" in result.output


@pytest.mark.parametrize(
    ("option", "value"),
    [
        ("--bbox", "nan,36,46,44"),
        ("--bbox", ""),
        ("--bbox", "46,36,26,44"),
        ("--period", "2020-1991"),
        ("--period", ""),
    ],
)
def test_wrong_numbers_of_an_import_are_refused(option, value):
    """A box with no edge and a period with no year would keep the wrong part in silence."""
    result = run("climate", "import", "a.nc", "-o", "b.nc", option, value)
    assert result.exit_code == 2
    assert f"got {value!r}" in result.output


@pytest.mark.parametrize("wrong", ["nan", "28,9", "28.9E"])
@pytest.mark.parametrize("place", [("{}", 29), (41, "{}"), (41, 29, "--elevation", "{}")])
def test_places_must_be_numbers(place, wrong):
    """nan is within no range, though it compares so; people write commas and letters."""
    result = run("night", *(str(part).format(wrong) for part in place))
    assert result.exit_code == 2
    assert f"{wrong} is not a number such as 28.9" in result.output


@pytest.mark.parametrize("day", ["01.05.2027", "2027-5-1", "2027-02-30", "20270501", "today"])
def test_the_day_of_replanning_is_written_as_in_the_trip_file(day, tmp_path):
    """The message names the form, not the letters of a program."""
    result = run("depart", tmp_path, "--from", "Steppe", "--on", day)
    assert result.exit_code == 2
    assert f"expected a date YYYY-MM-DD, got '{day}'" in result.output and "%" not in result.output


def test_kits_say_how_many_they_sleep():
    """A party of three or more looks for nothing else first; every shipped kit sleeps two."""
    heading, _, *rows = run("kits").output.splitlines()
    assert heading.split()[:3] == ["kit", "sleeps", "kg"]
    kits = [row.split() for row in rows if row.startswith(("bedroll ", "pop-up-roof "))]
    assert [row[:3] for row in kits] == [["bedroll", "2", "16"], ["pop-up-roof", "2", "55"]]


@pytest.mark.parametrize("epoch", ["", "soon", "-5", "²", "1" * 30])
def test_wrong_source_date_is_refused(epoch, monkeypatch):
    """A date that cannot be kept is said, never dropped, whatever the command."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
    result = run("kits")
    assert result.exit_code == 2
    assert "SOURCE_DATE_EPOCH: expected seconds since 1970" in result.output


def test_source_date_reaches_the_site(tmp_path, monkeypatch):
    """The trip gives no date of its own; day 1 of 2027 began 1,798,761,600 s after 1970."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1798761600")
    place = saved(tmp_path, trip(leg("A")))
    done = run("build", place, "--climate", stored(tmp_path), "-o", tmp_path / "dated", "-q")
    assert done.exit_code == 0
    assert b"1 January 2027" in (tmp_path / "dated" / "index.html").read_bytes()


@pytest.mark.parametrize("output", [".", "/"])
@pytest.mark.parametrize(("kind", "more"), [("file", ["--one-file"]), ("folder", [])])
def test_output_needs_a_name(tmp_path, output, kind, more):
    """A folder stands where a file's name should, or is the one the user stands in."""
    result = run("build", tmp_path, "-o", output, "-q", *more)
    assert result.exit_code == 2
    assert f"expected a {kind} to write, got '{output}'. Name one, as" in result.output


@pytest.mark.parametrize("others", [[], ["other.nc"]])
def test_import_never_replaces_its_source(tmp_path, monkeypatch, others):
    """A box cut out of a large file would be all that is left of it, be it one of several."""
    source = tmp_path / "mine.nc"
    source.write_bytes(b"years of data")
    monkeypatch.chdir(tmp_path)
    result = run("climate", "import", *others, source, "-o", "mine.nc", "--bbox", "26,36,46,44")
    assert result.exit_code == 2
    assert "expected another file than the sources, got 'mine.nc'. Name a new" in result.output
    assert source.read_bytes() == b"years of data"


@pytest.mark.parametrize(
    ("place", "message"),
    [
        ((128.9, 41), "128.9 is not from -90 to 90. Latitude comes first"),
        ((41, 190), "190 is not from -180 to 180. West is negative."),
        ((41, "inf"), "inf is not from -180 to 180."),
        (("4_1", 29), "4_1 is not a number such as 28.9"),
        ((41, 29, "--elevation", 14000), "14000 is not from -450 to 6000. Give metres."),
    ],
)
def test_places_off_the_globe_are_refused_with_the_way_out(place, message):
    """Longitude first and heights in feet are the usual slips."""
    result = run("night", *place)
    assert result.exit_code == 2 and message in result.output


@pytest.mark.parametrize(
    ("given", "lacking"), [(("--from", "A"), "--on DAY"), (("--on", "2027-05-01"), "--from LEG")]
)
def test_half_a_replanning_request_names_the_other_half(tmp_path, given, lacking):
    """Which of the two is missing is known."""
    result = run("depart", tmp_path, *given)
    assert f"got {given[0]} alone. Add {lacking}." in result.output


def test_a_misspelt_leg_is_recognised(started):
    """Names of legs are long, and typed on the road."""
    result = run("depart", started / "x", "--from", "pindos", "--on", "2027-05-20")
    assert result.exit_code == 2
    assert "--from: expected one of Karst fields," in result.stderr
    assert "got 'pindos'. Did you mean 'Pindus'?" in result.stderr


def test_one_leg_is_not_called_legs(tmp_path):
    """A weekend is a trip too."""
    path = saved(tmp_path, trip(leg("A"), kits="bedroll"))
    assert ": 1 leg, 1 kit, no problem found." in run("check", path).output


def test_the_next_command_can_be_copied(tmp_path, monkeypatch):
    """A folder with a space in its name needs quotes."""
    monkeypatch.chdir(tmp_path)
    assert f'Next: sheltermap build "my trip{os.sep}trip.toml"' in run("new", "my trip").output
    assert f"sheltermap build plain{os.sep}trip.toml" in run("new", "plain").output


def test_names_of_legs_are_no_markup_of_the_progress_bar(monkeypatch):
    """Brackets in a name would end in a traceback, or vanish."""

    class Terminal(io.StringIO):
        def isatty(self):
            return True

    monkeypatch.setattr(sys, "stderr", Terminal())
    monkeypatch.setenv("TERM", "xterm")
    with terminal.progress_bar(quiet=False) as progress:
        progress(0, 2, "Scoring [/b]")
    assert "Scoring [/b]" in sys.stderr.getvalue()


def shell(*arguments, **options):
    """Return a finished process of the command line."""
    command = [sys.executable, "-m", "sheltermap", *map(str, arguments)]
    return subprocess.run(command, check=False, stderr=subprocess.PIPE, **options)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize("arguments", [("kits",), ("night", "41", "28.9", "--json")])
def test_output_that_cannot_be_written_is_a_problem(arguments):
    """A full disk is told once, without a traceback."""
    with Path("/dev/full").open("wb") as full:
        done = shell(*arguments, stdout=full)
    assert done.returncode == 2
    assert b"standard output: expected a place that can be read and written, got" in done.stderr
    assert b"Traceback" not in done.stderr and b"Exception ignored" not in done.stderr


@pytest.mark.skipif(os.name == "nt", reason="no limit on the size of a file there")
def test_a_copy_that_finds_no_room_is_told_once_and_leaves_nothing(tmp_path):
    """The system's own words and the folder, not what each file was copied from."""
    import resource

    def no_room():
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))

    done = shell("new", tmp_path / "steppe", preexec_fn=no_room)
    said = done.stderr.decode()
    assert done.returncode == 2
    expected = "expected a new or empty folder that can be written, got File too large."
    assert f"{tmp_path / 'steppe'}: {expected}" in said
    assert said.count("\n") == 2 and "regions" not in said
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name == "nt", reason="pipes close otherwise")
def test_a_reader_who_has_seen_enough_is_no_error():
    """`| head` closes the pipe early; 1 would say that there is no plan."""
    reading, writing = os.pipe()
    os.close(reading)
    done = shell("kits", stdout=writing)
    os.close(writing)
    assert (done.returncode, done.stderr) == (141, b"")


def in_latin(monkeypatch, *arguments):
    """Return the bytes of a command on a terminal that knows Western European letters only."""
    terminal = io.TextIOWrapper(io.BytesIO(), encoding="latin-1", write_through=True)
    monkeypatch.setattr(sys, "stdout", terminal)
    with pytest.raises(SystemExit) as done:
        main([str(argument) for argument in arguments])
    assert done.value.code == 0
    return terminal.buffer.getvalue()


def test_terminals_of_other_encodings_show_what_they_can(tmp_path, monkeypatch):
    """A name in another script must not stop an answer; JSON stays JSON."""
    path = saved(tmp_path, trip(leg("Hügel ♥"), kits="bedroll", changed=[("title = ", TITLE)]))
    said = in_latin(monkeypatch, "check", path)
    assert said.decode("latin-1").startswith("Hügel \\u2192 ")
    answer = json.loads(in_latin(monkeypatch, "depart", path, "--json"))
    assert answer["best"]["legs"][0]["region"] == "Hügel ♥"


@pytest.mark.parametrize("command", [("kits",), ("check", "nowhere")])
def test_breaking_off_is_not_the_code_of_no_plan(command, monkeypatch):
    """Shells say 130; 1 is kept for a trip without a plan."""

    def broken_off(*arguments, **options):
        raise KeyboardInterrupt

    monkeypatch.setattr("sheltermap.report.kit_list.kit_rows", broken_off)
    monkeypatch.setattr("sheltermap.pipeline.read", broken_off)
    result = run(*command)
    assert (result.exit_code, result.stderr) == (130, "\nBroken off.\n")


def test_breaking_off_before_the_command_line_is_loaded_shows_no_traceback():
    """Loading takes a tenth of a second, in which people notice that they mistyped."""
    project = tomllib.loads((PACKAGE.parent / "pyproject.toml").read_text("utf-8"))["project"]
    code = f"""
import pkgutil, sys

class Breaking:
    def find_spec(name, path, target=None):
        if name == "click":
            raise KeyboardInterrupt

sys.meta_path.insert(0, Breaking)
sys.argv = ["sheltermap", "kits"]
pkgutil.resolve_name({project["scripts"]["sheltermap"]!r})()
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "\nBroken off.\n")


def test_breaking_off_with_stderr_closed_leaves_the_output_alone(monkeypatch, capsys):
    """What was written so far may be half a file of JSON, but no other text."""
    monkeypatch.setattr(sys, "stderr", None)
    with pytest.raises(SystemExit) as caught:
        exit_interrupted()
    assert (caught.value.code, capsys.readouterr().out) == (130, "")


def test_who_opens_a_file_tells_what_is_wrong_with_it(tmp_path, monkeypatch):
    """Click would ask for the rights itself, and refuse without the way out."""
    path = tmp_path / "trip.toml"
    path.write_text("")
    monkeypatch.setattr("os.access", lambda *arguments, **options: False)
    for arguments in (("check", path), ("kits", "--file", path), ("build", path, "-o", path)):
        assert "Usage:" not in run(*arguments).stderr
