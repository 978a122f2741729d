"""The kits that commands know, and their list.

In: shipped kits and users' files. Out: kits by id, and the lines of the ``kits`` command.
Assumes that a user's kit of a shipped id is meant instead of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from sheltermap.shelters.kit import Kit, Sleeper, load_kits, read_kits
from sheltermap.suitability.card import kit_limits
from sheltermap.validation import did_you_mean, same_name, shown
from sheltermap.vocabulary import InputError, Problem


def known_kit(kit_id: str, files: Sequence[Path] = ()) -> Kit:
    """
    Return a kit by its id.

    Parameters
    ----------
    kit_id : str
    files : sequence of path
        Users' kit files.

    Returns
    -------
    Kit

    Raises
    ------
    InputError
        If nothing has that id, or a file has problems.
    """
    kits = _known(files)
    same = same_name(kit_id, kits)
    if same is None:
        expected = "one of " + ", ".join(kits)
        mend = did_you_mean(kit_id, kits, "Choose one of these.")
        raise InputError([Problem("", "--kit", expected, shown(kit_id), mend)])
    return kits[same]


def kit_table(files: Sequence[Path] = ()) -> list[str]:
    """
    Return the lines that the ``kits`` command prints.

    Parameters
    ----------
    files : sequence of path
        Users' kit files, listed after the shipped kits.

    Returns
    -------
    list of str

    Raises
    ------
    InputError
        If a file has problems.
    """
    kits = _known(files)
    lines = [
        f"{'kit':18}{'sleeps':>6}{'kg':>5}{'litres':>8}{'price':>7}"
        "   coldest low     hottest bedtime  with a fan",
        f"{'':44}   dry, humid      dry, humid       dry, humid  [degC]",
    ]
    for kit in kits.values():
        limits = kit_limits(kit, (Sleeper(),) * kit.places)
        lines.append(
            f"{kit.id:18}{kit.places:6}{kit.mass_kg:5.0f}"
            f"{kit.packed_litres:8.0f}{kit.price:7.0f}   "
            f"{_pair(limits.coldest):16}{_pair(limits.hottest):17}{_pair(limits.hottest_with_fan)}"
        )
    return [*lines, "", "At these limits half of usual sleepers sleep well; see the kit's page."]


def _known(files: Sequence[Path]) -> dict[str, Kit]:
    """Return the shipped kits and those of users' files."""
    kits = dict(load_kits())
    for file in files:
        kits |= read_kits(file)
    return kits


def _pair(values: tuple[float, float]) -> str:
    """Return two limits side by side."""
    return f"{values[0]:.0f}, {values[1]:.0f}"
