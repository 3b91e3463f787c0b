"""The documents say what there is."""

import os
import re
import tempfile

from tests.house.tree import ROOT
from webapp import create_app
from webapp.store.entries import HEADER_KEYS, KINDS

README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def commands() -> set[str]:
    """Our own commands of `flask --app webapp`."""
    with tempfile.TemporaryDirectory() as folder:
        before = os.environ.get("GELSIDE_INSTANCE")
        os.environ["GELSIDE_INSTANCE"] = folder
        try:
            return set(create_app().cli.commands)
        finally:
            if before is None:
                del os.environ["GELSIDE_INSTANCE"]
            else:
                os.environ["GELSIDE_INSTANCE"] = before


def test_every_command_is_in_the_readme_and_none_besides() -> None:
    assert set(re.findall(r"^\| `([a-z-]+)", README, re.MULTILINE)) == commands()


def test_readme_opens_with_the_job_the_cautions_and_the_two_commands() -> None:
    job, cautions, code = README.split("\n\n")[1:4]
    assert "published limit" in job
    assert len(re.findall(r"[.!?](?:\s|$)", cautions)) == 2
    assert code.splitlines()[1].startswith("./demo/start") and code.splitlines()[2].startswith("./tests/run")


def test_every_kind_and_header_field_is_documented() -> None:
    for word in KINDS | HEADER_KEYS - {"body_hash"}:
        assert f"`{word}`" in DEVELOPERS, word


def test_documents_name_only_paths_that_exist() -> None:
    for text in (README, DEVELOPERS):
        for path in re.findall(r"`((?:webapp|tests|demo|sw|e2e|static)/[\w./-]+)`", text):
            made = path.startswith("static/build")
            assert made or (ROOT / path).exists(), path


# What the project set out to meet, or to say why not.
ASVS = """
1.2.1 1.2.4 2.2.1 2.2.2 2.3.3 2.4.1 3.2.2 3.3.1 3.3.4 3.4.1 3.4.3 3.4.4 3.4.5 3.4.6 3.4.8 3.5.1
3.5.3 5.2.1 5.2.2 5.2.6 5.3.2 5.4.1 6.1.1 6.2.1 6.2.11 6.3.1 6.5.1 6.5.2 6.5.5 6.5.6 6.6.3 7.2.3
7.4.1 7.4.2 7.4.5 7.5.2 8.2.1 8.2.2 8.3.1 8.3.2 13.3.1 13.4.1 13.4.3 14.2.1 14.2.8 14.3.1 14.3.2
14.3.3 16.2.1 16.3.1 16.4.2 16.5.1 16.5.4
"""


def items_told() -> set[tuple[int, ...]]:
    """Every item of the table of the security standard, "3.3.1 to 3.3.4" written out."""
    told: set[tuple[int, ...]] = set()
    for first in re.findall(r"^\| (\d+\.\d+\.\d+[^|]*)\|", DEVELOPERS, re.MULTILINE):
        for start, end in re.findall(r"(\d+\.\d+\.\d+)(?: to (\d+\.\d+\.\d+))?", first):
            chapter, section, number = map(int, start.split("."))
            last = int(end.split(".")[2]) if end else number
            told |= {(chapter, section, one) for one in range(number, last + 1)}
    return told


def test_every_item_of_the_security_standard_is_answered_once_with_its_test() -> None:
    """OWASP ASVS 5.0. Met items name a test that exists (the paths are looked at above)."""
    wanted = {tuple(map(int, item.split("."))) for item in ASVS.split()}
    assert sorted(wanted - items_told()) == []
    for line in re.findall(r"^\| \d+\.\d+\.\d+.*$", DEVELOPERS, re.MULTILINE):
        item, met, _where, test = (cell.strip() for cell in line.strip("|").split("|"))
        assert met.split(":")[0].split(";")[0].split(",")[0], item
        assert "`tests/" in test or not met.startswith("yes"), item
