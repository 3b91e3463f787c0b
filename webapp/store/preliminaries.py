"""Preliminary reports, to the byte: handed over before an exam is signed, and no signature."""

from typing import Any

from sqlite_utils import Database

from webapp.store.reports import hashes

_LIST = "number, json_extract(made_by, '$.name') as made_by, issued_at, pdf_hash"


def keep(db: Database, row: dict[str, Any]) -> None:
    """Keep one (all columns of `preliminary_reports` but the three hashes, which are made here)."""
    db.table("preliminary_reports").insert(row | hashes(row))


def of(db: Database, exam: str) -> list[dict[str, Any]]:
    """Those of an exam, oldest first, without their bytes: number, made_by, issued_at, pdf_hash."""
    return list(db.query(f"select {_LIST} from preliminary_reports where exam = ? order by number", [exam]))


def one(db: Database, exam: str, number: int) -> dict[str, Any] | None:
    """One with everything kept of it, or None."""
    return next(db.query("select * from preliminary_reports where exam = ? and number = ?", [exam, number]), None)


def damaged(db: Database) -> list[str]:
    """Those whose bytes no longer fit their hashes, one line each."""
    lines = []
    for row in db.query("select * from preliminary_reports order by exam, number"):
        changed = [name for name, made in hashes(row).items() if made != row[name]]
        if changed:
            what = f"preliminary report {row['number']} of {row['exam']}"
            lines.append(f"{what}: {', '.join(changed)} changed by hand")
    return lines
