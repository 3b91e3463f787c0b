"""Every British word in a text of this project is turned for an American practice: the code asks for it by say()."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.tree import ROOT
from webapp import rules

WORDS = set(rules.tables()["spelling"]["words"])
SAYING = ("say", "spelled")
COMMENT = r"/\*.*?\*/|(?<![:'\"`])//[^\n]*|^import [^\n]*$"
PYTHON = sorted(path for path in (ROOT / "webapp").rglob("*.py"))
PAGES = sorted([*(ROOT / "webapp").rglob("templates/**/*.html"), *(ROOT / "webapp").rglob("*.typ")])
SCRIPTS = sorted((ROOT / "static" / "app").glob("*.js"))
# Words that are turned where they are shown: the person's list of sexes, what files say, the
# report's cautions, the phone's cautions.
TURNED_WHERE_SHOWN = {
    "webapp/core/register.py": {"entire"},
    "webapp/exchange/meanings.py": {"entire"},
    "webapp/register/forms.py": {"entire"},
    "webapp/report/wording.py": {"judgement"},
    "static/app/view-settings.js": {"judgement"},
}


def british(text: str) -> set[str]:
    """British words of a text; ids with underscores or points between words are no text."""
    prose = re.sub(r"[a-z0-9]+(?:[_.][a-z0-9_.]+)+", " ", text)
    return {word for word in re.findall(r"[a-z]+", prose.lower()) if word in WORDS}


def spoken(tree: ast.AST) -> Iterator[str]:
    """String constants that a person may read: no docstrings, no arguments of say(), no keys and ids of one word."""
    passed = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node) is not None:
            passed.add(id(node.body[0].value))  # type: ignore[attr-defined]
        if isinstance(node, ast.Call) and getattr(node.func, "attr", getattr(node.func, "id", "")) in SAYING:
            passed |= {id(part) for part in ast.walk(node)}
        if isinstance(node, ast.Subscript):
            passed |= {id(part) for part in ast.walk(node.slice)}
    for node in ast.walk(tree):
        text = node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else None
        # A single small word is a key of the exam ("judgement"), unless it stands in the list of words shown.
        if text is not None and id(node) not in passed and (" " in text.strip() or text.strip() == "entire"):
            yield text


@pytest.mark.parametrize("path", PYTHON, ids=lambda path: str(path.relative_to(ROOT)))
def test_sentences_in_the_code_pass_through_say(path: Path) -> None:
    name = str(path.relative_to(ROOT))
    found: set[str] = set()
    for text in spoken(ast.parse((ROOT / name).read_text(encoding="utf-8"))):
        found |= british(text)
    assert found == TURNED_WHERE_SHOWN.get(name, set())


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_pages_hold_no_word_that_american_english_writes_otherwise(path: Path) -> None:
    text = re.sub(r"\{[{%#].*?[}%#]\}|<[^>]*>", " ", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    assert british(text) == set()


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_the_phones_words_pass_through_say(path: Path) -> None:
    name = str(path.relative_to(ROOT))
    source = (ROOT / name).read_text(encoding="utf-8")
    code = re.sub(COMMENT, " ", source, flags=re.DOTALL | re.MULTILINE)
    quoted = re.findall(r"'[^'\n]* [^'\n]*'", code) + re.findall(r">([^<>`${}]*)<", code)
    assert british(" ".join(quoted)) == TURNED_WHERE_SHOWN.get(name, set())
