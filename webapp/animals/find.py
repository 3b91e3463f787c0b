"""Finding animals: by any part of what the record says, and likely records for an animal that has none."""

import json
from difflib import SequenceMatcher
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import animals

MOST = 100
ALIKE = 0.7  # share of letters two names have in common, from which they may be one name written twice


class Found(NamedTuple):
    """The animals found, at most MOST, and how many there are in all."""

    rows: list[dict[str, Any]]
    total: int


def search(db: Database, words: str, most: int = MOST) -> Found:
    """Records that hold every word somewhere: name, species, breed, chip, other numbers, owner.

    A record that was merged is found by what it says and shown as the one that stands for it.
    """
    asked = animals.folded(words).split()
    digits = animals.digits(words)
    if digits.isdecimal() and len(digits) > 8:
        asked = [digits]  # a chip's number, however it was grouped
    where = " and ".join("instr(search, ?) > 0" for _ in asked) or "1"
    rows = list(db.query(f"select distinct root from animals where {where}", asked))
    roots = json.dumps([row["root"] for row in rows])
    query = (
        "select patient, name, facts, forks from animals where patient in (select value from json_each(?)) "
        "order by name = '', name collate nocase, patient limit ?"
    )
    return Found([_row(row) for row in db.query(query, [roots, most])], len(rows))


def everything(db: Database) -> list[dict[str, Any]]:
    """All records that stand, by name."""
    query = "select patient, name, facts, forks from animals where root = patient order by name collate nocase, patient"
    return [_row(row) for row in db.query(query)]


def _row(row: dict[str, Any]) -> dict[str, Any]:
    return {"patient": row["patient"], "name": row["name"], "forks": row["forks"], "record": json.loads(row["facts"])}


class Candidate(NamedTuple):
    """A record that may be the animal, and why: shown, never taken by itself."""

    patient: str
    name: str
    record: dict[str, Any]
    why: list[str]
    weight: float  # how much speaks for it, for the order only


def candidates(db: Database, animal: dict[str, Any], most: int = 5, but: str | None = None) -> list[Candidate]:
    """Records that this animal (name, species, microchip) may belong to, likeliest first; another species never."""
    chip = animals.digits(str(animal.get("microchip") or ""))
    name = _Alike(animals.folded(str(animal.get("name") or "")))
    found: list[tuple[float, str, str, list[str]]] = []
    for row in db.query("select patient, name, species, microchip from animals where root = patient"):
        if row["patient"] == but or (animal.get("species") and row["species"] not in (None, animal["species"])):
            continue
        why, weight = [], 0.0
        if chip and chip == row["microchip"]:
            why.append("the same chip number")
            weight += 2
        alike = name.to(row["name"])
        if alike >= ALIKE:
            why.append("the same name" if alike == 1 else "a name written much alike")
            weight += alike
        if why:
            found.append((-weight, row["name"], row["patient"], why))
    # The breed settles the order of those alone that are likely already.
    made = [_candidate(db, animal, *one) for one in sorted(found)[: most * 4]]
    return sorted(made, key=lambda one: (-one.weight, one.name, one.patient))[:most]


def _candidate(
    db: Database, animal: dict[str, Any], weight: float, name: str, patient: str, why: list[str]
) -> Candidate:
    record = animals.record(db, patient) or {}
    breeds = {animals.folded(str(one.get("breed") or "")) for one in (animal, record)}
    same = len(breeds) == 1 and breeds != {""}
    return Candidate(patient, name, record, [*why, *(["the same breed"] if same else [])], same * 0.1 - weight)


class _Alike:
    """How much other names are written like one; the costly comparison only where the letters allow it."""

    def __init__(self, name: str):
        self._name = name
        self._matcher = SequenceMatcher(None, "", name, autojunk=False)

    def to(self, other: str) -> float:
        folded = animals.folded(other)
        if not self._name or not folded:
            return 0.0
        self._matcher.set_seq1(folded)
        if self._matcher.real_quick_ratio() < ALIKE or self._matcher.quick_ratio() < ALIKE:
            return 0.0
        return 1.0 if folded == self._name else min(self._matcher.ratio(), 0.99)


def alike_pairs(db: Database, patient: str) -> list[Candidate]:
    """Records that may be this same animal: what the page of a record offers to merge."""
    record = animals.record(db, patient) or {}
    return candidates(db, record, but=patient)


def walk_ins(db: Database) -> list[dict[str, Any]]:
    """Exams of animals that have no record here, newest first: opened on a phone without one."""
    query = (
        "select exam, patient, date, animal, state from exams where patient is null "
        "or patient not in (select patient from animals) order by date desc, exam desc"
    )
    return [row | {"animal": json.loads(row["animal"])} for row in db.query(query)]


def exams_of(db: Database, patient: str) -> list[dict[str, Any]]:
    """The exams of a record and of all records merged into it, newest first."""
    names = animals.one_with(db, [patient])
    marks = ",".join("?" * len(names))
    query = f"select exam, patient, date, question, state from exams where patient in ({marks}) order by date desc"
    return list(db.query(query, names))
