"""What was said of an exam goes with it where the law or an owner asks, and is given out with it."""

from sqlite_utils import Database

from tests.own_reference.practice import KIDNEY, exam, known_healthy
from webapp.keeping import animal_out
from webapp.own_reference import measuring
from webapp.store import chain, erasures, healthy


def texts(db: Database) -> str:
    return " ".join(row["body"] for row in db.query("select body from entries")) + " ".join(
        row["measured"] for row in db.query("select measured from measured_exams")
    )


def test_erasing_an_exam_takes_what_the_desk_said_of_it_along(db: Database) -> None:
    gone, stays = exam("40", name="Gone"), exam("41", name="Stays")
    known_healthy(db, gone, stays)
    for phone in (gone, stays):
        healthy.say(db, healthy.of_value(str(phone.exam), KIDNEY), {"counted": False, "why": "One kidney."}, "RD", "")
    measuring.of_exams(db, [str(gone.exam), str(stays.exam)])
    assert texts(db).count("Gone") == 2 and texts(db).count("One kidney.") == 2
    erasures.erase(db, erasures.of_exams(db, [str(gone.exam)]), "RD", "asked for", "2026-11-24T10:00:00+01:00")
    assert "Gone" not in texts(db) and texts(db).count("One kidney.") == 1
    assert set(healthy.marks(db)) == {stays.exam} and set(healthy.counted(db)) == {(stays.exam, KIDNEY)}
    assert not [fault for fault in chain.verify(db) if fault.grave]


def test_an_animal_is_given_out_with_what_was_said_of_its_exams(db: Database) -> None:
    phone, other = exam("40"), exam("41")
    known_healthy(db, phone, other)
    bodies = " ".join(entry["body"] for entry in animal_out.journal_file(db, str(phone.patient))["entries"])
    assert f"practice.healthy.{phone.exam}" in bodies and str(other.exam) not in bodies
