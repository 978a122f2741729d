"""What is installed, from where, and that tests need no network."""

from __future__ import annotations

import ast
import re
import socket
import sys
import tomllib
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest
from hatchling.builders.wheel import WheelBuilder
from pytest_socket import SocketConnectBlockedError

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
MAKERS = ROOT / "regions" / "world"
EXTRAS = PROJECT["optional-dependencies"]
PINS = (ROOT / "constraints.txt").read_text().splitlines()


def canonical(requirement: str) -> str:
    """Return the name of a requirement as packages are compared."""
    name = re.match(r"[A-Za-z0-9._-]+", requirement).group()
    return re.sub(r"[-_.]+", "-", name).lower()


def imported(folder: Path) -> dict[str, str]:
    """Return the packages that the modules of a folder import, each with one such module."""
    own = {path.stem for path in (*folder.glob("*.py"), *MAKERS.glob("*.py"))} | {"sheltermap"}
    found = {}
    for path in folder.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.level == 0:
                names = [node.module]
            else:
                continue
            for name in names:
                top = name.partition(".")[0]
                if top not in own and top not in sys.stdlib_module_names:
                    found[top] = str(path.relative_to(ROOT))
    return found


@cache
def owners_of_packages() -> dict[str, list[str]]:
    """Return the distributions of each package; they are many, so they are listed once."""
    return packages_distributions()


CORE = {canonical(each) for each in PROJECT["dependencies"]}
OPTIONAL = {canonical(each) for each in EXTRAS["data"]}
TEST = {canonical(each) for each in EXTRAS["test"]}


@pytest.mark.parametrize(
    ("folder", "declared"),
    [("sheltermap", CORE | OPTIONAL), ("tests", CORE | OPTIONAL | TEST)],
)
def test_imports_are_declared(folder, declared):
    """What is imported is asked for by name, not had through another package."""
    owners = owners_of_packages()
    for package, module in imported(ROOT / folder).items():
        names = {canonical(name) for name in owners.get(package, ())}
        assert names & declared, f"{module} imports {package}"


def test_nothing_is_declared_in_vain():
    """Each package of a plain installation is imported somewhere in the product."""
    owners = owners_of_packages()
    used = {
        canonical(name)
        for package in imported(ROOT / "sheltermap")
        for name in owners.get(package, ())
    }
    assert used >= CORE


def test_pins_are_exact_and_name_no_place():
    """A pin is a name and a version: no address, no path, no range."""
    assert [line for line in PINS if not re.fullmatch(r"[\w.-]+==[\w.!+]+", line)] == []


def test_every_declared_package_is_pinned():
    """No package that pyproject.toml asks for is left to the day of installation."""
    declared = CORE | {canonical(each) for extra in EXTRAS.values() for each in extra}
    assert declared - {canonical(line) for line in PINS} == {"sheltermap"}


def test_wheel_holds_what_the_product_reads():
    """Code, templates and journeys are in; data scripts, README's pictures and tests are not."""
    files = {file.distribution_path for file in WheelBuilder(str(ROOT)).recurse_included_files()}
    for source in ("regions", "site_template"):
        for path in (ROOT / source).rglob("*"):
            if path.is_file() and "__pycache__" not in path.parts:
                wanted = path.suffix != ".py" and path.parent.name != "pictures"
                assert (f"sheltermap/{path.relative_to(ROOT).as_posix()}" in files) is wanted, path
    assert {"sheltermap/shelters/kits.toml", "sheltermap/py.typed"} <= files
    assert {name.partition("/")[0] for name in files} == {"sheltermap"}


@pytest.mark.filterwarnings("ignore:A test tried to use socket")
def test_no_test_reaches_another_machine():
    """A connection to an address set aside for documents is refused before it is tried."""
    with pytest.raises(SocketConnectBlockedError):
        socket.create_connection(("192.0.2.1", 80), timeout=1)
