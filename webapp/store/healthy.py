"""Which exams are of healthy animals, and which of their values are left out of the own reference, as the desk said.

Each word is a `set` entry of the desk outside any exam, so that a signed exam stays as it was signed: what is said is
what the exam is used for, not what it found. "practice.healthy.<exam>" {"healthy", "known", "patient"} (or "why") and
"practice.counted.<exam>.<quantity>" {"counted", "why"}; the newest counts, all stay.
"""

from collections.abc import Iterator
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import desk, kept
from webapp.store.db import write
from webapp.store.entries import Act

HEALTHY = "practice.healthy."
COUNTED = "practice.counted."

# By name: else all that was ever recorded of animals, all outside exams as well, would be read.
_SAID = (
    "select arrival, id, header, body, why from entries indexed by entries_of_the_desk_by_name "
    "where kind = 'set' and exam is null "
    "and arrived_from = 'desk' and why is null and json_extract(body, '$.about') >= ? "
    "and json_extract(body, '$.about') < ? order by arrival"
)


class Meanwhile(ValueError):
    """Somebody else said something of the same since the page was opened."""


class Said(NamedTuple):
    """One word of the desk: what it is about, what was said, by whom and when."""

    id: str
    about: str
    value: dict[str, Any]
    author: str
    at: str


def _said(db: Database, begin: str) -> Iterator[Said]:
    """All that was said of names that begin so, oldest first."""
    for row in db.query(_SAID, [begin, begin + "\U0010ffff"]):
        entry = kept.opened(db, row)
        value = entry["body"].get("value")
        if isinstance(value, dict):
            yield Said(entry["id"], entry["body"]["about"], value, entry["author"], entry["at"])


def marks(db: Database) -> dict[str, Said]:
    """{exam: the newest word} of all exams that were ever marked."""
    return {one.about.removeprefix(HEALTHY): one for one in _said(db, HEALTHY)}


def history(db: Database, exam: str) -> list[Said]:
    """All that was said of one exam being a healthy animal's, newest first."""
    return [one for one in _said(db, HEALTHY + exam) if one.about == HEALTHY + exam][::-1]


def counted(db: Database) -> dict[tuple[str, str], list[Said]]:
    """{(exam, quantity): all that was said of its value, newest first} of values that were ever left out."""
    made: dict[tuple[str, str], list[Said]] = {}
    for one in _said(db, COUNTED):
        exam, _, quantity = one.about.removeprefix(COUNTED).partition(".")
        made.setdefault((exam, quantity), []).insert(0, one)
    return made


def ids_of(db: Database, exam: str) -> list[str]:
    """The entries that say something of this exam, as far as their texts are still there."""
    told = [one for begin in (HEALTHY + exam, f"{COUNTED}{exam}.") for one in _said(db, begin)]
    return [one.id for one in told if one.about == HEALTHY + exam or one.about.startswith(f"{COUNTED}{exam}.")]


def of_value(exam: str, quantity: str) -> str:
    """The name under which it is said whether a value counts."""
    return f"{COUNTED}{exam}.{quantity}"


def say(db: Database, about: str, value: dict[str, Any], author: str, seen: str) -> str:
    """Keep one word; `seen` is the id of the newest one that the page showed, "" where there was none. Raises
    Meanwhile when that is not the newest any more."""
    with write(db):
        last = next((one.id for one in reversed(list(_said(db, about))) if one.about == about), "")
        if last != seen:
            raise Meanwhile("somebody else has changed this since the page was opened: look at it as it is now.")
        body = {"about": about, "value": value}
        return desk.record(db, [Act("set", body, author, desk.now(), after=(last,) if last else ())])[0]
