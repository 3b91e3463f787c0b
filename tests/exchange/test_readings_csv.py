"""Readings as CSV, read back by Python's csv module: a row for each, none left out, none run by a spreadsheet."""

import csv
import io
import json
from collections.abc import Callable

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.animals.desk import animal
from tests.builders import DAY, EXAM, PATIENT, Phone, whole_exam
from tests.exchange.signed import added, readings, signed
from webapp.exchange import readings_csv
from webapp.keeping import importing
from webapp.store import exams, journal, reports
from webapp.store.db import open_database

Enter = Callable[..., FlaskClient]
Rows = list[dict[str, str]]
OTHER = "01999999-0000-7000-8000-000000000002"


def taken(browser: FlaskClient, query: str = "") -> Rows:
    answer = browser.get(f"/exchange/readings.csv{query}")
    assert answer.status_code == 200 and answer.mimetype == "text/csv"
    assert answer.data.startswith(b"\xef\xbb\xbfdate,animal,")
    rows = list(csv.DictReader(io.StringIO(answer.text.removeprefix("\ufeff"), newline="")))
    assert all(None not in row and None not in row.values() for row in rows), "every row has every column"
    return rows


def of_kind(rows: Rows, kind: str) -> Rows:
    return [row for row in rows if row["row"] == kind]


def test_every_reading_is_a_row_with_its_digits_and_a_struck_one_is_marked(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed(db, browser)
    given = of_kind(taken(browser), "reading")
    kept = readings(db)
    assert [(row["reading_id"], row["quantity"], row["value"], row["unit"], row["typed"]) for row in given] == [
        (row["id"], row["about"], row["value"], row["unit"], row["typed"]) for row in kept]
    assert [(row["value"], row["struck_because"]) for row in given if row["struck"] == "yes"] == [
        ("64", "point forgotten")]
    kidney = next(row for row in given if row["quantity"] == "kidney.left.length")
    assert (kidney["typed"], kidney["typed_unit"], kidney["value"]) == ("5.210", "cm", "52.10")
    assert kidney["report"] == "version 1, final" and kidney["animal"] == "Pepper" and kidney["date"] == DAY


def test_limits_and_flags_stand_as_the_issued_report_told_them(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed(db, browser)
    frozen = json.loads((reports.version(db, EXAM, 1) or {})["judgement_json"])
    flag = next(one for one in frozen["flags"] if one["kind"] == "above_limit")
    (row,) = [one for one in of_kind(taken(browser), "calculated") if one["quantity"] == flag["about"]]
    assert (row["mean"], row["at_least"], row["limit_upper"], row["limit_for"]) == (
        flag["value"], "yes", flag["limit"]["upper"], flag["limit"]["class_words"])
    assert flag["text"] in row["said"] and flag["source"] in row["limit_source"]
    (pole,) = [one for one in of_kind(taken(browser), "not seen") if one["structure"].startswith("RIGHT")]
    assert pole["said"] == "not seen (gas)" and pole["value"] == ""


def test_what_came_after_signing_is_a_row_that_says_so(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    vet = signed(db, browser)
    late = Phone("b2" * 16)
    late.read("spleen.thickness", "14.0")
    late.act("struck", {"about": "kidney.left.length", "why": "wrong dog"}, of=[readings(db)[3]["id"]])
    journal.append(db, late.written, "phone")
    told = {row["quantity"]: row["report"] for row in of_kind(taken(browser), "reading")}
    after = "version 1, final; not in it: arrived after signing"
    assert told["spleen.thickness"] == after and told["kidney.left.length"] == after, "what was struck later, too"
    assert told["portal_vein.velocity"] == "version 1, final"
    added(vet, "corrected", "spleen measured too", "Spleen 14.0 mm.")
    assert {row["report"] for row in of_kind(taken(browser), "reading")} == {"version 2, corrected"}


def test_one_exam_one_day_one_animal_or_all(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    journal.append(db, whole_exam().written, "phone")
    journal.append(db, whole_exam(Phone("c3" * 16, exam=OTHER, patient=OTHER)).written, "phone")
    assert {row["exam_id"] for row in taken(browser)} == {EXAM, OTHER}
    assert {row["report"] for row in taken(browser)} == {"not signed"}
    for query in (f"?exam={EXAM}", f"?animal={PATIENT}"):
        assert {row["exam_id"] for row in taken(browser, query)} == {EXAM}
    assert {row["exam_id"] for row in taken(browser, f"?day={DAY}")} == {EXAM, OTHER}
    assert taken(browser, "?day=2020-01-01") == [] and taken(browser, "?exam=none")[0]["row"] == "could not be read"


def test_no_cell_begins_a_formula(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    phone = Phone()
    phone.opened(name='=HYPERLINK("x")', breed="@SUM(1)")
    struck = phone.read("spleen.thickness", "14.0", lesion=None, image="+1")
    phone.act("struck", {"about": "spleen.thickness", "why": "-1+1"}, of=[struck])
    journal.append(db, phone.written, "phone")
    (row,) = of_kind(taken(browser), "reading")
    assert (row["animal"], row["breed"], row["image"], row["struck_because"]) == (
        '\'=HYPERLINK("x")', "'@SUM(1)", "'+1", "'-1+1")


def test_an_exam_that_the_rules_cannot_read_is_told_and_the_rest_goes_on(
    db: Database, sign_in: Enter, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal.append(db, whole_exam().written, "phone")
    browser = sign_in()
    browser.get("/review")
    journal.append(db, whole_exam(Phone("c3" * 16, exam=OTHER, patient=OTHER)).written, "phone")
    browser.get("/review")
    fold = exams.fold

    def broken(db_: Database, name: str) -> exams.Folded:
        if name == EXAM:
            raise exams.rules.RulesError("the rules failed on this")
        return fold(db_, name)

    monkeypatch.setattr(readings_csv.exams, "fold", broken)
    rows = taken(browser)
    assert [(row["exam_id"], row["said"]) for row in of_kind(rows, "could not be read")] == [
        (EXAM, "the rules failed on this")]
    assert len(of_kind(rows, "reading")) == 4


def test_pages_lead_to_their_readings(app: Flask, db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    page = signed(db, browser).look().page
    assert f'href="/exchange/readings.csv?exam={EXAM}"' in page
    day = browser.get(f"/visits?day={DAY}").text
    assert f'href="/exchange/readings.csv?day={DAY}"' in day and f'href="/exchange/visits.csv?day={DAY}"' in day
    assert 'href="/exchange/readings.csv"' in browser.get("/exchange").text


def test_an_animals_journal_is_given_and_another_practice_takes_it_in(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    patient = animal(browser, "Otto")
    journal.append(db, whole_exam(Phone(patient=patient)).written, "phone")
    address = f"/exchange/patient/{patient}/journal.json"
    assert f'href="{address}"' in browser.get(f"/animals/{patient}").text
    other = open_database(":memory:")
    importing.take(other, browser.get(address).data)
    assert exams.fold(other, EXAM).exam["readings"] == exams.fold(db, EXAM).exam["readings"]
    other.close()
    assert browser.get("/exchange/patient/nobody/journal.json").status_code == 404


def test_the_command_writes_the_same_file_and_never_over_another(
    app: Flask, db: Database, sign_in: Enter, tmp_path: object
) -> None:
    browser = sign_in()
    signed(db, browser)
    path = f"{tmp_path}/out.csv"
    runner = app.test_cli_runner()
    answer = runner.invoke(args=["export-readings", path, "--day", DAY])
    assert answer.exit_code == 0, answer.output
    with open(path, encoding="utf-8", newline="") as file:
        assert file.read() == browser.get(f"/exchange/readings.csv?day={DAY}").text
    again = runner.invoke(args=["export-readings", path])
    assert again.exit_code == 1 and "exists" in again.output
    none = runner.invoke(args=["export-readings", f"{tmp_path}/none.csv", "--animal", "nobody"])
    assert none.exit_code == 1 and "no exam" in none.output
