"""Which column says what: by the words that headings commonly use, changed by a person where they do not."""

import re
from typing import NamedTuple

ANIMALS, VISITS = "animals", "visits"


class Column(NamedTuple):
    """Something that a file may say: our word for it, whether a row must say it, headings that mean it."""

    words: str
    needed: bool
    headings: tuple[str, ...]


KNOWN: dict[str, dict[str, Column]] = {
    ANIMALS: {
        "number": Column("number there", True, ("number", "animal number", "patient number", "patient id", "animal id",
                                                "id", "no", "nr", "code")),
        "name": Column("name", True, ("name", "animal", "animal name", "patient", "patient name", "pet name")),
        "species": Column("species", True, ("species",)),
        "breed": Column("breed", False, ("breed",)),
        "sex": Column("sex", False, ("sex", "gender")),
        "neutered": Column("neutered", False, ("neutered", "desexed", "altered", "spayed castrated")),
        "operation": Column("operation", False, ("operation",)),
        "birth_date": Column("born", False, ("born", "birth date", "birthdate", "date of birth", "dob", "birthday")),
        "age": Column("age", False, ("age",)),
        "weight": Column("weight", False, ("weight", "weight kg", "weight lb", "bodyweight", "body weight")),
        "weight_source": Column("source of the weight", False, ("weight source",)),
        "weight_date": Column("day of the weight", False, ("weight date", "weighed on", "date of weight")),
        "ideal_weight": Column("ideal weight", False, ("ideal weight", "ideal weight kg")),
        "body_condition": Column("body condition", False, ("body condition", "bcs", "body condition score")),
        "microchip": Column("microchip", False, ("microchip", "chip", "chip number", "microchip number")),
        "owner.name": Column("owner", False, ("owner", "owner name", "client", "client name")),
        "owner.contact": Column("owner's contact", False, ("owner contact", "phone", "telephone", "email")),
    },
    VISITS: {
        "number": Column("number there", True, ("number", "visit number", "request number", "appointment number",
                                                "visit id", "request id", "id", "no", "nr")),
        "animal": Column("the animal's number there", True, ("animal number", "patient number", "animal id",
                                                             "patient id", "animal", "patient")),
        "date": Column("day", True, ("day", "date", "visit date", "appointment date")),
        "time": Column("time", False, ("time", "start", "start time")),
        "place": Column("place", False, ("place", "room", "location", "site")),
        "sonographer": Column("examined by", False, ("examined by", "sonographer", "examiner")),
        "urgency": Column("urgency", False, ("urgency", "priority")),
        "requested_by": Column("who asks", False, ("asked by", "requested by", "referred by", "vet", "clinician")),
        "question": Column("question", True, ("question", "reason", "request", "clinical question")),
        "structures": Column("structures", False, ("structures",)),
        "history": Column("history", False, ("history", "clinical history")),
        "medication": Column("medication", False, ("medication", "drugs", "treatment")),
        "pending": Column("results awaited", False, ("results awaited", "pending", "pending tests")),
        "steroids": Column("steroids in the last year", False, ("steroids",)),
        "trilostane": Column("trilostane now", False, ("trilostane",)),
        "cancelled": Column("cancelled", False, ("cancelled", "canceled")),
    },
}
DAYS = {ANIMALS: ("birth_date", "weight_date"), VISITS: ("date",)}
KINDS = {ANIMALS: "animals", VISITS: "visits and requests"}


def meant(kind: str, heading: list[str]) -> dict[str, str]:
    """{column of the file: what it says} as far as the heading's words tell it; nothing is meant twice."""
    found: dict[str, str] = {}
    for field, column in KNOWN[kind].items():
        for words in column.headings:
            match = next((name for name in heading if _plain(name) == words and name not in found), None)
            if match is not None:
                found[match] = field
                break
    return found


def missing(kind: str, mapping: dict[str, str]) -> list[str]:
    """Our words for what a row must say and no column does."""
    said = set(mapping.values())
    return [column.words for field, column in KNOWN[kind].items() if column.needed and field not in said]


def _plain(name: str) -> str:
    return " ".join(re.sub(r"[^a-z0-9]+", " ", name.casefold()).split())
