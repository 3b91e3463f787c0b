"""What waits between two steps of taking a file in: one name each, of one kind, for a day, and gone when it is done."""

import os
from pathlib import Path

import pytest
from flask import Flask

from webapp.exchange import jobs, waiting
from webapp.exchange.ready import Choices

KINDS = ("imports", "dicom")


@pytest.mark.parametrize("kind", KINDS)
def test_what_waits_is_found_by_its_name_and_kind_alone(app: Flask, kind: str) -> None:
    one = waiting.begin(app, kind)
    assert waiting.find(app, kind, one.name) is None, "of an empty place nothing is known yet"
    one.keep("picture.png", b"\x89PNG")
    one.tell(exam="e1")
    one.tell(hash="ab")
    found = waiting.find(app, kind, one.name)
    assert found is not None and found.kept("picture.png") == b"\x89PNG"
    assert (found.told["exam"], found.told["hash"]) == ("e1", "ab")
    other = KINDS[1 - KINDS.index(kind)]
    for wrong in (one.name[:-1], one.name.upper() + "0", "", "..", f"../{kind}/{one.name}", "0" * 32):
        assert waiting.find(app, kind, wrong) is None
    assert waiting.find(app, other, one.name) is None
    found.done()
    assert waiting.find(app, kind, one.name) is None and not one.folder.exists()


@pytest.mark.parametrize("kind", KINDS)
def test_what_nobody_took_in_goes_after_a_day(app: Flask, kind: str) -> None:
    old, young = waiting.begin(app, kind), waiting.begin(app, kind)
    for one, age in ((old, waiting.KEPT_S + 60), (young, waiting.KEPT_S - 60)):
        one.tell(exam="e1")
        at = one.folder.stat().st_mtime - age
        os.utime(one.folder, (at, at))
    waiting.begin(app, kind)
    assert waiting.find(app, kind, old.name) is None and waiting.find(app, kind, young.name) is not None


def test_a_job_is_kept_in_the_same_way(app: Flask) -> None:
    job = jobs.begin(app, b"name\n", "list.csv", Choices("animals"))
    found = waiting.find(app, jobs.KIND, job.name)
    assert found is not None and found.told["filename"] == "list.csv" and found.kept(jobs.FILE) == b"name\n"
    assert job.folder.stat().st_mode & 0o077 == 0, "nobody else on the machine looks at it"
    assert not list(Path(app.instance_path).rglob("told-*")), "nothing half-written stays"
