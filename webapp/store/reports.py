"""What was issued, to the byte: the page, the PDF and the frozen judgement of every signed version."""

import hashlib
from typing import Any

from sqlite_utils import Database

_LIST = "version, signed_id, status, signer, issued_at, html_hash, pdf_hash, judgement_hash, limits_version"


def keep(db: Database, row: dict[str, Any]) -> None:
    """Keep one issued version (all columns of `reports` but the three hashes, which are made here)."""
    hashes = {
        "html_hash": sha256(row["html"].encode()),
        "pdf_hash": sha256(row["pdf"]),
        "judgement_hash": sha256(row["judgement_json"].encode()),
    }
    db.table("reports").insert(row | hashes)


def sha256(data: bytes) -> str:
    """Lower-case hex SHA-256."""
    return hashlib.sha256(data).hexdigest()


def versions(db: Database, exam: str) -> list[dict[str, Any]]:
    """The versions issued of an exam, oldest first, without their bytes."""
    return list(db.query(f"select {_LIST} from reports where exam = ? order by version", [exam]))


def version(db: Database, exam: str, number: int) -> dict[str, Any] | None:
    """One version with everything kept of it, or None."""
    return next(db.query("select * from reports where exam = ? and version = ?", [exam, number]), None)


def damaged(db: Database) -> list[str]:
    """Issued versions whose bytes no longer fit their hashes, one line each."""
    lines = []
    for row in db.query("select * from reports order by exam, version"):
        parts = {"html": row["html"].encode(), "pdf": row["pdf"], "judgement": row["judgement_json"].encode()}
        changed = [name for name, data in parts.items() if sha256(data) != row[f"{name}_hash"]]
        if changed:
            lines.append(
                f"report {row['exam']} version {row['version']}: {', '.join(changed)} changed by hand"
            )
    return lines
