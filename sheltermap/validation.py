"""Data that does not fit its model, told as people read it.

In: what pydantic says of a file's tables. Out: one Problem for each mistake, with its place
as it stands in the file. Assumes tables that are described by pydantic models.
"""

from __future__ import annotations

import difflib
import math
import re
import types
import typing
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any, TypeAlias

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from sheltermap.slips import other_unit
from sheltermap.vocabulary import Problem

_SHOWN_CHARACTERS = 60

Location: TypeAlias = Sequence[int | str]
"""Where in a file's tables a value stands, as pydantic has it."""

PLAIN = {
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
"""What should stand somewhere, by the first word of pydantic's name of the mistake."""

_BOUNDS = {
    "greater_than_equal": "at least {ge:.12g}",
    "greater_than": "more than {gt:.12g}",
    "less_than_equal": "at most {le:.12g}",
    "less_than": "less than {lt:.12g}",
    "too_short": "at least {min_length} item(s)",
    "too_long": "at most {max_length} items",
    "string_too_short": "at least {min_length} character(s)",
    "string_too_long": "at most {max_length} characters",
    # The only pattern is that of ids.
    "string_pattern_mismatch": "an id of small letters, digits and hyphens",
}


def nearest(name: str, known: Iterable[str]) -> str | None:
    """
    Return the known name that a wrong one most likely stands for.

    Parameters
    ----------
    name : str
        As somebody wrote it.
    known : iterable of str

    Returns
    -------
    str or None
        None where nothing is like it.

    Examples
    --------
    >>> nearest("KITS", ["kit", "kits"]), nearest("cold", ["bedding", "cold_sleeper"])
    ('kits', 'cold_sleeper')
    """
    known = list(known)
    folded = [one.casefold() for one in known]
    close = difflib.get_close_matches(name.casefold(), folded, n=1)
    if not close:
        # Half a name is no close match, yet clear where one alone holds it.
        holding = [one for one in folded if len(name) > 2 and name.casefold() in one]
        close = holding if len(holding) == 1 else []
    return known[folded.index(close[0])] if close else None


def same_name(name: str, known: Iterable[str]) -> str | None:
    """
    Return the known name that somebody typed, in whatever case.

    Parameters
    ----------
    name : str
    known : iterable of str

    Returns
    -------
    str or None
        None where none is the same.

    Examples
    --------
    >>> same_name("roof-TENT", ["roof-tent"]), same_name("tent", ["roof-tent"])
    ('roof-tent', None)
    """
    known = list(known)
    if name in known:
        return name
    return next((one for one in known if one.casefold() == name.casefold()), None)


def did_you_mean(name: str, known: Iterable[str], otherwise: str | None = None) -> str:
    """
    Return how to mend a wrong name.

    Parameters
    ----------
    name : str
        As somebody wrote it.
    known : iterable of str
    otherwise : str, optional
        Said where nothing known is like it; by default what there is to choose from.

    Returns
    -------
    str

    Examples
    --------
    >>> did_you_mean("roof tent", ["roof-tent"], ""), did_you_mean("x", [], "Choose one.")
    ("Did you mean 'roof-tent'?", 'Choose one.')
    """
    known = list(known)
    close = nearest(name, known)
    if close is not None:
        return f"Did you mean {shown(close)}?"
    return f"Choose from {', '.join(known)}." if otherwise is None else otherwise


def misfits(
    error: ValidationError, file: str, prefix: str, model: type[BaseModel]
) -> list[Problem]:
    """
    Return what keeps data from being a model, one problem a mistake.

    Parameters
    ----------
    error : pydantic.ValidationError
    file : str
        Name of the file.
    prefix : str
        Where in the file the data stood.
    model : subclass of pydantic.BaseModel

    Returns
    -------
    list of Problem
        At least one.
    """
    found = [details for details in error.errors() if not _echo(details)]
    # A misspelt key is one mistake: that the right one is missing goes without saying.
    meant = {(*d["loc"][:-1], _meant(model, d["loc"])) for d in found if _unknown(d)}
    found = [d for d in found if d["type"] != "missing" or d["loc"] not in meant]
    return [_problem(file, prefix, model, details) for details in found]


def _echo(details: ErrorDetails) -> bool:
    """Return whether a complaint only repeats that items of a list were refused."""
    return details["type"] == "too_short" and len(details["input"]) >= details["ctx"]["min_length"]


def _unknown(details: ErrorDetails) -> bool:
    """Return whether a complaint is of a key that no table has."""
    return details["type"] == "extra_forbidden"


def _meant(model: type[BaseModel], whole: Location) -> str | None:
    """Return the key that an unknown one most likely stands for."""
    return nearest(str(whole[-1]), _keys(_written(model, whole[:-1])[1]))


def _problem(file: str, prefix: str, model: type[BaseModel], details: ErrorDetails) -> Problem:
    """Return one pydantic complaint in our words."""
    kind, context, whole = details["type"], details.get("ctx", {}), details["loc"]
    if _unknown(details):
        location, known = _written(model, whole[:-1])
        otherwise = "Remove it, or see regions/REFERENCE.md."
        mend = did_you_mean(str(whole[-1]), _keys(known), otherwise)
        key = _dotted(prefix, [*location, whole[-1]])
        return Problem(file, key, "a known key", "an unknown key", mend)
    key = _dotted(prefix, _written(model, whole)[0])
    if kind == "missing":
        return Problem(file, key, "a value", "nothing", "Add this key.")
    got, mend = details["input"], "Correct the value."
    if kind == "value_error":
        # Our own validators raise ValueError("expected | how to mend | got"), the last where
        # it is not the value itself.
        expected, mend, *words = f"{context['error']}".split(" | ")
        return Problem(file, key, expected, words[0] if words else shown(got), mend)
    if kind == "literal_error":
        words = re.findall(r"'([^']*)'", context["expected"])
        expected = f"one of {context['expected']}" if len(words) > 1 else context["expected"]
        mend = did_you_mean(str(got), words, mend)
    elif kind in _BOUNDS:
        expected = _BOUNDS[kind].format(**context)
        mend = other_unit(key, got, -math.inf, context.get("le", -math.inf)) or mend
    else:
        word = kind.partition("_")[0]
        expected = PLAIN.get(word, details["msg"].removeprefix("Input should be "))
        mend = _bracketed(expected, got, key) or mend
    return Problem(file, key, expected, shown(got), mend)


def _bracketed(expected: str, got: Any, key: str) -> str:
    """Return which brackets a list or a table lacks; empty where it is something else."""
    heads = key and "[" not in key
    last = key.rpartition(".")[2]
    if expected == "a list":
        if heads and isinstance(got, dict):
            return f"Write [[{key}]] in double brackets."
        return f"Put it in brackets: {last} = [{_as_toml(got)}]."
    if expected == "a table" and heads and isinstance(got, list):
        return f"Write [{key}] in single brackets, once."
    return ""


def _as_toml(value: Any) -> str:
    """Return a value as TOML writes it, short."""
    if isinstance(value, dict):
        inner = ", ".join(f"{shown(key)[1:-1]} = {_as_toml(one)}" for key, one in value.items())
        return f"{{ {inner} }}"
    if isinstance(value, str):
        text = shown(value)[1:-1].replace('"', "'")
        return f'"{text}"'
    return shown(value)


def _written(model: type[BaseModel], location: Location) -> tuple[list[int | str], list[Any]]:
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


def _inside(annotation: Any, part: int | str) -> list[Any]:
    """Return the types that a type holds under a key or at a position; none if it has none."""
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        fields = annotation.model_fields
        field = next((f for name, f in fields.items() if part in (name, f.alias)), None)
        return [] if field is None else members(field.annotation)
    if origin is dict and part != "[key]":
        return members(arguments[1])
    if origin is tuple and isinstance(part, int):
        return members(arguments[0] if arguments[-1] is Ellipsis else arguments[part])
    return []


def members(annotation: Any) -> list[Any]:
    """
    Return the plain types of an annotation, each member of a union by itself.

    Parameters
    ----------
    annotation : type

    Returns
    -------
    list of type

    Examples
    --------
    >>> members(int | None)
    [<class 'int'>, <class 'NoneType'>]
    """
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        return members(arguments[0])
    if origin in (typing.Union, types.UnionType):
        return [member for argument in arguments for member in members(argument)]
    return [annotation]


def _keys(found: Iterable[Any]) -> list[str]:
    """Return the keys that tables among some types may have."""
    models = [one for one in found if isinstance(one, type) and issubclass(one, BaseModel)]
    return [field.alias or name for model in models for name, field in model.model_fields.items()]


def _dotted(prefix: str, location: Iterable[int | str]) -> str:
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
        text = text.lower() if isinstance(value, bool) else text  # As files write it.
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
