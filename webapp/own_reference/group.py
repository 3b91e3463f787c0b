"""The healthy animals of one species, quantity with its side, and weight class: one value an animal, and why others
are not used. Nothing goes silently: a value that is not used stands in the list with its reason."""

from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp import rules
from webapp.core import decimals
from webapp.core import limits as limit_rules
from webapp.core.wording import weight_words
from webapp.own_reference import measuring
from webapp.review import words
from webapp.store import animals, exams, healthy, overlays

Json = dict[str, Any]

FINISHED = (exams.TO_REVIEW, exams.SIGNED, exams.SIGNED_LATER)
UNUSED = {
    "partly": "not seen whole",
    "not_believed": "not believed without a question",
    "at_least": "more may be hidden: a part was not read",
    "plane": "measured in another plane",
    "no_age": "age not recorded",
    "young": "under {months} months",
    "no_weight": "weight not known",
    "no_animal": "not known which animal it is",
    "moved": "given to another animal after it was marked",
    "again": "a later exam of the same animal",
    "left_out": "left out by a person",
}


class Wanted(NamedTuple):
    """A group that was asked for. `weights`: a class of `classes`, or None for all weights."""

    species: str
    quantity: str
    weights: Json | None


class Value(NamedTuple):
    """What one healthy exam says of the quantity. `unused`: a key of UNUSED, or "" where it counts."""

    exam: str
    animal: str
    name: str
    date: str
    value: str
    n: int | None
    unused: str
    facts: Json
    mark: healthy.Said
    said: list[healthy.Said]


def classes(db: Database, species: str, quantity: str) -> list[Json]:
    """The weight classes for which the register prints a bound: [{"key", "words", "weight_kg", "weight_is"}]."""
    made: dict[str, Json] = {}
    for row in rules.limits_in_force(overlays.in_force(db)).rows(species, quantity):
        if row.get("weight_kg") and (row.get("lower") or row.get("upper")):
            one = _class(row)
            made.setdefault(one["key"], one)
    return sorted(made.values(), key=lambda one: (one["weight_is"], _number(one["weight_kg"]["min"])))


def _class(row: Json) -> Json:
    edges, ideal = row["weight_kg"], row.get("weight_is") == "ideal body weight"
    ends = [f"{edges[end] or ''}{'i' if edges[f'{end}_included'] else 'o'}" for end in ENDS]
    key = ",".join(["ideal" if ideal else "body", *ends])
    said = weight_words(edges) + (" ideal weight" if ideal else "")
    return {"key": key, "words": said, "weight_kg": edges, "weight_is": row.get("weight_is") or "body weight"}


ENDS = ("min", "max")


def _number(text: str | None) -> float:
    return float(text) if text else 0.0


def everything(db: Database) -> dict[str, Json]:
    """What all exams that stand marked as of healthy animals and are finished at the table measured, in the order in
    which they took place: each with its `mark`, its `animal` (the record that stands, or None), `moved` (it was given
    to another animal since it was marked), and what was `said` of whether its values count, by quantity."""
    marks = {exam: mark for exam, mark in healthy.marks(db).items() if mark.value.get("healthy") is True}
    listed = {row["exam"]: row["state"] for row in db.query("select exam, state from exams")}
    known = measuring.of_exams(db, [exam for exam in marks if listed.get(exam) in FINISHED])
    meant = {exam: str(marks[exam].value.get("patient") or "") for exam in known}
    patients = {str(one["patient_id"] or "") for one in known.values()} | set(meant.values())
    standing = animals.roots(db, sorted(one for one in patients if one))
    said: dict[str, dict[str, list[healthy.Said]]] = {}
    for (exam, quantity), words_ in healthy.counted(db).items():
        said.setdefault(exam, {})[quantity] = words_
    for exam, one in known.items():
        one["mark"], one["said"] = marks[exam], said.get(exam, {})
        one["animal"] = standing.get(one["patient_id"], one["patient_id"])
        one["moved"] = bool(meant[exam]) and standing.get(meant[exam], meant[exam]) != one["animal"]
    order = sorted(known, key=lambda exam: (str(known[exam]["date"]), str(known[exam]["started_at"]), exam))
    return {exam: known[exam] for exam in order}


def values(db: Database, wanted: Wanted, known: dict[str, Json] | None = None) -> list[Value]:
    """The quantity's values in healthy animals of the species and weight class, in the order of the exams."""
    adult = rules.tables()["thresholds"]["adult_months"]
    plane = words.quantities()[wanted.quantity]["plane"]
    taken: set[str] = set()
    made = []
    for exam, one in (everything(db) if known is None else known).items():
        read = one["values"].get(wanted.quantity)
        if read is None or one["patient"].get("species") != wanted.species or not _in_class(one, wanted.weights):
            continue
        about = one["said"].get(wanted.quantity, [])
        why = _unused(one, read, wanted, plane, adult)
        if not why and one["animal"] in taken:
            why = "again"
        if not why:
            taken.add(one["animal"])
            why = "left_out" if about and about[0].value.get("counted") is False else ""
        name, date = str(one["patient"].get("name") or "no name"), str(one["date"] or "")
        found = Value(exam, one["animal"] or "", name, date, read["value"], read["n"], why, one, one["mark"], about)
        made.append(found)
    return made


def _unused(one: Json, read: Json, wanted: Wanted, plane: str | None, adult: int) -> str:
    """The first reason against a value as such, or ""."""
    if not one["animal"]:
        return "no_animal"
    if one["moved"]:
        return "moved"
    if wanted.weights and _weight(one, wanted.weights) is None:
        return "no_weight"
    if one["age_months"] is None:
        return "no_age"
    if one["age_months"] < adult:
        return "young"
    if read["plane"] is not None and plane is not None and read["plane"] != plane:
        return "plane"
    return str(read["unused"] or "")


def _weight(one: Json, weights: Json) -> str | None:
    """The weight that the class goes by, as the rules take it: the ideal one where asked for and known."""
    if weights["weight_is"] == "ideal body weight" and one["ideal_weight_kg"] is not None:
        return str(one["ideal_weight_kg"])
    weight: str | None = one["weight_kg"]
    return weight


def _in_class(one: Json, weights: Json | None) -> bool:
    """Whether the animal belongs to the class, or may: one whose weight is not known is listed with that reason."""
    weight = _weight(one, weights) if weights else None
    if weights is None or weight is None:
        return True
    edges = weights["weight_kg"]
    bounds = {f"_{end}": decimals.parse(edges[end]) if edges[end] is not None else None for end in ENDS}
    return bool(limit_rules.in_class({"weight_kg": edges} | bounds, decimals.parse(weight)))


def unused_words(value: Value) -> str:
    """Why a value is not used."""
    return UNUSED[value.unused].format(months=rules.tables()["thresholds"]["adult_months"])
