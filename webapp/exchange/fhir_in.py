"""FHIR R4 taken in: Patients with the animal extension, ServiceRequests; one resource or a Bundle of them.

What a resource says beyond what is kept here is named, never dropped in silence.
"""

import json
import re
from datetime import date
from typing import Any

from webapp import dates
from webapp.animals import typed
from webapp.exchange import columns, fhir_out, meanings, visits_in
from webapp.exchange.ready import Problem, Row
from webapp.exchange.tables import Unreadable
from webapp.visits import forms

PRIORITY = {"routine": "routine", "urgent": "urgent", "asap": "urgent", "stat": "emergency"}
READ = {
    "Patient": {"resourceType", "id", "identifier", "name", "gender", "birthDate", "contact", "extension", "active",
                "link", "meta", "text"},
    "ServiceRequest": {"resourceType", "id", "identifier", "status", "intent", "code", "subject", "authoredOn",
                       "priority", "occurrenceDateTime", "requester", "performer", "locationCode", "reasonCode",
                       "bodySite", "note", "meta", "text"},
}
OWN_ID = "FHIR id"
NOTES = {fhir_out.HISTORY: "history", fhir_out.MEDICATION: "medication", fhir_out.PENDING: "pending"}
KINDS = {"Patient": columns.ANIMALS, "ServiceRequest": columns.VISITS}
_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def resources(data: bytes) -> list[dict[str, Any]]:
    """The resources in a file. Raises Unreadable."""
    try:
        told = json.loads(data.decode("utf-8-sig"), parse_float=str)
    except (ValueError, RecursionError) as error:
        raise Unreadable(f"This is no JSON in UTF-8: {error}") from error
    if isinstance(told, dict) and told.get("resourceType") == "Bundle":
        listed = [one.get("resource") for one in _list(told.get("entry")) if isinstance(one, dict)]
    else:
        listed = [told]
    found = [one for one in listed if isinstance(one, dict) and one.get("resourceType")]
    if not found:
        raise Unreadable("There is no FHIR resource in this file.")
    return found


def kind(listed: list[dict[str, Any]]) -> str:
    """What the file holds: animals or visits. Raises Unreadable where it holds both, or neither."""
    types = {str(one["resourceType"]) for one in listed}
    if types <= {"Patient"}:
        return columns.ANIMALS
    if types <= {"ServiceRequest"}:
        return columns.VISITS
    raise Unreadable(f"One file holds only Patients or only ServiceRequests; here are {', '.join(sorted(types))}.")


def rows(listed: list[dict[str, Any]], label: str, problems: list[Problem]) -> list[Row]:
    """The resources that can be taken in; what is wrong with the others goes to `problems`. Lines count resources."""
    found = []
    for line, one in enumerate(listed, 1):
        before = len(problems)
        try:
            row = (_patient if one["resourceType"] == "Patient" else _request)(line, one, label, problems)
        except (AttributeError, KeyError, TypeError) as error:
            problems.append(Problem(line, str(one["resourceType"]), f"is not built as FHIR R4 says ({error})."))
            continue
        if len(problems) == before:
            found.append(row)
    return found


def unread(listed: list[dict[str, Any]]) -> list[str]:
    """Elements that the resources hold and that are not kept here, each once."""
    names = set()
    for one in listed:
        kind_of = str(one["resourceType"])
        names |= {f"{kind_of}.{name}" for name in one.keys() - READ.get(kind_of, set())}
    return sorted(names)


def _patient(line: int, one: dict[str, Any], label: str, problems: list[Problem]) -> Row:
    numbers = [(_label(told, label), str(told["value"])) for told in _list(one.get("identifier")) if told.get("value")]
    chip = next((value for name, value in numbers if name.casefold() == fhir_out.CHIP.casefold()), None)
    others = [{"label": name, "value": value} for name, value in numbers if value != chip]
    own = str(one["id"]) if _UUID.fullmatch(str(one.get("id"))) else ""
    if not others and not own and one.get("id"):
        others.append({"label": OWN_ID, "value": str(one["id"])})
    extensions = [told for told in _list(one.get("extension")) if told.get("url") == fhir_out.ANIMAL]
    animal: dict[str, Any] = next(iter(extensions), {})
    parts = {told.get("url"): told.get("valueCodeableConcept") or {} for told in _list(animal.get("extension"))}
    facts: dict[str, Any] = {"name": _name(one), "microchip": chip, "numbers": others or None}
    facts["species"] = _species(line, parts.get("species"), problems)
    facts["breed"] = _words(parts.get("breed") or {})
    if one.get("gender") in ("female", "male"):
        facts["sex"] = one["gender"]
    status = _codes(parts.get("genderStatus") or {})
    facts["neutered"] = True if "neutered" in status else False if "intact" in status else None
    facts["operation"] = (parts.get("genderStatus") or {}).get("text")
    facts["birth_date"] = _born(line, one.get("birthDate"), problems)
    contact: dict[str, Any] = next(iter(_list(one.get("contact"))), {})
    facts["owner.name"] = (contact.get("name") or {}).get("text")
    facts["owner.contact"] = next((told.get("value") for told in _list(contact.get("telecom"))), None)
    if not facts["name"]:
        problems.append(Problem(line, "Patient.name", "is empty."))
    number = others[0] if others else {"label": label, "value": own}
    told = {field: value for field, value in facts.items() if value not in (None, "")}
    return Row(line, number["value"], told, number["label"], own)


def _species(line: int, told: dict[str, Any] | None, problems: list[Problem]) -> str | None:
    for word in [*_codes(told or {}), _words(told or {}) or ""]:
        try:
            return meanings.species(word)
        except ValueError:
            continue
    problems.append(Problem(line, "Patient.extension patient-animal species", "names neither a dog nor a cat."))
    return None


def _born(line: int, text: Any, problems: list[Problem]) -> str | None:
    if text is None:
        return None
    try:
        return typed.born(str(text), date.today())
    except ValueError:
        # FHIR allows a year or a month alone; a day would be a guess.
        problems.append(Problem(line, "Patient.birthDate", f"{text} is no day of birth: a whole day is kept here."))
        return None


def _request(line: int, one: dict[str, Any], label: str, problems: list[Problem]) -> Row:
    number = next((str(told["value"]) for told in _list(one.get("identifier")) if told.get("value")), "")
    number = number.removeprefix(f"{label}: ")
    subject = str((one.get("subject") or {}).get("reference") or "").rpartition("/")[2]
    told = (one.get("subject") or {}).get("identifier") or {}
    subject = subject or str(told.get("value") or "")
    if not subject:
        problems.append(Problem(line, "ServiceRequest.subject", "names no animal."))
    context: dict[str, Any] = {}
    facts: dict[str, Any] = {
        "date": str(one.get("occurrenceDateTime") or "")[:10],
        "urgency": PRIORITY.get(str(one.get("priority") or "routine")),
        "requested_by": (one.get("requester") or {}).get("display"),
        "sonographer": next((who.get("display") for who in _list(one.get("performer"))), None),
        "place": next((_words(place) for place in _list(one.get("locationCode"))), None),
        "question": {"text": _asked(one), "structures": _sites(line, one, problems)},
        "cancelled": True if one.get("status") in ("revoked", "entered-in-error") else None,
    }
    for note in _list(one.get("note")):
        _note(str(note.get("text") or ""), facts, context)
    facts["context"] = context or None
    if facts["date"]:
        try:
            dates.typed_day(facts["date"])
        except ValueError:
            problems.append(Problem(line, "ServiceRequest.occurrenceDateTime", f"{facts['date']} is no whole day."))
    own = str(one.get("id") or "")
    kept = {field: value for field, value in facts.items() if value is not None}
    return Row(line, number or own, kept, subject, own)


def _asked(one: dict[str, Any]) -> str:
    return "\n".join(filter(None, (_words(told) for told in _list(one.get("reasonCode"))))) or ""


def _sites(line: int, one: dict[str, Any], problems: list[Problem]) -> list[str]:
    found = []
    for told in _list(one.get("bodySite")):
        try:
            found += visits_in.structures(_words(told) or "")
        except ValueError as error:
            problems.append(Problem(line, "ServiceRequest.bodySite", str(error)))
    return found


def _note(text: str, facts: dict[str, Any], context: dict[str, Any]) -> None:
    """A note of ours says what it is; any other is history."""
    for label, field in NOTES.items():
        if text.startswith(label):
            facts[field] = text.removeprefix(label)
            return
    if text.startswith(fhir_out.STEROIDS):
        context["steroids"] = text.removeprefix(fhir_out.STEROIDS)
    elif text.startswith(fhir_out.TRILOSTANE):
        given = text.removeprefix(fhir_out.TRILOSTANE)
        context |= {"treatments": [forms.TRILOSTANE]} if given == "yes" else {"trilostane": given}
    elif text:
        facts["history"] = "\n".join(filter(None, (facts.get("history"), text)))


def _label(told: dict[str, Any], label: str) -> str:
    """Whose number it is: as its type says, else its system, else the file's."""
    return str((told.get("type") or {}).get("text") or told.get("system") or label)


def _name(one: dict[str, Any]) -> str | None:
    for told in _list(one.get("name")):
        words = told.get("text") or " ".join([*_list(told.get("given")), told.get("family") or ""]).strip()
        if words:
            return str(words)
    return None


def _words(told: dict[str, Any]) -> str | None:
    display = next((one.get("display") for one in _list(told.get("coding")) if one.get("display")), None)
    return told.get("text") or display


def _codes(told: dict[str, Any]) -> list[str]:
    return [str(one.get("code")) for one in _list(told.get("coding"))]


def _list(told: Any) -> list[Any]:
    return told if isinstance(told, list) else []
