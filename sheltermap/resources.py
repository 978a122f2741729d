"""Where the bundled data and templates live.

In: a name. Out: a path. The same answer in a checkout and in an installed wheel.
"""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).parent


def bundled(name: str) -> Path:
    """
    Return the folder of bundled files called `name`.

    A wheel carries ``regions`` and ``site_template`` inside the package; a checkout
    keeps them beside it.

    Parameters
    ----------
    name : {"regions", "site_template"}
        Folder to find.

    Returns
    -------
    pathlib.Path
        An existing folder.

    Raises
    ------
    FileNotFoundError
        If the installation is incomplete.

    Examples
    --------
    >>> bundled("regions").joinpath("world").is_dir()
    True
    """
    for parent in (_PACKAGE, _PACKAGE.parent):
        folder = parent / name
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"{name} is missing from this installation; reinstall sheltermap")
