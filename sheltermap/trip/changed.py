"""A trip read as if its file held other values under some keys.

In: the tables of a file, keys with values. Out: the same tables, changed. Assumes that the model
checks the values.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from sheltermap.vocabulary import InputError, Problem


def with_keys(tables: dict[str, Any], changed: Mapping[str, Any], file: str) -> dict[str, Any]:
    """
    Return tables with other values under some keys.

    Parameters
    ----------
    tables : dict
        From `files.toml_tables`; written into.
    changed : mapping of str to value
        By key, as ``party.bedding`` or ``legs[2].nights``; rows count from 1.
    file : str
        For messages.

    Returns
    -------
    dict

    Raises
    ------
    InputError
        If a key names a row that is not there, or leads into something that is no table.
    """
    for key, value in changed.items():
        where: Any = tables
        parts = [part for part in re.split(r"\.|\[(\d+)\]", key) if part]
        try:
            for part, following in pairwise([*parts, ""]):
                if not following:
                    where[int(part) - 1 if part.isdigit() else part] = value
                elif part.isdigit():
                    where = where[int(part) - 1]
                else:
                    where = where.setdefault(part, {})
        except (AttributeError, IndexError, TypeError):
            expected, mend = (
                "a key of the trip file",
                "Write it as party.bedding or legs[2].nights.",
            )
            raise InputError([Problem(file, key, expected, "none there", mend)]) from None
    return tables
