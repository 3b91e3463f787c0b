"""What a program heard in recorded clips: outside the journal, for nobody has said yet that it is right."""

import re
from typing import Any

from sqlite_utils import Database

from webapp.store import kept
from webapp.store.db import write

_HASH = re.compile(r"[0-9a-f]{64}")


def clips(db: Database) -> list[dict[str, Any]]:
    """Entries (opened) of clips, oldest first: those that no program heard and no person wrote down."""
    query = (
        "select id, header, body, why from entries where kind = 'attached' and why is null "
        "and json_extract(body, '$.type') not like 'image/%' "
        "and json_extract(body, '$.hash') not in (select hash from heard) order by arrival"
    )
    opened = [kept.opened(db, row) for row in list(db.query(query))]
    opened = [entry for entry in opened if _HASH.fullmatch(str(entry["body"].get("hash")))]
    return [entry for entry in opened if not written(db, entry["exam"]).get(entry["id"])]


def written(db: Database, exam: str) -> dict[str, list[str]]:
    """Ids of notes of this exam by the clip that each was written from."""
    found: dict[str, list[str]] = {}
    for row in kept.of_exam(db, exam):
        if row.entry["kind"] == "noted":
            for clip in row.entry["of"]:
                found.setdefault(clip, []).append(row.entry["id"])
    return found


def text_of(db: Database, clip_hash: str) -> dict[str, Any] | None:
    """What a program heard: text, by_program, at."""
    return next(db.query("select * from heard where hash = ?", [clip_hash]), None)


def keep(db: Database, clip_hash: str, text: str, program: str, at: str) -> None:
    """Keep what a program heard, instead of what one heard before."""
    with write(db):
        row = {"hash": clip_hash, "text": text, "by_program": program, "at": at}
        db.table("heard").insert(row, pk="hash", replace=True)
