"""Checked reading of the text files people write: TOML and GeoJSON.

In: a path and a pydantic model. Out: the model's instance, or one InputError that
lists every problem of the file at once. Assumes nothing about what the model means;
meaning that spans several keys is checked by the modules that own the models.
"""

from __future__ import annotations

import difflib
import json
import re
import tomllib
import types
import typing
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from sheltermap.access import unreadable
from sheltermap.vocabulary import InputError, Problem

_LARGEST_FILE_BYTES = 64 * 2**20  # judgement: a hand-written or drawn file is far smaller.
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_SHOWN_CHARACTERS = 60


Share = Annotated[float, Field(ge=0, le=1)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]


class Record(BaseModel):
    """A table of a file: unknown keys are refused and values never change after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


@dataclass(frozen=True)
class Written:
    """How a value is written in a file, where its type does not say so.

    Attributes
    ----------
    words : str
        For the reference page.
    form : callable
        Returns a checked value as it is written.
    """

    words: str
    form: Callable[[Any], str] = json.dumps


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


def read_toml(path: Path | str, model: type[Model]) -> Model:
    """
    Return the checked content of a TOML file.

    Parameters
    ----------
    path : path
        File to read, UTF-8.
    model : subclass of pydantic.BaseModel
        What the file must hold.

    Returns
    -------
    instance of `model`

    Raises
    ------
    InputError
        If the file is missing, is not TOML, or does not fit the model.
    """
    text = read_text(path)
    try:
        raw = tomllib.loads(text)
    # Brackets without end exhaust the stack; numbers of thousands of digits are a ValueError.
    except (ValueError, RecursionError) as error:
        raise InputError(
            [Problem(str(path), "", "valid TOML", str(error), "Correct that line.")]
        ) from None
    return checked(raw, model, str(path))


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
        return json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError(
            [Problem(str(path), "", "valid JSON", str(error), "Correct or export the file again.")]
        ) from None


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
        return content.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        problem = Problem(
            str(path), "", "UTF-8 text", f"byte {error.start} is not", "Save the file as UTF-8."
        )
    except OSError as error:
        problem = unreadable(path, "a file that can be read", error)
    raise InputError([problem])


def checked(raw: Any, model: type[Model], file: str, prefix: str = "") -> Model:
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

    Returns
    -------
    instance of `model`

    Raises
    ------
    InputError
        With one Problem for each misfit.
    """
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        problems = [_problem(file, prefix, model, d) for d in error.errors() if not _echo(d)]
        raise InputError(problems) from None


_PLAIN = {
    "int": "a whole number",
    "float": "a number",
    "finite": "a finite number",
    "string": "text",
    "bool": "true or false",
    "date": "a date YYYY-MM-DD without quotes",
    "tuple": "a list",
    "list": "a list",
    "dict": "a table",
    "model": "a table",
}
_BOUNDS = {
    "greater_than_equal": "at least {ge:.12g}",
    "greater_than": "more than {gt:.12g}",
    "less_than_equal": "at most {le:.12g}",
    "less_than": "less than {lt:.12g}",
    "literal_error": "one of {expected}",
    "too_short": "at least {min_length} item(s)",
    "too_long": "at most {max_length} items",
    "string_too_short": "at least {min_length} character(s)",
    "string_too_long": "at most {max_length} characters",
}


def _echo(details) -> bool:
    """Return whether a complaint only repeats that items of a list were refused."""
    return details["type"] == "too_short" and len(details["input"]) >= details["ctx"]["min_length"]


def _problem(file: str, prefix: str, model: type[BaseModel], details) -> Problem:
    """Return one pydantic complaint in our words."""
    kind, context = details["type"], details.get("ctx", {})
    unknown = kind == "extra_forbidden"
    whole = details["loc"]
    location, known = _written(model, whole[:-1] if unknown else whole)
    if unknown:
        key, names = _dotted(prefix, [*location, whole[-1]]), _keys(known)
        close = difflib.get_close_matches(str(whole[-1]), names, n=1)
        mend = f"Did you mean '{close[0]}'?" if close else "Remove it, or see the reference page."
        return Problem(file, key, "a known key", "an unknown key", mend)
    key = _dotted(prefix, location)
    if kind == "missing":
        return Problem(file, key, "a value", "nothing", "Add this key.")
    mend = "Correct the value."
    if kind == "value_error":
        # Our own validators raise ValueError("expected | how to mend").
        expected, _, own = str(context["error"]).partition(" | ")
        mend = own or mend
    elif kind in _BOUNDS:
        expected = _BOUNDS[kind].format(**context)
    else:
        word = kind.partition("_")[0]
        expected = _PLAIN.get(word, details["msg"].removeprefix("Input should be "))
    return Problem(file, key, expected, shown(details["input"]), mend)


def _written(model: type[BaseModel], location) -> tuple[list, list]:
    """
    Return the parts of a place that stand in the file, and the types it may hold there.

    Pydantic adds parts of its own, which tell members of a union, or a key from its value.
    """
    parts, found = [], [model]
    for part in location:
        inside = [inner for annotation in found for inner in _inside(annotation, part)]
        if inside:
            parts.append(part)
            found = inside
    return parts, found


def _inside(annotation, part) -> list:
    """Return the types that a type holds under a key or at a position; none if it has none."""
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        fields = annotation.model_fields
        field = next((f for name, f in fields.items() if part in (name, f.alias)), None)
        return [] if field is None else _members(field.annotation)
    if origin is dict and part != "[key]":
        return _members(arguments[1])
    if origin is tuple and isinstance(part, int):
        return _members(arguments[0] if arguments[-1] is Ellipsis else arguments[part])
    return []


def _members(annotation) -> list:
    """Return the plain types of an annotation, each member of a union by itself."""
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        return _members(arguments[0])
    if origin in (typing.Union, types.UnionType):
        return [member for argument in arguments for member in _members(argument)]
    return [annotation]


def _keys(found) -> list[str]:
    """Return the keys that tables among some types may have."""
    models = [one for one in found if isinstance(one, type) and issubclass(one, BaseModel)]
    return [field.alias or name for model in models for name, field in model.model_fields.items()]


def _dotted(prefix: str, location) -> str:
    """Return a place in a file as people write it: ``legs[2].nights`` (counted from 1)."""
    text = prefix
    for part in location:
        if isinstance(part, int):
            text += f"[{part + 1}]"
        else:
            word = part if part.replace("-", "").replace("_", "").isalnum() else shown(part)
            text += f".{word}" if text else word
    return text


def shown(value: Any) -> str:
    """
    Return a value as an error message shows it: short, on one line, without control characters.

    Parameters
    ----------
    value : object
        What came from a file.

    Returns
    -------
    str
        At most about 60 characters.

    Examples
    --------
    >>> shown("twenty\\nnights")
    "'twenty\\\\nnights'"
    """
    try:
        text = str(value) if isinstance(value, date) else repr(_dated(value))
    except (ValueError, RecursionError):
        # Numbers of thousands of digits and tables nested as deep have no short form.
        text = f"a {type(value).__name__} too long to show"
    text = "".join(c if c.isprintable() else "\ufffd" for c in text)
    return text if len(text) <= _SHOWN_CHARACTERS else text[: _SHOWN_CHARACTERS - 1] + "…"


def _dated(value: Any) -> Any:
    """Return a value with the dates inside it as they are written."""
    if isinstance(value, dict):
        return {key: _dated(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_dated(inner) for inner in value]
    return str(value) if isinstance(value, date) else value
