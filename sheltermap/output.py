"""The one writer: a file or a folder in the place of the former one, whole or not at all.

In: a target, what tells an output of ours from what is somebody else's, and a function that
writes the new one. Out: the target. Assumes nothing of the target, which can be asked about
before there is anything to write. The new one is made in a hidden workroom beside the target
and renamed into place, so a failure leaves the former one as it was. Who works in a workroom
holds a lock on it, and who exchanges holds one on the folder around: two builds into one
place follow each other, and what a killed one left behind is known by its free lock, put
right, and removed.
"""

from __future__ import annotations

import contextlib
import dataclasses
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

from sheltermap.files import unwritable
from sheltermap.vocabulary import InputError, Problem

try:
    import fcntl
except ImportError:  # Windows refuses to rename a folder that is in use, which must do there.
    fcntl = None  # type: ignore[assignment]

_NEW, _FORMER = "new", "former"


@dataclasses.dataclass(frozen=True)
class Output:
    """What is written, and how one of ours is known.

    Attributes
    ----------
    expected : str
        For messages: what the target must be able to be.
    foreign : callable
        Takes an existing path and returns why it must not be replaced; None where it is ours
        or empty.
    """

    expected: str
    foreign: Callable[[Path], Problem | None]


def require(target: Path | str, output: Output) -> Path:
    """
    Raise where a target cannot be written; ask before there is anything to write.

    What a killed build left behind is put right.

    Parameters
    ----------
    target : path
        New, or an output of ours; links are followed.
    output : Output

    Returns
    -------
    pathlib.Path
        Where the output will lie.

    Raises
    ------
    InputError
        If it is somebody else's or cannot be written.
    """
    with _told(target, output):
        place = _resolved(target)
        folder = place.parent
        while not folder.exists() and folder != folder.parent:
            folder = folder.parent  # What is missing is made when there is something to write.
        with _locked(folder):
            _put_right(place)
            _refuse_foreign(place, target, output)
        # Rights don't tell it all: a disk may be mounted to be read only.
        with tempfile.TemporaryDirectory(prefix=".sheltermap-", dir=folder):
            return place


def replace(target: Path | str, output: Output, fill: Callable[[Path], object]) -> Path:
    """
    Write an output, replacing the former one.

    Parameters
    ----------
    target : path
        New, or an output of ours; links are followed.
    output : Output
    fill : callable
        Makes the file or the folder at the path it is given.

    Returns
    -------
    pathlib.Path
        The target as it was named.

    Raises
    ------
    InputError
        If it is somebody else's or cannot be written. The former one is as it was then.
    """
    place = require(target, output)
    with _told(target, output):
        place.parent.mkdir(parents=True, exist_ok=True)
        with _workroom(place) as room:
            fill(room / _NEW)
            with _locked(place.parent):
                _refuse_foreign(place, target, output)
                _exchange(place, room)
    return Path(target)


@contextlib.contextmanager
def _told(target: Path | str, output: Output) -> Iterator[None]:
    """Turn what the system says into a problem of the target."""
    try:
        yield
    except OSError as error:
        raise InputError([unwritable(target, output.expected, error)]) from None


def _resolved(target: Path | str) -> Path:
    """Return where a target lies once links are followed; the root has no place beside it."""
    place = Path(target).resolve()
    if not place.name:
        raise InputError([Problem(str(target), "", "a name", "the root", "Name a folder in it.")])
    return place


def _refuse_foreign(place: Path, target: Path | str, output: Output) -> None:
    """Raise if something of somebody else's lies there."""
    if place.exists() and (problem := output.foreign(place)):
        raise InputError([dataclasses.replace(problem, file=str(target))])


def _prefix(place: Path) -> str:
    """Return how the names of a target's workrooms begin."""
    return f".{place.name}.sheltermap-"


@contextlib.contextmanager
def _workroom(place: Path) -> Iterator[Path]:
    """Give a hidden folder beside the target, held until it is removed."""
    with contextlib.ExitStack() as held:
        with _locked(place.parent):  # else another would find it before it is held
            room = Path(tempfile.mkdtemp(prefix=_prefix(place), dir=place.parent))
            held.callback(shutil.rmtree, room, ignore_errors=True)
            held.enter_context(_locked(room))
        yield room


@contextlib.contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """Hold a folder; a process that dies lets go of it."""
    if fcntl is None:
        yield
        return
    held = os.open(folder, os.O_RDONLY)
    try:
        # Some network disks know no locks; a single build is as safe there as anywhere.
        with contextlib.suppress(OSError):
            fcntl.flock(held, fcntl.LOCK_EX)
        yield
    finally:
        os.close(held)


def _abandoned(room: Path) -> bool:
    """Return whether nobody holds a workroom."""
    if fcntl is None:
        return True
    held = os.open(room, os.O_RDONLY)
    try:
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    finally:
        os.close(held)
    return True


def _put_right(place: Path) -> None:
    """Undo what killed builds left behind: the former output lies aside, or half a new one."""
    for room in sorted(place.parent.glob(f"{_prefix(place)}*")):
        if not room.is_dir() or not _abandoned(room):
            continue
        former = room / _FORMER
        if former.exists() and not place.exists():
            former.rename(place)
        shutil.rmtree(room, ignore_errors=True)


def _exchange(place: Path, room: Path) -> None:
    """Put the new output in the target's place, or the former one back."""
    new, former = room / _NEW, room / _FORMER
    if not place.exists():
        new.rename(place)
        return
    _keep_modes(place, new)
    if place.is_file():
        new.replace(place)
        return
    place.rename(former)
    try:
        new.rename(place)
    except OSError:
        former.rename(place)
        raise


def _keep_modes(former: Path, new: Path) -> None:
    """Give what existed before the permissions it had."""
    for path in (new, *new.rglob("*")):
        before = former / path.relative_to(new)
        if before.exists() and before.is_dir() == path.is_dir():
            path.chmod(before.stat().st_mode & 0o7777)
