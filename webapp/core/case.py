"""A case as outside checks write it (`flask assess`) -> the exam that the judgement reads.

Shape of the input: README, "assess". Errors are CoreError with one sentence.
"""

from . import decimals, typed
from .catalogue import Catalogue
from .errors import CoreError

SPECIES = ("dog", "cat")
CONTEXT = ("sedation", "fluids", "bladder_filling", "fasted", "steroids", "recumbency", "signs")


def exam(case: object, catalogue: Catalogue) -> dict:
    """The exam dict of one case; raises CoreError on anything that cannot be understood."""
    if not isinstance(case, dict):
        raise CoreError("not_a_case", "a case is a JSON object")
    patient = _patient(case.get("patient"))
    _known_keys(case)
    return {
        "id": None,
        "date": (case.get("exam") or {}).get("date"),
        "patient": patient,
        "context": _context(case.get("context")),
        "question": {"structures": _asked(case.get("asked"), catalogue)},
        "readings": _readings(case.get("readings"), catalogue),
        "states": _states(case.get("structures"), catalogue),
        "findings": _findings(case.get("findings"), catalogue),
        "fields": {},
        "forks": [],
    }


def earlier(case: dict, catalogue: Catalogue) -> list:
    """The earlier exams of a case, each an exam dict. Species is taken from the case."""
    found = []
    for row in _rows(case.get("earlier"), "earlier"):
        patient = dict(row.get("patient") or {})
        patient.setdefault("species", case["patient"]["species"])
        copy = dict(row)
        copy["patient"] = patient
        copy.pop("earlier", None)
        found.append(exam(copy, catalogue))
    return found


def _known_keys(case: dict) -> None:
    for name in case:
        if name not in ("exam", "patient", "context", "asked", "readings", "structures", "findings", "earlier"):
            raise CoreError("unknown_field", 'a case has no field "' + str(name) + '"')


def _rows(value: object, name: str) -> list:
    if value is None:
        return []
    if not isinstance(value, list):
        raise CoreError("not_a_list", '"' + name + '" is a list')
    for row in value:
        if not isinstance(row, dict):
            raise CoreError("not_an_object", 'every item of "' + name + '" is an object')
    return value


def _patient(given: object) -> dict:
    if not isinstance(given, dict) or given.get("species") not in SPECIES:
        raise CoreError("no_species", 'patient.species is "dog" or "cat"')
    patient = dict(given)
    for name in ("weight_kg", "ideal_weight_kg"):
        if patient.get(name) is not None:
            number = decimals.parse(patient[name])
            if number[0] <= 0:
                raise CoreError("bad_weight", "patient." + name + " is above zero, in kg")
            patient[name] = decimals.exact(number)
    for name in ("age_months", "body_condition"):
        if patient.get(name) is not None:
            number = decimals.parse(patient[name])
            patient[name] = number[0] // number[1]
    return patient


def _context(given: object) -> dict:
    if given is None:
        return {}
    if not isinstance(given, dict):
        raise CoreError("not_an_object", '"context" is an object')
    for name in given:
        if name not in CONTEXT:
            raise CoreError("unknown_field", 'context has no field "' + str(name) + '"')
    return dict(given)


def _asked(given: object, catalogue: Catalogue) -> list:
    if given is None:
        return []
    if not isinstance(given, list):
        raise CoreError("not_a_list", '"asked" is a list of structures')
    for name in given:
        catalogue.place(name)
    return list(given)


def _readings(given: object, catalogue: Catalogue) -> list:
    readings = []
    for row in _rows(given, "readings"):
        quantity = catalogue.quantity(row.get("quantity"))
        values = row.get("values")
        if not isinstance(values, list) or not values:
            raise CoreError("no_values", "readings of " + quantity["id"] + " need a list of values")
        unit = row.get("unit") or quantity["unit"]
        for value in values:
            reading = {"quantity": quantity["id"], "value": _value(value, unit, quantity), "unit": quantity["unit"]}
            for name in ("plane", "view", "cut", "acquired", "recumbency", "lesion"):
                reading[name] = row.get(name)
            readings.append(reading)
    return readings


def _value(value: object, unit: str, quantity: dict) -> str:
    number = decimals.parse(value)
    if number[0] < 0:
        raise CoreError("negative", "a reading of " + quantity["id"] + " is below zero: " + str(value))
    return typed.convert(str(value).strip(), unit, quantity["unit"])


def _states(given: object, catalogue: Catalogue) -> list:
    states = []
    for row in _rows(given, "structures"):
        structure = catalogue.structure(row.get("structure"))
        part = row.get("part")
        about = structure["id"] + ("." + part if part else "")
        catalogue.place(about)
        seen = row.get("seen")
        normal = bool(row.get("normal"))
        if seen is None and normal:
            seen = "whole"
        if seen not in catalogue.seen_states:
            raise CoreError("unknown_state", '"' + str(seen) + '" is not a state of a structure')
        why = row.get("why")
        states.append(
            {
                "about": about,
                "structure": structure["id"],
                "part": part,
                "seen": seen,
                "normal": normal,
                "why": why if isinstance(why, list) else ([why] if why else []),
                "fork": False,
            }
        )
    return states


def _findings(given: object, catalogue: Catalogue) -> list:
    findings = []
    for row in _rows(given, "findings"):
        catalogue.structure(row.get("structure"))
        if not row.get("finding"):
            raise CoreError("no_finding", "a finding needs a name")
        finding = dict(row)
        finding["dimensions"] = [
            typed.convert(str(size).strip(), row.get("unit") or "mm", "mm")
            for size in row.get("dimensions") or []
            if decimals.parse(size)
        ]
        finding["unit"] = "mm"
        findings.append(finding)
    return findings
