"""The page for the owner: off until the vet switches it on, of nothing but the vet's words, kept as it was made."""

import html
import io
import zipfile
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, whole_exam
from tests.conftest import form_token
from tests.report.test_forms import HOSTILE, squeezed, words_of
from tests.review.desk import Vet
from webapp.keeping import animal_out
from webapp.report import owner
from webapp.store import chain, journal, owner_pages

ADDRESS = f"/review/exam/{EXAM}/owner"
WORDS = {
    "plain": "Both glands beside the kidneys are a little thick.\nThis is no emergency.",
    "more": "We ring you with the blood test.\nRex may eat as usual.",
    "ring": "R. Dale at the practice, weekdays from nine to five",
}
FACTS = {
    "animal": "Rex",
    "practice": "Vets at the Harbour",
    "examined": "2026-11-20",
    "signer": "R. Dale",
    "made_at": "2026-11-20T18:32:05+01:00",
    "number": 1,
    "version": 1,
}


@pytest.fixture
def browser(db: Database, sign_in: Callable[..., FlaskClient]) -> FlaskClient:
    """A vet's browser in which an exam was signed with one recommendation."""
    journal.append(db, whole_exam().written, "phone")
    browser = sign_in()
    vet = Vet(browser)
    vet.fill(recommendations__0__text="Blood test first", recommendations__0__due="1 Dec 2026")
    assert vet.ready().post("sign").status_code == 302
    return browser


def make(browser: FlaskClient, **changed: object) -> str:
    token = form_token(browser.get(ADDRESS).text)
    form = {"csrf_token": token, "version": "1", **WORDS, **changed}
    answer = browser.post(ADDRESS, data=form, follow_redirects=True)
    return html.unescape(answer.text)


def test_nothing_is_there_until_the_vet_switches_it_on(db: Database, browser: FlaskClient) -> None:
    assert "Page for the owner: off" in browser.get(f"/review/exam/{EXAM}").text
    assert browser.get(f"/owner-page/{EXAM}/1").status_code == 404
    assert owner_pages.newest(db, EXAM) is None
    make(browser)
    assert "Page for the owner: on, with version 1" in browser.get(f"/review/exam/{EXAM}").text
    assert browser.get(f"/owner-page/{EXAM}/1").status_code == 200


def test_the_form_offers_no_word_of_findings_measurements_or_impression(browser: FlaskClient) -> None:
    form = html.unescape(browser.get(ADDRESS).text).split('id="owner"')[1].split("</form>")[0]
    assert "Both glands seen" not in form and "mm" not in form and "adrenal" not in form
    assert "Blood test first (by 1 December 2026)" in form and "checked" not in form


def test_the_page_holds_what_was_written_and_ticked_and_nothing_else(browser: FlaskClient) -> None:
    make(browser, ticked="Blood test first (by 1 December 2026)")
    text = browser.get(f"/owner-page/{EXAM}/1.txt").text
    said = " ".join(text.split())
    for words in (*WORDS["plain"].split("\n"), *WORDS["more"].split("\n"), WORDS["ring"], "Blood test first"):
        assert words in said
    for words in ("mm", "limit", "adrenal", "LEFT", "Both glands seen", "above", "4.6"):
        assert words not in said
    make(browser)
    assert "Blood test" not in browser.get(f"/owner-page/{EXAM}/2.txt").text.replace("the blood test", "")


def test_what_nobody_offered_cannot_be_ticked_in(browser: FlaskClient) -> None:
    make(browser, ticked="Made up by somebody")
    assert "Made up" not in browser.get(f"/owner-page/{EXAM}/1.txt").text


def test_a_page_without_words_or_without_someone_to_ring_is_not_made(db: Database, browser: FlaskClient) -> None:
    for field in ("plain", "ring"):
        answer = make(browser, **{field: ""})
        assert "Not made yet" in answer and WORDS["more"].split("\n")[0] in answer
    assert owner_pages.newest(db, EXAM) is None


def test_each_making_is_kept_to_the_byte_and_off_is_a_further_row(db: Database, browser: FlaskClient) -> None:
    make(browser)
    first = browser.get(f"/owner-page/{EXAM}/1.pdf").data
    make(browser, plain="All is well.")
    token = form_token(browser.get(ADDRESS).text)
    browser.post(f"{ADDRESS}/off", data={"csrf_token": token})
    assert [row["is_on"] for row in owner_pages.all_of(db, EXAM)] == [1, 1, 0]
    assert "Page for the owner: off" in browser.get(f"/review/exam/{EXAM}").text
    assert browser.get(f"/owner-page/{EXAM}/1.pdf").data == first
    assert "All is well." in html.unescape(browser.get(ADDRESS).text)  # to go on from
    for change in ("update owner_pages set plain = 'x'", "delete from owner_pages"):
        with pytest.raises(Exception, match="never|append|kept"):
            db.execute(change)


def test_a_page_changed_in_the_file_is_found(db: Database, browser: FlaskClient) -> None:
    make(browser)
    assert [fault for fault in chain.verify(db) if "owner" in fault.text] == []
    for row in db.query("select name from sqlite_master where type = 'trigger' and tbl_name = 'owner_pages'"):
        db.execute(f"drop trigger {row['name']}")
    db.execute("update owner_pages set html = 'x'")
    assert [fault.text for fault in chain.verify(db) if "owner" in fault.text] == [
        f"page for the owner {EXAM} number 1: html_hash changed by hand"
    ]


def test_a_version_signed_meanwhile_is_shown_before_the_page_is_made(db: Database, browser: FlaskClient) -> None:
    page = browser.get(ADDRESS).text
    vet = Vet(browser)
    vet.fill(status="appended", reason="More came.", text="One more thing.")
    assert vet.post("addend").status_code == 302
    answer = browser.post(ADDRESS, data={"csrf_token": form_token(page), "version": "1", **WORDS})
    assert "Version 2 was signed meanwhile" in answer.text and owner_pages.newest(db, EXAM) is None


def test_only_a_reviewer_makes_one(db: Database, browser: FlaskClient, sign_in: Callable[..., FlaskClient]) -> None:
    from webapp.store import people

    people.add(db, "AS", "A. Sand", "reader", "a long enough password")
    reader = sign_in("AS", "a long enough password")
    make(browser)
    assert reader.get(ADDRESS).status_code == 403
    assert reader.get(f"/owner-page/{EXAM}/1").status_code == 200


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_come_out_literally(words: str) -> None:
    made = owner.build({"plain": words, "next": [words], "ring": words}, FACTS | {"animal": words})
    assert words in str(made["text"]) and words in html.unescape(str(made["html"]))
    assert squeezed(words) in squeezed(words_of(bytes(made["pdf"])))


def test_the_pdf_is_tagged_titled_and_the_same_every_time() -> None:
    words = {"plain": "All is well.", "next": [], "ring": "R. Dale"}
    made = owner.build(words, FACTS)
    reader = pypdf.PdfReader(io.BytesIO(bytes(made["pdf"])))
    root = reader.trailer["/Root"]
    assert reader.metadata is not None and reader.metadata.title == "Rex: ultrasound of the belly, 20 November 2026"
    assert root["/Lang"] == "en-GB" and "/StructTreeRoot" in root
    assert owner.build(words, FACTS) == made
    assert "What happens next" not in str(made["text"])  # nothing was written, so nothing is said


def test_all_of_an_animal_holds_its_owners_pages_too(db: Database, browser: FlaskClient, tmp_path: Path) -> None:
    make(browser)
    patient = next(db.query("select patient from exams where exam = ?", [EXAM]))["patient"]
    made = animal_out.write_zip(db, tmp_path, patient, tmp_path / "all.zip", "20 November 2026")
    with zipfile.ZipFile(tmp_path / "all.zip") as packed:
        names = [name for name in packed.namelist() if "-owner-1." in name]
        pdf = packed.read(next(name for name in names if name.endswith(".pdf")))
    assert made.reports == 1 and len(names) == 3
    assert pdf == browser.get(f"/owner-page/{EXAM}/1.pdf").data


def test_files_carry_no_word_of_the_animal(browser: FlaskClient) -> None:
    make(browser)
    for ending in ("", ".pdf", ".txt"):
        name = browser.get(f"/owner-page/{EXAM}/1{ending}").headers["Content-Disposition"]
        assert name.startswith(f'inline; filename="page-{EXAM[:8]}-1.')
