"""What commands print on a terminal, and what other programs read."""

import json
import os
import pty
import select
import sys
import traceback

import pytest
from click.testing import CliRunner
from small_trips import leg, saved, trip

from sheltermap.cli import main
from sheltermap.terminal import fitted

LONG = "A leg with a name that nobody would type twice on the road to the far lake"


def on_terminal(*arguments, columns=200):
    """Return the lines that a command prints on a terminal of that many columns.

    In a child of this process, which has everything loaded.
    """
    child, ours = pty.fork()
    if child == 0:
        os.environ.update(COLUMNS=str(columns), TERM="dumb")
        _run(arguments)
    text = b""
    while select.select([ours], [], [], 30)[0]:
        try:
            part = os.read(ours, 65536)
        except OSError:  # Linux says so once the other end is closed.
            break
        if not part:
            break
        text += part
    os.waitpid(child, 0)
    os.close(ours)
    return text.decode().replace("\r", "").split("\n")


def _run(arguments):
    """Run a command on the terminal that this child stands at, and end it."""
    try:
        with (
            open(1, "w", encoding="utf-8", closefd=False) as sys.stdout,
            open(2, "w", encoding="utf-8", closefd=False) as sys.stderr,
        ):
            main([str(argument) for argument in arguments], prog_name="sheltermap")
    except SystemExit:
        pass
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(0)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Return the folder of a trip with a long name and a doubt."""
    folder = tmp_path_factory.mktemp("trip")
    more = "kilometres = 10\ncamp_elevation_m = 2000"
    saved(folder, trip(leg("A"), leg(LONG, (40.0, 33.0), more=more)))
    return folder


@pytest.mark.parametrize(
    "arguments",
    [("kits",), ("check", "{}"), ("depart", "{}"), ("night", "41.0", "28.9"), ("night", "London")],
    ids=" ".join,
)
def test_every_command_fits_80_columns(folder, arguments):
    """Wider terminals too: nobody reads lines of 200 letters."""
    lines = on_terminal(*(part.format(folder) for part in arguments))
    assert len(lines) > 2
    # A path has no blank to be cut at.
    wide = [line for line in lines if len(line) > 80 and str(folder) not in line]
    assert wide == []


def test_a_row_goes_on_under_its_last_column():
    """The name stays a column."""
    row = "2027-05-01  sound  a long name here"
    assert fitted(row, 26, " " * 19).split("\n") == [
        "2027-05-01  sound  a long",
        "                   name",
        "                   here",
    ]


def test_other_programs_get_whole_lines(folder):
    """A search for a sentence must not fail at a line's end."""
    told = CliRunner().invoke(main, ["check", str(folder)]).stderr
    assert any(line.count(" ") > 20 for line in told.splitlines())


def test_kits_are_told_as_data():
    """The same figures as in the table, named."""
    rows = json.loads(CliRunner().invoke(main, ["kits", "--json"]).stdout)
    (bedroll,) = (row for row in rows if row["id"] == "bedroll")
    assert (bedroll["sleeps"], bedroll["mass_kg"]) == (2, 16)
    table = CliRunner().invoke(main, ["kits"]).stdout
    (line,) = (line for line in table.splitlines() if line.startswith("bedroll "))
    cold = bedroll["coldest_low_c"]
    assert f"{cold['dry']:.0f}, {cold['humid']:.0f}" in line


def test_check_tells_problems_as_data(tmp_path):
    """File, line, key, and the words of the terminal; exit code 2 as ever."""
    path = saved(tmp_path, trip(leg("A")).replace("nights = 4", "nights = 0"))
    result = CliRunner().invoke(main, ["check", str(path), "--json"])
    assert result.exit_code == 2
    (problem,) = json.loads(result.stdout)["problems"]
    line = path.read_text(encoding="utf-8").split("\n").index("nights = 0") + 1
    assert (problem["file"], problem["line"]) == (str(path), line)
    assert problem["key"] == "legs[1].nights"
    assert problem["words"].startswith(f"{path}, line {line}: leg 'A', nights: expected ")


def test_check_without_problems_is_data_too(tmp_path):
    """Doubts and what was ignored stand in it."""
    result = CliRunner().invoke(main, ["check", str(saved(tmp_path, trip(leg("A")))), "--json"])
    assert json.loads(result.stdout) == {"problems": [], "ignored": [], "doubts": []}
