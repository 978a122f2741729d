"""A starter trip folder: a bundled journey copied to where the user wants to work.

In: a folder to make and the name of a bundled journey. Out: the new trip file.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path

from sheltermap.files import unwritable
from sheltermap.resources import bundled
from sheltermap.validation import did_you_mean, same_name, shown
from sheltermap.vocabulary import InputError, Problem


def bundled_journeys() -> dict[str, Path]:
    """
    Return the bundled journeys by name.

    Returns
    -------
    dict of str to pathlib.Path
        Folders that hold a ``trip.toml``.

    Examples
    --------
    >>> "starter" in bundled_journeys()
    True
    """
    return {
        trip.parent.name: trip.parent for trip in sorted(bundled("regions").glob("*/trip.toml"))
    }


def start(folder: Path, example: str) -> Path:
    """
    Return the trip file of a fresh copy of a bundled journey.

    Parameters
    ----------
    folder : pathlib.Path
        Folder to make; it must not exist, or be empty.
    example : str
        Name of a bundled journey.

    Returns
    -------
    pathlib.Path

    Raises
    ------
    InputError
        If the example is unknown or the folder holds something already.
    """
    journeys = bundled_journeys()
    same = same_name(example, journeys)
    if same is None:
        names = "one of " + ", ".join(journeys)
        mend = did_you_mean(example, journeys, "Choose one of these.")
        raise InputError([Problem("", "--example", names, shown(example), mend)])
    return filled(folder, partial(_copied, journeys[same]))


def _copied(journey: Path, folder: Path) -> None:
    """Copy a bundled journey's files into a folder."""
    # File by file: a tree copied at once tells a full disk as a list of all files.
    for file in journey.iterdir():
        shutil.copyfile(file, folder / file.name)


def filled(folder: Path, fill: Callable[[Path], None]) -> Path:
    """
    Return the trip file of a new folder, written whole or not at all.

    Parameters
    ----------
    folder : pathlib.Path
        Folder to make; it must not exist, or be empty.
    fill : callable
        Writes the files into the folder that it is given.

    Returns
    -------
    pathlib.Path

    Raises
    ------
    InputError
        If the folder holds something already or cannot be written.
    """
    try:
        taken = folder.exists() and (not folder.is_dir() or any(folder.iterdir()))
        if taken:
            raise FileExistsError(0, "something that is already there")
        folder.parent.mkdir(parents=True, exist_ok=True)
        there = folder.is_dir()
        # Copied beside the target first, so that a full disk leaves no half trip; into an
        # empty folder, which may be the one the user stands in and stays where it is.
        beside = folder if there else folder.parent
        with tempfile.TemporaryDirectory(dir=beside, prefix=".sheltermap-") as temporary:
            copy = Path(temporary) / "trip"
            copy.mkdir()
            fill(copy)
            for whole in list(copy.iterdir()) if there else [copy]:
                whole.replace(folder / whole.name if there else folder)
    except OSError as error:
        expected = "a new or empty folder that can be written"
        raise InputError([unwritable(folder, expected, error)]) from None
    return folder / "trip.toml"
