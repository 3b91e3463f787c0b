"""Today's list: which animals are planned for a day, and what of the journal a phone needs for it."""

import hashlib
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import kept


class DayList(NamedTuple):
    """The day's planned entries still standing (opened), and their animals' ids."""

    day: str
    planned: list[dict[str, Any]]
    patients: list[str]

    @property
    def scope(self) -> str:
        """Names what a phone is given; another text means: start again from the first arrival."""
        inside = "\n".join([*self.patients, *(entry["id"] for entry in self.planned)])
        return f"day:{self.day}:{hashlib.sha256(inside.encode()).hexdigest()[:16]}"


def of_day(db: Database, day: str) -> DayList:
    """The list of a day ("2026-11-24"): what was planned and not struck since."""
    rows = db.query(
        "select id, header, body, why from entries "
        "where kind = 'planned' and why is null and json_extract(body, '$.date') = ? order by arrival",
        [day],
    )
    found = [kept.opened(db, row) for row in rows]
    struck = _struck(db, [entry["patient"] for entry in found if entry["patient"]])
    standing = [entry for entry in found if entry["id"] not in struck]
    return DayList(day, standing, sorted({entry["patient"] for entry in standing if entry["patient"]}))


def _struck(db: Database, patients: list[str]) -> set[str]:
    """Ids struck by an entry outside any exam that is not itself struck."""
    strikes: list[dict[str, Any]] = []
    for patient in sorted(set(patients)):
        rows = db.query(
            "select id, header, body, why from entries "
            "where patient = ? and kind = 'struck' and exam is null and why is null",
            [patient],
        )
        strikes += [kept.opened(db, row) for row in rows]

    def stands(strike: dict[str, Any]) -> bool:
        # Ids are hashes of what names them, so strikes of strikes can form no ring.
        return not any(strike["id"] in other["of"] and stands(other) for other in strikes)

    return {name for strike in strikes if stands(strike) for name in strike["of"]}


class Page(NamedTuple):
    """A part of the journal in order of arrival. `next` is where to go on; `more` says whether to."""

    entries: list[dict[str, Any]]
    next: int
    more: bool


def page(db: Database, day_list: DayList, since: int, limit: int, largest_bytes: int) -> Page:
    """What the day needs of everything that arrived after `since`: the planned entries and all
    entries of the planned animals, at most `limit` of them and about `largest_bytes` of text."""
    marks = ",".join("?" * len(day_list.patients))
    ids = ",".join("?" * len(day_list.planned))
    rows = list(
        db.query(
            "select arrival, header, body from entries where arrival > ? "
            f"and ((patient in ({marks}) and kind != 'planned') or id in ({ids})) order by arrival limit ?",
            [since, *day_list.patients, *(entry["id"] for entry in day_list.planned), limit + 1],
        )
    )
    part: list[dict[str, Any]] = []
    size = 0
    for row in rows[:limit]:
        size += len(row["header"].encode()) + len(row["body"].encode())
        if part and size > largest_bytes:
            break
        part.append(row)
    if len(part) < len(rows):
        return Page(part, part[-1]["arrival"], True)
    newest = next(db.query("select coalesce(max(arrival), 0) as arrival from entries"))["arrival"]
    return Page(part, newest, False)
