"""The practice's commands."""

import json
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskCliRunner
from sqlite_utils import Database

from tests.builders import whole_exam
from webapp.store import desk, journal, meta, people, phones
from webapp.store.entries import Act

CASE = {
    "patient": {"species": "dog", "weight_kg": 7.2, "age_months": 110},
    "readings": [{"quantity": "adrenal.left.maximum_thickness", "values": [6.3, "6.3"], "unit": "mm"}],
}


@pytest.fixture
def runner(app: Flask) -> FlaskCliRunner:
    return app.test_cli_runner()


def test_assess_prints_the_judgement_of_a_case(runner: FlaskCliRunner, tmp_path: Path) -> None:
    file = tmp_path / "case.json"
    file.write_text(json.dumps(CASE), encoding="utf-8")
    answer = runner.invoke(args=["assess", str(file)])
    assert answer.exit_code == 0, answer.output
    judgement = json.loads(answer.stdout)
    assert [(flag["about"], flag["kind"], flag["value"]) for flag in judgement["flags"]] == [
        ("adrenal.left.maximum_thickness", "above_limit", "6.3")
    ]
    assert judgement["limits_version"]


def test_assess_reads_standard_input_and_takes_numbers_as_numbers_or_text(runner: FlaskCliRunner) -> None:
    as_text = json.dumps(CASE).replace("7.2", '"7.2"').replace("[6.3,", '["6.3",')
    answers = [runner.invoke(args=["assess", "-"], input=text).stdout for text in (json.dumps(CASE), as_text)]
    assert answers[0] == answers[1]
    assert json.loads(answers[0])["flags"]


def test_assess_goes_by_the_published_tables_unless_asked_for_the_practices_own(
    runner: FlaskCliRunner, db: Database
) -> None:
    overlay = {"change": 1, "sources_off": ["s001"], "rows_off": [], "thresholds": {}, "rows": []}
    desk.record(db, [Act("set", {"about": "practice.limits", "value": overlay}, "RD", desk.now())])
    versions = []
    for asked in (["assess", "-"], ["assess", "--practice", "-"]):
        judged = json.loads(runner.invoke(args=asked, input=json.dumps(CASE)).stdout)
        versions.append((judged["limits_version"], bool([flag for flag in judged["flags"] if flag["limit"]])))
    assert versions == [("limits-2026.11.1", True), ("limits-2026.11.1+p1", False)]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        "3",
        '{"patient": {}}',
        '{"patient": {"species": "hamster"}}',
        '{"patient": 7}',
        '{"patient": {"species": "dog"}, "readings": [{"quantity": "nose.length", "values": ["3"], "unit": "mm"}]}',
        '{"patient": {"species": "dog"}, "readings": [{"quantity": "aorta.diameter", "values": [NaN], "unit": "mm"}]}',
        '{"patient": {"species": "dog"}, "readings": 5}',
        "[" * 100_000,
    ],
)
def test_assess_answers_bad_input_with_one_line_and_exit_2(runner: FlaskCliRunner, text: str) -> None:
    answer = runner.invoke(args=["assess", "-"], input=text)
    assert answer.exit_code == 2
    assert answer.stdout == ""
    assert len(answer.stderr.strip().splitlines()) == 1
    assert "Traceback" not in answer.stderr


def test_assess_names_a_file_that_is_not_there(runner: FlaskCliRunner, tmp_path: Path) -> None:
    answer = runner.invoke(args=["assess", str(tmp_path / "none.json")])
    assert answer.exit_code == 2
    assert "none.json" in answer.stderr


def test_phrase_prints_proposals(runner: FlaskCliRunner) -> None:
    answer = runner.invoke(args=["phrase", "--species", "dog", "left kidney six centimetres, très bien"])
    assert answer.exit_code == 0, answer.output
    told = json.loads(answer.stdout)
    assert [(one["do"], one["quantity"], one["values"], one["ask"]) for one in told["proposals"]] == [
        ("read", "kidney.left.length", ["60"], None)
    ]
    assert told["left_over"] == "très bien"


@pytest.mark.parametrize("args", [["--species", "hamster", "x"], ["--species", "dog", "x" * 5000],
                                  ["--species", "dog", "--unit", "inch", "x"]])
def test_phrase_answers_bad_input_with_one_line_and_exit_2(runner: FlaskCliRunner, args: list[str]) -> None:
    answer = runner.invoke(args=["phrase", *args])
    assert answer.exit_code == 2 and answer.stdout == ""
    assert len(answer.stderr.strip().splitlines()) == 1 and "Traceback" not in answer.stderr


def test_verify_is_quiet_about_an_honest_journal_and_loud_about_an_edited_one(
    runner: FlaskCliRunner, db: Database
) -> None:
    journal.append(db, whole_exam().written, "phone")
    assert runner.invoke(args=["verify"]).exit_code == 0
    db.execute("drop trigger entries_are_never_changed")
    db.execute("update entries set body = '{}' where arrival = 3")
    answer = runner.invoke(args=["verify"])
    assert answer.exit_code == 1
    assert "CHANGED  entry 3 (" in answer.output


def test_rebuild_check_tells_a_list_that_is_not_the_journals(runner: FlaskCliRunner, db: Database) -> None:
    journal.append(db, whole_exam().written, "phone")
    assert runner.invoke(args=["rebuild", "--check"]).exit_code == 0
    db.execute("delete from exams")
    assert runner.invoke(args=["rebuild", "--check"]).exit_code == 1
    assert runner.invoke(args=["rebuild"]).exit_code == 0
    assert runner.invoke(args=["rebuild", "--check"]).exit_code == 0


LONG = "four words kept apart"


def test_a_person_is_added_with_a_password(runner: FlaskCliRunner, db: Database) -> None:
    answer = runner.invoke(args=["add-person", "KM", "K. Marsh", "reviewer,reader"], input=f"{LONG}\n{LONG}\n")
    assert answer.exit_code == 0, answer.output
    assert people.with_password(db, "KM", LONG) == {"id": "KM", "name": "K. Marsh", "role": "reviewer, reader"}
    assert runner.invoke(args=["add-person", "KM", "K", "vet"], input="short\nshort\n").exit_code == 1


def test_people_are_listed_given_new_passwords_and_stopped_at_the_server(runner: FlaskCliRunner, db: Database) -> None:
    people.add(db, "KM", "K. Marsh", "reader", LONG)
    assert "KM\tK. Marsh\treader\tcan sign in" in runner.invoke(args=["people"]).output
    other = "quiet lamp over seven hills"
    assert runner.invoke(args=["set-password", "KM"], input=f"{other}\n{other}\n").exit_code == 0
    assert people.with_password(db, "KM", LONG) is None
    assert people.with_password(db, "KM", other) is not None
    assert runner.invoke(args=["stop-person", "KM"]).exit_code == 0
    assert people.with_password(db, "KM", other) is None
    last = runner.invoke(args=["stop-person", "RD"])
    assert (last.exit_code, "Nobody else looks after people" in last.output) == (1, True)
    assert "no person XX" in runner.invoke(args=["set-password", "XX"], input=f"{other}\n{other}\n").output


def test_a_phone_is_added_and_its_link_shown_once(runner: FlaskCliRunner, db: Database) -> None:
    answer = runner.invoke(args=["add-phone", "Blue phone"])
    address, _, token = answer.output.strip().partition("/#phone=")
    assert address == "http://127.0.0.1:8000"
    phone = phones.by_token(db, token)
    assert phone is not None
    assert phone["name"] == "Blue phone"
    assert token not in str(list(db.query("select * from phones")))


def test_a_practice_is_named_once_in_so_many_characters(runner: FlaskCliRunner, db: Database) -> None:
    assert runner.invoke(args=["name-practice", "  Vets at  the Harbour "]).exit_code == 0
    assert meta.get(db, "practice") == "Vets at the Harbour"
    for name in (" ", "x" * 81, "a\x00b"):
        assert runner.invoke(args=["name-practice", name]).exit_code == 1
    assert meta.get(db, "practice") == "Vets at the Harbour"


def test_every_command_of_ours_gives_an_example_of_itself(app: Flask, runner: FlaskCliRunner) -> None:
    ours = [name for name, command in app.cli.commands.items() if command.callback.__module__.startswith("webapp")]
    assert len(ours) > 20
    for name in ours:
        words = " ".join(runner.invoke(args=[name, "--help"]).output.split())
        assert f"Example: flask --app webapp {name}" in words, name


def test_phones_are_listed_and_one_is_revoked(runner: FlaskCliRunner, db: Database) -> None:
    (phone,) = phones.everyone(db)
    listed = runner.invoke(args=["phones"]).output
    assert phone["id"] in listed and "Test phone, V. Stone: may send and read; last contact never" in listed
    said = runner.invoke(args=["revoke-phone", phone["id"]])
    assert said.exit_code == 0 and "Test phone is revoked." in said.output
    assert "revoked" in runner.invoke(args=["phones"]).output
    assert "There is no phone nothing here" in runner.invoke(args=["revoke-phone", "nothing"]).output
