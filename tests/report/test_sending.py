"""Sending without a mail server; what travels openly names a report by number and says nothing clinical."""

import email
import html
import re
from collections.abc import Callable
from email.message import EmailMessage
from email.policy import default
from urllib.parse import parse_qs, unquote, urlsplit

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, whole_exam
from tests.conftest import form_token
from tests.report import test_owner
from tests.review.desk import Vet
from webapp.review import sending
from webapp.store import journal, reports, told

ADDRESS = f"/report/{EXAM}/1/send"
CLINICAL = ("gland", "adrenal", "thick", "liver", "rex", "dog", "mm", "final", "abdom", "ultrasound")


@pytest.fixture
def browser(db: Database, sign_in: Callable[..., FlaskClient]) -> FlaskClient:
    journal.append(db, whole_exam().written, "phone")
    browser = sign_in()
    Vet(browser).sign()
    return browser


def drafted(browser: FlaskClient, **form: str) -> EmailMessage:
    typed = {"csrf_token": form_token(browser.get(ADDRESS).text), "with_report": "y", **form}
    answer = browser.post(ADDRESS, data=typed)
    assert answer.status_code == 200 and answer.content_type == "message/rfc822", answer.text
    made = email.message_from_bytes(answer.data, policy=default)
    assert isinstance(made, EmailMessage)
    return made


def open_words(made: EmailMessage) -> str:
    """Everything of the draft that is not inside a PDF."""
    headers = [f"{name}: {value}" for part in made.walk() for name, value in part.items()]
    body = made.get_body(("plain",))
    assert body is not None
    return "\n".join([*headers, body.get_content()])


def test_draft_is_unsent_addressed_and_holds_the_very_pdf(db: Database, browser: FlaskClient) -> None:
    made = drafted(browser, to="vet@practice.example")
    kept = reports.version(db, EXAM, 1)
    (attached,) = made.iter_attachments()
    assert (made["X-Unsent"], made["To"], made["From"]) == ("1", "vet@practice.example", None)
    assert made["Subject"] == f"Report {EXAM[:8]}, version 1"
    assert attached.get_content_type() == "application/pdf"
    assert attached.get_filename() == f"report-{EXAM[:8]}-version-1.pdf"
    assert kept is not None and attached.get_content() == kept["pdf"]
    assert not made.defects and not attached.defects


def test_an_address_is_not_needed(browser: FlaskClient) -> None:
    assert drafted(browser)["To"] is None


@pytest.mark.parametrize("to", ["nobody", "a@b.example\nBcc: c@d.example", "a@b.example, c@d.example", "<a@b.example>"])
def test_what_is_no_single_address_is_refused_and_stays_in_the_field(browser: FlaskClient, to: str) -> None:
    token = form_token(browser.get(ADDRESS).text)
    answer = browser.post(ADDRESS, data={"csrf_token": token, "with_report": "y", "to": to})
    assert answer.content_type.startswith("text/html") and "Write one address" in answer.text
    assert to.split("\n")[0] in html.unescape(answer.text)


def test_the_owners_page_goes_along_only_when_it_is_on_and_ticked(db: Database, browser: FlaskClient) -> None:
    assert len(list(drafted(browser, with_owner_page="y").iter_attachments())) == 1
    test_owner.make(browser)
    assert len(list(drafted(browser).iter_attachments())) == 1
    names = [part.get_filename() for part in drafted(browser, with_owner_page="y").iter_attachments()]
    assert names == [f"report-{EXAM[:8]}-version-1.pdf", f"page-{EXAM[:8]}-1.pdf"]
    token = form_token(browser.get(ADDRESS).text)
    assert "Choose what to attach" in browser.post(ADDRESS, data={"csrf_token": token}).text


def test_nothing_clinical_stands_outside_the_pdf(browser: FlaskClient) -> None:
    test_owner.make(browser)
    said = open_words(drafted(browser, to="vet@practice.example", with_owner_page="y")).lower()
    for word in CLINICAL:
        assert not re.search(rf"\b{word}", said), word


def test_link_to_an_empty_e_mail_names_the_report_by_number_only(browser: FlaskClient) -> None:
    link = re.search(r'href="(mailto:[^"]*)"', browser.get(ADDRESS).text)
    assert link is not None
    asked = parse_qs(urlsplit(html.unescape(link[1])).query)
    assert asked["subject"] == [f"Report {EXAM[:8]}, version 1"] and "attach" not in asked
    said = unquote(html.unescape(link[1])).lower()
    assert not [word for word in CLINICAL if re.search(rf"\b{word}", said)]


def test_file_names_and_the_audit_say_nothing_clinical(db: Database, browser: FlaskClient) -> None:
    drafted(browser, to="vet@practice.example")
    page = browser.get(ADDRESS).text
    names = re.findall(r'(?:download|data-name)="([^"]+)"', page)
    assert names and all(re.fullmatch(r"(report|page)-[0-9a-f]{8}-(version-)?\d+\.pdf", name) for name in names)
    rows = [str(row).lower() for row in db.query("select * from audit where act like 'sending.%'")]
    assert len(rows) >= 3 and not [word for word in (*CLINICAL, "vet@practice") if any(word in row for row in rows)]


def sent(browser: FlaskClient, **form: str) -> str:
    typed = {"csrf_token": form_token(browser.get(ADDRESS).text), "how": "by e-mail", **form}
    return browser.post(f"/report/{EXAM}/1/sent", data=typed, follow_redirects=True).text


def test_only_a_person_says_that_it_was_sent_and_then_it_stands_with_the_exam(
    db: Database, browser: FlaskClient
) -> None:
    drafted(browser, to="vet@practice.example")
    assert told.handed_over(db, EXAM) == [], "a draft is no sending"
    page = sent(browser, who=" Vets at the Quay ")
    assert "Recorded: version 1 was sent to Vets at the Quay." in page and "Has it:" in page
    (row,) = told.handed_over(db, EXAM)
    kept = reports.version(db, EXAM, 1)
    assert (row["to"], row["how"], row["version"], row["about"]) == ("Vets at the Quay", "by e-mail", 1, "report")
    assert kept is not None and row["pdf_hash"] == kept["pdf_hash"] and row["read_back"] is None
    vet = Vet(browser)
    assert "Given to: <b>Vets at the Quay, by e-mail" in vet.page
    assert vet.fill(status="appended", reason="More came.", text="One more thing.").post("addend").status_code == 302
    assert "Vets at the Quay</b> has the older version 1" in vet.look().page


def test_sent_to_nobody_is_asked_about_and_an_owners_page_that_went_along_is_named(
    db: Database, browser: FlaskClient
) -> None:
    assert "Write to whom you sent it." in sent(browser) and told.handed_over(db, EXAM) == []
    test_owner.make(browser)
    sent(browser, who="R. Quay", owner_page_too="y")
    assert [row["text"] for row in told.handed_over(db, EXAM)] == ["With the page for the owner, number 1."]


def test_an_older_version_says_that_there_is_a_newer_one(browser: FlaskClient) -> None:
    vet = Vet(browser)
    vet.fill(status="appended", reason="More came.", text="One more thing.")
    assert vet.post("addend").status_code == 302
    assert "There is a newer one" in browser.get(ADDRESS).text
    assert "There is a newer one" not in browser.get(f"/report/{EXAM}/2/send").text
    assert browser.get(f"/report/{EXAM}/3/send").status_code == 404


def test_a_practice_named_over_two_lines_cannot_break_the_headers() -> None:
    made = sending.message("Vets\nBcc: x@y.example", EXAM, 1, "", [("a.pdf", b"%PDF-")])
    told = email.message_from_bytes(made, policy=default)
    assert told["Bcc"] is None and "Vets Bcc" in open_words(told)
    assert sending.message("Vets", EXAM, 1, "", [("a.pdf", b"%PDF-")]) == sending.message(
        "Vets", EXAM, 1, "", [("a.pdf", b"%PDF-")]
    )
