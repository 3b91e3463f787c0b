"""What lies where, how long it is, and what no file may name."""

import os
import re
import stat
import tomllib

import pytest

from tests.house.tree import ROOT, files, name, texts

TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", ".gitignore", ".ci", "requirements.lock",
       "requirements-dev.lock", "webapp", "static", "sw", "tests", "e2e", "demo"}
LONGEST = 400
# Data and what tools write: long by nature, one row a line.
LONG_BY_NATURE = {".json", ".lock"}
# What a script writes into a guide stands between two such marks; a person reads it as a table, not line by line.
MADE_BY_A_SCRIPT = re.compile(r"^<!-- ([a-z]+): made by [\w.]+ -->$.*?^<!-- end of \1 -->$", re.MULTILINE | re.DOTALL)
# Words are put together here, so that this file does not name what it forbids.
WORKPLACE = ["/" + "work" + "/", "/tmp/" + "gs", "farm" + "-studio", "shared/" + "clinical", "shared/" + "check"]
REGISTRY = ["registry." + "npmjs", "pypi." + "org", "files.python" + "hosted", "deb.debian" + ".org",
            "nodejs.org/" + "dist", "cdn." + "playwright"]
UNFINISHED = ["TO" + "DO", "FIX" + "ME", "XX" + "X", "NotImplemented" + "Error"]


def test_top_level_is_as_agreed() -> None:
    assert {path.relative_to(ROOT).parts[0] for path in files()} <= TOP


def test_no_file_is_longer_than_a_person_reads() -> None:
    long = {where: lines for where, text in texts()
            if not where.endswith(tuple(LONG_BY_NATURE)) and (lines := written_by_hand(where, text)) > LONGEST}
    assert not long


def written_by_hand(where: str, text: str) -> int:
    """Lines of a file, without those that a script wrote into a guide."""
    return (MADE_BY_A_SCRIPT.sub("", text) if where.endswith(".md") else text).count("\n")


def test_only_what_stands_between_a_scripts_marks_is_not_counted() -> None:
    made = "one\n<!-- table: made by tests.table -->\n\n| a |\n\n<!-- end of table -->\ntwo\n"
    assert written_by_hand("GUIDE.md", made) == 3
    assert written_by_hand("guide.py", made) == 7
    assert written_by_hand("GUIDE.md", made.replace("end of table", "end of nothing")) == 7


@pytest.mark.parametrize("words", [WORKPLACE, REGISTRY], ids=["workplace", "registry"])
def test_no_file_names_a_machine_or_a_registry(words: list[str]) -> None:
    assert [(where, word) for where, text in texts() for word in words if word in text] == []


@pytest.mark.parametrize("word", UNFINISHED)
def test_nothing_is_left_for_later_in_the_code(word: str) -> None:
    pattern = re.compile(rf"\b{word}\b")
    assert [where for where, text in texts() if pattern.search(text)] == []


def test_the_commands_of_the_readme_can_be_run() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for command in ("./demo/start", "./tests/run"):
        assert command in readme
    for command in ("demo/start", "tests/run", ".ci/run"):
        assert os.stat(ROOT / command).st_mode & stat.S_IXUSR, command


def test_every_package_is_pinned_once_and_without_a_host() -> None:
    pinned: dict[str, str] = {}
    for lock in ("requirements.lock", "requirements-dev.lock"):
        for line in (ROOT / lock).read_text().splitlines():
            if line and not line.startswith(("#", "-r ")):
                assert re.fullmatch(r"[A-Za-z0-9_.-]+==[A-Za-z0-9_.]+", line), line
                package, version = line.lower().split("==")
                assert package not in pinned
                pinned[package] = version
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert {package.lower() for package in project["dependencies"]} <= pinned.keys()


def test_what_is_made_is_not_kept() -> None:
    ignored = (ROOT / ".gitignore").read_text().split()
    for made in (".venv/", "instance/", "static/build/", "sw/node_modules/", "__pycache__/"):
        assert made in ignored
    assert not [name(path) for path in files() if "node_modules" in path.parts or path.parent.name == "build"]
