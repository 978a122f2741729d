"""Problems of several inputs, told in one run.

In: functions that raise InputError. Out: what they return, and all their problems. Assumes that
inputs can be read one by one, so that the first mistake need not hide the second.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, TypeVarTuple

from sheltermap.vocabulary import InputError, Problem

Read = TypeVar("Read")
Given = TypeVarTuple("Given")


class Gathered:
    """
    Calls readers and keeps their problems.

    Attributes
    ----------
    problems : list of Problem

    Examples
    --------
    >>> gather = Gathered()
    >>> gather(len, "three"), gather.problems
    (5, [])
    """

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def __call__(self, reader: Callable[[*Given], Read], *arguments: *Given) -> Read | None:
        """Return what a reader finds; None where it has problems."""
        try:
            return reader(*arguments)
        except InputError as error:
            self.problems += error.problems
            return None
