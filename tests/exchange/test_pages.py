"""The importer's pages: a file sent, looked at, settled, previewed, taken in; lists given out."""

import io
import time
from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.animals.desk import Page, animal, fields
from tests.builders import whole_exam
from webapp.animals import find
from webapp.exchange import jobs
from webapp.store import journal

Enter = Callable[..., FlaskClient]
TWO = "number;name;species;born\n17;Max;dog;3/4/2019\n18;Käthe;cat;5/6/2020\n"


def send(browser: FlaskClient, text: str) -> str:
    page = Page(browser, "/exchange/import")
    data: dict[str, Any] = page.form | {"kind": "animals", "label": "Oldbook"}
    data["file"] = (io.BytesIO(text.encode("cp1252")), "book.csv")
    answer = browser.post("/exchange/import", data=data)
    assert answer.status_code == 302, answer.text
    return str(answer.headers["Location"])


def choose(browser: FlaskClient, address: str, **typed: str) -> str:
    form = browser.get(address).text.split('id="choices"', 1)[1].split("</form>", 1)[0]
    assert browser.post(address, data=fields(form) | typed).status_code == 302
    return browser.get(address).text


def wait(browser: FlaskClient, address: str) -> str:
    until = time.monotonic() + 60
    while time.monotonic() < until:
        if browser.get(f"{address}/progress").get_json()["state"] != "running":
            return browser.get(address).text
        time.sleep(0.05)
    raise AssertionError("the import never ended")


def test_a_file_is_looked_at_settled_previewed_and_taken_in(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    address = send(browser, TWO)
    page = browser.get(address).text
    assert "can be read both ways" in page and "Käthe" in page and "Take in" not in page
    assert '<option value="cp1252" selected>' in page and '<option value=";" selected>' in page
    page = choose(browser, address, order="dmy")
    assert "2 new, 0 changed, 0 as they are" in page and find.everything(db) == []
    Page(browser, address).sent()
    assert "Taken in: 2 new" in wait(browser, address)
    assert find.search(db, "Max").rows[0]["record"]["birth_date"] == "2019-04-03"
    assert browser.get(address).text.count("Taken in") == 1
    again = choose(browser, send(browser, TWO), order="dmy")
    assert "0 new, 0 changed, 2 as they are" in again


def test_wrong_cells_are_listed_and_nothing_can_be_taken_in(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    address = send(browser, TWO.replace("dog", "horse"))
    page = choose(browser, address, order="dmy")
    assert "neither dog nor cat" in page and "<td>2</td><td>species</td>" in page and "/take" not in page
    token = fields(page.split('id="choices"', 1)[1])["csrf_token"]
    assert browser.post(f"{address}/take", data={"csrf_token": token}).status_code == 302
    assert "nothing was" in wait(browser, address) and find.everything(db) == []


def test_columns_and_kind_are_changed_by_a_person(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    address = send(browser, "No,Called,Kind\n17,Max,dog\n")
    assert "Choose the column that holds: name" in browser.get(address).text
    page = choose(browser, address, **{"column-2": "name", "column-3": "species"})
    assert "1 new" in page
    page = choose(browser, address, kind="visits")
    assert "Choose the column that holds: the animal&#39;s number there" in page
    assert "The heading holds comma" not in page


def test_a_file_that_cannot_be_read_says_why_and_stays(sign_in: Enter) -> None:
    browser = sign_in()
    address = send(browser, "a,b;c\n1,2;3\n")
    assert "choose which of them parts the columns" in browser.get(address).text
    assert "Choose the column" in choose(browser, address, separator=";")
    assert "no JSON" in browser.get(send(browser, "{bad")).text


def test_an_interrupted_import_is_told_as_such(app: Flask, sign_in: Enter, monkeypatch: pytest.MonkeyPatch) -> None:
    browser = sign_in()
    address = send(browser, TWO)
    job = jobs.find(app, address.rsplit("/", 1)[1])
    assert job is not None
    job.tell(state="running")
    assert "Taking it in" in browser.get(address).text
    monkeypatch.setattr("webapp.exchange.jobs.SILENT_S", -1)
    assert "interrupted. Nothing of it was kept" in browser.get(address).text
    assert jobs.find(app, "../../etc") is None and browser.get("/exchange/import/none").status_code == 404


def test_lists_are_given_out_as_csv(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    animal(browser, "=cmd()", owner_name="+1")
    journal.append(db, whole_exam().written, "phone")
    text = browser.get("/exchange/animals.csv").text
    assert text.startswith("\ufeffname,species,") and "\r\n'=cmd(),dog," in text and ",'+1," in text
    exams = browser.get("/exchange/exams.csv").text
    assert "Pepper,dog,Miniature Schnauzer,7.2,Drinks a lot" in exams and "to review" in exams
    assert "Import and export" in browser.get("/exchange").text
