"""The queue: reasons first, page by page, filtered and searched; every link and form works without a script."""

import html
import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, Phone, whole_exam
from tests.review.desk import Vet
from webapp.animals import record
from webapp.review import asked, queue
from webapp.store import journal
from webapp.store.db import write

Enter = Callable[..., FlaskClient]
MANY = queue.A_PAGE + 7
LONG = "A <b>long</b> story. " * 20 + "One Infarct at the tail. " + "x " * 99


def exam(db: Database, number: int, name: str, day: str = "2026-11-24", **patient: object) -> Phone:
    """A closed exam without a question."""
    phone = Phone(f"{number:032x}", exam=f"exam-{number}", patient=f"p{number}")
    body = {"about": "exam", "date": day, "visit": None, "context": {},
            "question": {"text": "", "structures": []}, "patient": {"name": name, "species": "dog"} | patient}
    phone.act("opened", body)
    phone.closed()
    journal.append(db, phone.written, "phone")
    return phone


def names(page: str) -> list[str]:
    """The animals of the page's rows, in order."""
    row = r'<a data-row(?: data-next)? href="/review/exam/[^"]+">([^<]*)</a>'
    return [html.unescape(one) for one in re.findall(row, page)]


def links(page: str, words: str) -> str:
    """The address behind a link of these words."""
    found = re.search(rf'<a [^>]*href="([^"]+)"[^>]*>{words}', page)
    assert found, words
    return html.unescape(found[1])


@pytest.fixture
def many(db: Database) -> None:
    """More exams than a page holds, of dogs named by number, and a cat with a finding for someone to be told."""
    with write(db):
        for number in range(MANY):
            exam(db, number, f"Dog {number}", f"2026-10-{number % 28 + 1:02d}")
        phone = exam(db, 999, "Urgent cat", "2026-09-01", species="cat")
        phone.act("found", {"about": "vena_cava", "finding": "material"})
        journal.append(db, phone.written[-1:], "phone")


def test_every_exam_stands_on_one_page_and_the_gravest_first(many: None, sign_in: Enter) -> None:
    browser = sign_in()
    page = browser.get("/review").text
    assert names(page)[0] == "Urgent cat" and len(names(page)) == queue.A_PAGE
    assert f"{MANY + 1}, here 1 to {queue.A_PAGE}" in page
    second = browser.get(links(page, "next page")).text
    assert len(names(second)) == MANY + 1 - queue.A_PAGE
    assert sorted(names(page) + names(second)) == sorted(["Urgent cat", *(f"Dog {n}" for n in range(MANY))])
    assert 'rel="next"' not in second and names(browser.get(links(second, "page before")).text) == names(page)


def test_a_page_beyond_the_last_is_the_last_and_nonsense_is_the_first(many: None, sign_in: Enter) -> None:
    browser = sign_in()
    last = browser.get("/review?page=2").text
    assert names(browser.get("/review?page=900").text) == names(last)
    for odd in ("0", "-1", "x", "", "9" * 30, "²"):
        assert names(browser.get("/review", query_string={"page": odd}).text) == names(browser.get("/review").text)


def test_filters_hold_from_page_to_page(many: None, sign_in: Enter) -> None:
    browser = sign_in()
    page = browser.get("/review?species=dog&person=VS&since=1+Oct+2026&until=2026-10-28").text
    assert f'<h1>Exams <span class="count">{MANY}, here' in page
    second = links(page, "next page")
    assert "species=dog" in second and "person=VS" in second and "since=2026-10-01" in second
    shown = browser.get(second).text
    assert len(names(shown)) == MANY - queue.A_PAGE and "Urgent cat" not in shown
    assert "Shown: dog; examined by V. Stone; from 1 Oct 2026; until 28 Oct 2026." in shown
    assert 'value="1 Oct 2026"' in shown


@pytest.mark.parametrize(("address", "found"), [
    ("reason=tell_someone", ["Urgent cat"]),
    ("reason=fork", []),
    ("species=cat", ["Urgent cat"]),
    ("person=RD", []),
    ("state=signed", []),
    ("until=2026-09-30", ["Urgent cat"]),
    ("q=urgent", ["Urgent cat"]),
    ("q=vena+material&reason=tell_someone&species=cat", ["Urgent cat"]),
    ("q=urgent&species=dog", []),
])
def test_each_filter(many: None, sign_in: Enter, address: str, found: list[str]) -> None:
    page = sign_in().get(f"/review?{address}").text
    assert names(page) == found
    assert ("No exam fits" in page) == (not found)


def test_an_empty_answer_says_what_was_looked_for_and_which_word_is_in_the_way(many: None, sign_in: Enter) -> None:
    page = html.unescape(sign_in().get("/review?q=urgent+dog&species=cat").text)
    assert "Looked for: words “urgent dog”; cat." in page
    assert f"“urgent” 1, “dog” {MANY}" in page
    page = html.unescape(sign_in().get("/review?q=%22*%22").text)
    assert "Looked for: words “\"*\"”. A search needs a letter or a digit." in page


def test_a_day_that_cannot_be_read_stays_and_is_told(many: None, sign_in: Enter) -> None:
    page = html.unescape(sign_in().get("/review?since=soon&until=1.10.2026").text)
    assert 'value="soon"' in page and "Write the day as" in page and "Urgent cat" in page
    page = html.unescape(sign_in().get("/review?since=2.10.2026&until=1.10.2026").text)
    assert "This day lies before the other one." in page and "No exam fits" in page


def test_a_search_says_where_it_hit(db: Database, sign_in: Enter) -> None:
    phone = whole_exam()
    phone.act("noted", {"about": "spleen", "text": LONG})
    journal.append(db, phone.written, "phone")
    record.save(db, phone.patient or "", {"name": "Pepper", "species": "dog", "owner.name": "Frau Größe"}, "RD", None)
    browser = sign_in()

    def said(words: str) -> list[str]:
        page = browser.get("/review", query_string={"q": words}).text
        assert "<b>long" not in page
        listed = page.split('<ul class="plain hits">', 1)[1].split("</ul>", 1)[0]
        return [html.unescape(re.sub(r"<(?!/?mark)[^>]*>", "", one)) for one in re.findall(r"<li>(.*?)</li>", listed)]

    assert said("infarct")[0].startswith("note … ") and "One <mark>Infarct</mark> at the tail." in said("infarct")[0]
    assert said("pepper") == ["name <mark>Pepper</mark>"]
    assert said("grosse pep") == ["name <mark>Pepper</mark>", "owner Frau <mark>Größe</mark>"]
    assert said("cranial gas")[0] == "seen or not RIGHT adrenal, <mark>cranial</mark> pole: not seen · <mark>gas</mark>"
    assert said("capsule sm") == ["note LEFT adrenal: <mark>Capsule</mark> <mark>smooth</mark>."]


def test_what_somebody_wrote_stands_before_what_was_only_recorded(db: Database, sign_in: Enter) -> None:
    with write(db):
        for number, day in ((1, "2026-11-20"), (2, "2026-11-24")):
            phone = exam(db, number, f"Dog {number}", day)
            phone.seen("spleen", "whole", normal=True)
            if number == 1:
                phone.act("found", {"about": "spleen", "finding": "nodule"})
            journal.append(db, phone.written[2:], "phone")
    page = sign_in().get("/review?q=spleen").text
    assert names(page) == ["Dog 1", "Dog 2"]
    assert page.index(queue.WRITTEN) < page.index("Dog 1") < page.index(queue.RECORDED) < page.index("Dog 2")


def test_an_issued_impression_is_found_with_its_version(db: Database, sign_in: Enter) -> None:
    phone = Phone()
    phone.opened()
    phone.closed()
    journal.append(db, phone.written, "phone")
    browser = sign_in()
    vet = Vet(browser)
    vet.fill(answered="yes", impression="Hedgehog-shaped shadow.").post("draft")
    assert "impression written, not signed" in browser.get("/review").text
    assert names(browser.get("/review?q=hedgehog").text) == []
    vet.look().fill(answered="yes", impression="Hedgehog-shaped shadow.").post("sign")
    page = browser.get("/review?q=hedgehog").text
    assert names(page) == ["Pepper"] and "version 1, final" in page and "<mark>Hedgehog</mark>-shaped" in page
    assert "impression written, not signed" not in page


def test_the_rows_are_read_in_the_order_of_the_index_and_with_one_question(db: Database) -> None:
    with write(db):
        for number in range(5):
            exam(db, number, f"Dog {number}")
    said: list[str] = []
    db.conn.set_trace_callback(said.append)
    shown = queue.page(db, asked.Asked())
    db.conn.set_trace_callback(None)
    assert shown.total == 5 and len([one for one in said if one.startswith("select")]) <= 3
    (rows,) = [one for one in said if "order by" in one]
    plan = " / ".join(row[3] for row in db.execute(f"explain query plan {rows}"))
    assert "exams_in_order" in plan and "TEMP B-TREE" not in plan


def test_the_next_exam_that_waits(db: Database) -> None:
    with write(db):
        for number, day in ((1, "2026-11-20"), (2, "2026-11-24"), (3, "2026-11-22")):
            exam(db, number, f"Dog {number}", day)
    assert queue.following(db, "exam-2") == "exam-3"
    assert queue.following(db, "exam-3") == "exam-1"
    assert queue.following(db, "exam-1") == "exam-2"
    assert queue.following(db, EXAM) == "exam-2"
