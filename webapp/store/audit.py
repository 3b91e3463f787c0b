"""Who read or changed what: rows that are only ever added, without clinical content."""

from typing import Any, NamedTuple

from sqlite_utils import Database

PAGE = 100  # rows
REFUSED = "refused"  # told of a sign-in that was not let through


class Note(NamedTuple):
    """One thing done. `who`: a person's or a phone's id; `act`: the endpoint's name; `subject`: ids only."""

    at: str
    who: str
    session: str | None
    address: str
    act: str
    subject: str
    status: int
    told: str = ""


def add(db: Database, note: Note) -> None:
    """Keep a note; it can never be changed or taken out."""
    db.table("audit").insert(note._asdict())


def page(db: Database, who: str = "", subject: str = "", before: int | None = None) -> list[dict[str, Any]]:
    """The newest notes, at most PAGE, of one person or phone, about one subject, older than the note `before`."""
    wanted = [("who = ?", who), ("instr(subject, ?) > 0", subject), ("id < ?", before)]
    asked = [(text, value) for text, value in wanted if value]
    where = " and ".join(text for text, _ in asked) or "1"
    query = f"select * from audit where {where} order by id desc limit {PAGE}"
    return list(db.query(query, [value for _, value in asked]))


def refused_since(db: Database, person: str, at: str) -> int:
    """How many sign-ins under this name were refused since `at`."""
    query = "select count(*) as n from audit where who = ? and told = ? and at >= ?"
    return int(next(db.query(query, [person, REFUSED, at]))["n"])
