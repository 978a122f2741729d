"""What all tests share: property tests that draw the same examples every time, and no skips in CI.

Where `SHELTERMAP_SKIPS` is "none", as `.ci/run` sets it, a test that skips itself fails, and
nothing starts while a package of the extra `test` is missing.
"""

from __future__ import annotations

import os
import tomllib
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import pytest
from browsing import ask as ask
from browsing import browser as browser
from browsing import demo_of as demo_of
from browsing import sample_site as sample_site
from hypothesis import settings
from packaging.requirements import Requirement

# Deadlines measure how busy the machine is, not the code.
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")

_PROJECT = Path(__file__).parent.parent / "pyproject.toml"

# Helpers hold no tests. Looking for doctests would load what only benchmarks need.
collect_ignore = [
    path.name for path in Path(__file__).parent.glob("*.py") if not path.match("test_*.py")
]


def missing_extras() -> list[str]:
    """Return the packages that tests ask for, as pyproject.toml lists them, and that lack."""
    extras = tomllib.loads(_PROJECT.read_text(encoding="utf-8"))["project"][
        "optional-dependencies"
    ]
    missing = []
    for asked in (Requirement(one) for one in (*extras["data"], *extras["test"])):
        try:
            version(asked.name)
        except PackageNotFoundError:
            missing.append(asked.name)
    return missing


def _skips_allowed() -> bool:
    """Return whether tests may skip themselves."""
    return os.environ.get("SHELTERMAP_SKIPS") != "none"


def pytest_sessionstart() -> None:
    """Stop where a package is missing that would make tests skip themselves."""
    if not _skips_allowed() and (missing := missing_extras()):
        raise pytest.UsageError(f"these must be installed here: {', '.join(missing)}")


def _as_failure(report: pytest.TestReport | pytest.CollectReport) -> None:
    """Turn a skip into a failure; an expected failure is none."""
    if report.skipped and not hasattr(report, "wasxfail") and not _skips_allowed():
        report.outcome = "failed"
        report.longrepr = f"skipped where nothing may be: {report.longrepr}"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport():
    """Count no skipped test as good."""
    report = yield
    _as_failure(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report():
    """Count no skipped file as good."""
    report = yield
    _as_failure(report)
    return report
