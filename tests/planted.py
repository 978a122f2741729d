"""Which small faults can be planted in the program and in the site's scripts.

In: their files. Out: `Mutant`s, each a comparison, a sign, a number or a condition that is
changed, and the lines that run it.
"""

from __future__ import annotations

import ast
import builtins
import random
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent
SCRIPTS = "scripts"
_PARTS = {SCRIPTS: 0.15, "website": 0.15}  # Shares of a sample; the rest is Python elsewhere.
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


@cache
def running_lines(mutant: Mutant) -> list[int] | None:
    """Return the lines of a module that run a fault in it.

    They are its own and the first of its statement; of a default value those of the function;
    of what the module defines those that use it. An empty list stands for all of the module, as
    for a field of a class, which is run when the module is read; None for a module without
    functions.
    """
    text = (ROOT / mutant.file).read_text(encoding="utf-8")
    every = [one for one in ast.walk(ast.parse(text)) if isinstance(one, ast.stmt)]
    around = [one for one in every if one.lineno <= mutant.line <= (one.end_lineno or 0)]
    inmost = max(around, key=lambda one: (one.lineno, -(one.end_lineno or 0)))
    functions = [one for one in around if isinstance(one, ast.FunctionDef)]
    if functions and mutant.line >= functions[-1].body[0].lineno:
        return [mutant.line, inmost.lineno]
    if functions:
        return [one.lineno for one in functions[-1].body]
    others = [one for one in every if isinstance(one, ast.FunctionDef)]
    if not others:
        return None
    if any(isinstance(one, ast.ClassDef) for one in around):
        return []
    names = {one.id for one in ast.walk(inmost) if isinstance(one, ast.Name)} - _BUILT_IN
    found = []
    for one in others:
        used = [
            name.lineno
            for name in ast.walk(one)
            if isinstance(name, ast.Name) and name.id in names
        ]
        # A default value stands in the head of a function.
        in_head = any(line < one.body[0].lineno for line in used)
        found += [*used, *(statement.lineno for statement in one.body if in_head)]
    return found


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
        inside = [one for one in every if one.part == part or one.file.endswith(f"/{part}")]
        return chance.sample(inside, min(count, len(inside)))
    wanted = {name: round(share * count) for name, share in _PARTS.items()}
    wanted[""] = count - sum(wanted.values())
    found = [one for name, of in wanted.items() for one in chance.sample(groups[name], of)]
    chance.shuffle(found)  # What is broken off early is a sample too.
    return found
