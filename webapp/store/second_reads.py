"""Second reads: what another reviewer made of each structure of an exam, as entries of the kind `second_read`.

Said of an exam, not by it: a second read changes no record and no report, and is never late. Counted per structure, so
that a practice can learn where two readers differ.
"""

import json
from collections.abc import Sequence
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp import rules
from webapp.core import second_reads
from webapp.core.catalogue import Catalogue
from webapp.store import desk, folding, kept
from webapp.store.db import write
from webapp.store.entries import Act

Row = dict[str, Any]

AGREE, DISAGREE, NOT_READ = "agree", "disagree", "not_read"


class NotAnother(Exception):
    """The reader made, wrote up or signed this exam, so theirs is no second read; the message says which."""


class Read(NamedTuple):
    """What a reader made of a structure: AGREE, DISAGREE or NOT_READ, with words."""

    structure: str
    reads: str
    text: str = ""


def record(db: Database, exam_id: str, reads: Sequence[Read], author: str) -> list[str]:
    """Record what differs from the reader's own newest; returns the new entries' ids. Raises NotAnother, and
    LookupError for an exam that is not here."""
    with write(db):
        exam = folding.exam_of(db, exam_id)
        if not exam["entries"]:
            raise LookupError(f"There is no exam {exam_id} here.")
        why = why_not(db, exam_id, author)
        if why:
            raise NotAnother(why)
        own = {row["structure"]: row for row in second_reads.standing(exam) if row["author"] == author}
        acts = []
        for one in reads:
            before = own.get(one.structure)
            if before is None or (before["reads"], before["text"] or "") != (one.reads, one.text):
                body = {"about": one.structure, "reads": one.reads} | ({"text": one.text} if one.text else {})
                acts.append(Act("second_read", body, author, desk.now(), exam_id, exam["patient_id"]))
        return desk.record(db, acts)


def why_not(db: Database, exam_id: str, author: str) -> str | None:
    """Why this person's is no second read of the exam, or None."""
    exam = folding.exam_of(db, exam_id)
    if author in (exam["author"], exam["behalf"]):
        return "You examined this animal: a second read is another person's."
    if author in {json.loads(row["signer"])["id"] for row in _signed(db, exam_id)}:
        return "You signed this exam: a second read is another person's."
    written = exam["field_heads"].get("impression")
    if any(row.entry["id"] == written and row.entry["author"] == author for row in kept.of_exam(db, exam_id)):
        return "You wrote its impression: a second read is another person's."
    return None


def _signed(db: Database, exam_id: str) -> list[Row]:
    return list(db.query("select signer from reports where exam = ?", [exam_id]))


def of(db: Database, exam_id: str) -> list[Row]:
    """The newest second read of each reader and structure: id, structure, reads, text, author, at."""
    return list(second_reads.standing(folding.exam_of(db, exam_id)))


def agreement(db: Database, first: str | None = None, last: str | None = None) -> list[Row]:
    """How often second readers agreed, per structure, over exams made from `first` to `last` (YYYY-MM-DD, both
    included): [{structure, label, agree, disagree, not_read, read}], in the catalogue's order, only those that
    somebody read or left; `read` = agree + disagree. Counts alone: a share of three reads would say too much."""
    catalogue = Catalogue(rules.worded()["catalogue"])
    counts: dict[str, dict[str, int]] = {}
    query = (
        "select distinct entries.exam, exams.date from entries join exams on exams.exam = entries.exam "
        "where entries.kind = 'second_read'"
    )
    for row in list(db.query(query)):
        if (first and (row["date"] or "") < first) or (last and (row["date"] or "") > last):
            continue
        for one in second_reads.standing(folding.exam_of(db, row["exam"], catalogue)):
            counted = counts.setdefault(one["structure"], {AGREE: 0, DISAGREE: 0, NOT_READ: 0})
            counted[one["reads"]] += 1
    return [
        {"structure": name, "label": row["label"], **counts[name], "read": counts[name][AGREE] + counts[name][DISAGREE]}
        for row in catalogue.structures
        if (name := row["id"]) in counts
    ]
