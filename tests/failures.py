"""The catalogue of failures and the tests that show what happens: read from the tests' own marks.

    .venv/bin/python -m tests.failures            # the table
    .venv/bin/python -m tests.failures --write    # put it into DEVELOPERS.md

A pytest test carries `@pytest.mark.catalogue(n)`; a test of node's begins its title with `catalogue n:`.
"""

import ast
import json
import re
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
NAMES: dict[int, str] = {
    int(number): words
    for number, words in json.loads((ROOT / "tests/failures.json").read_text(encoding="utf-8")).items()
}
_TITLE = re.compile(r"""\btest\(\s*(['"`])catalogue ([\d, ]+): (.+?)\1""")


def tests() -> dict[int, list[str]]:
    """{failure: the tests that carry its number, as file::name}, in the order of the files."""
    found: dict[int, list[str]] = {}
    for folder in ("tests", "e2e"):
        for path in sorted((ROOT / folder).rglob("*")):
            where = path.relative_to(ROOT).as_posix()
            marks = _of_python(path) if path.name.startswith("test_") and path.suffix == ".py" else ()
            titles = _of_node(path) if path.name.endswith(".test.mjs") else ()
            for number, name in (*marks, *titles):
                found.setdefault(number, []).append(f"{where}::{name}")
    return found


def _of_python(path: Path) -> Iterator[tuple[int, str]]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            for mark in node.decorator_list:
                yield from ((number, node.name) for number in _numbers(mark))
        elif isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            for call in ast.walk(node.value):
                yield from ((number, node.targets[0].id) for number in _numbers(call))


def _numbers(mark: ast.AST) -> list[int]:
    if isinstance(mark, ast.Call) and isinstance(mark.func, ast.Attribute) and mark.func.attr == "catalogue":
        return [arg.value for arg in mark.args if isinstance(arg, ast.Constant) and isinstance(arg.value, int)]
    return []


def _of_node(path: Path) -> Iterator[tuple[int, str]]:
    for title in _TITLE.finditer(path.read_text(encoding="utf-8")):
        for number in title[2].split(","):
            yield int(number), title[3]


def table() -> str:
    """One line per failure: number, what happens and what holds then, where it is shown."""
    known = tests()
    lines = ["| | failure: law | tests |", "| --- | --- | --- |"]
    for number, words in NAMES.items():
        shown = known.get(number, [])
        files = sorted({one.split("::")[0] for one in shown})
        where = f"{len(shown)}: {', '.join(files)}" if shown else "none yet"
        lines.append(f"| {number} | {words} | {where} |")
    return "\n".join(lines)


GUIDE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- failures: made by tests.failures -->", "<!-- end of failures -->"


def in_guide(text: str) -> str:
    """The guide's text with the table as it is now between the two marks."""
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n\n{table()}\n\n{END}{after}"


if __name__ == "__main__":
    if "--write" in sys.argv:
        GUIDE.write_text(in_guide(GUIDE.read_text(encoding="utf-8")), encoding="utf-8")
    else:
        print(table())
