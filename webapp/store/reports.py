"""What was issued, to the byte: the page, the PDF and the frozen judgement of every signed version."""

import hashlib
import json
from typing import Any

from sqlite_utils import Database

from webapp.core import entries as core_entries
from webapp.store import kept

_LIST = (
    "version, signed_id, status, json_extract(signer, '$.name') as signer_name, issued_at, html_hash, pdf_hash, "
    "judgement_hash, limits_version"
)


def keep(db: Database, row: dict[str, Any]) -> None:
    """Keep one issued version (all columns of `reports` but the three hashes, which are made here)."""
    db.table("reports").insert(row | hashes(row))


def hashes(row: dict[str, Any]) -> dict[str, str]:
    """The hashes of an issued version's page, PDF and frozen judgement."""
    return {
        "html_hash": sha256(row["html"].encode()),
        "pdf_hash": sha256(row["pdf"]),
        "judgement_hash": sha256(row["judgement_json"].encode()),
    }


def sha256(data: bytes) -> str:
    """Lower-case hex SHA-256."""
    return hashlib.sha256(data).hexdigest()


def versions(db: Database, exam: str) -> list[dict[str, Any]]:
    """The versions issued of an exam, oldest first, without their bytes; with `signer_name`."""
    return list(db.query(f"select {_LIST} from reports where exam = ? order by version", [exam]))


def impressions(db: Database, exam: str) -> list[str]:
    """The impressions that the exam's issued versions print, and the words of its addenda, each once."""
    found: dict[str, None] = {}
    for row in db.query("select exam_json from reports where exam = ? order by version", [exam]):
        frozen = json.loads(row["exam_json"])
        found[str(frozen.get("fields", {}).get("impression") or "")] = None
        found |= {str(one["text"] or ""): None for one in frozen.get("amended", []) if not one["struck"]}
    return [text for text in found if text.strip()]


def first_signed(db: Database, exam: str) -> int | None:
    """The arrival number of the exam's first signature issued here, or None."""
    query = (
        "select entries.arrival from reports join entries on entries.id = reports.signed_id "
        "where reports.exam = ? order by reports.version limit 1"
    )
    row = next(db.query(query, [exam]), None)
    return row["arrival"] if row else None


def version(db: Database, exam: str, number: int) -> dict[str, Any] | None:
    """One version with everything kept of it, or None."""
    return next(db.query("select * from reports where exam = ? and version = ?", [exam, number]), None)


def arrived_after(db: Database, exam: str) -> list[dict[str, Any]]:
    """The exam's entries (opened, in order of arrival) that its newest signature does not cover.

    By content, not by time, and by the signature issued here: none when nothing was issued.
    """
    issued = versions(db, exam)
    if not issued:
        return []
    rows = kept.of_exam(db, exam)
    covers: set[str] = set()
    for row in rows:
        if row.entry["id"] == issued[-1]["signed_id"] and row.entry["body"]:
            covers = set(row.entry["body"]["covers"])
    own = {version["signed_id"] for version in issued}
    by_id = {row.entry["id"]: row.entry for row in rows}
    return [
        row.entry
        for row in rows
        if row.entry["id"] not in covers | own and not core_entries.is_beside(row.entry, by_id)
    ]


def damaged(db: Database) -> list[str]:
    """Issued versions whose bytes no longer fit their hashes, one line each."""
    lines = []
    for row in db.query("select * from reports order by exam, version"):
        changed = [name for name, made in hashes(row).items() if made != row[name]]
        if changed:
            lines.append(f"report {row['exam']} version {row['version']}: {', '.join(changed)} changed by hand")
    return lines
