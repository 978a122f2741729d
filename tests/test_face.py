"""The public face: what ``import sheltermap`` offers, what it costs, and README's example."""

from __future__ import annotations

import ast
import inspect
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import matplotlib
import numpy as np
import pytest

import sheltermap

FACE = Path(sheltermap.__file__)
README = FACE.parent.parent / "README.md"
NAMES = [name for name in sheltermap.__all__ if name != "__version__"]
FUNCTIONS = [name for name in NAMES if inspect.isfunction(getattr(sheltermap, name))]


def modules_after(code: str) -> set[str]:
    """Return the modules that a fresh Python has imported for some code, not for its start."""
    script = f"import sys; before = set(sys.modules); {code}; print(*set(sys.modules) - before)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return set(done.stdout.split())


def test_import_brings_nothing_but_itself():
    """Who asks for no name pays for none: no other module of ours, nothing from outside."""
    found = modules_after("import sheltermap")
    assert "sheltermap" in found
    assert {name.partition(".")[0] for name in found} - sys.stdlib_module_names == {"sheltermap"}
    assert not [name for name in found if name.startswith("sheltermap.")]


def test_a_name_brings_its_own_module_only():
    """To load kits needs no grid and no map."""
    found = modules_after("import sheltermap; sheltermap.load_kits()")
    assert "sheltermap.shelters.kit" in found
    assert found.isdisjoint({"xarray", "geopandas", "folium", "sheltermap.pipeline"})


@pytest.mark.parametrize("name", NAMES)
def test_each_name_is_what_its_module_defines(name):
    """No name is handed on from a third place, where a reader would look in vain."""
    value = getattr(sheltermap, name)
    assert value.__module__ == f"sheltermap.{sheltermap._MODULE_OF[name]}"
    assert getattr(import_module(value.__module__), name) is value
    assert name in dir(sheltermap)


def test_type_checkers_read_the_same_names():
    """What is imported at run time and what a checker is told are two lists that must agree."""
    (told,) = (node for node in ast.parse(FACE.read_text()).body if isinstance(node, ast.If))
    names = {
        alias.asname: node.module.removeprefix("sheltermap.")
        for node in told.body
        for alias in node.names
        if alias.asname == alias.name
    }
    assert names == sheltermap._MODULE_OF


def test_unknown_name_is_refused_as_of_any_module():
    """A slip is an AttributeError with the name, and `from sheltermap import` an ImportError."""
    with pytest.raises(AttributeError, match="'sheltermap' has no attribute 'skore'"):
        _ = sheltermap.skore
    with pytest.raises(ImportError, match="skore"):
        exec("from sheltermap import skore")


@pytest.mark.parametrize("name", FUNCTIONS)
def test_public_function_says_all_of_itself(name):
    """Hints for every parameter and the result; numpydoc that names each, and an example."""
    function = getattr(sheltermap, name)
    signature = inspect.signature(function)
    hints = [one.annotation for one in signature.parameters.values()]
    assert inspect.Signature.empty not in [*hints, signature.return_annotation]
    text = inspect.getdoc(function)
    for section in ("Returns", "Examples", *(["Parameters"] if hints else [])):
        assert re.search(rf"^{section}\n-+$", text, re.MULTILINE), section
    described = re.findall(r"^([\w, ]+)(?: : .*)?$", text.partition("Returns\n")[0], re.MULTILINE)
    listed = {each for line in described for each in line.split(", ")}
    assert set(signature.parameters) <= listed


def test_readme_example_scores_and_plots_a_dataset_of_ones_own():
    """Run as it is printed. By hand: the valley lies at 67 degrees east and the land rises to
    both sides alike, so the picture has a mirror there. In April the valley's lows are 14 degC;
    those of the outermost columns, at 3500 m, -9 degC, ten below the comfort of the bedding."""
    matplotlib.use("Agg")
    (example,) = re.findall(r"```python\n(.*?)```", README.read_text(), re.DOTALL)
    assert len([line for line in example.splitlines() if line.strip()]) <= 12
    names = {}
    exec(example, names)
    mesh = names["picture"]
    drawn = np.asarray(mesh.get_array()).reshape(10, 15)
    assert mesh.axes.get_title() and mesh.axes.get_xlabel().startswith("longitude")
    np.testing.assert_allclose(drawn, drawn[:, ::-1])
    assert ((drawn >= 0) & (drawn <= 1)).all()
    assert (drawn[:, 7] > drawn[:, 0] + 0.5).all()
    matplotlib.pyplot.close("all")
