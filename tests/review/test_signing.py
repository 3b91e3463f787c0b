"""Signing covers by content, freezes to the byte, and nothing that comes later changes it."""

import json
import threading
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, Phone, whole_exam
from tests.review.desk import Vet
from webapp.review import signing, words
from webapp.store import chain, exams, journal, kept, people, reports

Enter = Callable[..., FlaskClient]


@pytest.fixture
def phone(db: Database) -> Phone:
    """A phone whose exam has arrived."""
    phone = whole_exam()
    journal.append(db, phone.written, "phone")
    return phone


def late(db: Database, phone: Phone, value: str = "9.9") -> str:
    """A reading that the phone sends after the others."""
    name = phone.read("adrenal.left.caudal_pole_thickness", value)
    journal.append(db, phone.written[-1:], "phone")
    return name


def signed_body(db: Database) -> dict[str, Any]:
    bodies = [row.entry["body"] for row in kept.of_exam(db, EXAM) if row.entry["kind"] == "signed"]
    return dict(bodies[-1])


def row(db: Database, version: int = 1) -> dict[str, Any]:
    found = reports.version(db, EXAM, version)
    assert found is not None
    return found


def test_a_signature_asks_only_for_what_is_missing(db: Database, phone: Phone, sign_in: Enter) -> None:
    late(db, phone)  # far from the other readings: a flag to look at again
    vet = Vet(sign_in())
    answer = vet.post("sign")
    assert "Say whether the question is answered." in answer.text
    assert "Write the impression." in answer.text
    vet.read(answer).fill(answered="yes", impression="Thick LEFT gland.")
    answer = vet.post("sign")
    assert "Write the impression." not in answer.text
    assert "Saved, but not signed yet" in answer.text
    assert "look-again" in answer.text
    assert vet.read(answer).ready().post("sign").status_code == 302


def test_the_signature_names_every_entry_it_covers(db: Database, phone: Phone, sign_in: Enter) -> None:
    Vet(sign_in()).sign()
    body = signed_body(db)
    rows = kept.of_exam(db, EXAM)
    assert body["covers"] == [row.entry["id"] for row in rows if row.entry["kind"] != "signed"]
    assert set(body["covers"]) > {row.entry["id"] for row in rows if row.entry["author"] == "VS"}
    assert (body["version"], body["status"]) == (1, "final")
    assert body["signer"] == {"id": "RD", "name": "R. Dale"}


def test_page_pdf_and_judgement_are_kept_as_issued(db: Database, phone: Phone, sign_in: Enter) -> None:
    browser = sign_in()
    Vet(browser).sign()
    kept_row = row(db)
    assert browser.get(f"/report/{EXAM}/1").data == kept_row["html"].encode()
    assert browser.get(f"/report/{EXAM}/1.pdf").data == kept_row["pdf"]
    assert kept_row["pdf"].startswith(b"%PDF-")
    assert browser.get(f"/report/{EXAM}/1.txt").text == kept_row["plain"]
    assert "Both glands seen; the LEFT one is thick." in kept_row["plain"]
    body = signed_body(db)
    assert body["pdf_hash"] == kept_row["pdf_hash"] == reports.sha256(kept_row["pdf"])
    assert body["judgement_hash"] == reports.sha256(kept_row["judgement_json"].encode())


def test_a_late_entry_shows_as_arrived_after_signing_and_changes_nothing(
    db: Database, phone: Phone, sign_in: Enter
) -> None:
    browser = sign_in()
    vet = Vet(browser)
    vet.sign()
    before = row(db)
    name = late(db, phone)
    assert [entry["id"] for entry in reports.arrived_after(db, EXAM)] == [name]
    assert row(db) == before
    page = vet.look().page
    assert "Arrived after signing" in page
    assert "reading of LEFT adrenal, caudal pole thickness: 9.9 mm" in page
    assert "9.9" not in page.split("Structures and readings</h2>", 1)[1]
    assert "arrived after signing" in browser.get("/review").text
    assert next(db.query("select state from exams"))["state"] == exams.SIGNED_LATER


def test_an_entry_that_arrived_in_between_is_shown_before_one_can_sign(
    db: Database, phone: Phone, sign_in: Enter
) -> None:
    vet = Vet(sign_in()).ready()
    late(db, phone)
    answer = vet.post("sign")
    assert "1 entry has arrived since you opened this page" in answer.text
    assert reports.versions(db, EXAM) == []
    assert "9.9" in answer.text
    assert "Both glands seen; the LEFT one is thick." in answer.text
    assert vet.read(answer).ready().post("sign").status_code == 302


def test_an_entry_that_arrives_while_the_report_is_made_stops_the_signature(
    db: Database, phone: Phone, sign_in: Enter, monkeypatch: pytest.MonkeyPatch
) -> None:
    build = signing.build

    def slowly(folded: exams.Folded, facts: dict[str, Any]) -> dict[str, Any]:
        late(db, phone)
        return build(folded, facts)

    monkeypatch.setattr(signing, "build", slowly)
    answer = Vet(sign_in()).ready().post("sign")
    assert "Entries arrived while you signed" in answer.text
    assert reports.versions(db, EXAM) == []
    assert not [row for row in kept.of_exam(db, EXAM) if row.entry["kind"] == "signed"]


def test_the_second_of_two_who_sign_is_told_and_gets_the_text_back(db: Database, phone: Phone, sign_in: Enter) -> None:
    people.add(db, "KM", "K. Marsh", "reviewer", "correct horse battery")
    first, second = Vet(sign_in()), Vet(sign_in("KM")).ready().fill(impression="Mine.")
    first.sign()
    answer = second.post("sign")
    assert answer.status_code == 409
    assert "R. Dale signed version 1" in answer.text
    assert "Mine." in answer.text
    assert len(reports.versions(db, EXAM)) == 1
    assert reports.arrived_after(db, EXAM) == []


def test_two_signatures_at_the_very_same_time_make_one_version(
    db: Database, phone: Phone, sign_in: Enter, monkeypatch: pytest.MonkeyPatch
) -> None:
    vets = [Vet(sign_in()).ready(), Vet(sign_in()).ready()]
    vets[0].post("draft")
    for vet in vets:
        vet.look().ready()
    meeting = threading.Barrier(2)
    build = signing.build

    def together(folded: exams.Folded, facts: dict[str, Any]) -> dict[str, Any]:
        meeting.wait(timeout=20)
        return build(folded, facts)

    monkeypatch.setattr(signing, "build", together)
    answers: list[Any] = []
    threads = [threading.Thread(target=lambda vet=vet: answers.append(vet.post("sign"))) for vet in vets]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answer.status_code for answer in answers) == [200, 302]
    told = next(answer.text for answer in answers if answer.status_code == 200)
    assert "R. Dale has just signed version 1" in told
    assert len(reports.versions(db, EXAM)) == 1
    assert len([row for row in kept.of_exam(db, EXAM) if row.entry["kind"] == "signed"]) == 1


def test_an_addendum_makes_a_version_with_its_reason_and_leaves_the_first(
    db: Database, phone: Phone, sign_in: Enter
) -> None:
    vet = Vet(sign_in())
    vet.sign()
    first = row(db)
    late(db, phone)
    vet.look().fill(status="corrected", reason="A reading came late.", text="The LEFT gland is 9.9 mm.")
    assert vet.post("addend").status_code == 302
    second = row(db, 2)
    assert row(db) == first
    assert (second["status"], second["version"]) == ("corrected", 2)
    assert "A reading came late." in second["plain"]
    assert "The LEFT gland is 9.9 mm." in second["plain"]
    assert reports.arrived_after(db, EXAM) == []
    body = signed_body(db)
    kinds = {one.entry["id"]: one.entry["kind"] for one in kept.of_exam(db, EXAM)}
    assert "amended" in {kinds[name] for name in body["covers"]}
    entry = next(one.entry for one in kept.of_exam(db, EXAM) if one.entry["kind"] == "amended")
    assert entry["of"] == [first["signed_id"]]
    page = vet.look().page
    assert page.count("signed by R. Dale") == 2
    assert page.index("Addenda") < page.index("The LEFT gland is 9.9 mm.") < page.index("Reason: A reading came late.")


def test_an_addendum_asks_for_a_reason_and_keeps_what_was_typed(db: Database, phone: Phone, sign_in: Enter) -> None:
    vet = Vet(sign_in())
    vet.sign()
    answer = vet.look().fill(status="amended", text="Typed words stay.").post("addend")
    assert "Say why." in answer.text
    assert "Typed words stay." in answer.text
    assert len(reports.versions(db, EXAM)) == 1


def test_an_addendum_that_does_not_fit_the_records_is_asked_about_and_signed_as_written_with_a_reason(
    db: Database, phone: Phone, sign_in: Enter
) -> None:
    vet = Vet(sign_in())
    vet.sign()
    assert "Why it stands as written" not in vet.look().page
    answer = vet.fill(status="corrected", reason="The side.", text="The RIGHT gland is thick.").post("addend")
    assert "the addendum names the RIGHT adrenal; the findings are of the LEFT adrenal" in answer.text
    assert vet.read(answer).form["text"] == "The RIGHT gland is thick." and len(reports.versions(db, EXAM)) == 1
    vet.fill(status="corrected", stands="The probe's mark was turned; all sides change.")
    assert vet.post("addend").status_code == 302
    (entry,) = (one.entry for one in kept.of_exam(db, EXAM) if one.entry["kind"] == "amended")
    assert entry["body"]["stands"] == "The probe's mark was turned; all sides change."
    assert "The RIGHT gland is thick." in row(db, 2)["plain"]


def test_nothing_can_be_added_to_a_report_that_was_never_signed(db: Database, phone: Phone, sign_in: Enter) -> None:
    vet = Vet(sign_in()).fill(status="amended", reason="r", text="t")
    assert "Nothing is signed yet" in vet.post("addend").text
    assert reports.versions(db, EXAM) == []


def test_a_draft_sent_after_the_signature_is_not_recorded_but_given_back(
    db: Database, phone: Phone, sign_in: Enter
) -> None:
    vet, other = Vet(sign_in()), Vet(sign_in()).fill(impression="Written meanwhile.")
    vet.sign()
    answer = other.post("draft")
    assert answer.status_code == 409
    assert "Written meanwhile." in answer.text
    day = reports.versions(db, EXAM)[0]["issued_at"]
    assert day[:10] not in answer.text and words.moment(day) in answer.text
    assert reports.arrived_after(db, EXAM) == []


def test_a_signature_from_elsewhere_signs_nothing_here(db: Database, phone: Phone, sign_in: Enter) -> None:
    covers = [row.entry["id"] for row in kept.of_exam(db, EXAM)]
    phone.act(
        "signed",
        {
            "about": "exam",
            "version": 99,
            "status": "final",
            "covers": covers,
            "signer": {"id": "XX", "name": "Somebody"},
        },
    )
    journal.append(db, phone.written[-1:], "phone")
    assert next(db.query("select state from exams"))["state"] == exams.TO_REVIEW
    assert "A signature of Somebody arrived from elsewhere" in Vet(sign_in()).page


def test_a_report_changed_by_hand_is_named(db: Database, phone: Phone, sign_in: Enter) -> None:
    Vet(sign_in()).sign()
    assert chain.verify(db) == []
    with pytest.raises(Exception, match="never changed"):
        db.execute("update reports set html = 'x'")
    db.execute("drop trigger reports_are_never_changed")
    db.execute("update reports set html = replace(html, 'thick', 'thin')")
    assert [fault.text for fault in chain.verify(db)] == [f"report {EXAM} version 1: html_hash changed by hand"]


def test_the_frozen_exam_is_what_the_covered_entries_tell(db: Database, phone: Phone, sign_in: Enter) -> None:
    Vet(sign_in()).sign()
    late(db, phone)
    frozen = json.loads(row(db)["exam_json"])
    assert len(frozen["readings"]) == 4
    assert frozen["entries"] == len(signed_body(db)["covers"])


def test_versions_that_were_never_issued_are_not_found(phone: Phone, sign_in: Enter) -> None:
    browser = sign_in()
    for address in (f"/report/{EXAM}/1", f"/report/{EXAM}/1.pdf", "/report/x/1.txt", "/review/exam/none"):
        assert browser.get(address).status_code == 404
