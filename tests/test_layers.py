"""The layers of the package: a module imports only what stands below it."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import sheltermap

PACKAGE = Path(sheltermap.__file__).parent
MODULES = sorted(path.relative_to(PACKAGE) for path in PACKAGE.rglob("*.py"))

LAYERS = {
    "planner": 1,
    "climate": 1,
    "night": 1,
    "shelters": 1,
    "hazards": 1,
    "suitability": 2,
    "trip": 2,
    "places": 3,
    "economy": 4,
    "report": 5,
    "website": 6,
    "atlas": 7,
    "pipeline": 7,
    "reference": 7,
    "atlascommand": 8,
    "preview": 8,
    "cli": 9,
    "__main__": 10,
    "__init__": 11,
}
"""Layer of each package or module; every other module of the root is layer 0. The public face
stands above all: it may point anywhere, and only those outside the package import from it."""


def part(module: Path | str) -> str:
    """Return the package, or the root module, that a module belongs to."""
    return Path(module).parts[0].removesuffix(".py")


def imports(module: Path):
    """Yield (imported part, whether inside a function) of our own imports."""
    tree = ast.parse((PACKAGE / module).read_text())
    # What only a type checker reads stands under a condition of the module, in no function.
    conditional = [one for node in tree.body if isinstance(node, ast.If) for one in node.body]
    top = set(map(id, [*tree.body, *conditional]))
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("sheltermap"):
            names = node.module.split(".")[1:2] or [
                "__init__" if alias.name in sheltermap.__all__ else alias.name
                for alias in node.names
                if alias.name != "__version__"
            ]
        elif isinstance(node, ast.Import):
            names = [
                (alias.name.split(".")[1:2] or ["__init__"])[0]
                for alias in node.names
                if alias.name.split(".")[0] == "sheltermap"
            ]
        else:
            continue
        for name in names:
            yield name, id(node) not in top


@pytest.mark.parametrize("module", MODULES, ids=str)
def test_imports_point_downwards(module):
    """No module imports its own layer's neighbours or anything above."""
    own = part(module)
    for name, _ in imports(module):
        if name == own:
            continue
        assert LAYERS.get(name, 0) < LAYERS.get(own, 0) or (
            LAYERS.get(name, 0) == LAYERS.get(own, 0) == 0
        ), f"{module} imports {name}"


@pytest.mark.parametrize(
    "module", [m for m in MODULES if part(m) not in {"cli", "atlascommand", "__main__"}], ids=str
)
def test_no_import_of_ours_hides_in_a_function(module):
    """Cycles would hide there; only the command line imports late, to start fast."""
    assert not [name for name, hidden in imports(module) if hidden]


def test_modules_stay_small():
    """Every module fits in one sitting."""
    lines = {str(m): len((PACKAGE / m).read_text().splitlines()) for m in MODULES}
    assert {name: count for name, count in lines.items() if count > 450} == {}


def test_developers_page_names_what_is_there():
    """A page that says where things go is worse than none once they have moved."""
    root = PACKAGE.parent
    page = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:sheltermap|tests|site_template|regions)/[\w./-]*)`", page))
    assert len(named) > 40
    assert [name for name in sorted(named) if not (root / name).exists()] == []
