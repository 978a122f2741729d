"""What commands print: prose that fits the terminal, problems, progress.

In: text. Out: lines on the terminal, wrapped to its width and to 80 columns at most; as they
are where no terminal reads them, so that other programs find whole lines. Assumes that lines
of a table fit by themselves, but for the last column.
"""

from __future__ import annotations

import errno
import os
import re
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

from sheltermap.interrupt import exit_interrupted
from sheltermap.told import told
from sheltermap.vocabulary import InputError, Problem

WRONG_INPUT = 2
NO_READER = 141

_WIDEST = 80

_WRITING = ("new", "build", "atlas", "climate")
"""Commands of whom it is worth saying that they wrote nothing."""


class Commands(click.Group):
    """A group that turns InputError into lines on stderr and exit code 2."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except InputError as error:
            count = len(error.problems)
            kept = "; nothing was written" if ctx.invoked_subcommand in _WRITING else ""
            click.echo(f"{counted(count, 'problem')}{kept}:", err=True)
            for line in told(error.problems):
                say(line, err=True, indent="  ")
            ctx.exit(WRONG_INPUT)
        except KeyboardInterrupt:
            # Click's own code for it is 1, which says that there is no plan.
            exit_interrupted()
        except OSError as error:
            # Whatever is left to write at the end goes nowhere, else it fails a second time.
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            if error.errno == errno.EPIPE:
                ctx.exit(NO_READER)
            place = error.filename or "standard output"
            expected = "a place that can be read and written"
            mend = "Check the rights and the room there."
            problem = Problem(str(place), "", expected, error.strerror or str(error), mend)
            click.echo("1 problem:", err=True)
            say(str(problem), err=True, indent="  ")
            ctx.exit(WRONG_INPUT)


def counted(count: int, word: str) -> str:
    """
    Return a number of things.

    Examples
    --------
    >>> counted(1, "leg"), counted(3, "leg")
    ('1 leg', '3 legs')
    """
    return f"{count} {word}{'s' * (count != 1)}"


def example(*lines: str) -> str:
    """Return example lines that click does not re-wrap."""
    return "\b\nExample:\n" + "\n".join(f"  {line}" for line in lines)


@contextmanager
def progress_bar(quiet: bool) -> Iterator[Callable[[int, int, str], None]]:
    """Give a function that reports what is being done, as a bar on stderr."""
    if quiet or not sys.stderr.isatty():
        yield lambda done, total, what: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    # Names of legs are in it: brackets in them are no markup.
    said = TextColumn("{task.description}", markup=False)
    columns = (said, BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("Reading", total=1.0)
        yield lambda done, total, what: bar.update(
            task, completed=done, total=total, description=what
        )


def say(text: str, err: bool = False, indent: str = "", hanging: str | None = None) -> None:
    """
    Print one paragraph or one row of a table.

    Parameters
    ----------
    text : str
    err : bool
        Whether it goes to stderr.
    indent : str
        Stands before the first line.
    hanging : str, optional
        Stands before the others; else as `indent`, or under the last column of a row.
    """
    stream = sys.stderr if err else sys.stdout
    line = indent + text
    if stream is not None and stream.isatty():
        width = min(shutil.get_terminal_size((_WIDEST, 24)).columns, _WIDEST)
        line = fitted(line, width, _under(line, indent) if hanging is None else hanging)
    click.echo(line, err=err)


def _under(line: str, indent: str) -> str:
    """Return what stands before further lines: a row's last column goes on below itself."""
    columns = list(re.finditer(r"\S {2,}(?=\S)", line))
    return " " * columns[-1].end() if columns else indent


def fitted(line: str, width: int, hanging: str = "") -> str:
    """
    Return a line cut between words so that it fits; words longer than it stay whole.

    Parameters
    ----------
    line : str
    width : int
        [characters]
    hanging : str
        Stands before all lines but the first.

    Returns
    -------
    str

    Examples
    --------
    >>> print(fitted("a  b  long name", 10, "      "))
    a  b  long
          name
    """
    if len(line) <= width:
        return line
    wrapped = textwrap.wrap(
        line,
        width,
        subsequent_indent=hanging,
        break_long_words=False,
        break_on_hyphens=False,
        replace_whitespace=False,
        drop_whitespace=True,
    )
    return "\n".join(wrapped)


def as_typed(path: Path) -> str:
    """Return a path as a shell takes it."""
    return f'"{path}"' if re.search(r"[^\w./\\:-]", str(path)) else str(path)


def look_again(doubts: Iterable[str]) -> None:
    """Print what looks like a slip in an input that can be used all the same."""
    for doubt in doubts:
        say(f"Look again: {doubt}", err=True)
