"""The spread that the practice has learned from its own replicate readings, as it is kept (made by webapp.learned)."""

import json
from typing import Any, NamedTuple

from sqlite_utils import Database


class Kept(NamedTuple):
    """What was learned, from the entries up to arrival `through`, with the limits of that version; when."""

    learned: dict[str, Any]
    through: int
    limits_version: str
    made_at: str


def newest(db: Database) -> Kept | None:
    """What is kept, or None when nothing was looked at yet."""
    row = next(db.query("select * from learned"), None)
    if row is None:
        return None
    return Kept(json.loads(row["learned"]), row["through"], row["limits_version"], row["made_at"])


def in_use(db: Database) -> dict[str, Any]:
    """What is kept, for the rules; {} when nothing was learned yet."""
    kept = newest(db)
    return kept.learned if kept else {}
