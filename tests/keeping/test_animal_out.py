"""One animal's records as a zip: whole, readable elsewhere, and taken in again by another practice."""

import hashlib
import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from flask.testing import FlaskClient, FlaskCliRunner
from pypdf import PdfReader
from sqlite_utils import Database

from tests.builders import EXAM, PATIENT, Phone, whole_exam
from tests.conftest import BEARER
from tests.review.desk import Vet
from webapp.keeping import importing
from webapp.review import preliminary
from webapp.store import erasures, exams, journal
from webapp.store.db import open_database

PHOTO = b"\xff\xd8\xff\xe0" + bytes(500)
OTHER = PATIENT[:-1] + "b"


def give_out(runner: FlaskCliRunner, target: Path, patient: str = PATIENT) -> zipfile.ZipFile:
    said = runner.invoke(args=["export-animal", patient, str(target)])
    assert said.exit_code == 0, said.output
    return zipfile.ZipFile(io.BytesIO(target.read_bytes()))


@pytest.fixture
def records(db: Database, client: FlaskClient) -> Database:
    """A record, an exam with a photo, a signed report, and another animal's exam."""
    record = Phone("b2" * 16, exam=None)
    record.act("set", {"about": "patient.name", "value": "Pepper"})
    phone = whole_exam()
    name = hashlib.sha256(PHOTO).hexdigest()
    phone.act("attached", {"about": "liver", "hash": name, "type": "image/jpeg"})
    phone.act("attached", {"about": "liver", "hash": "ab" * 32, "type": "image/jpeg"})
    other = whole_exam(Phone("c3" * 16, exam=EXAM[:-1] + "2", patient=OTHER))
    for one in (record, phone, other):
        journal.append(db, one.written, "phone")
    assert client.put(f"/api/photo/{name}", data=PHOTO, headers=BEARER).status_code == 201
    return db


def test_everything_of_the_animal_and_nothing_of_another(
    runner: FlaskCliRunner, records: Database, tmp_path: Path
) -> None:
    packed = give_out(runner, tmp_path / "pepper.zip")
    told = json.loads(packed.read("journal.json"))
    assert {json.loads(one["header"])["patient"] for one in told["entries"]} == {PATIENT}
    assert len(told["entries"]) == 1 + len(whole_exam().written) + 2
    (photo,) = [name for name in packed.namelist() if name.startswith("photos/")]
    assert packed.read(photo) == PHOTO and photo.endswith(".jpg")
    words = packed.read("READ ME.txt").decode()
    assert "Pepper" in words and "1 photos" in words and "not here: abababababab" in words


def test_another_practice_takes_the_journal_in(runner: FlaskCliRunner, records: Database, tmp_path: Path) -> None:
    packed = give_out(runner, tmp_path / "pepper.zip")
    there = open_database(tmp_path / "there.sqlite3")
    importing.take(there, packed.read("journal.json"))
    assert exams.fold(there, EXAM).judgement == exams.fold(records, EXAM).judgement
    there.close()


def test_reports_are_inside_as_issued(
    runner: FlaskCliRunner, records: Database, sign_in: Callable[..., FlaskClient], tmp_path: Path
) -> None:
    Vet(sign_in(), EXAM).sign()
    packed = give_out(runner, tmp_path / "pepper.zip")
    kept = next(records.query("select pdf, html, plain from reports"))
    inside = {name.rsplit(".", 1)[1]: packed.read(name) for name in packed.namelist() if name.startswith("reports/")}
    assert inside == {"pdf": kept["pdf"], "html": kept["html"].encode(), "txt": kept["plain"].encode()}
    assert len(PdfReader(io.BytesIO(inside["pdf"])).pages) >= 1


def test_a_preliminary_report_is_inside_as_it_was_made(
    runner: FlaskCliRunner, records: Database, tmp_path: Path
) -> None:
    preliminary.issue(records, EXAM, {"id": "RD", "name": "R. Dale"})
    packed = give_out(runner, tmp_path / "pepper.zip")
    (pdf,) = [name for name in packed.namelist() if name.endswith("preliminary-1.pdf")]
    assert packed.read(pdf) == next(records.query("select pdf from preliminary_reports"))["pdf"]


def test_an_erased_entry_is_not_given_out(runner: FlaskCliRunner, records: Database, tmp_path: Path) -> None:
    note = next(records.query("select id from entries where kind = 'noted' and patient = ?", [PATIENT]))["id"]
    erasures.erase(records, [note], "RD", "The owner asked for it.", "2026-11-25T09:00:00+00:00")
    packed = give_out(runner, tmp_path / "pepper.zip")
    assert "Capsule smooth" not in packed.read("journal.json").decode()


def test_a_file_that_is_there_is_not_written_over(runner: FlaskCliRunner, records: Database, tmp_path: Path) -> None:
    target = tmp_path / "pepper.zip"
    target.write_text("mine")
    said = runner.invoke(args=["export-animal", PATIENT, str(target)])
    assert said.exit_code != 0 and "exists" in said.output and target.read_text() == "mine"


def test_an_animal_that_is_not_here_is_named(runner: FlaskCliRunner, db: Database, tmp_path: Path) -> None:
    said = runner.invoke(args=["export-animal", "nobody", str(tmp_path / "x.zip")])
    assert said.exit_code != 0 and "There is no animal nobody here." in said.output
    assert not (tmp_path / "x.zip").exists()
