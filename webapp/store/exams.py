"""The exams as lists need them: a projection of the journal that can be rebuilt at any time."""

import json
import logging
from collections.abc import Callable, Iterable, Mapping
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp import rules
from webapp.store import animals, devices, kept, learned, overlays, reasons, reports, search
from webapp.store.db import write

log = logging.getLogger(__name__)

OPEN = "open at the table"
TO_REVIEW = "to review"
SIGNED = "signed"
SIGNED_LATER = "signed, later entries"
NOT_READ = "could not be read"


class NotAnAnimals(LookupError):
    """The entries are no animal's exam: somebody measured twice, to know how far repeat readings lie apart."""


class Folded(NamedTuple):
    """One exam as the rules see it, with the arrival number of its newest entry."""

    exam: dict[str, Any]
    judgement: dict[str, Any]
    earlier: list[dict[str, Any]]
    ids: list[str]
    through: int


def fold(db: Database, exam_id: str, through: int | None = None, with_learned: bool = True) -> Folded:
    """Fold one exam with the earlier ones of its animal; `through` stops at that arrival number.

    It is judged by the limits in force, and once signed by those in force when it was first signed; and
    `with_learned` by the spread that the practice has learned.

    Raises LookupError for an exam nobody has sent an entry of, NotAnAnimals for a measuring twice, and
    rules.RulesError when the rules cannot judge it.
    """
    rows = [row for row in kept.of_exam(db, exam_id) if through is None or row.arrival <= through]
    if not rows:
        raise LookupError(f"There is no exam {exam_id} here.")
    answer = rules.call(
        {
            "do": "open",
            "entries": [row.entry for row in rows],
            "earlier": [{"entries": group} for group in _earlier(db, exam_id, [row.entry for row in rows])],
            # The exam's own day, so that the same journal gives the same projection on any day.
            "today": _date([row.entry for row in rows]),
            "learned": learned.in_use(db) if with_learned else {},
        },
        overlays.in_force(db, reports.first_signed(db, exam_id)),
    )
    if answer["exam"]["purpose"]:
        raise NotAnAnimals("This is no animal's exam: somebody measured twice. What it taught stands under Spread.")
    return Folded(
        answer["exam"],
        answer["judgement"],
        answer["earlier"],
        [row.entry["id"] for row in rows],
        rows[-1].arrival,
    )


def _date(entries: list[dict[str, Any]]) -> str:
    """The day of the exam: as opened, else the day of its first act."""
    for entry in entries:
        if entry["kind"] == "opened" and entry["body"] and isinstance(entry["body"].get("date"), str):
            return str(entry["body"]["date"])
    return min(str(entry["at"]) for entry in entries)[:10]


def _earlier(db: Database, exam_id: str, entries: list[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    """The entries of the same animal's exams that were opened on a day before this one's."""
    patients = animals.one_with(db, _patients(entries))
    day = _date(entries)
    groups = []
    for other in of_animals(db, patients):
        if other != exam_id:
            group = [row.entry for row in kept.of_exam(db, other)]
            if _date(group) < day and set(patients) & set(_patients(group)):
                groups.append(group)
    return groups


def _patients(entries: list[dict[str, Any]]) -> list[str]:
    """The animal of an exam: of its entries' headers, or the one that it was moved to."""
    if any(entry["kind"] == "set" and (entry["body"] or {}).get("about") == "exam.patient" for entry in entries):
        moved = rules.call({"do": "open", "entries": entries})["exam"]["patient_id"]
        return [moved] if moved else []
    return sorted({entry["patient"] for entry in entries if entry["patient"]})


def of_animals(db: Database, patients: Iterable[str]) -> list[str]:
    """Every exam of which some entry names one of these animals."""
    known = list(patients)
    marks = ",".join("?" * len(known))
    query = f"select distinct exam from entries where patient in ({marks}) and exam is not null order by exam"
    return [row["exam"] for row in db.query(query, known)]


def refresh(db: Database, touched: Iterable[str]) -> None:
    """Bring the rows of these exams up to date at once, and of later exams of the same animals: a late entry
    changes what a later exam is compared with."""
    rows = {exam_id: projection(db, exam_id) for exam_id in sorted(set(touched))}
    others = compared_with(db, rows)
    for exam_id in others:
        rows[exam_id] = projection(db, exam_id)
    for exam_id, row in rows.items():
        put(db, exam_id, row)
    db.execute("delete from exams_behind where exam in (select value from json_each(?))", [json.dumps(list(rows))])
    # Whoever judges an exam just now began before this: what it finds is old.
    db.execute("update exams_behind set times = times + 1")


def compared_with(db: Database, rows: Mapping[str, dict[str, Any] | None]) -> list[str]:
    """The later exams of the animals of these exams, whose new rows are given; their old rows are still in the list."""
    if not rows:
        return []
    ids = json.dumps(list(rows))
    # The day it had counts as well: an entry can move an exam to another day.
    before = db.query("select date from exams where exam in (select value from json_each(?))", [ids])
    dates = [str(row["date"] or "") for row in (*before, *rows.values()) if row is not None]
    query = (
        "select distinct patient from entries where exam in (select value from json_each(?)) and patient is not null"
    )
    patients = animals.one_with(db, [row["patient"] for row in db.query(query, [ids])])
    found = []
    for exam_id in sorted(set(of_animals(db, patients)) - rows.keys()):
        day = next(db.query("select date from exams where exam = ?", [exam_id]), {"date": None})["date"]
        if day is None or day > min(dates, default=""):
            found.append(exam_id)
    return found


def put(db: Database, exam_id: str, row: dict[str, Any] | None) -> None:
    """Put an exam's row into the list and its words into the search, or take both out where it has none."""
    if row is None:
        db.execute("delete from exams where exam = ?", [exam_id])
        search.drop(db, exam_id)
    else:
        listed = {key: value for key, value in row.items() if key != "told"}
        db.table("exams").upsert(listed, pk="exam")
        search.put(db, row)


def projection(db: Database, exam_id: str) -> dict[str, Any] | None:
    """The row of `exams` that the journal gives for this exam, with what it is found by under "told" (store.search);
    None for a measuring twice, which is listed nowhere."""
    issued = reports.versions(db, exam_id)
    try:
        # What is learned goes on changing; a signed exam's row does not.
        folded = fold(db, exam_id, with_learned=not issued)
    except NotAnAnimals:
        return None
    except rules.RulesError as error:
        # Entries are kept whatever the rules make of them, so this is shown and does not refuse a push.
        log.exception("exam %s could not be folded", exam_id)
        return _unread_row(db, exam_id, error)
    exam = folded.exam
    exam["late"] = [entry["id"] for entry in reports.arrived_after(db, exam_id)]
    why = reasons.of(exam, folded.judgement)
    return {
        "exam": exam_id,
        "patient": exam["patient_id"],
        "date": exam["date"],
        "started_at": exam["started_at"],
        "animal": json.dumps(
            {key: exam["patient"].get(key) for key in ("name", "species", "breed", "weight_kg")},
            ensure_ascii=False,
            sort_keys=True,
        ),
        "question": str(exam["question"].get("text") or ""),
        "state": _state(exam, issued),
        "reasons": json.dumps(why, ensure_ascii=False, sort_keys=True),
        "entries": len(folded.ids),
        "trouble": None,
        "core_version": rules.core_version(),
        "tables_hash": rules.tables_hash(),
        "gravity": reasons.gravity(why),
        "species": exam["patient"].get("species"),
        "people": json.dumps(_people(exam)),
        "drafted": int(bool(str(exam["fields"].get("impression") or "").strip())),
        "told": search.told(exam, reports.impressions(db, exam_id)),
    }


def _people(exam: dict[str, Any]) -> list[str]:
    """Who recorded at the table: the one for whom it was typed, where somebody else did."""
    rows = [exam, *exam["readings"], *exam["findings"], *exam["notes"]]
    return sorted({str(row["behalf"] or row["author"]) for row in rows if row["behalf"] or row["author"]})


def _state(exam: dict[str, Any], issued: list[dict[str, Any]]) -> str:
    """An exam is signed when its report was issued here, whatever an entry from elsewhere says."""
    if issued:
        return SIGNED_LATER if exam["late"] else SIGNED
    return TO_REVIEW if exam["closed"] else OPEN


def _unread_row(db: Database, exam_id: str, error: rules.RulesError) -> dict[str, Any]:
    rows = kept.of_exam(db, exam_id)
    patients = [row.entry["patient"] for row in rows if row.entry["patient"]]
    return {
        "exam": exam_id,
        "patient": patients[0] if patients else None,
        "date": _date([row.entry for row in rows]),
        "started_at": None,
        "animal": "{}",
        "question": "",
        "state": NOT_READ,
        "reasons": json.dumps([{"about": [], "count": 1, "kind": "trouble"}]),
        "entries": len(rows),
        "trouble": str(error),
        "core_version": rules.core_version(),
        "tables_hash": rules.tables_hash(),
        "gravity": 0,
        "species": None,
        "people": "[]",
        "drafted": 0,
        "told": [],
    }


def all_ids(db: Database) -> list[str]:
    """Every exam the journal knows, oldest id first."""
    query = "select distinct exam from entries where exam is not null order by exam"
    return [row["exam"] for row in db.query(query)]


def unsigned(db: Database) -> list[str]:
    """The exams that no report was issued of: their rows follow the limits and the spread in force."""
    query = "select exam from exams where exam not in (select exam from reports) order by exam"
    return [row["exam"] for row in db.query(query)]


def rebuild(db: Database, progress: Callable[[int, int], None] = lambda done, total: None) -> int:
    """Make the projection anew from the journal; returns the number of exams."""
    with write(db):
        animals.rebuild(db)
        db.execute("delete from exams")
        db.execute("delete from exam_words")
        db.execute("delete from exams_behind")
        db.execute("delete from measured_exams")  # these two are made anew by whoever reads them
        db.execute("delete from learning_exams")
        devices.recount(db)
        ids = all_ids(db)
        for done, exam_id in enumerate(ids, 1):
            put(db, exam_id, projection(db, exam_id))
            progress(done, len(ids))
    return len(ids)


def differences(db: Database) -> list[str]:
    """Exams whose kept row is not what the journal gives now, one line each. Rows made by another
    version of the rules or the tables differ rightly: they are named as such."""
    lines: list[str] = []
    told: dict[str, list[list[str]]] = {}
    listed = {row["exam"]: row for row in db.query("select * from exams")}
    for exam_id in sorted(set(all_ids(db)) | listed.keys()):
        row, made = listed.get(exam_id), projection(db, exam_id)
        if row is None or made is None:
            if row is not made:
                what = "missing from the list" if row is None else "no animal's exam, and listed as one"
                lines.append(f"exam {exam_id}: {what}")
            continue
        told[exam_id] = made.pop("told")
        unlike = sorted(key for key in made if made[key] != row[key])
        if unlike:
            lines.append(f"exam {exam_id}: {', '.join(unlike)} differ")
    return lines + search.differences(db, told) + animals.differences(db) + devices.miscounted(db)
