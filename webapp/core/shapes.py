"""The types that fields may have: one mis-typed field makes an entry unread or a case refused, never a crash."""

from . import decimals
from .errors import CoreError

SPECIES = ("dog", "cat")
SEXES = ("male", "female")
SIGNS = (
    "hypoadrenocorticism_suspected",
    "hyperadrenocorticism_proven",
    "chronic_kidney_disease_suspected",
    "jaundice",
    "vomiting",
)


def refuse(name: str, needed: str) -> CoreError:
    return CoreError("wrong_type", name + " is " + needed)


def text(value: object, name: str) -> str:
    if not isinstance(value, str):
        raise refuse(name, "text")
    return value


def texts(value: object, name: str) -> list:
    if not isinstance(value, list):
        raise refuse(name, "a list of texts")
    for item in value:
        text(item, "an item of " + name)
    return value


def text_or_texts(value: object, name: str) -> object:
    return value if isinstance(value, str) else texts(value, name)


def truth(value: object, name: str) -> bool:
    if not isinstance(value, bool):
        raise refuse(name, "true or false")
    return value


def whole(value: object, name: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise refuse(name, "a whole number")
    return value


def count(value: object, name: str) -> int:
    number = whole(value, name)
    if number < 0:
        raise refuse(name, "not below zero")
    return number


def size(value: object, name: str) -> str:
    """Decimal text, not below zero."""
    number = text(value, name)
    if decimals.parse(number)[0] < 0:
        raise refuse(name, "not below zero")
    return number


def above_zero(value: object, name: str) -> str:
    number = text(value, name)
    if decimals.parse(number)[0] <= 0:
        raise refuse(name, "above zero")
    return number


def thing(value: object, name: str) -> dict:
    if not isinstance(value, dict):
        raise refuse(name, "an object")
    return value


def one_of(value: object, names: tuple | list, name: str) -> object:
    if value not in names:
        raise refuse(name, "one of: " + ", ".join(names))
    return value


def species(value: object, name: str) -> object:
    return one_of(value, SPECIES, name)


def sex(value: object, name: str) -> object:
    return one_of(value, SEXES, name)


def fields(given: object, checks: dict, name: str) -> dict:
    """Checks the named fields of an object that are given and not null; other fields are left as they are."""
    found = thing(given, name)
    for field in found:
        check = checks.get(field)
        if check is not None and found[field] is not None:
            check(found[field], name + "." + str(field))
    return found


PATIENT = {
    "name": text,
    "species": species,
    "breed": text,
    "sex": sex,
    "neutered": truth,
    "operation": text,
    "microchip": text,
    "birth_date": text,
    "age_months": count,
    "weight_kg": above_zero,
    "weight_source": text,
    "weight_typed": text,
    "weight_typed_unit": text,
    "ideal_weight_kg": above_zero,
    "body_condition": count,
}
CONTEXT = {
    "sedation": texts,
    "fluids": text,
    "bladder_filling": text,
    "fasted": truth,
    "steroids": text,
    "treatments": texts,
    "recumbency": text_or_texts,
    "coat": text,
    "signs": texts,
}
QUESTION = {"text": text, "structures": texts, "answered": text}
READING = {
    "plane": text,
    "view": text,
    "cut": text,
    "acquired": text,
    "recumbency": text,
    "window": text,
    "distance": text,
    "lesion": text,
    "typed": text,
    "typed_unit": text,
    "depth_mm": above_zero,
    "rows": above_zero,
    "note": text,
    "image": text,
    "pair": count,
}
ATTACHMENT = {
    "about": text,
    "hash": text,
    "type": text,
    "size": count,
    "width": count,
    "height": count,
    "duration_s": count,
    "text": text,
}
TOLD = {
    "about": text,
    "to": text,
    "how": text,
    "when": text,
    "read_back": truth,
    "text": text,
    "version": count,
    "number": count,
    "pdf_hash": text,
}
SECOND_READS = ("agree", "disagree", "not_read")


def _list(value: object, name: str) -> list:
    if not isinstance(value, list):
        raise refuse(name, "a list")
    return value


PROCEDURE = {
    "procedure": text,
    "number": count,
    "done": truth,
    "why_not": text,
    "when": text,
    "consent": thing,
    "checks": _list,
    "attempts": count,
    "got": text,
    "text": text,
    "watched": text,
}
CONSENT = {"by": text, "when": text, "how": text}
CHECK = {"id": text, "answer": text, "text": text}
VESSEL = {"id": text, "state": text, "extent": text}
FINDING = {
    "finding": text,
    "part": text,
    "shape": text,
    "unit": text,
    "number": count,
    "outline": text,
    "echo": text,
    "site": text,
    "text": text,
    "image": text,
}


def vessel(given: object) -> None:
    if given is not None:
        fields(given, VESSEL, "vessel")


def dimensions(given: object) -> list:
    """The axes of a finding, a list of decimal texts; none is an empty list."""
    if given is None:
        return []
    if not isinstance(given, list):
        raise refuse("dimensions", "a list of sizes")
    for axis in given:
        size(axis, "an axis")
    return given
