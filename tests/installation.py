"""An installation like a user's: the package with what it requires, none of the test tools.

xarray imports dask and pint where they are installed, which the test tools bring: that costs
half a second that no user pays, and hides what our own code costs beside it.
"""

from __future__ import annotations

import sys
import tomllib
import venv
from importlib.metadata import Distribution, distribution
from pathlib import Path

from packaging.requirements import Requirement

_PROJECT = Path(__file__).parents[1] / "pyproject.toml"


def as_users_have_it(folder: Path) -> Path:
    """
    Return the Python of a new environment with the same files, by links.

    Parameters
    ----------
    folder : path
        Where to make it; the package itself is not linked, but found by PYTHONPATH.

    Returns
    -------
    pathlib.Path
    """
    venv.create(folder, symlinks=True)
    site = Path(folder, "lib", f"python{sys.version_info.major}.{sys.version_info.minor}")
    for found in required().values():
        for name in {path.parts[0] for path in found.files or ()} - {".."}:
            link = site / "site-packages" / name
            if not link.exists():
                link.symlink_to(found.locate_file(name))
    return folder / "bin" / "python"


def required() -> dict[str, Distribution]:
    """Return what the package requires without extras, and what that requires, by name."""
    found: dict[str, Distribution] = {}
    waiting = tomllib.loads(_PROJECT.read_text(encoding="utf-8"))["project"]["dependencies"]
    while waiting:
        one = Requirement(waiting.pop())
        if one.name not in found and (not one.marker or one.marker.evaluate({"extra": ""})):
            found[one.name] = distribution(one.name)
            waiting += found[one.name].requires or ()
    return found
