"""What a restored store has not got and knows of: entries that later ones name."""

from typing import Any

from sqlite_utils import Database

from webapp.store import kept, meta


def missing(db: Database) -> list[dict[str, Any]]:
    """Entries that are named by what arrived since the restore and are not here: `[{"id", "named_by": kind, "exam",
    "author", "at"}]`. Acts of the desk in the lost time among them; a phone's come when it sends. Empty when the
    store was never restored."""
    restored_from = meta.find(db, "restored_from")
    if restored_from is None:
        return []
    since = int(restored_from.split("-")[0])
    found: dict[str, dict[str, Any]] = {}
    query = "select id, header, body, why from entries where arrival > ? and device is not null order by arrival"
    for row in db.query(query, [since]):
        entry = kept.opened(db, row)
        for name in _named(entry):
            if name not in found and not _held(db, name):
                by = {key: entry[key] for key in ("exam", "author", "at")}
                found[name] = {"id": name, "named_by": entry["kind"]} | by
    return list(found.values())


def _named(entry: dict[str, Any]) -> list[str]:
    body = entry["body"] or {}
    covers = body.get("covers") if entry["kind"] == "signed" else None
    visit = [body["visit"]] if entry["kind"] == "opened" and isinstance(body.get("visit"), str) else []
    named = [*entry["after"], *entry["of"], *(covers if isinstance(covers, list) else []), *visit]
    return [name for name in named if isinstance(name, str) and len(name) == 64]


def _held(db: Database, name: str) -> bool:
    return db.execute("select 1 from entries where id = ?", [name]).fetchone() is not None
