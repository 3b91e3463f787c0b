"""A DICOM file at the desk: sent, compared with the animal, its still measured on or its numbers taken one by one."""

import hashlib
import io
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pydicom
import pytest
from flask import Flask
from flask.testing import FlaskClient
from PIL import Image
from sqlite_utils import Database
from werkzeug.test import TestResponse

from tests.animals.desk import Page, fields
from tests.builders import EXAM, Phone, whole_exam
from tests.conftest import PASSWORD
from tests.exchange.signed import of_demo, signed
from tests.exchange.test_dicom_still import changed
from webapp.exchange import dicom_sr, waiting
from webapp.photos import files
from webapp.store import exams, journal, kept, people

Enter = Callable[..., FlaskClient]
SEND = f"/exchange/dicom/{EXAM}"


def still(name: str = "^Pepper", **changes: Any) -> bytes:
    """pydicom's uncompressed still, 800 by 600 pixels of 0.2622878766196998 mm, of an animal of this name."""
    return changed(**{"PatientName": name, "PatientID": "", "PatientBirthDate": "", "PatientSex": "F"} | changes)


def send(browser: FlaskClient, data: bytes) -> TestResponse:
    form = Page(browser, SEND).form | {"file": (io.BytesIO(data), "x.dcm")}
    return browser.post(SEND, data=form, content_type="multipart/form-data")


def sent(browser: FlaskClient, data: bytes) -> str:
    answer = send(browser, data)
    assert answer.status_code == 302, answer.text
    return str(answer.headers["Location"])


def kept_still(browser: FlaskClient, data: bytes) -> str:
    """The address of the page of a still that was sent and kept."""
    page = Page(browser, sent(browser, data), "/keep")
    return page.sent()


def measure(browser: FlaskClient, address: str, points: tuple[int, ...], **more: str) -> TestResponse:
    typed = dict(zip(("x1", "y1", "x2", "y2"), map(str, points), strict=True)) | more
    return browser.post(address, data=Page(browser, address).form | typed)


@pytest.fixture
def browser(db: Database, sign_in: Enter) -> FlaskClient:
    journal.append(db, whole_exam().written, "phone")
    return sign_in()


def test_a_still_is_kept_without_its_header_and_a_distance_becomes_a_reading(
    db: Database, browser: FlaskClient
) -> None:
    assert f'href="{SEND}"' in browser.get(f"/review/exam/{EXAM}").text
    data = still(InstitutionName="Somewhere secret", ResponsiblePerson="Thorn^L")
    address = kept_still(browser, data)
    exam = exams.fold(db, EXAM).exam
    (attached,) = exam["attachments"]
    assert attached["author"] == "RD" and (attached["width"], attached["height"]) == (800, 600)
    assert hashlib.sha256(data).hexdigest() in attached["text"]
    with browser.get(f"/photos/{attached['hash']}") as shown:
        picture = shown.data
    with Image.open(io.BytesIO(picture)) as image:
        assert image.format == "PNG" and image.size == (800, 600)
    assert hashlib.sha256(picture).hexdigest() == attached["hash"]

    entry = next(row.entry for row in kept.of_exam(db, EXAM) if row.entry["kind"] == "attached")
    assert entry["body"]["regions"] == [{"left": 120, "top": 60, "right": 799, "bottom": 518,
                                         "across": "0.2622878766196998", "down": "0.2622878766196998"}]
    answer = measure(browser, address, (200, 100, 230, 140), what="keep", quantity="spleen.thickness",
                     plane="short_axis", shown="13.1")
    assert answer.status_code == 302, answer.text
    (row,) = [one for one in exams.fold(db, EXAM).exam["readings"] if one["quantity"] == "spleen.thickness"]
    # 50 pixels (30 across, 40 down) of 0.2622878766 mm: 13.114 mm; uncertainty 0.2622878766 / sqrt 6 = 0.107, up.
    assert (row["value"], row["unit"], row["typed"], row["author"]) == ("13.1", "mm", "13.1", "RD")
    assert (row["acquired"], row["plane"]) == ("new_image", "short_axis")
    assert row["image"] == f"still {attached['hash'][:12]}"
    assert "uncertainty by the pixels 0.11 mm" in row["note"] and attached["hash"] in row["note"]
    assert exams.fold(db, EXAM).exam["unread"] == []
    assert "13.1 mm" in browser.get(address).text.split("Read on this still", 1)[1]


def test_the_rules_get_the_pixel_and_a_second_distance_is_no_new_acquisition(
    db: Database, browser: FlaskClient
) -> None:
    address = kept_still(browser, still())
    for points, shown in (((200, 100, 200, 150), "13.1"), ((200, 100, 200, 152), "13.6")):
        told = {"what": "keep", "quantity": "spleen.thickness", "shown": shown}
        assert measure(browser, address, points, **told).status_code == 302
    measure(browser, address, (200, 100, 200, 200), what="keep", quantity="kidney.left.length", shown="26.2")
    rows = exams.fold(db, EXAM).exam["readings"]
    assert [row["acquired"] for row in rows if row["image"]] == ["new_image", "same_frame", "new_image"]
    (row, *_) = [row for row in rows if row["image"]]
    assert (row["depth_mm"], row["rows"]) == ("120.39", "459"), "459 rows of 0.26229 mm"
    assert abs(float(row["depth_mm"]) / float(row["rows"]) - 0.2622878766) < 0.0001
    (value,) = [one for one in exams.fold(db, EXAM).judgement["values"] if one["quantity"] == "spleen.thickness"]
    assert value["n"] == 2 and "0.26" in str(value["pixel"])


def test_a_distance_is_shown_before_it_is_kept_and_only_the_shown_one_is(db: Database, browser: FlaskClient) -> None:
    address = kept_still(browser, still())
    shown = measure(browser, address, (200, 100, 200, 200), what="show")
    assert "26.2 mm, standard uncertainty by the pixels 0.11 mm" in shown.text
    script = browser.get(f"{address}/distance?x1=200&y1=100&x2=200&y2=200").get_json()
    assert script == {"mm": "26.2", "text": "26.2 mm, standard uncertainty by the pixels 0.11 mm"}
    for typed, said in (
        ({"what": "keep", "quantity": "kidney.left.length", "shown": ""}, "look at it, then keep it"),
        ({"what": "keep", "quantity": "kidney.left.length", "shown": "26.1"}, "The distance is 26.2 mm now"),
        ({"what": "keep", "quantity": "", "shown": "26.2"}, "Choose what you measured"),
        ({"what": "keep", "quantity": "portal_vein.velocity", "shown": "26.2"}, "Choose what you measured"),
        ({"what": "keep", "quantity": "kidney.left.length", "shown": "26.2", "plane": "up"}, "a plane of the list"),
        ({"what": "show", "x1": "two"}, "whole numbers"),
        ({"what": "show", "x1": "10"}, "one part of the picture"),
    ):
        answer = measure(browser, address, (200, 100, 200, 200), **typed)
        assert answer.status_code == 422 and said in answer.text, said
        form = fields(answer.text.split('id="work"', 1)[1].split("</form>", 1)[0])
        assert form["y2"] == "200", "what was typed stays"
    assert not [row for row in exams.fold(db, EXAM).exam["readings"] if row["image"]]


def test_a_file_of_another_animal_is_told_and_taken_only_with_a_tick(db: Database, browser: FlaskClient) -> None:
    address = sent(browser, still("Thorn^Rex", PatientSex="M"))
    text = browser.get(address).text
    assert "The file names another animal" in text and "Rex" in text and "Thorn" not in text, "no owner is shown"
    rows = dict(re.findall(r'<th scope="row">([^<]*)</th>.*?</td><td>[^<]*</td><td>(?:<b>)?(.) ', text))
    assert (rows["Name"], rows["Sex"], rows["Species"]) == ("≠", "≠", "–")
    assert Page(browser, address, "/keep").sent().endswith(address)
    assert exams.fold(db, EXAM).exam["attachments"] == []
    assert "/exchange/still/" in Page(browser, address, "/keep").sent(sure="y")
    assert len(exams.fold(db, EXAM).exam["attachments"]) == 1


def test_the_same_animal_is_known_by_name_and_chip_and_what_is_not_said_is_no_difference(browser: FlaskClient) -> None:
    for name in ("^Pepper", "Pepper", "Thorn^PEPPER"):
        assert "names another animal" not in browser.get(sent(browser, still(name))).text
    text = browser.get(sent(browser, still("", PatientSex=""))).text
    assert "names another animal" not in text and text.count("cannot be compared") == 5


def test_a_second_sending_of_the_same_still_is_the_same_attachment(db: Database, browser: FlaskClient) -> None:
    assert kept_still(browser, still()) == kept_still(browser, still())
    assert len(exams.fold(db, EXAM).exam["attachments"]) == 1


@pytest.mark.parametrize("data, said", [
    (b"no DICOM at all", "This is no DICOM file."),
    (still(Rows=300), "for a larger picture"),
    (still(NumberOfFrames=2), "Take a single still"),
    (still(SequenceOfUltrasoundRegions=None), "no scale"),
])
def test_what_cannot_be_taken_is_refused_kindly_and_leaves_nothing(
    app: Flask, db: Database, browser: FlaskClient, data: bytes, said: str
) -> None:
    answer = send(browser, data)
    assert answer.status_code == 422 and said in answer.text
    assert not list(Path(app.instance_path).glob("dicom/*")) and exams.fold(db, EXAM).exam["attachments"] == []


def test_a_file_larger_than_the_setting_is_refused(app: Flask, browser: FlaskClient) -> None:
    app.config["PHOTO_LARGEST_BYTES"] = 100_000
    assert send(browser, still()).status_code == 413


def test_numbers_of_a_report_are_taken_one_by_one_with_its_words_and_hash(db: Database, browser: FlaskClient) -> None:
    issued = of_demo("DP06")
    issued.exam["patient"] |= {"name": "Pepper", "sex": "female", "birth_date": None}
    data = dicom_sr.written(issued, "Another practice", False)
    address = sent(browser, data)
    page = browser.get(address).text
    assert "names another animal" not in page and "made from several" in page
    forms = [fields(one) for one in re.findall(r"<form\b.*?</form>", page, re.DOTALL) if 'name="place"' in one]
    pole = next(one for one in forms if one["quantity"] == "adrenal.left.caudal_pole_thickness")
    assert browser.post(f"{address}/take", data=pole).status_code == 302
    rows = [row for row in exams.fold(db, EXAM).exam["readings"] if row["author"] == "RD"]
    assert [(row["quantity"], row["value"], row["acquired"]) for row in rows] == [
        ("adrenal.left.caudal_pole_thickness", "2.8", None)]
    assert rows[0]["note"].startswith(f"number {pole['place']} of the DICOM report {hashlib.sha256(data).hexdigest()}")
    assert "LEFT adrenal, caudal pole thickness" in rows[0]["note"]
    again = browser.get(address).text
    assert "✓ taken" in again and f'value="{pole["place"]}"' not in again
    browser.post(f"{address}/take", data=pole)
    assert len([row for row in exams.fold(db, EXAM).exam["readings"] if row["author"] == "RD"]) == 1, "never twice"
    browser.post(f"{address}/take", data=pole | {"place": forms[1]["place"], "quantity": ""})
    assert "Choose what" in browser.get(address).text


def test_a_refused_number_cannot_be_taken_by_another_form(db: Database, browser: FlaskClient) -> None:
    issued = of_demo("DP06")
    issued.exam["patient"] |= {"name": "Pepper", "sex": "female", "birth_date": None}
    address = sent(browser, dicom_sr.written(issued, "Another practice", False))
    told = json.loads(next(Path(browser.application.instance_path).glob("dicom/*/told.json")).read_text())
    mean = next(one for one in told["proposals"] if one["refused"])
    token = Page(browser, address, "/take").form["csrf_token"]
    before = len(kept.of_exam(db, EXAM))
    for place, status in ((str(mean["place"]), 302), ("999", 400), ("", 400)):
        data = {"csrf_token": token, "place": place, "quantity": "spleen.thickness"}
        assert browser.post(f"{address}/take", data=data).status_code == status
    assert len(kept.of_exam(db, EXAM)) == before


def test_after_signing_a_taken_reading_says_that_it_is_in_no_report(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed(db, browser)
    address = kept_still(browser, still())
    told = {"what": "keep", "quantity": "spleen.thickness", "shown": "13.1"}
    measure(browser, address, (200, 100, 200, 150), **told)
    page = browser.get(address).text
    assert "in no report until an addendum is signed" in page
    assert "Arrived after signing" in browser.get(f"/review/exam/{EXAM}").text


def test_a_still_that_was_struck_or_is_another_exams_cannot_be_measured_on(db: Database, browser: FlaskClient) -> None:
    address = kept_still(browser, still())
    entry = address.rsplit("/", 1)[1]
    other = "01999999-0000-7000-8000-000000000002"
    journal.append(db, whole_exam(Phone("c3" * 16, exam=other)).written, "phone")
    assert browser.get(address.replace(EXAM, other)).status_code == 404
    phone = Phone("b2" * 16)
    phone.act("attached", {"about": "exam", "hash": "ab" * 32, "type": "image/png", "regions": [{"left": "x"}],
                           "from_file": "y"})
    phone.act("struck", {"about": "exam", "why": "wrong"}, of=[entry])
    journal.append(db, phone.written, "phone")
    assert browser.get(address).status_code == 404
    assert browser.get(f"/exchange/still/{EXAM}/{phone.place.prev}").status_code == 404


def test_a_waiting_file_is_its_exams_alone_and_names_are_no_paths(app: Flask, browser: FlaskClient) -> None:
    address = sent(browser, still())
    name = address.rsplit("/", 1)[1]
    for wrong in (f"/exchange/dicom/other/{name}", f"{SEND}/{'0' * 32}", f"{SEND}/..", f"{SEND}/{name}x"):
        assert browser.get(wrong).status_code == 404
    assert waiting.find(app, "dicom", "../../secret_key") is None
    assert browser.get(f"{address}/picture.png").mimetype == "image/png"
    names = pydicom.dcmread(io.BytesIO(still("Thorn^Pepper")), stop_before_pixels=True).PatientName
    sent(browser, still("Thorn^Pepper"))
    for path in Path(app.instance_path).rglob("dicom/*/*"):
        assert str(names.family_name).encode() not in path.read_bytes(), "the owner's name is kept nowhere"


def test_only_who_writes_in_exams_may_send_or_measure(db: Database, sign_in: Enter, browser: FlaskClient) -> None:
    address = kept_still(browser, still())
    people.add(db, "LO", "L. Only", "reader", PASSWORD)
    reader = sign_in("LO")
    assert reader.get(SEND).status_code == 403 and reader.get(address).status_code == 403
    assert SEND not in reader.get(f"/review/exam/{EXAM}").text


def test_the_photo_of_a_still_stands_with_the_exam_and_leads_to_measuring(
    app: Flask, db: Database, browser: FlaskClient
) -> None:
    address = kept_still(browser, still())
    assert f'href="{address}">measure on it</a>' in browser.get(f"/review/exam/{EXAM}").text
    (attached,) = exams.fold(db, EXAM).exam["attachments"]
    assert files.path_of(files.folder_of(app.config["DATABASE"]), attached["hash"]).is_file()
