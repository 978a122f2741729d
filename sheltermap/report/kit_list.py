"""The kits that commands know, and their list.

In: shipped kits and users' files. Out: kits by id, and the lines of the ``kits`` command.
Assumes that a user's kit of a shipped id is meant instead of it.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from sheltermap.shelters.kit import Kit, Sleeper, load_kits, read_kits
from sheltermap.suitability.card import KitLimits, kit_limits
from sheltermap.validation import did_you_mean, same_name, shown
from sheltermap.vocabulary import InputError, Problem, listed

_DIGITS = 6
_LIMITS = ("coldest_low_c", "hottest_bedtime_c", "hottest_bedtime_with_fan_c")


def known_kit(kit_id: str, files: Sequence[Path] = (), option: str = "--kit") -> Kit:
    """
    Return a kit by its id.

    Parameters
    ----------
    kit_id : str
    files : sequence of path
        Users' kit files.
    option : str
        Who names it, for messages.

    Returns
    -------
    Kit

    Raises
    ------
    InputError
        If nothing has that id, or a file has problems.
    """
    kits = known_kits(files)
    same = same_name(kit_id, kits)
    if same is None:
        expected = "one of " + ", ".join(kits)
        mend = did_you_mean(kit_id, kits, "Choose one of these.")
        raise InputError([Problem("", option, expected, shown(kit_id), mend)])
    return kits[same]


def kit_rows(files: Sequence[Path] = ()) -> list[dict[str, Any]]:
    """
    Return the kits and the nights they suit, as ``kits --json`` prints them.

    Parameters
    ----------
    files : sequence of path
        Users' kit files, listed after the shipped kits.

    Returns
    -------
    list of dict
        ``id``, ``title``, ``sleeps``, ``mass_kg``, ``packed_litres``, ``price``,
        ``addons`` (those counted in it); the coldest
        low and the hottest bedtime, without and with a fan, in dry and in humid air. [degC]

    Raises
    ------
    InputError
        If a file has problems.
    """
    kits = known_kits(files).values()
    return [listed_kit(kit, kit_limits(kit, (Sleeper(),) * kit.places)) for kit in kits]


def listed_kit(kit: Kit, limits: KitLimits) -> dict[str, Any]:
    """
    Return one kit of the list.

    Parameters
    ----------
    kit : Kit
    limits : KitLimits
        For whom it is listed.

    Returns
    -------
    dict
        As `kit_rows`.
    """
    pairs = (limits.coldest, limits.hottest, limits.hottest_with_fan)
    return {
        "id": kit.id,
        "title": kit.title,
        "sleeps": kit.places,
        "mass_kg": kit.mass_kg,
        "packed_litres": kit.packed_litres,
        "price": kit.price,
        "addons": list(kit.addons),
        **{
            name: {"dry": _number(pair[0]), "humid": _number(pair[1])}
            for name, pair in zip(_LIMITS, pairs, strict=True)
        },
    }


def _number(value: float) -> float | None:
    """Return a number for JSON; None for a missing one."""
    return round(float(value), _DIGITS) + 0.0 if np.isfinite(value) else None  # No minus nought.


def kit_table(rows: Sequence[dict[str, Any]], whose: str = "of usual sleepers") -> list[str]:
    """
    Return the lines that the ``kits`` command prints.

    Parameters
    ----------
    rows : sequence of dict
        From `kit_rows`, or of a trip.
    whose : str
        Whose nights the limits are for.

    Returns
    -------
    list of str
        Of 80 characters at most, but for ids of more than 17.
    """
    lines = [
        f"{'kit':17}{'sleeps':>7}{'kg':>5}{'litres':>7}{'price':>7}"
        f"  {'coldest':10}{'hottest':10}{'with a fan'}",
        f"{'dry, humid air [degC]':>43}  {'low':10}{'bedtime':10}",
    ]
    for row in rows:
        cold, hot, fan = (_pair(row[name]) for name in _LIMITS)
        lines.append(
            f"{row['id']:17}{row['sleeps']:7}{row['mass_kg']:5.0f}{row['packed_litres']:7.0f}"
            f"{row['price']:7.0f}  {cold:10}{hot:10}{fan}"
        )
    carried = [f"{row['id']} with {listed(row['addons'])}" for row in rows if row["addons"]]
    told = f" Counted with add-ons: {'; '.join(carried)}." if carried else ""
    return [
        *lines,
        "",
        *textwrap.wrap(
            f"At these limits half the nights {whose} are sound.{told}",
            80,
            break_on_hyphens=False,
        ),
    ]


def known_kits(files: Sequence[Path]) -> dict[str, Kit]:
    """
    Return the shipped kits and those of users' files.

    Parameters
    ----------
    files : sequence of path

    Returns
    -------
    dict of str to Kit
        By id, those of files last.

    Raises
    ------
    InputError
        If a file has problems.
    """
    kits = dict(load_kits())
    for file in files:
        kits |= read_kits(file)
    return kits


def _pair(values: dict[str, float | None]) -> str:
    """Return two limits side by side; a dash for a missing one."""
    return ", ".join("-" if one is None else str(round(one)) for one in values.values())
