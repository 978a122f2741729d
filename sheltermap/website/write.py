"""The one writer: a finished site into a folder, whole or not at all.

In: {path: bytes} and a target folder. Out: the folder. Assumes nothing of the target, which
can be asked about before there is anything to write. The new site is written beside the
target and renamed into place, so a build that fails leaves the former site as it was; a
build that was interrupted between the two renames is mended by the next one.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from sheltermap.files import unwritable
from sheltermap.vocabulary import InputError, Problem

MARKER = ".sheltermap-site"
"""A folder with this file was written by us; it lists what may be replaced by us."""

_MARKER_TEXT = "This folder is written by sheltermap and replaced at each build. Its files:\n"
_SITE_EXPECTED = "a folder that can be written"
_FILE_EXPECTED = "a file that can be written"
_LITTER = (".DS_Store", "Thumbs.db", "desktop.ini")  # what file managers leave behind


def require_site_target(target: Path | str) -> None:
    """
    Raise where a site cannot be written; ask before the site is computed.

    What an interrupted build left behind is mended.

    Parameters
    ----------
    target : path
        Folder to write; must be new, empty, or a site of ours with nothing added.

    Raises
    ------
    InputError
        If the folder holds something else, is a file, or cannot be written.
    """
    target = Path(target)
    fresh, former = _beside(target, "new"), _beside(target, "old")
    try:
        _recover(target, fresh, former)
        _refuse_foreign(target)
        _try_beside(target)
    except OSError as error:
        raise InputError([unwritable(target, _SITE_EXPECTED, error)]) from None


def require_file_target(target: Path | str) -> None:
    """
    Raise where a one-file site cannot be written; ask before the site is computed.

    Parameters
    ----------
    target : path
        File to write; must be new, empty, or an HTML file.

    Raises
    ------
    InputError
        If it is a folder, a file of another kind, or cannot be written.
    """
    target = Path(target)
    try:
        _refuse_other_file(target)
        _try_beside(target)
    except OSError as error:
        raise InputError([unwritable(target, _FILE_EXPECTED, error)]) from None


def write_site(files: Mapping[str, bytes], target: Path | str) -> Path:
    """
    Write a site, replacing the former one.

    Parameters
    ----------
    files : mapping of str to bytes
        Content by relative path with forward slashes.
    target : path
        Folder to write; must be new, empty, or a site of ours with nothing added.

    Returns
    -------
    pathlib.Path
        The folder.

    Raises
    ------
    InputError
        If the folder holds something else, is a file, or cannot be written. The former
        site is as it was then.
    ValueError
        If a path leaves the folder, or two differ in case only.
    """
    target = Path(target)
    _checked_paths(files)
    require_site_target(target)
    fresh, former = _beside(target, "new"), _beside(target, "old")
    try:
        try:
            _fill(fresh, files)
            _exchange(target, fresh, former)
        finally:
            # Gone by now, unless something failed or the user broke off.
            shutil.rmtree(fresh, ignore_errors=True)
    except OSError as error:
        raise InputError([unwritable(target, _SITE_EXPECTED, error)]) from None
    shutil.rmtree(former, ignore_errors=True)
    return target


def _fill(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write the marker and every file into a new folder."""
    folder.mkdir(parents=True)
    listing = _MARKER_TEXT + "".join(f"{name}\n" for name in sorted(files))
    folder.joinpath(MARKER).write_bytes(listing.encode())
    for name, content in sorted(files.items()):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


def _exchange(target: Path, fresh: Path, former: Path) -> None:
    """Put the fresh folder in the target's place, or the former one back."""
    if target.exists():
        target.rename(former)
    try:
        fresh.rename(target)
    except OSError:
        if former.exists():
            former.rename(target)
        raise


def _beside(target: Path, word: str) -> Path:
    """Return the name of a helper folder on the same disk."""
    whole = Path(os.path.abspath(target))  # noqa: PTH100  a link must stay a link
    if not whole.name:
        raise InputError([Problem(str(target), "", "a name", "the root", "Name a folder in it.")])
    return whole.with_name(f".{whole.name}.sheltermap-{word}")


def _try_beside(target: Path) -> None:
    """Raise OSError where nothing can be made beside the target: rights do not tell it all."""
    folder = Path(os.path.abspath(target)).parent  # noqa: PTH100  as _beside has it
    while not folder.exists() and folder != folder.parent:
        folder = folder.parent  # What is missing is made when there is something to write.
    with tempfile.TemporaryDirectory(prefix=".sheltermap-", dir=folder):
        pass


def _recover(target: Path, fresh: Path, former: Path) -> None:
    """Undo what an interrupted build left behind."""
    if former.exists():
        if target.exists():
            shutil.rmtree(former)
        else:
            former.rename(target)
    if fresh.exists():
        shutil.rmtree(fresh)


def _refuse_foreign(target: Path) -> None:
    """Raise if the target is something we did not write."""
    if not target.exists() and not target.is_symlink():
        return
    if not target.is_dir():
        raise InputError(
            [Problem(str(target), "", "a folder for the site", "a file", "Choose another name.")]
        )
    if any(target.iterdir()) and not target.joinpath(MARKER).is_file():
        raise InputError(
            [
                Problem(
                    str(target),
                    "",
                    "an empty folder or a site written before",
                    f"a folder without {MARKER}",
                    "Choose another folder, so that nothing of yours is replaced.",
                )
            ]
        )
    if added := _added(target):
        raise InputError(
            [
                Problem(
                    str(target),
                    "",
                    "a site as it was written",
                    f"{len(added)} more: {', '.join(added[:3])}" + ", ..." * (len(added) > 3),
                    "Move what you added elsewhere: the folder is replaced at each build.",
                )
            ]
        )


def _refuse_other_file(target: Path) -> None:
    """Raise if the target is a folder, or a file that is no web page: a trip, for example."""
    got = "a folder" if target.is_dir() else ""
    if target.is_file():
        with target.open("rb") as file:
            head = file.read(1000).lstrip().lower()
        if head and not head.startswith(b"<!doctype html"):
            got = "a file that is no web page"
    if got:
        expected, mend = "a new file, or a web page to replace", "Choose another name."
        raise InputError([Problem(str(target), "", expected, got, mend)])


def _added(folder: Path) -> list[str]:
    """Return the files of a written site that somebody else put there."""
    marker = folder.joinpath(MARKER)
    listed = marker.read_text(encoding="utf-8").splitlines()[1:] if marker.is_file() else []
    if not listed:  # an empty folder, or a site from before its files were listed
        return []
    written = {MARKER, *listed}
    found = (path for path in folder.rglob("*") if path.is_symlink() or not path.is_dir())
    names = (path.relative_to(folder).as_posix() for path in found if path.name not in _LITTER)
    return sorted(name for name in names if name not in written)


def _checked_paths(files: Mapping[str, bytes]) -> None:
    """Raise if a path would leave the folder or collide."""
    seen: set[str] = set()
    for name in files:
        parts = PurePosixPath(name).parts
        if not parts or name.startswith("/") or ".." in parts or "\\" in name or ":" in name:
            raise ValueError(f"expected a path inside the site, got {name!r}")
        if name.lower() in seen or name.lower() == MARKER:
            raise ValueError(f"expected each path once, got {name!r} twice")
        seen.add(name.lower())


def write_file(content: bytes, target: Path | str) -> Path:
    """
    Write a one-file site, replacing the former one.

    Parameters
    ----------
    content : bytes
    target : path
        File to write; the former one stays whole until the new one is.

    Returns
    -------
    pathlib.Path

    Raises
    ------
    InputError
        If the target is a folder, a file that is no web page, or cannot be written.
    """
    target = Path(target)
    require_file_target(target)
    fresh = _beside(target, "new")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            fresh.write_bytes(content)
            fresh.replace(target)
        finally:
            fresh.unlink(missing_ok=True)
    except OSError as error:
        raise InputError([unwritable(target, _FILE_EXPECTED, error)]) from None
    return target
