"""One issued report as exports need it: the frozen exam and judgement, who signed, what was added.

Everything comes from what was kept at signing, so that an export says what the report says, today and in ten years.
"""

import json
import uuid

from sqlite_utils import Database

from webapp import rules
from webapp.exchange.told_exam import Json, ToldExam
from webapp.store import kept, reports


class Issued(ToldExam):
    """A version of a report as it was issued. `row` is its row of the store, `before` the versions before it,
    `addenda` what was added by then: {"status", "reason", "text", "author", "at"}, oldest first."""

    def __init__(self, row: Json, before: list[Json], addenda: list[Json]):
        self.row, self.before, self.addenda = row, before, addenda
        self.signer: Json = json.loads(row["signer"])
        self.id = str(row["exam"])
        self.version = int(row["version"])
        self.status = str(row["status"])
        meta = {"status": self.status, "version": self.version, "signer": self.signer}
        super().__init__(json.loads(row["exam_json"]), json.loads(row["judgement_json"]), meta)

    @property
    def animal(self) -> str:
        """The animal's id; of an exam that belongs to no record, one made from the exam's."""
        return str(self.exam["patient_id"] or self.name("animal"))

    def name(self, *what: object) -> str:
        """A UUID for a thing of this version: the same each time it is given out."""
        return str(uuid.uuid5(uuid.NAMESPACE_URL, "/".join(["gelside", self.id, *map(str, what)])))


def find(db: Database, exam: str, version: int) -> Issued | None:
    """A version of a report, or None where it was not issued."""
    row = reports.version(db, exam, version)
    if row is None:
        return None
    before = [one for one in reports.versions(db, exam) if one["version"] < version]
    covered = _covered(db, exam, row["signed_id"])
    issued = Issued(row, before, _addenda(covered))
    _add_uncertainty(issued, covered)
    return issued


def _covered(db: Database, exam: str, signed: str) -> list[Json]:
    """The entries that a signature covers."""
    entries = [row.entry for row in kept.of_exam(db, exam)]
    covers = {name for entry in entries if entry["id"] == signed and entry["body"] for name in entry["body"]["covers"]}
    return [entry for entry in entries if entry["id"] in covers]


def _add_uncertainty(issued: Issued, covered: list[Json]) -> None:
    """Give each value its "uncertainty" (twice the standard one of the mean) as far as the exam's own readings tell it:
    what the practice has learned goes on changing, and the same version is given out the same for good."""
    try:
        made = rules.call({"do": "series", "exams": [covered], "learned": {}})["series"]
    except rules.RulesError:
        return  # the values stand without it
    points = {(row["quantity"], row["lesion"]): row["points"][-1] for row in made}
    for value in issued.judgement["values"]:
        point = points.get((value["quantity"], value.get("lesion")))
        if point and point["value"] == value["value"]:
            value.setdefault("uncertainty", point["uncertainty"])


def _addenda(covered: list[Json]) -> list[Json]:
    """What was added by then: a version's own addendum was written with its signature, so the frozen exam lacks it."""
    return [
        {name: entry["body"].get(name) for name in ("status", "reason", "text")} | {"id": entry["id"]}
        | {"author": entry["author"], "at": entry["at"]}
        for entry in covered
        if entry["kind"] == "amended" and entry["body"]
    ]
