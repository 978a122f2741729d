"""Checked reading of the text files people write, and paths that cannot be used as problems.

In: a path and a pydantic model. Out: the model's instance, or one InputError that
lists every problem of the file at once. Assumes nothing about what the model means;
meaning that spans several keys is checked by the modules that own the models.
"""

from __future__ import annotations

import functools
import json
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    ValidationInfo,
    field_validator,
)

from sheltermap.slips import line_mended
from sheltermap.validation import PLAIN, members, misfits, shown
from sheltermap.vocabulary import InputError, Problem

_LARGEST_FILE_BYTES = 64 * 2**20  # judgement: a hand-written or drawn file is far smaller.
_LONGEST_WHOLE = 19  # digits of a machine's integers
_MOST_SLIPS = 20
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]")


Share = Annotated[float, Field(ge=0, le=1)]
Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]


class Record(BaseModel):
    """A table of a file: unknown keys are refused and values never change after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False, allow_inf_nan=False)

    @field_validator("*", mode="before")
    @classmethod
    def _as_written(cls, value: Any, info: ValidationInfo) -> Any:
        # Pydantic would read "yes" as true, true as 1 and "2" as 2; strict, it refuses lists.
        kind = None if info.field_name is None else _plain_kind(cls, info.field_name)
        if kind is None:
            return value
        mend = None
        if kind is bool and isinstance(value, str | int | float) and not isinstance(value, bool):
            mend = "Write true or false, without quotes."
        elif kind in (int, float) and isinstance(value, str):
            mend = "Write the number alone, without quotes or units."
        elif kind in (int, float) and isinstance(value, bool):
            mend = "Write a number."
        if mend is not None:
            raise ValueError(f"{PLAIN[kind.__name__]} | {mend}")
        return value


@functools.cache
def _plain_kind(model: type[BaseModel], name: str) -> type | None:
    """Return bool, int or float where a key holds nothing else; None elsewhere."""
    field = model.model_fields[name]
    if any(isinstance(one, BeforeValidator) for one in field.metadata):
        return None  # Written in a form of its own, as clock times are.
    kinds = set(members(field.annotation)) - {type(None)}
    return kinds.pop() if len(kinds) == 1 and kinds <= {bool, int, float} else None


@dataclass(frozen=True)
class Written:
    """How a value is written in a file, where its type does not say so.

    Attributes
    ----------
    words : str
        For the reference page.
    form : callable
        Returns a checked value as it is written.
    table : bool
        Whether it may be written as a table too, whose keys the reference page lists.
    """

    words: str
    form: Callable[[Any], str] = json.dumps
    table: bool = True


Model = TypeVar("Model", bound=BaseModel)


def one_line(text: str) -> str:
    """
    Return text that a line of any page, file or terminal can show.

    Parameters
    ----------
    text : str

    Returns
    -------
    str

    Raises
    ------
    ValueError
        If it is blank or holds control characters; "expected | how to mend".
    """
    if not text.strip():
        raise ValueError("text that is not blank | Write a word.")
    if _CONTROL.search(text):
        raise ValueError("one line without control characters | Remove them.")
    return text


def lines(text: str) -> str:
    """
    Return text of any number of lines that a page can show.

    Parameters
    ----------
    text : str

    Returns
    -------
    str

    Raises
    ------
    ValueError
        If it holds control characters but line ends and tabs.
    """
    if _CONTROL.search(re.sub(r"\r?\n|\t", "", text)):
        raise ValueError("text without control characters | Remove them.")
    return text


def read_toml(
    path: Path | str, model: type[Model], context: Mapping[str, Any] | None = None
) -> Model:
    """
    Return the checked content of a TOML file.

    Parameters
    ----------
    path : path
        File to read, UTF-8.
    model : subclass of pydantic.BaseModel
        What the file must hold.
    context : mapping, optional
        What validators of the model may ask for.

    Returns
    -------
    instance of `model`

    Raises
    ------
    InputError
        If the file is missing, is not TOML, or does not fit the model.
    """
    return checked(toml_tables(path), model, str(path), context=context)


def toml_tables(path: Path | str) -> dict[str, Any]:
    """
    Return the tables of a TOML file, unchecked.

    Parameters
    ----------
    path : path
        File to read, UTF-8.

    Returns
    -------
    dict

    Raises
    ------
    InputError
        If the file is missing or is not TOML; slips on several lines are told together.
    """
    text = read_text(path)
    problems: list[Problem] = []
    while len(problems) < _MOST_SLIPS:
        try:
            tables = tomllib.loads(text)
        # Brackets without end exhaust the stack; long numbers are a ValueError.
        except (ValueError, RecursionError) as error:
            problem, rest = _no_toml(str(path), text, str(error))
            problems.append(problem)
            if rest is None:
                break
            text = rest
        else:
            if not problems:
                return tables
            break
    raise InputError(problems)


def _no_toml(file: str, text: str, said: str) -> tuple[Problem, str | None]:
    """Return what keeps a text from being TOML, and the text without that line.

    The latter only where the slip is one of a single line: what follows is wrong by itself.
    """
    mend = (
        'Correct it there or just before: text stands in "quotes", numbers have a point and no '
        "unit, dates read 2027-05-15."
    )
    if said.startswith(("Cannot overwrite", "Cannot declare")):
        mend = (
            "Give each key and each table once. What may come several times, as a leg, stands "
            "under two brackets each time: [[legs]]."
        )
    if said.startswith("Unescaped"):
        mend = "Write / between folders; any other backslash in text is written twice."
    where = re.search(r" \(at (?:line (\d+), column \d+|end of document)\)$", said)
    if where is None:
        return Problem(file, "", "valid TOML", said, mend), None
    lines = text.split("\n")
    number = int(where[1]) if where[1] else len(text.rstrip().split("\n"))
    line = lines[number - 1].strip()
    recognised = "" if said.startswith(("Cannot", "Unescaped")) else line_mended(line)
    got = f"{shown(line)} ({said[: where.start()]})"
    lines[number - 1] = ""
    rest = "\n".join(lines) if recognised else None
    return Problem(file, f"line {number}", "valid TOML", got, recognised or mend), rest


def read_json(path: Path | str) -> Any:
    """
    Return the content of a JSON or GeoJSON file.

    Parameters
    ----------
    path : path
        File to read, UTF-8, with or without a byte-order mark.

    Returns
    -------
    object
        As ``json.loads`` gives it.

    Raises
    ------
    InputError
        If the file is missing or is not JSON.
    """
    text = read_text(path)
    try:
        return json.loads(text, parse_int=_whole)
    except (ValueError, RecursionError) as error:
        raise InputError(
            [Problem(str(path), "", "valid JSON", str(error), "Correct or export the file again.")]
        ) from None


def _whole(digits: str) -> float:
    """Return a number without a point; one that no quantity has becomes a float, or infinite."""
    return int(digits) if len(digits) < _LONGEST_WHOLE else float(digits)


def read_text(path: Path | str) -> str:
    """
    Return the text of a file.

    Parameters
    ----------
    path : path
        File to read, UTF-8, with or without a byte-order mark.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If the file cannot be read, is too large, or is not UTF-8.
    """
    path = Path(path)
    try:
        # Devices and pipes have no size to ask for, so no more than this is ever read.
        with path.open("rb") as file:
            content = file.read(_LARGEST_FILE_BYTES + 1)
        if len(content) > _LARGEST_FILE_BYTES:
            expected = f"at most {_LARGEST_FILE_BYTES // 2**20} MiB"
            mend = "Simplify the shapes or split the file."
            raise InputError([Problem(str(path), "", expected, "more", mend)])
        if b"\0" not in content:
            return content.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
        got = "UTF-16, or no text at all"
        problem = Problem(str(path), "", "UTF-8 text", got, "Save the file as UTF-8.")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        got = "bytes that are not"
        problem = Problem(str(path), f"line {line}", "UTF-8 text", got, "Save the file as UTF-8.")
    except OSError as error:
        problem = unreadable(path, "a file that can be read", error)
    raise InputError([problem])


def checked(
    raw: Any,
    model: type[Model],
    file: str,
    prefix: str = "",
    context: Mapping[str, Any] | None = None,
) -> Model:
    """
    Return raw data as a model instance.

    Parameters
    ----------
    raw : object
        What a file held.
    model : subclass of pydantic.BaseModel
        What it must be.
    file : str
        Name of the file, for messages.
    prefix : str
        Where in the file `raw` stood, for messages.
    context : mapping, optional
        What validators of the model may ask for.

    Returns
    -------
    instance of `model`

    Raises
    ------
    InputError
        With one Problem for each misfit.
    """
    try:
        return model.model_validate(raw, context=context)
    except ValidationError as error:
        raise InputError(misfits(error, file, prefix, model)) from None


def in_folder(path: Path | str, name: str) -> Path:
    """
    Return the file of that name where the path is a folder, else the path itself.

    Parameters
    ----------
    path : path
        A file, a folder, or what cannot be told: reading it says why.
    name : str

    Returns
    -------
    pathlib.Path

    Examples
    --------
    >>> in_folder("nowhere", "trip.toml").name
    'nowhere'
    """
    path = Path(path)
    try:
        return path / name if path.is_dir() else path
    except OSError:
        return path


def unreadable(path: Path | str, expected: str, error: OSError) -> Problem:
    """
    Return the problem of a file or folder that cannot be read.

    Parameters
    ----------
    path : path
    expected : str
        What the path should have been.
    error : OSError
        What the system said.

    Returns
    -------
    Problem

    Examples
    --------
    >>> unreadable("in", "a file", FileNotFoundError(2, "No such file or directory")).got
    'No such file or directory'
    """
    said = error.strerror or type(error).__name__
    return Problem(str(path), "", expected, said, "Check the name and the folder.")


def unwritable(path: Path | str, expected: str, error: Exception) -> Problem:
    """
    Return the problem of a file or folder that cannot be written.

    Parameters
    ----------
    path : path
    expected : str
        What the path should have been.
    error : Exception
        What the system or a library said.

    Returns
    -------
    Problem

    Examples
    --------
    >>> unwritable("out", "a folder", OSError(28, "No space left on device")).got
    'No space left on device'
    """
    said = getattr(error, "strerror", None) or " ".join(str(error).split())[:120]
    said = said or type(error).__name__
    return Problem(str(path), "", expected, said, "Name another place, or make room there.")
