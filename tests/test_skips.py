"""In CI no test skips itself silently, and no package that a test needs may lack."""

from __future__ import annotations

from pathlib import Path

import conftest
import pytest
from packaging.requirements import Requirement

pytest_plugins = ["pytester"]

SKIPPED_TEST = "import pytest\ndef test_it():\n    pytest.importorskip('no_such_package')\n"
SKIPPED_FILE = "import pytest\npytest.importorskip('no_such_package')\ndef test_it():\n    pass\n"


@pytest.mark.parametrize("text", [SKIPPED_TEST, SKIPPED_FILE])
@pytest.mark.parametrize(("skips", "failed"), [("none", True), ("", False)])
def test_a_skip_fails_where_none_may_be(pytester, monkeypatch, text, skips, failed):
    """Of one test, or of a whole file."""
    monkeypatch.setenv("SHELTERMAP_SKIPS", skips)
    monkeypatch.setattr(conftest, "missing_extras", list)
    pytester.makepyfile(text)
    result = pytester.runpytest_inprocess("-p", "no:zarr", plugins=[conftest])
    counts = result.parseoutcomes()
    assert ("skipped" in counts) is not failed
    assert (counts.get("failed", 0) + counts.get("errors", 0) == 1) is failed


def test_a_missing_package_stops_everything(pytester, monkeypatch):
    """Before the first test."""
    monkeypatch.setenv("SHELTERMAP_SKIPS", "none")
    monkeypatch.setattr(conftest, "missing_extras", lambda: ["zarr"])
    pytester.makepyfile("def test_it():\n    pass\n")
    result = pytester.runpytest_inprocess("-p", "no:zarr", plugins=[conftest])
    assert result.ret == pytest.ExitCode.USAGE_ERROR


def test_extras_are_looked_for_by_their_names(tmp_path, monkeypatch):
    """Those of pyproject.toml are there; one that nobody wrote is not."""
    assert conftest.missing_extras() == []
    project = tmp_path / "pyproject.toml"
    listed = 'data = ["no-such-package>=1"]\ntest = ["pytest>=8"]\n'
    project.write_text(f"[project.optional-dependencies]\n{listed}")
    monkeypatch.setattr(conftest, "_PROJECT", Path(project))
    assert conftest.missing_extras() == [Requirement("no-such-package").name]
