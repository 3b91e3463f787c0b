"""FHIR R4 given and taken: what is given is valid by the reference library, and comes back as it was.

Checked against fhir.resources (R4B, which for these resources is R4) and hl7.org/fhir/R4.
"""

import json
from collections.abc import Callable
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle
from fhir.resources.R4B.patient import Patient
from fhir.resources.R4B.servicerequest import ServiceRequest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.animals.desk import Page, animal
from webapp.animals import find
from webapp.exchange import columns, fhir_out, importing
from webapp.exchange.ready import Choices
from webapp.store import animals
from webapp.store.db import open_database
from webapp.visits import plan

Enter = Callable[..., FlaskClient]
CHOICES = Choices(columns.ANIMALS, "Oldbook")


def take(db: Database, told: Any, kind: str = columns.ANIMALS) -> importing.Taken:
    return importing.take(db, json.dumps(told).encode(), CHOICES._replace(kind=kind), "RD")


def patient(**more: Any) -> dict[str, Any]:
    species = {"coding": [{"system": fhir_out.SNOMED, "code": "448771007"}]}
    extension = [{"url": fhir_out.ANIMAL, "extension": [{"url": "species", "valueCodeableConcept": species}]}]
    return {"resourceType": "Patient", "id": "17", "name": [{"text": "Max"}], "extension": extension} | more


def whole(browser: FlaskClient) -> str:
    return animal(browser, "Otto", breed="Beagle", sex="male", neutered="yes", operation="testes removed",
                  birth_date="2019-03-04", microchip="276098106123456", numbers__0__label="register",
                  numbers__0__value="A-17", owner_name="L. Thorn", owner_contact="555 1234")


def test_a_record_is_given_as_a_valid_patient(sign_in: Enter) -> None:
    browser = sign_in()
    told = browser.get(f"/exchange/patient/{whole(browser)}.json").get_json(force=True)
    made = Patient.model_validate(told)
    assert (made.gender, str(made.birthDate), made.name[0].text) == ("male", "2019-03-04", "Otto")
    parts = {part.url: part.valueCodeableConcept for part in made.extension[0].extension}
    assert parts["species"].coding[0].code == "448771007" and parts["breed"].text == "Beagle"
    assert parts["genderStatus"].coding[0].code == "neutered"


def test_all_records_are_given_as_a_valid_bundle_and_come_back_as_they_were(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    whole(browser)
    animal(browser, "Tom", "cat")
    told = browser.get("/exchange/patients.json").get_json(force=True)
    assert len(Bundle.model_validate(told).entry) == 2
    assert take(db, told).entries == 0, "taken in again here, it changes nothing"
    other = open_database(":memory:")
    assert take(other, told).new == 2 and take(other, told).entries == 0
    fields = ("name", "species", "breed", "sex", "neutered", "operation", "birth_date", "microchip", "owner.name")
    for one, two in zip(find.everything(db), find.everything(other), strict=True):
        assert [one["record"].get(name) for name in fields] == [two["record"].get(name) for name in fields]
    other.close()


def test_a_visit_is_given_as_a_valid_request_and_comes_back_as_it_was(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    otto = whole(browser)
    Page(browser, f"/visits/new?patient={otto}").sent(
        date="2026-11-30", text="Large glands?", structures=["adrenal.left", "spleen"], urgency="emergency",
        requested_by="R. Dale", history="Drinks.", medication="none", pending="ACTH", steroids="no", trilostane="yes",
        place="Room 2")
    (visit,) = plan.of_day(db, "2026-11-30")
    told = browser.get(f"/exchange/request/{visit['id']}.json").get_json(force=True)
    made = ServiceRequest.model_validate(told)
    assert (made.status, made.intent, made.priority, made.subject.reference) == (
        "active", "order", "stat", f"Patient/{otto}")
    assert [site.text for site in made.bodySite] == ["LEFT adrenal", "Spleen"]
    copy = json.loads(json.dumps(told)) | {"identifier": [{"value": "r1"}], "id": "r1"}
    assert take(db, copy, columns.VISITS).new == 1 and take(db, copy, columns.VISITS).entries == 0
    one, two = plan.of_day(db, "2026-11-30")
    for field in ("question", "history", "medication", "pending", "urgency", "requested_by", "place", "context"):
        assert one[field] == two[field], field


def test_a_patient_is_known_again_by_any_of_its_numbers(db: Database) -> None:
    assert take(db, patient(identifier=[{"system": "urn:book", "value": "9"}])).new == 1
    assert take(db, patient(id="18", identifier=[{"system": "urn:book", "value": "9"}])).same == 1
    taken = take(db, patient(gender="female", identifier=[{"system": "urn:book", "value": "9"}]))
    assert (taken.changed, taken.entries) == (1, 1)


@pytest.mark.parametrize("told, said", [
    (patient(extension=[]), "neither a dog nor a cat"),
    (patient(name=[]), "is empty"),
    (patient(birthDate="2019"), "a whole day"),
    (patient(name="Max", extension=5), "neither a dog"),
    (patient(contact=["x"]), "not built as FHIR"),
])
def test_a_patient_that_cannot_be_taken_says_why(db: Database, told: Any, said: str) -> None:
    found = importing.plan(db, json.dumps(told).encode(), CHOICES).problems
    assert any(said in one.text for one in found), found
    with pytest.raises(importing.Refused):
        take(db, told)


def test_a_request_for_an_animal_that_is_not_here_says_so(db: Database) -> None:
    told = {"resourceType": "ServiceRequest", "id": "r1", "status": "active", "intent": "order",
            "subject": {"reference": "Patient/none"}, "reasonCode": [{"text": "Why?"}]}
    choices = CHOICES._replace(kind=columns.VISITS)
    (found,) = importing.plan(db, json.dumps(told).encode(), choices).problems
    assert (found.column, found.text) == ("ServiceRequest.subject", "no animal here is none.")


def test_what_is_not_kept_is_named(db: Database) -> None:
    look = importing.look(json.dumps(patient(deceasedBoolean=False, photo=[])).encode(), CHOICES)
    assert look.unread == ["Patient.deceasedBoolean", "Patient.photo"]
    assert animals.record(db, "17") is None
