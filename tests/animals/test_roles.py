"""Who may keep animals and visits: a reader reads and is offered nothing else, an assistant keeps them."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.accounts.desk import as_role
from tests.animals.desk import Page, animal
from tests.builders import EXAM, whole_exam
from webapp.store import desk, journal

Enter = Callable[..., FlaskClient]
DAY = "2026-11-30"


@pytest.fixture
def kept(db: Database, sign_in: Enter) -> str:
    """An animal with a fork, a visit and a walk-in beside it."""
    patient = animal(sign_in(), "Otto")
    for breed in ("Beagle", "Harrier"):
        desk.act(db, "set", {"about": "patient.breed", "value": breed}, author="RD", patient=patient)
    body = {"about": "visit", "date": DAY, "order": 1, "patient": {}, "question": {"text": "Stones?"}}
    desk.act(db, "planned", body, author="RD", patient=patient)
    journal.append(db, whole_exam().written, "phone")
    return patient


def test_a_reader_reads_and_is_offered_nothing_that_is_refused(db: Database, sign_in: Enter, kept: str) -> None:
    reader = as_role(db, sign_in, "reader")
    pages = ["/animals", f"/animals/{kept}", f"/visits?day={DAY}", "/review", f"/review/exam/{EXAM}"]
    pages.append("/visits/" + next(db.query("select id from visits"))["id"])
    for address in pages:
        answer = reader.get(address)
        assert answer.status_code == 200, address
        offered = answer.text.split("<main", 1)[1]
        assert 'method="post"' not in offered, address
        for way in ("/edit", "/new", "/merge/", "/exchange/import", "/animal\""):
            assert way not in offered, (address, way)
    assert "Beagle" in reader.get(f"/animals/{kept}").text, "what two people recorded is shown to everyone"
    assert reader.get("/animals/new").status_code == 403


def test_an_assistant_keeps_animals_and_visits(db: Database, sign_in: Enter, kept: str) -> None:
    assistant = as_role(db, sign_in, "assistant")
    Page(assistant, f"/animals/{kept}/edit").sent(sex="female")
    Page(assistant, f"/visits/new?patient={kept}").sent(date=DAY, text="Stones?")
    assert assistant.get(f"/review/exam/{EXAM}/animal").status_code == 200
