"""A preliminary report: made before an exam is written up, so that an urgent finding can go out on paper. It is no
signature and no version; the exam stays to be signed."""

import json
from typing import Any

from sqlite_utils import Database

from webapp.review import signing
from webapp.store import desk, exams, preliminaries, reports
from webapp.store.db import write

STATUS = "preliminary"  # FHIR's word


class Signed(Exception):
    """The exam is signed: its newest version is what is handed over."""


def issue(db: Database, exam_id: str, person: dict[str, Any]) -> int:
    """Make and keep the exam as it stands now as its next preliminary report; returns its number.

    `person` = {id, name}. Raises Signed, LookupError for an unknown exam, rules.RulesError.
    """
    folded = exams.fold(db, exam_id)
    at = desk.now()
    told = signing.facts(db, folded, person, STATUS, None, at, []) | {"made_by": person["name"]}
    made = signing.build(folded, told)
    row = {
        "exam": exam_id,
        "made_by": json.dumps({"id": person["id"], "name": person["name"]}, ensure_ascii=False, sort_keys=True),
        "issued_at": at,
    } | signing.documents(folded, told, made)
    with write(db):
        # Made outside the transaction, so that phones need not wait; signed meanwhile, it would be old already.
        if reports.versions(db, exam_id):
            raise Signed("This exam is signed: hand over its newest version.")
        number = len(preliminaries.of(db, exam_id)) + 1
        preliminaries.keep(db, row | {"number": number})
    return number
