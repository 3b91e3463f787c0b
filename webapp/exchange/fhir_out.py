"""Records and requests as FHIR R4 resources: Patient with the animal extension, ServiceRequest.

Source: hl7.org/fhir/R4 (Patient, ServiceRequest), extension patient-animal; species by SNOMED CT as in DICOM CID 7454.
"""

from collections.abc import Mapping
from typing import Any

from webapp.review import words

ANIMAL = "http://hl7.org/fhir/StructureDefinition/patient-animal"
SNOMED = "http://snomed.info/sct"
SPECIES = {"dog": ("448771007", "Canis lupus subspecies familiaris"), "cat": ("448169003", "Felis catus")}
STATUS = "http://hl7.org/fhir/animal-genderstatus"
PRIORITY = {"routine": "routine", "urgent": "urgent", "emergency": "stat"}
CHIP = "Microchip"
HISTORY, MEDICATION, PENDING = "History: ", "Medication: ", "Results awaited: "
STEROIDS, TRILOSTANE = "Steroids in the last year: ", "Trilostane now: "
EXAM = "Ultrasound examination of the abdomen"


def patient(name: str, record: Mapping[str, Any]) -> dict[str, Any]:
    """The record of the animal `name` (its id) as a Patient. Weight is no part of a Patient and stays out."""
    made: dict[str, Any] = {"resourceType": "Patient", "id": name, "active": record.get("merged_into") is None}
    identifiers = [_identifier(CHIP, record["microchip"])] if record.get("microchip") else []
    identifiers += [_identifier(row["label"], row["value"]) for row in record.get("numbers") or []]
    if identifiers:
        made["identifier"] = identifiers
    if record.get("shown"):
        made["name"] = [{"text": record["shown"]}]
    if record.get("sex"):
        made["gender"] = record["sex"]
    if record.get("birth_date"):
        made["birthDate"] = record["birth_date"]
    contact: dict[str, Any] = {}
    if record.get("owner.name"):
        contact["name"] = {"text": record["owner.name"]}
    if record.get("owner.contact"):
        contact["telecom"] = [{"value": record["owner.contact"]}]
    if contact:
        made["contact"] = [{"relationship": [{"text": "owner"}], **contact}]
    animal = _animal(record)
    if animal:
        made["extension"] = [{"url": ANIMAL, "extension": animal}]
    if record.get("merged_into"):
        made["link"] = [{"other": {"reference": f"Patient/{record['merged_into']}"}, "type": "replaced-by"}]
    return made


def _identifier(label: str, value: str) -> dict[str, Any]:
    return {"type": {"text": label}, "value": value}


def _animal(record: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The sub-extensions; species is asked for by the definition, so without one there is no extension."""
    if record.get("species") not in SPECIES:
        return []
    code, display = SPECIES[record["species"]]
    species = {"coding": [{"system": SNOMED, "code": code, "display": display}], "text": record["species"]}
    parts = [{"url": "species", "valueCodeableConcept": species}]
    if record.get("breed"):
        parts.append({"url": "breed", "valueCodeableConcept": {"text": record["breed"]}})
    status = {True: "neutered", False: "intact"}.get(record.get("neutered"))  # type: ignore[arg-type]
    if status:
        told: dict[str, Any] = {"coding": [{"system": STATUS, "code": status}]}
        if record.get("operation"):
            told["text"] = record["operation"]
        parts.append({"url": "genderStatus", "valueCodeableConcept": told})
    return parts


def service_request(visit: Mapping[str, Any]) -> dict[str, Any]:
    """A visit as a ServiceRequest: who asks what of which animal, and when."""
    question, context = visit.get("question") or {}, visit.get("context") or {}
    made: dict[str, Any] = {
        "resourceType": "ServiceRequest",
        "id": visit["id"][:64],
        "status": "revoked" if visit["cancelled"] else "active",
        "intent": "order",
        "code": {"text": EXAM},
        "subject": {"reference": f"Patient/{visit['patient']}"},
        "authoredOn": visit["at"],
    }
    if visit.get("number"):
        made["identifier"] = [{"value": visit["number"]}]
    if PRIORITY.get(str(visit.get("urgency"))):
        made["priority"] = PRIORITY[visit["urgency"]]
    if visit.get("date"):
        made["occurrenceDateTime"] = visit["date"]
    for field, name in (("requested_by", "requester"), ("sonographer", "performer")):
        if visit.get(field):
            told = {"display": visit[field]}
            made[name] = [told] if name == "performer" else told
    if visit.get("place"):
        made["locationCode"] = [{"text": visit["place"]}]
    if question.get("text"):
        made["reasonCode"] = [{"text": question["text"]}]
    if question.get("structures"):
        made["bodySite"] = [{"text": words.label(one)} for one in question["structures"]]
    notes = [(HISTORY, visit.get("history")), (MEDICATION, visit.get("medication")), (PENDING, visit.get("pending"))]
    notes.append((STEROIDS, context.get("steroids")))
    trilostane = "yes" if "trilostane" in (context.get("treatments") or []) else context.get("trilostane")
    notes.append((TRILOSTANE, trilostane))
    told_notes = [{"text": f"{label}{text}"} for label, text in notes if text]
    if told_notes:
        made["note"] = told_notes
    return made


def bundle(resources: list[dict[str, Any]]) -> dict[str, Any]:
    """Several resources in one file."""
    return {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": one} for one in resources]}
