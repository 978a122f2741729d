"""Places on disk that cannot be looked at, read or written, told as problems.

In: a path and what the system said of it. Out: a Problem that names the path. Assumes
nothing about what the path holds.
"""

from __future__ import annotations

from pathlib import Path

from sheltermap.vocabulary import Problem


def in_folder(path: Path | str, name: str) -> Path:
    """
    Return the file of that name where the path is a folder, else the path itself.

    Parameters
    ----------
    path : path
        A file, a folder, or what cannot be told: reading it says why.
    name : str

    Returns
    -------
    pathlib.Path

    Examples
    --------
    >>> in_folder("nowhere", "trip.toml").name
    'nowhere'
    """
    path = Path(path)
    try:
        return path / name if path.is_dir() else path
    except OSError:
        return path


def unreadable(path: Path | str, expected: str, error: OSError) -> Problem:
    """
    Return the problem of a file or folder that cannot be read.

    Parameters
    ----------
    path : path
    expected : str
        What the path should have been.
    error : OSError
        What the system said.

    Returns
    -------
    Problem

    Examples
    --------
    >>> unreadable("in", "a file", FileNotFoundError(2, "No such file or directory")).got
    'No such file or directory'
    """
    said = error.strerror or type(error).__name__
    return Problem(str(path), "", expected, said, "Check the name and the folder.")


def unwritable(path: Path | str, expected: str, error: Exception) -> Problem:
    """
    Return the problem of a file or folder that cannot be written.

    Parameters
    ----------
    path : path
    expected : str
        What the path should have been.
    error : Exception
        What the system or a library said.

    Returns
    -------
    Problem

    Examples
    --------
    >>> unwritable("out", "a folder", OSError(28, "No space left on device")).got
    'No space left on device'
    """
    said = getattr(error, "strerror", None) or " ".join(str(error).split())[:120]
    said = said or type(error).__name__
    return Problem(str(path), "", expected, said, "Name another place, or make room there.")
