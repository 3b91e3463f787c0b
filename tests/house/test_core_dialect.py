"""The core runs on two Pythons: CPython here, MicroPython on the phone. What the second lacks, or does
silently differently, is not used. Each rule says why in its message."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.tree import ROOT

CORE = ROOT / "webapp" / "core"
MODULES = sorted(CORE.glob("*.py"))

IMPORTS = {"json", "math", "re"}
CALLS = {
    "sorted": "unstable and quadratic there: use ordering.by_key",
    "round": "rounds differently there: use decimals",
    "float": "prints differently there: use decimals",
    "format": "formats differently there",
    "eval": "the phone's page forbids it",
    "exec": "the phone's page forbids it",
    "open": "the core reads no files",
    "print": "the core says nothing by itself",
}
METHODS = {
    "sort": "unstable and quadratic there",
    "zfill": "missing there", "rjust": "missing there", "ljust": "missing there", "title": "missing there",
    "casefold": "missing there", "translate": "missing there", "removeprefix": "missing there",
    "removesuffix": "missing there", "isalnum": "missing there", "findall": "missing there",
    "finditer": "missing there", "fullmatch": "missing there", "span": "missing there",
    "__init__": "Exception.__init__ is missing there: super().__init__()",
    "format": "formats differently there", "format_map": "formats differently there",
}
SYNTAX: tuple[tuple[type[ast.AST], str], ...] = (
    (ast.Match, "match is a syntax error there"),
    (ast.AsyncFunctionDef, "the core waits for nothing"),
)
PATTERN_TRAPS = {
    r"\{\d": "a{n} silently never matches there", r"\\[bB]": "\\b silently never matches there",
    r"\(\?": "named groups, flags and lookaround are missing there", r"(?<!\\)\.": "'.' matches one byte there",
}


def problems(tree: ast.AST) -> Iterator[tuple[int, str]]:
    for node in ast.walk(tree):
        line = getattr(node, "lineno", 0)
        yield from ((line, why) for kind, why in SYNTAX if isinstance(node, kind))
        if isinstance(node, ast.Import):
            yield from ((line, f"import {a.name}") for a in node.names if a.name not in IMPORTS)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield line, f"from {node.module} import: only relative imports"
        elif isinstance(node, ast.Call):
            yield from call_problems(node, line)
        elif isinstance(node, ast.Dict) and None in node.keys:
            yield line, "{**a} is a syntax error there"
        elif isinstance(node, ast.arguments) and node.posonlyargs:
            yield line, "positional-only parameters are a syntax error there"
        elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mod) and is_text(node.left):
            yield line, "%-formatting differs there"
        elif isinstance(node, ast.FormattedValue) and node.format_spec is not None:
            yield line, "an f-string with a precision or width differs there"
        elif isinstance(node, ast.Constant) and isinstance(node.value, float):
            yield line, "a float literal: numbers are decimal strings or integers"
        elif isinstance(node, ast.Slice) and node.step is not None:
            yield line, "str slices with a step are missing there"
        elif isinstance(node, ast.Raise) and node.cause is not None:
            yield line, "raise ... from prints a warning there"


def call_problems(node: ast.Call, line: int) -> Iterator[tuple[int, str]]:
    if isinstance(node.func, ast.Name) and node.func.id in CALLS:
        yield line, f"{node.func.id}(): {CALLS[node.func.id]}"
    if not isinstance(node.func, ast.Attribute):
        return
    by_super = isinstance(node.func.value, ast.Call)
    if node.func.attr in METHODS and not (node.func.attr == "__init__" and by_super):
        yield line, f".{node.func.attr}(): {METHODS[node.func.attr]}"
    if isinstance(node.func.value, ast.Name) and node.func.value.id == "re":
        for given in node.args[:1]:
            if isinstance(given, ast.Constant) and isinstance(given.value, str):
                yield from ((line, why) for trap, why in PATTERN_TRAPS.items() if re.search(trap, given.value))
            else:
                yield line, "a pattern that is put together cannot be checked: write it as one literal"


def is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def test_there_is_a_core_to_look_at() -> None:
    assert {"engine.py", "journal.py", "limits.py"} <= {path.name for path in MODULES}


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.stem)
def test_core_keeps_to_the_dialect(module: Path) -> None:
    """A float literal may stand where the line says why, after "# float:"."""
    text = module.read_text(encoding="utf-8")
    allowed = {place for place, line in enumerate(text.splitlines(), start=1) if "# float:" in line}
    found = sorted(problems(ast.parse(text)))
    assert [(line, why) for line, why in found if line not in allowed or not why.startswith("a float literal")] == []


BAD = {
    "sorted([])": "sorted", "[].sort()": "sort", "'%.1f' % x": "%", "f'{x:.1f}'": "precision", "x = 2.5": "float",
    "import os": "import os", "from enum import Enum": "relative", "{**a}": "syntax", "'a'.zfill(2)": "zfill",
    "def f(a, /): pass": "positional", "re.match('a{2}', x)": "a{n}", "re.match('\\\\bx', x)": "never matches",
    "re.compile('a.b')": "byte", "re.compile(a + b)": "literal", "raise A from b": "warning", "'abc'[::2]": "step",
    "match x:\n case 1: pass": "match",
    "Exception.__init__(self)": "super",
}


@pytest.mark.parametrize("code", BAD)
def test_the_look_at_the_dialect_sees(code: str) -> None:
    assert any(BAD[code] in why for _, why in problems(ast.parse(code)))


def numbers_in(tree: ast.AST) -> set[int]:
    """The integers of the code but for those that cut a text or a list."""
    cuts = {id(inner) for node in ast.walk(tree) if isinstance(node, ast.Slice) for inner in ast.walk(node)}
    return {node.value for node in ast.walk(tree)
            if isinstance(node, ast.Constant) and type(node.value) is int and id(node) not in cuts}


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.stem)
def test_core_holds_no_clinical_number(module: Path) -> None:
    """Limits come from the tables. Integers in the code count, index and scale; decimal text is a number
    in disguise and belongs in a table."""
    tree = ast.parse(module.read_text(encoding="utf-8"))
    disguised = [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)
                 and isinstance(node.value, str) and re.fullmatch(r"\d+\.\d+", node.value)]
    assert [text for text in disguised if text not in UNITS] == []
    assert {number for number in numbers_in(tree) if number > 12 and number not in SCALES} == set()


# Bases and widths of the decimal arithmetic, minutes and months of the calendar.
SCALES = {16, 20, 24, 30, 31, 32, 40, 60, 64, 100, 200, 1000}
# Gram and pound in kilograms: definitions, not measurements.
UNITS = {"0.001", "0.45359237"}
