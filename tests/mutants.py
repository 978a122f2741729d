"""Small faults, planted one at a time, and how many of them the tests notice: ``make mutants``.

    .venv/bin/python tests/mutants.py --sample 50 --seed 7 --part planner

A comparison, a sign, a number, a condition of the program or of the site's scripts is changed
in a copy of the checkout, and the tests that run the changed line, as `executed.py` has found,
are run there in a child of this process, the quickest first; for a script those that open the
pages which load it. Prints every survivor with its place, and the share that was killed by
package. Survivors are to be judged by hand: some change nothing.
"""

from __future__ import annotations

import argparse
import ast
import builtins
import importlib
import os
import random
import re
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from executed import recorded

ROOT = Path(__file__).parent.parent
SCRIPTS = "scripts"
MOST_SECONDS = 90.0
"""For the tests of one fault, by what they took when they were recorded. [s]"""

_LEAST_WAIT_S = 120.0  # A machine that does other work is slow by turns; that kills no fault.

_PARTS = {SCRIPTS: 0.15, "website": 0.15}  # Shares of a sample; the rest is Python elsewhere.
_OF_SCRIPTS = {
    r"atlas": ("test_scripts.py", "test_browser_atlas.py"),
    r"season": ("test_scripts.py", "test_drawn_weeks.py", "test_browser_season.py"),
    r"departure": ("test_scripts.py", "test_demo.py"),
    r"map": ("test_scripts.py", "test_browser_maps.py"),
    r"log": ("test_website_log.py",),
    r"tonight": ("test_browser_tonight.py",),
}
"""Test files that open the pages of a script, by the beginning of its name."""

_OF_ANY_SCRIPT = ("test_browser.py", "test_browser_units.py", "test_browser_layout.py")
_LEFT_OUT = re.compile(r"test_(face|packaging|layers|bundled|climate_evaluate|readme)\.py")
_OPENS_PAGES = re.compile(r"BROWSER_MARKS|in_browser")
_BUILT_IN = frozenset(dir(builtins))
_COMPARED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
_COMBINED = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd, ast.Mod: ast.Mult, ast.FloorDiv: ast.Mult,
}  # fmt: skip
_NAMES = {
    "min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum", "any": "all",
    "all": "any", "ceil": "floor", "floor": "ceil", "argmin": "argmax", "argmax": "argmin",
}  # fmt: skip
_SCRIPT_TOKENS = re.compile(
    r"//[^\n]*|/\*.*?\*/|'(?:\\.|[^'\\\n])*'|\"(?:\\.|[^\"\\\n])*\"|`(?:\\.|[^`\\])*`|"
    r"===|!==|=>|<=|>=|&&|\|\||\+\+|--|\+=|-=|Math\.min|Math\.max|\btrue\b|\bfalse\b|"
    r"(?<![\w.])\d+(?:\.\d+)?|(?<=\s)[<>+\-*/%](?=\s)",
    re.DOTALL,
)
_SCRIPT_SWAPS = {
    "===": "!==", "!==": "===", "<=": "<", ">=": ">", "<": "<=", ">": ">=", "&&": "||", "||": "&&",
    "+": "-", "-": "+", "*": "/", "/": "*", "%": "*", "+=": "-=", "-=": "+=",
    "Math.min": "Math.max", "Math.max": "Math.min", "true": "false", "false": "true",
}  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """One planted fault: which characters of which file become what."""

    file: str
    start: int
    end: int
    old: str
    new: str
    line: int

    @property
    def part(self) -> str:
        """Return the package that it is in; the root's modules are ``sheltermap``."""
        parts = Path(self.file).parts
        return SCRIPTS if parts[0] != "sheltermap" else parts[1] if len(parts) > 2 else parts[0]

    def told(self) -> str:
        """Return it on one line."""
        return f"{self.file}:{self.line}: {self.old[:70]!r} -> {self.new[:70]!r}"


class _Finder(ast.NodeVisitor):
    """Collects what can be changed in a module, as node and its replacement."""

    def __init__(self) -> None:
        self.found: list[tuple[ast.expr, ast.expr]] = []

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """Leave words alone: their places inside are not exact."""

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        """Leave annotations alone."""
        if node.value is not None:
            self.visit(node.value)

    def visit_arguments(self, node: ast.arguments) -> None:
        """Look at defaults only."""
        for default in (*node.defaults, *filter(None, node.kw_defaults)):
            self.visit(default)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        """Leave decorators and the type returned alone."""
        self.visit(node.args)
        for statement in node.body:
            self.visit(statement)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        """Leave decorators alone."""
        for statement in node.body:
            self.visit(statement)

    def visit_If(self, node: ast.If) -> None:
        """Turn a condition round."""
        if not (isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"):
            self.found.append((node.test, ast.UnaryOp(ast.Not(), node.test)))
            self.generic_visit(node)

    def visit_Compare(self, node: ast.Compare) -> None:
        """Move a border, or turn the comparison round."""
        swapped = _COMPARED.get(type(node.ops[0]))
        if swapped is not None and len(node.ops) == 1:
            self.found.append((node, ast.Compare(node.left, [swapped()], node.comparators)))
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        """Exchange an operation; not of types."""
        swapped = _COMBINED.get(type(node.op))
        words = any(
            isinstance(side, ast.Constant) and isinstance(side.value, str)
            for side in (node.left, node.right)
        )
        if swapped is not None and not words:
            self.found.append((node, ast.BinOp(node.left, swapped(), node.right)))
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        """Take "and" for "or"."""
        other = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        self.found.append((node, ast.BoolOp(other, node.values)))
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        """Leave out a sign or a "not"."""
        if isinstance(node.op, ast.Not | ast.USub | ast.Invert):
            self.found.append((node, node.operand))
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        """Change a number or a truth."""
        value = node.value
        if isinstance(value, bool):
            self.found.append((node, ast.Constant(not value)))
        elif isinstance(value, int):
            self.found.append((node, ast.Constant(value + 1)))
        elif isinstance(value, float):
            self.found.append((node, ast.Constant(value * 1.1 if value else 1.0)))

    def visit_Call(self, node: ast.Call) -> None:
        """Take the smallest for the largest, all for any."""
        name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
        if name in _NAMES and isinstance(node.func, ast.Name):
            self.found.append((node.func, ast.Name(_NAMES[name])))
        elif name in _NAMES and isinstance(node.func, ast.Attribute):
            self.found.append((node.func, ast.Attribute(node.func.value, _NAMES[name])))
        self.generic_visit(node)


def of_module(file: Path) -> Iterator[Mutant]:
    """Yield the faults that can be planted in a module."""
    text = file.read_text(encoding="utf-8")
    lines = [len(line.encode()) for line in text.splitlines(keepends=True)]
    starts = [sum(lines[:number]) for number in range(len(lines) + 1)]
    content, finder = text.encode(), _Finder()
    finder.visit(ast.parse(text))
    for node, changed in finder.found:
        start = starts[node.lineno - 1] + node.col_offset
        end = starts[(node.end_lineno or node.lineno) - 1] + (node.end_col_offset or 0)
        # In brackets, since what stands around may bind closer.
        new = f"({ast.unparse(ast.fix_missing_locations(changed))})"
        old, where = content[start:end].decode(), str(file.relative_to(ROOT))
        yield Mutant(where, start, end, old, new, node.lineno)


def running_lines(mutant: Mutant) -> list[int]:
    """Return the lines of a module that run a fault in it.

    They are its own and the first of its statement; of a default value those of the function;
    of what the module defines those that use it.
    """
    text = (ROOT / mutant.file).read_text(encoding="utf-8")
    around = [
        one
        for one in ast.walk(ast.parse(text))
        if isinstance(one, ast.stmt) and one.lineno <= mutant.line <= (one.end_lineno or 0)
    ]
    inmost = max(around, key=lambda one: (one.lineno, -(one.end_lineno or 0)))
    functions = [one for one in around if isinstance(one, ast.FunctionDef)]
    if functions and mutant.line >= functions[-1].body[0].lineno:
        return [mutant.line, inmost.lineno]
    if functions:
        return [one.lineno for one in functions[-1].body]
    names = {one.id for one in ast.walk(inmost) if isinstance(one, ast.Name)} - _BUILT_IN
    used = re.compile(rf"\b(?:{'|'.join(map(re.escape, names))})\b" if names else r"(?!)")
    return [
        number
        for number, line in enumerate(text.splitlines(), 1)
        if line.startswith(" ") and used.search(line)
    ]


def of_script(file: Path) -> Iterator[Mutant]:
    """Yield the faults that can be planted in a script."""
    text = file.read_text(encoding="utf-8")
    for match in _SCRIPT_TOKENS.finditer(text):
        old = match[0]
        new = _SCRIPT_SWAPS.get(old, f"{old} + 1" if old[0].isdigit() else "")
        if new:
            start = len(text[: match.start()].encode())
            line = text.count("\n", 0, match.start()) + 1
            where = str(file.relative_to(ROOT))
            yield Mutant(where, start, start + len(old.encode()), old, f" {new} ", line)


def sampled(count: int, seed: int, part: str | None) -> list[Mutant]:
    """Return faults at random, a share of them in pages and scripts."""
    every = [
        one for file in sorted((ROOT / "sheltermap").rglob("*.py")) for one in of_module(file)
    ]
    every += [
        one
        for file in sorted((ROOT / "site_template" / "assets").glob("*.js"))
        for one in of_script(file)
    ]
    chance = random.Random(seed)
    groups = defaultdict(list)
    for one in every:
        groups[one.part if one.part in _PARTS else ""].append(one)
    if part is not None:
        inside = [one for one in every if one.part == part]
        return chance.sample(inside, min(count, len(inside)))
    wanted = {name: round(share * count) for name, share in _PARTS.items()}
    wanted[""] = count - sum(wanted.values())
    found = [one for name, of in wanted.items() for one in chance.sample(groups[name], of)]
    chance.shuffle(found)  # What is broken off early is a sample too.
    return found


class Tests:
    """Which tests are shown a fault."""

    def __init__(self) -> None:
        every = [one for one in sorted((ROOT / "tests").glob("test_*.py"))]
        files = [one for one in every if not _LEFT_OUT.fullmatch(one.name)]
        texts = {one: one.read_text(encoding="utf-8") for one in files}
        self.executed = recorded([one for one in files if not _OPENS_PAGES.search(texts[one])])

    def of(self, mutant: Mutant) -> list[str]:
        """Return the tests of a fault, quickest first, as far as time allows."""
        if mutant.part == SCRIPTS:
            stem = Path(mutant.file).stem
            near = [names for start, names in _OF_SCRIPTS.items() if stem.startswith(start)]
            names = dict.fromkeys((*(near[0] if near else ()), *_OF_ANY_SCRIPT))
            return [f"tests/{name}" for name in names]
        left, chosen = MOST_SECONDS, list[str]()
        for node in self.executed.tests_of(mutant.file, running_lines(mutant)):
            left -= self.executed.took(node)
            if left < 0 and chosen:
                break
            chosen.append(node)
        return chosen


def tried(mutant: Mutant, tests: Sequence[str], copy: Path, seconds: float) -> str:
    """Return "survived", "killed" or "timed out" for one fault in the copy."""
    target = copy / mutant.file
    before = target.read_bytes()
    arguments = [str(copy / node) for node in tests]
    try:
        target.write_bytes(before[: mutant.start] + mutant.new.encode() + before[mutant.end :])
        if target.suffix == ".py":
            arguments.insert(0, str(target))  # its doctests
        child = os.fork()
        if child == 0:
            _run(arguments, copy)
        return _awaited(child, seconds)
    finally:
        target.write_bytes(before)


def _run(arguments: Sequence[str], copy: Path) -> None:
    """Run tests in this process and end it."""
    code = 3
    try:
        os.setsid()
        nowhere = os.open(copy / "said.txt", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        for stream in (1, 2):
            os.dup2(nowhere, stream)
        os.chdir(copy)
        os.environ |= {"PYTHONPATH": f"{copy}:{copy / 'tests'}", "PYTHONDONTWRITEBYTECODE": "1"}
        sys.path[:0] = [str(copy), str(copy / "tests")]
        sys.dont_write_bytecode = True
        import pytest

        options = ["-x", "-q", "--no-header", "-p", "no:cacheprovider", "-p", "no:xdist"]
        code = int(pytest.main([*options, *arguments]))
    finally:
        os._exit(code)


def _awaited(child: int, seconds: float) -> str:
    """Return how the tests of a child ended; 5 is none collected."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return "survived" if os.waitstatus_to_exitcode(status) in (0, 5) else "killed"
        time.sleep(0.05)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return "timed out"


def main() -> None:
    """Plant faults, and print what survived and what was killed by package."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--sample", type=int, default=200)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--part", help="a package, sheltermap for the root's modules, or scripts")
    options.add_argument("--seconds", type=float, help="stop after so many")
    asked = options.parse_args()
    for name in (
        "numpy",
        "scipy.stats",
        "pandas",
        "xarray",
        "geopandas",
        "pydantic",
        "hypothesis",
    ):
        importlib.import_module(name)
    tests, begun = Tests(), time.monotonic()
    ends: dict[str, Counter[str]] = defaultdict(Counter)
    with tempfile.TemporaryDirectory(prefix="mutants-") as name:
        copy = Path(name)
        for part in ("sheltermap", "site_template", "regions", "tests"):
            ignored = shutil.ignore_patterns("__pycache__")
            shutil.copytree(ROOT / part, copy / part, ignore=ignored)
        for file in ("pyproject.toml", "constraints.txt", "README.md", "DEVELOPERS.md"):
            shutil.copy(ROOT / file, copy / file)
        for mutant in sampled(asked.sample, asked.seed, asked.part):
            if asked.seconds and time.monotonic() - begun > asked.seconds:
                break
            end = shown(mutant, tests, copy)
            ends[mutant.part][end] += 1
            if end != "killed":
                print(f"{end}: {mutant.told()}", flush=True)
    print_rates(ends)
    print(f"in {time.monotonic() - begun:.0f} s, seed {asked.seed}")


def shown(mutant: Mutant, tests: Tests, copy: Path) -> str:
    """Return how a fault ends that is shown to its tests."""
    nodes = tests.of(mutant)
    if not nodes:
        return "no test"
    took = sum(map(tests.executed.took, nodes))
    end = tried(mutant, nodes, copy, max(5 * took, _LEAST_WAIT_S))
    return "killed" if end == "timed out" else end


def print_rates(ends: dict[str, Counter[str]]) -> None:
    """Print the share killed, by package and in all."""
    groups = {
        "Python": [part for part in ends if part != SCRIPTS],
        "website": ["website"],
        SCRIPTS: [SCRIPTS],
    }
    for part, counts in sorted(ends.items()):
        print(f"  {part:12s} {counts['killed']:4d} of {counts.total():4d} killed, {dict(counts)}")
    for name, parts in groups.items():
        killed = sum(ends[part]["killed"] for part in parts if part in ends)
        count = sum(ends[part].total() for part in parts if part in ends)
        if count:
            print(f"{name}: {100 * killed / count:.0f} % of {count} killed")


if __name__ == "__main__":
    main()
