"""Problems as people read them: the file, the line, the leg's name, what is right.

In: problems of files, which name a key. Out: a line of text each, with the line of the file
where the key stands and the name of the leg, kit or sleeper it is about. Assumes that the file
is still the one that was read; where it is not, the key stands alone.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path
from typing import Any

from sheltermap.vocabulary import Problem

Place = tuple[str | int, ...]
"""Keys and positions, from 1, on the way to a value of a file."""

_NAMES = {"legs": ("leg", "name"), "kit": ("kit", "id"), "addon": ("add-on", "id")}
_LARGEST = 2**20  # No file that people write is larger.

_SPACE = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_KEY = re.compile(r'[ \t]*("(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'|[A-Za-z0-9_-]+)[ \t]*')
_TEXT = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}|\'\'\'(?:.|\n)*?\'{3,5}|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'', re.DOTALL
)
_BARE = re.compile(r"[^,\]}#\n]*")
_PART = re.compile(r"\.?(?:'([^']*)'|\"([^\"]*)\"|([^.\[\]]+))|\[(\d+)\]")


def told(problems: Iterable[Problem]) -> list[str]:
    """
    Return a line on each problem.

    Parameters
    ----------
    problems : iterable of Problem

    Returns
    -------
    list of str
    """
    return [one["words"] for one in described(problems)]


def described(problems: Iterable[Problem]) -> list[dict[str, Any]]:
    """
    Return problems for other programs, as ``check --json`` prints them.

    Parameters
    ----------
    problems : iterable of Problem

    Returns
    -------
    list of dict
        ``file``, ``line`` (null where it is not known), ``key``, ``expected``, ``got``,
        ``mend`` and ``words``, all of it in a line.
    """
    known: dict[str, tuple[Mapping[Place, int], Any]] = {}
    found = []
    for problem in problems:
        if problem.file not in known:
            known[problem.file] = _read(problem.file)
        lines, tables = known[problem.file]
        line = _line(problem, lines)
        file = problem.file if line is None else f"{problem.file}, line {line}"
        where = ": ".join(part for part in (file, _named(problem.key, tables)) if part)
        words = f"{where}: expected {problem.expected}, got {problem.got}. {problem.mend}"
        found.append(asdict(problem) | {"line": line, "words": words})
    return found


def _line(problem: Problem, lines: Mapping[Place, int]) -> int | None:
    """Return the line on which a problem stands, or what holds it."""
    of_toml = re.fullmatch(r"line (\d+)", problem.key)
    if of_toml:
        return int(of_toml[1])
    place = place_of(problem.key)
    return next((lines[place[:n]] for n in range(len(place), 0, -1) if place[:n] in lines), None)


def place_of(key: str) -> Place:
    """
    Return the parts of a key.

    Parameters
    ----------
    key : str
        As problems have it.

    Returns
    -------
    tuple of str and int

    Examples
    --------
    >>> place_of("legs[2].closed[1].first")
    ('legs', 2, 'closed', 1, 'first')
    """
    return tuple(
        int(index) if index else single or double or plain
        for single, double, plain, index in _PART.findall(key)
    )


def _named(key: str, tables: Any) -> str:
    """Return a key with the name of the leg or kit in place of its number."""
    if re.fullmatch(r"line \d+", key):
        return ""
    match = re.match(r"(\w+)\[(\d+)\]\.?", key)
    if match is None or match[1] not in _NAMES or not isinstance(tables, dict):
        return key
    word, named_by = _NAMES[match[1]]
    rows = tables.get(match[1])
    row = rows[int(match[2]) - 1] if isinstance(rows, list) and int(match[2]) <= len(rows) else {}
    name = row.get(named_by) if isinstance(row, dict) else None
    if not isinstance(name, str) or not name.strip() or len(name) > 60 or not name.isprintable():
        return key
    rest = key[match.end() :]
    return f"{word} '{name}'" + (f", {rest}" if rest else "")


def _read(file: str) -> tuple[Mapping[Place, int], Any]:
    """Return where the keys of a file stand, and its tables; nothing of one that is no TOML."""
    path = Path(file)
    try:
        if path.suffix.lower() != ".toml" or path.stat().st_size > _LARGEST:
            return {}, None
        text = path.read_text(encoding="utf-8-sig")
        return key_lines(text), tomllib.loads(text)
    except (OSError, ValueError, RecursionError):
        return {}, None


def key_lines(text: str) -> dict[Place, int]:
    """
    Return the line on which each key of a TOML text stands.

    Parameters
    ----------
    text : str
        As ``tomllib`` accepts it; of another text as far as it can be followed.

    Returns
    -------
    dict of tuple to int
        Keys and positions on the way to a value, to its line; both counted from 1.

    Examples
    --------
    >>> key_lines("title = 'x'\\n[[legs]]\\nplace = [\\n 1,\\n 2]")[("legs", 1, "place", 2)]
    5
    """
    scan = _Scan(text)
    with suppress(_Lost):
        scan.document()
    return scan.lines


class _Lost(Exception):
    """The text goes on in a way that was not expected."""


class _Scan:
    """A walk through a TOML text that keeps where each key stands."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.lines: dict[Place, int] = {}
        self._counts: dict[Place, int] = {}

    def document(self) -> None:
        """Walk through headings and keys to the end."""
        table: Place = ()
        while self._more():
            if self.text.startswith("[[", self.at):
                self.at += 2
                *above, name = self._keys()
                place = (*self._current(above), name)
                self._counts[place] = self._counts.get(place, 0) + 1
                table = (*place, self._counts[place])
                self._mark(table)
                self._skip("]]")
            elif self.text.startswith("[", self.at):
                self.at += 1
                table = self._current(self._keys())
                self._mark(table)
                self._skip("]")
            else:
                self._pair(table)

    def _more(self) -> bool:
        """Return whether anything but blanks and remarks follows, and go there."""
        match = _SPACE.match(self.text, self.at)
        self.at = match.end() if match else self.at
        return self.at < len(self.text)

    def _mark(self, place: Place) -> None:
        self.lines.setdefault(place, self.text.count("\n", 0, self.at) + 1)

    def _skip(self, sign: str) -> None:
        if not self.text.startswith(sign, self.at):
            raise _Lost
        self.at += len(sign)

    def _take(self, form: re.Pattern[str]) -> re.Match[str]:
        match = form.match(self.text, self.at)
        if match is None:
            raise _Lost
        self.at = match.end()
        return match

    def _keys(self) -> list[str]:
        """Return the parts of a dotted key."""
        parts = [self._take(_KEY)[1].strip("\"'")]
        while self.text.startswith(".", self.at):
            self.at += 1
            parts.append(self._take(_KEY)[1].strip("\"'"))
        return parts

    def _current(self, parts: Iterable[str]) -> Place:
        """Return the place of a heading, in the last table of each list on the way."""
        place: Place = ()
        for part in parts:
            place = (*place, part)
            if place in self._counts:
                place = (*place, self._counts[place])
        return place

    def _pair(self, table: Place) -> None:
        """Walk over one key and its value."""
        before = self.at
        place = (*table, *self._keys())
        after, self.at = self.at, before
        self._mark(place)
        self.at = after
        self._skip("=")
        self._value(place)

    def _value(self, place: Place) -> None:
        """Walk over one value."""
        self._more()
        self._mark(place)
        if self.text.startswith("[", self.at):
            for number in self._items("]"):
                self._value((*place, number))
        elif self.text.startswith("{", self.at):
            for _ in self._items("}"):
                self._pair(place)
        else:
            self._take(_TEXT if self.text.startswith(('"', "'"), self.at) else _BARE)

    def _items(self, end: str) -> Iterator[int]:
        """Yield numbers from 1, standing before each thing between two brackets."""
        self.at += 1
        number = 0
        while self._more() and not self.text.startswith(end, self.at):
            number += 1
            yield number
            self._more()
            if self.text.startswith(",", self.at):
                self.at += 1
        self._skip(end)
