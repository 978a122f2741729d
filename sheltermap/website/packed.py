"""Tables as a page carries them: only what changes from day to day.

In: whole numbers by day of the year, stays by date. Out: short texts and lists, which
``departures.js`` unfolds. Assumes that a year changes smoothly and that plans of neighbouring
dates differ in few stays, so that most changes are small or none.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

MISSING = "?"
"""Stands for a day whose value is not known."""


def changes(values: Iterable[int | None]) -> str:
    """
    Return a series as its changes, the first from 0.

    Parameters
    ----------
    values : iterable of int or None
        None where missing.

    Returns
    -------
    str
        Changes after a missing day count from the last known value. What is repeated stands
        once, with the number of days: ``5x3`` are three days of 5 more each.

    Examples
    --------
    >>> changes([4, 4, 4, 9, 7])
    '4 0x2 5 -2'
    >>> changes([None, None, 2, None, 3])
    '?x2 2 ? 1'
    """
    last, steps = 0, []
    for value in values:
        steps.append(MISSING if value is None else str(value - last))
        last = last if value is None else value
    counted = ((step, len(list(alike))) for step, alike in groupby(steps))
    return " ".join(step if days == 1 else f"{step}x{days}" for step, days in counted)


def changed_places(rows: Iterable[Sequence[int]]) -> list[list[int]]:
    """
    Return rows of numbers as what differs from the row before.

    Parameters
    ----------
    rows : iterable of sequence of int
        An empty row stands for none, and the next is compared with the last that is not.

    Returns
    -------
    list of list of int
        Of each row, positions and their new values in turn. Before the first row all
        values are 0.

    Examples
    --------
    >>> changed_places([[0, 7, 0, 3], [0, 7, 0, 4], [], [1, 7, 0, 4]])
    [[1, 7, 3, 3], [3, 4], [], [0, 1]]
    """
    held: dict[int, int] = {}
    found = []
    for row in rows:
        new = {place: value for place, value in enumerate(row) if held.get(place, 0) != value}
        found.append([number for pair in new.items() for number in pair])
        held |= new
    return found
