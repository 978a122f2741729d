"""Checked reading: every misfit becomes a message a person can act on."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Literal

import pytest
from pydantic import Field

from sheltermap import files
from sheltermap.files import Record, checked, in_folder, read_json, read_toml, shown
from sheltermap.vocabulary import InputError, Problem


class Inner(Record):
    """A table inside."""

    count: int = Field(ge=1)


class Outer(Record):
    """A small file."""

    name: str
    share: float = Field(0.5, gt=0, le=1)
    length: float = Field(1.0, le=2_500_000)
    rows: tuple[Inner, ...] = Field((), min_length=1)
    named: dict[str, Inner] = Field(default_factory=dict)
    pair: tuple[int, int] | None = None
    whole: int = 1
    perhaps: float | None = None
    sure: bool = False
    word: Literal["noon", "sunset"] = "noon"
    inner: Inner | None = None
    ident: str = Field("a", pattern=r"^[a-z-]+$")


def problems(raw):
    """Return what is wrong with `raw` as an Outer."""
    with pytest.raises(InputError) as caught:
        checked(raw, Outer, "trip.toml")
    return [str(problem) for problem in caught.value.problems]


def test_right_content_is_returned():
    """A good table comes back as the model."""
    read = checked({"name": "a", "rows": [{"count": 2}]}, Outer, "trip.toml")
    assert (read.name, read.share, read.rows[0].count) == ("a", 0.5, 2)


def test_all_problems_come_at_once():
    """Nobody should mend a file one run at a time."""
    found = problems({"share": 2, "rows": [{"count": "many", "colour": "x"}]})
    assert len(found) == 4


MEANT = "Did you mean 'name'?"


@pytest.mark.parametrize("name", ["nam", "NAME", "nmae", "names"])
def test_a_misspelt_key_is_one_mistake(name):
    """That the right key is missing then goes without saying; another one is told."""
    (message,) = problems({name: "a", "rows": [{"count": 1}]})
    assert message.endswith(f"{name}: expected a known key, got an unknown key. {MEANT}")
    assert len(problems({"title": "a", "rows": [{"count": 1}]})) == 2


@pytest.mark.parametrize(
    ("raw", "expected", "mend"),
    [
        ({"whole": "2"}, "a whole number, got '2'", "without quotes or units"),
        ({"whole": True}, "a whole number, got true", "Write a number"),
        ({"whole": 2.5}, "a whole number, got 2.5", "Correct the value"),
        ({"share": "0.5"}, "a number, got '0.5'", "without quotes or units"),
        ({"share": "50 %"}, "a number, got '50 %'", "without quotes or units"),
        ({"share": True}, "a number, got true", "Write a number"),
        ({"share": float("nan")}, "a finite number, got nan", "Correct the value"),
        ({"whole": float("-inf")}, "a finite number, got -inf", "Correct the value"),
        ({"perhaps": float("inf")}, "a finite number, got inf", "Correct the value"),
        ({"pair": [1, float("nan")]}, "a finite number, got nan", "Correct the value"),
        ({"perhaps": "1.5"}, "a number, got '1.5'", "without quotes or units"),
        ({"sure": "yes"}, "true or false, got 'yes'", "Write true or false, without quotes"),
        ({"sure": 1}, "true or false, got 1", "Write true or false, without quotes"),
    ],
)
def test_values_are_of_the_type_they_look_like(raw, expected, mend):
    """Nobody means 1 by true: what is converted in silence hides a slip."""
    (message,) = problems({"name": "a", "rows": [{"count": 1}]} | raw)
    assert f"expected {expected}" in message and mend in message


def test_whole_numbers_do_for_numbers_and_the_other_way_round():
    """Files write 2, 2.0 and nothing as they please."""
    read = checked({"name": "a", "share": 1, "whole": 3.0, "perhaps": None}, Outer, "trip.toml")
    assert (read.share, read.whole, read.perhaps) == (1.0, 3, None)


@pytest.mark.parametrize(
    ("raw", "message"),
    [
        ({"rows": {"count": 1}}, "rows: expected a list, got {'count': 1}. Write [[rows]]"),
        ({"pair": 4}, "pair: expected a list, got 4. Put it in brackets: pair = [4]."),
        ({"pair": "\x1b"}, r"""got '\x1b'. Put it in brackets: pair = ["\x1b"]."""),
        ({"inner": [{"count": 1}]}, "inner: expected a table, got [{'count': 1}]. Write [inner]"),
        ({"inner": 4}, "inner: expected a table, got 4. Correct the value."),
        (
            {"word": "Sunset"},
            "one of 'noon' or 'sunset', got 'Sunset'. Did you mean 'sunset'?",
        ),
        ({"word": "x"}, "expected one of 'noon' or 'sunset', got 'x'. Correct the value."),
        ({"ident": "My Kit"}, "expected an id of small letters, digits and hyphens, got 'My Kit'"),
    ],
)
def test_the_way_out_is_named(raw, message):
    """One pair of brackets too few is the commonest slip in TOML."""
    (found,) = problems({"name": "a", "rows": [{"count": 1}]} | raw)
    assert message in found


@pytest.mark.parametrize(
    ("raw", "message"),
    [
        (
            {"name": "a", "nmae": "b", "rows": [{"count": 1}]},
            "trip.toml: nmae: expected a known key, got an unknown key. Did you mean 'name'?",
        ),
        (
            {"name": "a", "rows": [{"count": 0}]},
            "trip.toml: rows[1].count: expected at least 1, got 0. Correct the value.",
        ),
        (
            {"name": "a", "rows": [{"count": 1}, {"cuont": 1, "count": 1}]},
            "trip.toml: rows[2].cuont: expected a known key, got an unknown key. "
            "Did you mean 'count'?",
        ),
        (
            {"name": "a", "share": 0, "rows": [{"count": 1}]},
            "trip.toml: share: expected more than 0, got 0. Correct the value.",
        ),
        (
            {"name": "a", "length": 3e6, "rows": [{"count": 1}]},
            "trip.toml: length: expected at most 2500000, got 3000000.0. Correct the value.",
        ),
        (
            {"name": "a", "share": "half", "rows": [{"count": 1}]},
            "trip.toml: share: expected a number, got 'half'. Write the number alone, without "
            "quotes or units.",
        ),
        (
            {"rows": [{"count": 1}]},
            "trip.toml: name: expected a value, got nothing. Add this key.",
        ),
        (
            {"name": "a", "rows": []},
            "trip.toml: rows: expected at least 1 item(s), got []. Correct the value.",
        ),
    ],
)
def test_message_names_file_key_expected_got_and_mend(raw, message):
    """Each kind of mistake reads as a sentence."""
    assert problems(raw) == [message]


def test_a_list_whose_items_fail_is_not_called_too_short():
    """The items' own messages are enough."""
    assert len(problems({"name": "a", "rows": [{"count": 0}]})) == 1


@pytest.mark.parametrize(
    ("content", "expected"),
    [(b"a = ", "valid TOML"), (b"a = '\xff'", "UTF-8 text"), (None, "a file that can be read")],
)
def test_unreadable_files_say_so(tmp_path, content, expected):
    """Broken syntax, broken bytes and a missing file are told apart."""
    path = tmp_path / "trip.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(InputError, match=expected):
        read_toml(path, Outer)


def test_no_more_than_the_largest_file_is_read(tmp_path, monkeypatch):
    """A file that never ends, as a device, is refused like one that is too large."""
    monkeypatch.setattr(files, "_LARGEST_FILE_BYTES", 2**20)
    large = tmp_path / "large.json"
    large.write_bytes(b" " * 2**20 + b"1")
    endless = Path("/dev/zero")
    for path in (large, endless) if endless.exists() else (large,):
        with pytest.raises(InputError, match="expected at most 1 MiB, got more"):
            read_json(path)
    large.write_bytes(b" " * (2**20 - 1) + b"1")
    assert read_json(large) == 1


def test_json_with_a_byte_order_mark_is_read(tmp_path):
    """Editors on some systems write one."""
    path = tmp_path / "a.geojson"
    path.write_bytes(b'\xef\xbb\xbf{"a": 1}')
    assert read_json(path) == {"a": 1}


def test_deeply_nested_json_is_refused(tmp_path):
    """A hostile file must not end in a traceback."""
    path = tmp_path / "a.geojson"
    path.write_text("[" * 200_000)
    with pytest.raises(InputError, match="valid JSON"):
        read_json(path)


def test_shown_values_stay_on_one_short_line():
    """Control characters and long texts would garble a terminal."""
    text = shown("\x1b[31m\u202e" + "x" * 10_000 + "\n")
    assert len(text) <= 60
    assert text.isprintable()


@pytest.mark.parametrize(
    ("raw", "key"),
    [
        ({"named": {"East": {"count": 0}}}, "named.East.count"),
        ({"named": {"East": {"cuont": 1, "count": 1}}}, "named.East.cuont"),
        ({"named": {"two words": {"count": 0}}}, "named.'two words'.count"),
        ({"named": {"a[1]()": {"count": 0}}}, "named.'a[1]()'.count"),
        ({"pair": [1, "x"]}, "pair[2]"),
    ],
)
def test_keys_that_people_name_stand_in_the_place(raw, key):
    """Names of tables are capitals, blanks and brackets; pydantic's own marks are none of them."""
    (message,) = problems({"name": "a", "rows": [{"count": 1}]} | raw)
    assert message.startswith(f"trip.toml: {key}: expected")


def test_message_without_a_file_starts_with_its_key():
    """Arguments of the command line stand in no file."""
    problem = Problem("", "--kit", "one of these", "'x'", "Choose one.")
    assert str(problem) == "--kit: expected one of these, got 'x'. Choose one."


def test_dates_are_shown_as_they_are_written():
    """Nobody writes datetime.date into a trip file."""
    assert shown(date(2027, 5, 1)) == "2027-05-01"
    assert shown({"first": date(2027, 5, 1)}) == "{'first': '2027-05-01'}"


@pytest.mark.parametrize(
    ("text", "line", "got", "mend"),
    [
        ("a = 1\n\nday = 15.02.2027\n", 3, "'day = 15.02.2027'", "year first: day = 2027-02-15."),
        ("a = 1\r\nb = 2,5\r\n", 2, "'b = 2,5'", "Numbers have a point: b = 2.5."),
        ("a = “us”", 1, "'a = “us”'", "Text stands in straight quotes"),
        ("a = 1\na = 2\n", 2, "'a = 2'", "Give each key and each table once."),
        ("[legs]\n[c]\n[legs]\n", 3, "'[legs]'", "under two brackets each time: [[legs]]."),
        ('[files]\na = "maps\\drawn.gpx"', 2, "'a = \"maps", "Write / between folders;"),
    ],
)
def test_a_line_that_is_no_toml_is_shown(tmp_path, text, line, got, mend):
    """The parser's own words help nobody who writes his first file."""
    path = tmp_path / "trip.toml"
    path.write_bytes(text.encode())
    with pytest.raises(InputError) as caught:
        read_toml(path, Outer)
    (problem,) = caught.value.problems
    assert (problem.key, problem.expected) == (f"line {line}", "valid TOML")
    assert problem.got.startswith(got) and mend in problem.mend


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_other_encodings_are_named(tmp_path, encoding):
    """Some editors save UTF-16, with or without a mark."""
    path = tmp_path / "trip.toml"
    path.write_bytes('name = "a"\n'.encode(encoding))
    with pytest.raises(InputError, match="expected UTF-8 text, got UTF-16, or no text"):
        read_toml(path, Outer)


def test_bytes_that_are_no_utf_8_are_found_by_their_line(tmp_path):
    """Nobody counts bytes."""
    path = tmp_path / "trip.toml"
    path.write_bytes('a = 1\n\nname = "Müsli"\n'.encode("latin-1"))
    with pytest.raises(InputError, match="line 3: expected UTF-8 text"):
        read_toml(path, Outer)


@pytest.mark.parametrize("content", ["a = " + "[" * 100_000, "a = 1" + "0" * 5000])
def test_text_that_exhausts_the_parser_is_no_valid_toml(tmp_path, content):
    """Brackets without end and endless numbers end in a message."""
    path = tmp_path / "trip.toml"
    path.write_text(content)
    with pytest.raises(InputError, match="valid TOML"):
        read_toml(path, Outer)


def test_a_path_that_cannot_be_looked_at_stands_for_itself(tmp_path, monkeypatch):
    """Whether it is a folder is told only where the folder around it may be entered."""
    assert in_folder(tmp_path, "trip.toml") == tmp_path / "trip.toml"

    def refuse(path):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "is_dir", refuse)
    assert in_folder(tmp_path, "trip.toml") == tmp_path
