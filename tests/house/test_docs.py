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
