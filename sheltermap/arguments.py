"""Kinds of arguments of the command line, each refused with the form that is right.

In: what was typed. Out: numbers, dates, positions, paths. Assumes nothing of the commands.
"""

from __future__ import annotations

import math
import os
import re
import tomllib
from collections.abc import Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, TypeVar

import click

from sheltermap.daywords import date_of
from sheltermap.vocabulary import Box, InputError, Problem, edges_swapped

_Kind = TypeVar("_Kind", int, float)

FILE = click.Path(readable=False, path_type=Path)
"""A file or a folder; what cannot be read or written is told by who tries."""


class Number(click.FloatRange):
    """A number of a range; nan compares false with both ends, so the range lets it pass.

    Parameters
    ----------
    low, high : float
    mend : str
        What to do about a number out of range.
    """

    def __init__(self, low: float, high: float, mend: str) -> None:
        super().__init__(low, high)
        self.low, self.high, self.mend = low, high, mend

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number, or fail with what is right."""
        try:
            number = math.nan if "_" in str(value) else float(value)
        except ValueError:
            number = math.nan
        if math.isnan(number):
            self.fail(f"{value} is not a number such as 28.9.", param, ctx)
        if not self.low <= number <= self.high:
            self.fail(f"{value} is not from {self.low} to {self.high}. {self.mend}", param, ctx)
        return number


class Day(click.ParamType):
    """A date as the trip file writes it."""

    name = "date"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> date:
        """Return the date, or fail with what is right."""
        try:
            return date_of(value)
        except ValueError as error:
            expected, mend = f"{error}".split(" | ")
            self.fail(f"expected {expected}, got '{value}'. {mend}", param, ctx)


_LATITUDE = Number(-90, 90, "Latitude comes first, then longitude.")
_LONGITUDE = Number(-180, 180, "West is negative.")


def position(
    context: click.Context, parameter: click.Parameter, words: Sequence[str]
) -> tuple[float, float] | str | None:
    """
    Return the position that words of the command line give, or a place's name.

    Parameters
    ----------
    context : click.Context
    parameter : click.Parameter
    words : sequence of str
        ``41.0 28.9``, ``41.0,28.9`` or the words of a name.

    Returns
    -------
    (float, float), str or None
        Latitude and longitude [degrees], or the name; None without words.

    Raises
    ------
    click.UsageError
        If numbers are no position, or a word is an option that no command has.
    """
    if not words:
        return None
    option = next((word for word in words if re.match(r"-+[A-Za-z]", word)), None)
    if option is not None:
        raise click.NoSuchOption(option, ctx=context)
    if len(words) == 1 and words[0][-1:].isdigit():
        words = [part.strip() for part in words[0].split(",")]
    if not any(character.isdigit() for word in words for character in word):
        return " ".join(words)
    if len(words) != 2:
        wrong = f"expected latitude and longitude, or a name, got '{' '.join(words)}'."
        raise click.BadParameter(f"{wrong} Write for example 41.0 28.9.", context, parameter)
    latitude, longitude = words
    return (
        _LATITUDE.convert(latitude, parameter, context),
        _LONGITUDE.convert(longitude, parameter, context),
    )


KIT_FILES = click.option("--file", "files", multiple=True, type=FILE, help="Your kits.")
BEDDING = click.option(
    "--bedding",
    metavar="WORD|DEGC",
    help="summer, three-season or winter, or the tested comfort temperature; else the kit's.",
)
SLEEPER = click.option(
    "--sleeper",
    type=click.Choice(["usual", "cold"]),
    default="usual",
    show_default=True,
    help="Who sleeps colder than most is cold.",
)
CLIMATE = click.option("--climate", type=FILE, help="A climatology of your own.")
"""Options that several commands have alike."""


class Change(click.ParamType):
    """A key of the trip file and the value it is read with instead, as ``party.people=3``."""

    name = "KEY=VALUE"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, Any]:
        key, equals, written = value.partition("=")
        if not equals or not re.fullmatch(r"\w+(\[\d+\])?(\.\w+(\[\d+\])?)*", key.strip()):
            self.fail(f"expected KEY=VALUE, as party.people=3, got '{value}'.", param, ctx)
        try:
            return key.strip(), tomllib.loads(f"value = {written}")["value"]
        except tomllib.TOMLDecodeError:
            return key.strip(), written.strip()  # Words need no quotes here.


def same_file(source: str, output: Path) -> bool:
    """
    Return whether a source is where the output would be written.

    Parameters
    ----------
    source : str
    output : path

    Returns
    -------
    bool
    """
    try:
        return output.samefile(source)
    except (OSError, ValueError):
        return False


def numbers(
    text: str, separator: str, count: int, kind: type[_Kind], option: str, form: str
) -> tuple[_Kind, ...]:
    """
    Return the numbers of an option like ``W,S,E,N``.

    Parameters
    ----------
    text : str
        As given.
    separator : str
    count : int
        How many there must be.
    kind : int or float
    option, form : str
        For the message.

    Returns
    -------
    tuple of numbers
    """
    found: tuple[_Kind, ...]
    try:
        found = tuple(kind(part) for part in text.split(separator))
    except ValueError:
        found = ()
    if len(found) != count or not all(map(math.isfinite, found)):
        raise click.BadParameter(f"expected {form}, got {text!r}", param_hint=option)
    return found


def box(text: str, option: str) -> Box:
    """
    Return the box that an option gives as ``W,S,E,N``.

    Parameters
    ----------
    text : str
        As given.
    option : str
        For the message.

    Returns
    -------
    tuple of four floats
        West, south, east, north; west beyond east crosses the 180th meridian. [degrees]
    """
    west, south, east, north = numbers(text, ",", 4, float, option, "W,S,E,N")
    if edges_swapped(west, east):
        raise click.BadParameter(f"expected west before east, got {text!r}", param_hint=option)
    return west, south, east, north


def build_date() -> date | None:
    """
    Return the date that SOURCE_DATE_EPOCH asks for.

    Returns
    -------
    date or None
        None where it is not set: no clock is read.

    Raises
    ------
    InputError
        If it is not a time.
    """
    epoch = os.environ.get("SOURCE_DATE_EPOCH")
    if epoch is None:
        return None
    try:
        if not (epoch.isascii() and epoch.isdecimal()):
            raise ValueError("not digits")
        return datetime.fromtimestamp(int(epoch), UTC).date()
    except (ValueError, OverflowError, OSError):
        expected, mend = "seconds since 1970, in digits", "Correct it, or unset it."
        problem = Problem("", "SOURCE_DATE_EPOCH", expected, repr(epoch[:30]), mend)
        raise InputError([problem]) from None
