"""Taking the body of an entry away for good, because the law or an owner asks: logged, and seen by everyone.

The header stays, and with it the entry's id, its place in its device's chain and in the head over all arrivals: what
was erased is a known gap, not a hole. Nothing else ever changes or deletes an entry. Issued reports stay as issued.
"""

import json
import re
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import animals, behind, exams, healthy, owner_pages, preliminaries, reports, search
from webapp.store.db import write

# What is kept of single exams besides the lists; whoever reads it makes it anew.
MADE_FROM_EXAMS = ("learned_exams", "measured_exams", "learning_exams")
_HASH = re.compile(r"[0-9a-f]{64}")


class Unknown(LookupError):
    """No such entry, exam or animal is here."""


class Erased(NamedTuple):
    """The entries whose body went, photos that no other entry names (their files are the caller's to delete), and
    issued reports, preliminary ones and pages for owners that may still show what was erased, as (exam, version) and
    (exam, number)."""

    ids: list[str]
    photos: list[str]
    reports: list[tuple[str, int]]
    preliminary: list[tuple[str, int]] = []
    for_owners: list[tuple[str, int]] = []


def of_exams(db: Database, names: Iterable[str]) -> list[str]:
    """Ids of all entries of these exams, and of what the desk said of them elsewhere. Raises Unknown."""
    return [one for name in names for one in (*_found(db, "exam = ?", name, "exam"), *healthy.ids_of(db, name))]


def of_animal(db: Database, patient: str) -> list[str]:
    """Ids of all entries of the animal: record, visits, and its exams as they stand now. Raises Unknown."""
    own = _found(db, "patient = ? and exam is null", patient, "animal", least=0)
    named = [row["exam"] for row in db.query("select exam from exams where patient = ?", [patient])]
    if not own and not named:
        raise Unknown(f"There is no animal {patient} here.")
    return own + of_exams(db, named)


def of_entry(db: Database, name: str) -> list[str]:
    """The entry of this id, or of this beginning of one (12 characters or more). Raises Unknown."""
    if len(name) < 12 or not all(letter in "0123456789abcdef" for letter in name):
        raise Unknown(f"{name} is no entry's id: give 12 or more of its hex digits.")
    return _found(db, "substr(id, 1, length(?1)) = ?1", name, "entry")


def _found(db: Database, where: str, name: str, what: str, least: int = 1) -> list[str]:
    ids = [row["id"] for row in db.query(f"select id from entries where {where} order by arrival", [name])]
    if len(ids) < least:
        raise Unknown(f"There is no {what} {name} here.")
    return ids


def erase(db: Database, ids: Iterable[str], who: str, why: str, at: str) -> Erased:
    """Take these entries' bodies away, write down who did it, when and why, and renew what was made from them, in
    one transaction. What was erased before is left out."""
    with write(db):
        rows = [row for name in ids for row in _standing(db, name)]
        for row in rows:
            erasure = {"id": row["id"], "at": at, "who": who, "why": why, "photo": _photo(row["body"])}
            db.table("erasures").insert(erasure)
            db.execute("update entries set body = '', why = 'erased' where id = ?", [row["id"]])
            db.execute("delete from other_bodies where id = ?", [row["id"]])
        touched = sorted({row["exam"] for row in rows if row["exam"]})
        patients = sorted({row["patient"] for row in rows if row["patient"]})
        animals.refresh(db, patients)
        for table in MADE_FROM_EXAMS:
            db.execute(f"delete from {table} where exam in (select value from json_each(?))", [json.dumps(touched)])
        behind.note(db, touched)
        exams.refresh(db, touched)
        search.renew_animals(db, patients)
        search.renew_index(db)
        photos = sorted({photo for row in rows if (photo := _photo(row["body"])) and not _named(db, photo)})
        shown = [(exam, row["version"]) for exam in touched for row in reports.versions(db, exam)]
        made = [(exam, row["number"]) for exam in touched for row in preliminaries.of(db, exam)]
        pages = [(exam, row["number"]) for exam in touched for row in owner_pages.all_of(db, exam) if row["is_on"]]
    return Erased([row["id"] for row in rows], photos, shown, made, pages)


def _standing(db: Database, name: str) -> Iterator[dict[str, Any]]:
    yield from list(
        db.query("select id, exam, patient, body from entries where id = ? and why is not 'erased'", [name])
    )


def _photo(body: str) -> str | None:
    """The photo that an `attached` entry's body names."""
    try:
        told = json.loads(body)
    except ValueError:
        return None
    named = told.get("hash") if isinstance(told, dict) else None
    return named if isinstance(named, str) and _HASH.fullmatch(named) else None


def _named(db: Database, photo: str) -> bool:
    query = "select 1 from entries where kind = 'attached' and instr(body, ?) > 0 limit 1"
    return db.execute(query, [photo]).fetchone() is not None


def all_of(db: Database) -> dict[str, dict[str, Any]]:
    """Every erasure by the entry's id: at, who, why."""
    return {row["id"]: row for row in db.query("select * from erasures order by at, id")}


def photo_is_gone(db: Database, photo: str) -> bool:
    """Whether this photo was erased and no entry names it now: it is not taken again."""
    gone = db.execute("select 1 from erasures where photo = ? limit 1", [photo]).fetchone() is not None
    return gone and not _named(db, photo)
