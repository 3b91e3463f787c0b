"""The paper of a visit: the phone's structures in the phone's order, blank, with what the desk knows."""

import re
from collections.abc import Callable

from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import PATIENT
from webapp.store import desk, ways
from webapp.visits import sheet

BITCH = {"species": "dog", "sex": "female", "neutered": True}


def labels(patient: dict[str, object], asked: tuple[str, ...] = (), order: tuple[str, ...] = ()) -> list[str]:
    made = sheet.rows(patient, list(asked), {"order": list(order), "phrases": {}})
    return [row["label"] for row in made]


def test_it_asks_for_what_the_phone_asks_for() -> None:
    spayed = labels(BITCH)
    assert len(spayed) == 28, "as many as the phone's form counts for a spayed bitch"
    assert not {"Prostate", "LEFT ovary or its site", "Uterus or stump"} & set(spayed)
    assert "Uterus or stump" in labels(BITCH, asked=("uterus",))
    assert "Prostate" in labels({"species": "dog", "sex": "male", "neutered": True})


def test_it_goes_in_the_order_of_whoever_scans() -> None:
    assert labels(BITCH, order=("bladder", "adrenal.right"))[:3] == ["Urinary bladder", "RIGHT adrenal", "Liver"]


def test_each_core_value_has_as_many_blanks_as_readings_are_wanted(
    db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    body = {
        "about": "visit",
        "date": "2026-11-24",
        "patient": {"name": "Pepper"} | BITCH,
        "question": {"text": "Adrenal glands?", "structures": ["adrenal.left"]},
    }
    visit = desk.act(db, "planned", body, author="RD", patient=PATIENT)
    desk.act(db, "set", {"about": "patient.name", "value": "Pepper"}, author="RD", patient=PATIENT)
    ways.keep(db, "RD", {"order": ["adrenal.left"], "phrases": {}}, "2026-11-24T08:00:00+00:00")
    page = sign_in().get(f"/visits/{visit}/sheet").text
    rows = re.findall(r"<tr><th scope=\"row\">(.*?)</tr>", page, re.DOTALL)
    assert rows[0].startswith("LEFT adrenal *") and rows[0].count("<i></i>") == 4
    assert "Pepper" in page and "Adrenal glands?" in page
