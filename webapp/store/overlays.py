"""The practice's own limits: an overlay over the published tables, kept whole in the journal each time it changes.

Only the desk's own entries count: no phone changes the limits of the practice.
"""

from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import kept

SLOT = "practice.limits"

_CHANGES = (
    "select arrival, id, header, body, why from entries where kind = 'set' and exam is null "
    "and arrived_from = 'desk' and why is null and json_extract(body, '$.about') = ? and arrival <= ? "
    "order by arrival desc"
)
_ALL = 2**62  # above every arrival number


class Change(NamedTuple):
    """One change: the entry, and the overlay as it stood after it."""

    arrival: int
    id: str
    overlay: dict[str, Any]
    author: str
    at: str


def history(db: Database, through: int | None = None) -> list[Change]:
    """All changes up to an arrival number, newest first."""
    return [_change(db, row) for row in db.query(_CHANGES, [SLOT, _ALL if through is None else through])]


def newest(db: Database, through: int | None = None) -> Change | None:
    """The last change up to an arrival number, or None while the published tables are used as they are."""
    row = next(db.query(f"{_CHANGES} limit 1", [SLOT, _ALL if through is None else through]), None)
    return _change(db, row) if row else None


def in_force(db: Database, through: int | None = None) -> dict[str, Any] | None:
    """The overlay in force, or the one that was when `through` arrived."""
    change = newest(db, through)
    return change.overlay if change else None


def _change(db: Database, row: dict[str, Any]) -> Change:
    entry = kept.opened(db, row)
    return Change(row["arrival"], entry["id"], entry["body"]["value"], entry["author"], entry["at"])
