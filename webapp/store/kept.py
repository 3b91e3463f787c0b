"""Reading the journal back: entries opened, in order of arrival."""

from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import entries

ERASED = "erased"  # in `why` of a row whose body was taken away (store.erasures)


class Kept(NamedTuple):
    """An opened entry with its place in the order of arrival."""

    arrival: int
    entry: dict[str, Any]


def of_exam(db: Database, exam: str) -> list[Kept]:
    """All entries of one exam in order of arrival, opened; unreadable ones with `body` None."""
    rows = db.query("select arrival, id, header, body, why from entries where exam = ? order by arrival", [exam])
    return [Kept(row["arrival"], opened(db, row)) for row in rows]


def opened(db: Database, row: dict[str, Any]) -> dict[str, Any]:
    """Open a row of `entries` (id, header, body, why). The body that fits the header's hash is used,
    where another one arrived first under the same id."""
    checked = entries.check({"header": row["header"], "body": row["body"]})
    if row["why"] == "body_hash":
        for other in db.query("select body from other_bodies where id = ? order by body", [row["id"]]):
            if checked.why == "body_hash":
                checked = entries.check({"header": row["header"], "body": other["body"]})
    entry = entries.opened(checked)
    if row["why"] == ERASED:
        entry["erased"] = True  # the rules say so where it is shown as unread
    return entry
