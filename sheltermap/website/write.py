"""A finished site into a folder or one file: what is ours there, and what may be replaced.

In: {path: bytes} or the bytes of one page, and a target. Out: the folder or the file. Assumes
that `output` writes whole or not at all; this module knows what a site looks like.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Container, Iterable, Mapping
from pathlib import Path, PurePosixPath

from sheltermap.output import Output, replace, require
from sheltermap.vocabulary import Problem

MARKER = ".sheltermap-site"
"""A folder with this file was written by us; it lists what may be replaced by us."""

GENERATOR = b'<meta name="generator" content="sheltermap">'
"""What every page of ours has in its head."""

_MARKER_TEXT = "This folder is written by sheltermap and replaced at each build. Its files:\n"
_LITTER = (".DS_Store", "Thumbs.db", "desktop.ini")  # what file managers leave behind
_HEAD_BYTES = 2000  # the generator stands among the first lines of a page


def require_site_target(target: Path | str) -> None:
    """
    Raise where a site cannot be written; ask before the site is computed.

    Parameters
    ----------
    target : path
        Folder to write; must be new, empty, or a site of ours with nothing added.

    Raises
    ------
    InputError
        If the folder holds something else, is a file, or cannot be written.
    """
    require(target, _SITE)


def require_file_target(target: Path | str) -> None:
    """
    Raise where a one-file site cannot be written; ask before the site is computed.

    Parameters
    ----------
    target : path
        File to write; must be new, empty, or a page of ours.

    Raises
    ------
    InputError
        If it is a folder, a file of another kind, or cannot be written.
    """
    require(target, _PAGE)


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
    return write_site_as_made(lambda _: sorted(files.items()), target)


def write_site_as_made(
    make: Callable[[Path], Iterable[tuple[str, bytes | Path]]], target: Path | str
) -> Path:
    """
    Write a site that is too large to be held, replacing the former one.

    Parameters
    ----------
    make : callable
        Takes a folder for whatever it works with, and yields paths with forward slashes
        and their contents, or files in that folder that are moved to them.
    target : path
        As for `write_site`.

    Returns
    -------
    pathlib.Path
        The folder.

    Raises
    ------
    InputError, ValueError
        As `write_site`.
    """

    def fill(folder: Path) -> None:
        with tempfile.TemporaryDirectory(dir=folder.parent) as work:
            _fill(folder, make(Path(work)))

    return replace(target, _SITE, fill)


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
        If the target is a folder, a file that is no page of ours, or cannot be written.
    """
    return replace(target, _PAGE, lambda path: path.write_bytes(content))


def _fill(folder: Path, files: Iterable[tuple[str, bytes | Path]]) -> None:
    """Write every file and the marker into a new folder."""
    folder.mkdir()
    written: dict[str, str] = {}
    for name, content in files:
        _check_path(name, written)
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if isinstance(content, Path):
            content.rename(path)
        else:
            path.write_bytes(content)
        written[name.lower()] = name
    listing = _MARKER_TEXT + "".join(f"{name}\n" for name in sorted(written.values()))
    folder.joinpath(MARKER).write_bytes(listing.encode())


def _foreign_folder(place: Path) -> Problem | None:
    """Return why a folder must not be replaced by a site."""
    if not place.is_dir():
        return Problem("", "", "a folder for the site", "a file", "Choose another name.")
    if not any(place.iterdir()):
        return None
    listed = _listed(place)
    if listed is None:
        expected, got = "an empty folder or a site written before", f"a folder without {MARKER}"
        if place.joinpath(MARKER).exists():
            got = f"a folder whose {MARKER} lists no files of a site"
        mend = "Choose another folder, so that nothing of yours is replaced."
        return Problem("", "", expected, got, mend)
    if added := _added(place, listed):
        got = f"{len(added)} more: {', '.join(added[:3])}" + ", ..." * (len(added) > 3)
        mend = "Move what you added elsewhere: the folder is replaced at each build."
        return Problem("", "", "a site as it was written", got, mend)
    return None


def _listed(folder: Path) -> set[str] | None:
    """Return the files that the marker of a folder lists; None where it is no marker of ours."""
    marker = folder / MARKER
    if not marker.is_file():
        return None
    text = marker.read_bytes().decode(errors="replace")
    if not text.startswith(_MARKER_TEXT):
        return None
    return {MARKER, *text.removeprefix(_MARKER_TEXT).splitlines()}


def _added(folder: Path, written: set[str]) -> list[str]:
    """Return the files of a written site that somebody else put there."""
    found = (path for path in folder.rglob("*") if path.is_symlink() or not path.is_dir())
    names = (path.relative_to(folder).as_posix() for path in found if path.name not in _LITTER)
    return sorted(name for name in names if name not in written)


def _foreign_page(place: Path) -> Problem | None:
    """Return why a file must not be replaced by a one-file site: a trip, or another's page."""
    got = "a folder" if place.is_dir() else ""
    if place.is_file():
        with place.open("rb") as file:
            head = file.read(_HEAD_BYTES)
        if head and GENERATOR not in head:
            got = "a file that sheltermap did not write"
    if not got:
        return None
    expected = "a new file, or a page written before"
    return Problem("", "", expected, got, "Choose another name.")


def _check_path(name: str, written: Container[str]) -> None:
    """Raise if a path would leave the folder or collide with one that is written."""
    parts = PurePosixPath(name).parts
    if not parts or name.startswith("/") or ".." in parts or "\\" in name or ":" in name:
        raise ValueError(f"expected a path inside the site, got {name!r}")
    if name.lower() in written or name.lower() == MARKER:
        raise ValueError(f"expected each path once, got {name!r} twice")


_SITE = Output("a folder that can be written", _foreign_folder)
_PAGE = Output("a file that can be written", _foreign_page)
