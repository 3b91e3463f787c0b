"""What the build leaves out of the rule code for phones is words only: the program is the same, line by line."""

import ast
import json
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.house.tree import ROOT

FILES = sorted((ROOT / "webapp" / "core").rglob("*.py"))
SCRIPT = """
import { readFileSync } from 'node:fs';
import { lean } from './sw/lean.mjs';
const files = JSON.parse(readFileSync(0, 'utf8'));
console.log(JSON.stringify(files.map((path) => lean(readFileSync(path, 'utf8')))));
"""


@pytest.fixture(scope="module")
def made() -> dict[Path, str]:
    node = shutil.which("node", path=str(ROOT / ".venv" / "bin")) or shutil.which("node")
    assert node, "node is set up by ./tests/run"
    command = [node, "--input-type=module", "-e", SCRIPT]
    paths = json.dumps([str(path) for path in FILES])
    done = subprocess.run(command, cwd=ROOT, input=paths, capture_output=True, text=True, check=True)
    return dict(zip(FILES, json.loads(done.stdout), strict=True))


class _Wordless(ast.NodeTransformer):
    """Docstrings become `pass`."""

    def visit_Expr(self, node: ast.Expr) -> ast.stmt:
        is_text = isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
        return ast.copy_location(ast.Pass(), node) if is_text else node


def lines_of(source: str) -> str:
    """Every node of the program and the line it begins on."""
    tree = _Wordless().visit(ast.parse(source))
    starts = [(type(node).__name__, node.lineno) for node in ast.walk(tree) if isinstance(node, ast.stmt)]
    return ast.dump(tree) + repr(starts)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_a_phone_runs_the_same_program(made: dict[Path, str], path: Path) -> None:
    assert lines_of(made[path]) == lines_of(path.read_text(encoding="utf-8"))


def test_docstrings_and_comment_lines_are_left_out(made: dict[Path, str]) -> None:
    assert not any('"""' in text for text in made.values())
    assert sum(map(len, made.values())) < 0.9 * sum(path.stat().st_size for path in FILES)
