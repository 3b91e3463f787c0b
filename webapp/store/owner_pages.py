"""Pages for owners: each kept to the byte as it was made, and whether there is one now."""

import json
from typing import Any

from sqlite_utils import Database

from webapp.store import reports
from webapp.store.db import write

Row = dict[str, Any]
_LIST = "exam, number, version, author, made_at, html is not null as is_on"


def keep(db: Database, exam: str, version: int, author: str, at: str, words: Row, made: Row) -> int:
    """Keep a page, `made` = {"html", "pdf", "text"}; returns its number."""
    hashes = {"html_hash": reports.sha256(made["html"].encode()), "pdf_hash": reports.sha256(made["pdf"])}
    documents = {"html": made["html"], "pdf": made["pdf"], "plain": made["text"]}
    return _add(db, exam, version, author, at, words, documents | hashes)


def switch_off(db: Database, exam: str, author: str, at: str) -> None:
    """From now on there is no page for the owner; those made stay kept. Nothing happens where none is on."""
    with write(db):
        last = newest(db, exam)
        if last and last["is_on"]:
            _add(db, exam, last["version"], author, at, {}, {})


def _add(db: Database, exam: str, version: int, author: str, at: str, words: Row, documents: Row) -> int:
    with write(db):
        last = newest(db, exam)
        number = last["number"] + 1 if last else 1
        told = json.dumps(words, ensure_ascii=False, sort_keys=True)
        row = {"exam": exam, "number": number, "version": version, "author": author, "made_at": at, "words": told}
        db.table("owner_pages").insert(row | documents)
    return number


def newest(db: Database, exam: str) -> Row | None:
    """The newest row with `is_on`, without documents; None where no page was ever made."""
    query = f"select {_LIST} from owner_pages where exam = ? order by number desc limit 1"
    return next(db.query(query, [exam]), None)


def all_of(db: Database, exam: str) -> list[Row]:
    """Every making and switching off, oldest first, without documents."""
    return list(db.query(f"select {_LIST} from owner_pages where exam = ? order by number", [exam]))


def page(db: Database, exam: str, number: int) -> Row | None:
    """One page with everything kept of it; None where there is none of this number."""
    query = "select * from owner_pages where exam = ? and number = ? and html is not null"
    return next(db.query(query, [exam, number]), None)


def words_of(db: Database, exam: str) -> Row:
    """What the vet wrote and ticked for the newest page, on or off: to go on from; {} where there was none."""
    query = "select words from owner_pages where exam = ? and html is not null order by number desc limit 1"
    row = next(db.query(query, [exam]), None)
    return dict(json.loads(row["words"])) if row else {}


def damaged(db: Database) -> list[str]:
    """Pages whose bytes no longer fit their hashes, one line each."""
    lines = []
    for row in db.query("select * from owner_pages where html is not null order by exam, number"):
        made = {"html_hash": reports.sha256(row["html"].encode()), "pdf_hash": reports.sha256(row["pdf"])}
        changed = [name for name, value in made.items() if value != row[name]]
        if changed:
            name = f"page for the owner {row['exam']} number {row['number']}"
            lines.append(f"{name}: {', '.join(changed)} changed by hand")
    return lines
