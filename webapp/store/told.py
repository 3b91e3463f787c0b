"""Who was told or given what of an exam, by whom, when and how: entries of the kind `told`.

About "urgent": a finding was told from person to person. About "report": a version, or a preliminary report, was
handed over. Whoever has an older version and was not told of the newest is named until somebody tells them.
"""

from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import desk, folding, preliminaries, reports
from webapp.store.animals import folded as compared

Row = dict[str, Any]

URGENT, REPORT = "urgent", "report"


class Telling(NamedTuple):
    """What was told: `about` URGENT or REPORT; `when` ISO 8601 with offset; `read_back` None where nobody says;
    `version` or `number` (of a preliminary report) where one was handed over; `of` ids of the records behind it."""

    about: str
    to: str
    how: str
    when: str
    read_back: bool | None = None
    text: str = ""
    version: int | None = None
    number: int | None = None
    of: tuple[str, ...] = ()


def record(db: Database, exam: str, telling: Telling, author: str, at: str | None = None) -> str:
    """Record it, now or `at` (ISO 8601); returns the entry's id. Raises LookupError for a report that was never
    issued."""
    body = {name: value for name, value in telling._asdict().items() if name != "of" and value not in (None, "")}
    handed = _handed_over(db, exam, telling)
    if handed:
        body["pdf_hash"] = handed["pdf_hash"]
    patient = folding.exam_of(db, exam)["patient_id"]
    return desk.act(db, "told", body, author=author, exam=exam, patient=patient, of=telling.of, at=at)


def _handed_over(db: Database, exam: str, telling: Telling) -> Row | None:
    issued: Row | None = None
    if telling.version is not None:
        issued = reports.version(db, exam, telling.version)
    elif telling.number is not None:
        issued = preliminaries.one(db, exam, telling.number)
    else:
        return None
    if issued is None:
        raise LookupError("This report was never issued.")
    return issued


def told(db: Database, exam: str) -> list[Row]:
    """The hand-overs of urgent findings that stand, in the order of their recording; see `Telling` for the fields,
    besides id, author, at (of recording) and `struck`."""
    return [row for row in _all(db, exam) if row["about"] == URGENT]


def handed_over(db: Database, exam: str) -> list[Row]:
    """Who was given which report, in the order of recording."""
    return [row for row in _all(db, exam) if row["version"] is not None or row["number"] is not None]


def _all(db: Database, exam: str) -> list[Row]:
    return [row for row in folding.exam_of(db, exam)["told"] if not row["struck"]]


def behind(db: Database, exam: str) -> list[Row]:
    """Who has an older report and was not told of the newest version: [{"to", "version", "number", "when"}], each
    person once with the newest that they have; none before a version was signed."""
    issued = reports.versions(db, exam)
    if not issued:
        return []
    newest: dict[str, Row] = {}
    for row in handed_over(db, exam):
        who = compared(row["to"])
        if who not in newest or _age(row) >= _age(newest[who]):
            newest[who] = row
    return [
        {name: row[name] for name in ("to", "version", "number", "when")}
        for row in newest.values()
        if (row["version"] or 0) < issued[-1]["version"]
    ]


def _age(row: Row) -> tuple[int, int]:
    """A preliminary report is older than every version."""
    return row["version"] or 0, row["number"] or 0
