"""What of a trip file can still be checked though some of its keys are wrong.

In: the tables of a file and its problems. Out: the tables without the wrong keys, so that one
run tells what else is wrong. Assumes that a key left out means its default; where it was
required nothing is left to check.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator
from typing import Any

from sheltermap.told import place_of
from sheltermap.vocabulary import Problem


def without_wrong(tables: Any, problems: Iterable[Problem]) -> Any:
    """
    Return the tables of a file without the keys that problems name.

    Parameters
    ----------
    tables : dict
        As TOML has them.
    problems : iterable of Problem

    Returns
    -------
    dict or None
        None where too much is wrong: an item of a list, a whole table, the names of files.
    """
    try:
        left = copy.deepcopy(tables)
    except RecursionError:  # Tables nested by the thousand.
        return None
    for problem in problems:
        *above, last = place_of(problem.key) or ("",)
        inside = left
        for part in above:
            try:
                inside = inside[part - 1 if isinstance(part, int) else part]
            except (KeyError, IndexError, TypeError):
                return None
        if above[:1] == ["files"] or not isinstance(inside, dict) or last not in inside:
            return None
        del inside[last]
    return left


def apart_from(found: Iterable[Problem], told: Iterable[Problem]) -> Iterator[Problem]:
    """
    Yield problems of tables that no problem told so far is about.

    Parameters
    ----------
    found : iterable of Problem
        Of tables without the wrong keys: in the same table the default may be what is wrong.
    told : iterable of Problem

    Yields
    ------
    Problem
    """
    tables = {_table(problem) for problem in told}
    yield from (problem for problem in found if _table(problem) not in tables)


def _table(problem: Problem) -> tuple[str | int, ...]:
    """Return the table, or the row of a list, that a problem is about."""
    place = place_of(problem.key)
    return place[:2] if len(place) > 1 and isinstance(place[1], int) else place[:1]
