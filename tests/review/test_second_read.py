"""A second read is another person's, kept beside the exam, and in the report only where the signer says so."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, whole_exam
from tests.conftest import PASSWORD
from tests.review.desk import Vet
from webapp.store import exams, journal, kept, people, reports, second_reads

Enter = Callable[..., FlaskClient]
ADDRESS = f"/review/exam/{EXAM}/second-read"
WORDS = "The LEFT gland looks split to me."


@pytest.fixture(autouse=True)
def two_readers(db: Database) -> None:
    people.add(db, "IF", "I. Fallow", "reviewer", PASSWORD)
    people.add(db, "VV", "V. Stone", "reviewer", PASSWORD)
    journal.append(db, whole_exam().written, "phone")


def reader(browser: FlaskClient) -> Vet:
    return Vet(browser, page="/second-read")


def choose(vet: Vet, structure: str, reads: str, text: str = "") -> Vet:
    """Choose for one structure, as its row stands on the page."""
    row = next(name for name, value in vet.form.items() if name.endswith("-structure") and value == structure)
    stem = row.removesuffix("-structure")
    vet.form |= {f"{stem}-reads": reads, f"{stem}-text": text}
    return vet


def keep(vet: Vet) -> Vet:
    answer = vet.browser.post(vet.address, data=vet.form)
    assert answer.status_code == 302, answer.text
    return vet.look()


def test_what_was_chosen_is_kept_under_the_readers_name_and_what_was_left_open_is_not(
    db: Database, sign_in: Enter
) -> None:
    vet = reader(sign_in())
    assert "cranial pole: not seen (gas)" in vet.page and "caudal pole thickness 6.2, 6.4 mm" in vet.page
    keep(choose(choose(vet, "adrenal.left", "disagree", WORDS), "liver", "agree"))
    rows = {row["structure"]: row for row in second_reads.of(db, EXAM)}
    assert {name: (row["reads"], row["author"]) for name, row in rows.items()} == {
        "adrenal.left": ("disagree", "RD"), "liver": ("agree", "RD")}
    page = vet.browser.get(f"/review/exam/{EXAM}").text
    assert "agrees on Liver" in page and WORDS in page


def test_a_changed_mind_is_a_further_entry_and_saying_it_again_is_none(db: Database, sign_in: Enter) -> None:
    vet = keep(choose(reader(sign_in()), "liver", "agree"))
    before = len(kept.of_exam(db, EXAM))
    keep(vet)
    assert len(kept.of_exam(db, EXAM)) == before
    keep(choose(vet, "liver", "disagree", "Coarse."))
    assert [row["reads"] for row in second_reads.of(db, EXAM)] == ["disagree"]
    assert [row["reads"] for row in exams.fold(db, EXAM).exam["second_reads"]] == ["agree", "disagree"]


def test_disagreeing_asks_for_words_and_keeps_what_was_typed(db: Database, sign_in: Enter) -> None:
    vet = choose(choose(reader(sign_in()), "liver", "disagree"), "adrenal.left", "", "Split?")
    answer = vet.browser.post(vet.address, data=vet.form)
    assert "Say what you see otherwise." in answer.text and "Say whether you agree." in answer.text
    assert "Split?" in vet.read(answer).form.values()
    assert second_reads.of(db, EXAM) == []


def test_who_examined_wrote_or_signed_is_no_second_reader(db: Database, sign_in: Enter) -> None:
    vet = Vet(sign_in("IF")).fill(impression="Thick LEFT gland.")
    vet.post("draft")
    assert "You wrote its impression" in vet.browser.get(ADDRESS).text
    for author in ("VS", "IF"):
        with pytest.raises(second_reads.NotAnother):
            second_reads.record(db, EXAM, [second_reads.Read("liver", "agree")], author)
    assert second_reads.record(db, EXAM, [second_reads.Read("liver", "agree")], "RD")
    Vet(sign_in("VV")).sign()
    with pytest.raises(second_reads.NotAnother, match="You signed"):
        second_reads.record(db, EXAM, [second_reads.Read("liver", "agree")], "VV")


def test_the_report_holds_a_second_readers_words_only_where_the_signer_says_so(db: Database, sign_in: Enter) -> None:
    second_reads.record(db, EXAM, [second_reads.Read("adrenal.left", "disagree", WORDS)], "IF")
    Vet(sign_in()).sign()
    assert WORDS not in str(reports.version(db, EXAM, 1)["plain"]).replace("\n", " ")


def test_and_there_they_stand_with_the_readers_name(db: Database, sign_in: Enter) -> None:
    second_reads.record(db, EXAM, [second_reads.Read("adrenal.left", "disagree", WORDS)], "IF")
    second_reads.record(db, EXAM, [second_reads.Read("liver", "agree")], "IF")
    vet = Vet(sign_in())
    assert "The second reader&#39;s words go into the report" in vet.page
    vet.fill(second_read="y").sign()
    plain = " ".join(str(reports.version(db, EXAM, 1)["plain"]).split())
    assert f"Second read: - LEFT adrenal, I. Fallow disagrees: {WORDS}" in plain
    assert "I. Fallow agrees" not in plain, "words only"


def test_a_second_read_after_signing_is_not_late(db: Database, sign_in: Enter) -> None:
    Vet(sign_in()).sign()
    second_reads.record(db, EXAM, [second_reads.Read("liver", "agree")], "IF")
    assert reports.arrived_after(db, EXAM) == []
    assert next(db.query("select state from exams"))["state"] == exams.SIGNED


def test_only_its_reader_takes_a_second_read_back(db: Database, sign_in: Enter) -> None:
    (entry,) = second_reads.record(db, EXAM, [second_reads.Read("liver", "agree")], "IF")
    address = f"/review/exam/{EXAM}/taken-back/{entry}"
    other, own = reader(sign_in()), reader(sign_in("IF"))
    assert other.browser.post(address, data=other.form | {"why": "no"}).status_code == 403
    assert own.browser.post(address, data=own.form | {"why": "wrong row"}).status_code == 302
    assert second_reads.of(db, EXAM) == [] and second_reads.agreement(db) == []


def test_agreement_is_counted_per_structure(db: Database) -> None:
    def read(author: str, **reads: str) -> None:
        rows = [second_reads.Read(name.replace("__", "."), how, "x") for name, how in reads.items()]
        second_reads.record(db, EXAM, rows, author)

    read("IF", liver="agree", adrenal__left="disagree")
    read("VV", liver="agree", adrenal__left="not_read")
    read("VV", adrenal__left="agree")
    counts = {row["structure"]: row for row in second_reads.agreement(db, "2026-11-24", "2026-11-24")}
    assert (counts["liver"]["agree"], counts["liver"]["read"]) == (2, 2)
    assert {name: counts["adrenal.left"][name] for name in ("agree", "disagree", "not_read", "read")} == {
        "agree": 1, "disagree": 1, "not_read": 0, "read": 2}
    assert second_reads.agreement(db, "2026-11-25") == second_reads.agreement(db, None, "2026-11-23") == []
