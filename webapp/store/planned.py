"""What of the journal a phone needs: today's list, the coming visits of its own person, and those animals."""

import hashlib
from datetime import date, timedelta
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import animals, asking, exams, kept

DAYS_AHEAD = 3  # a phone holds its own person's visits of so many days after today


class DayList(NamedTuple):
    """The visits standing on the day or ahead of it for one person (opened planned entries), their animals with
    all records merged with them, the animals whose lists changed, and the exams that go with them."""

    day: str
    planned: list[dict[str, Any]]
    patients: list[str]
    told: list[str]
    exams: list[str]
    from_others: list[str]

    @property
    def scope(self) -> str:
        """Names what a phone is given; another text means: start again from the first arrival."""
        inside = "\n".join([*self.patients, "told", *self.told, "exams", *self.from_others])
        inside += "\n".join(["planned", *(entry["id"] for entry in self.planned)])
        return f"day:{self.day}:{hashlib.sha256(inside.encode()).hexdigest()[:16]}"


def of_day(db: Database, day: str, person: str | None = None, device: str | None = None) -> DayList:
    """The list of a day ("2026-11-24"), with the visits of `person` on the next days.

    A visit that was on it and is not any more (moved, given to somebody else, struck) is told of as well: the phone
    may hold it still. Exams in which `device` or `person` wrote and something is asked of them come along on any day.
    """
    ahead = [(date.fromisoformat(day) + timedelta(days=more)).isoformat() for more in range(1, DAYS_AHEAD + 1)]
    rows = _ever_listed(db, day, person, ahead)
    standing = [row for row in rows if not row["removed"] and not row["cancelled"] and _stands(row, day, person, ahead)]
    listed = [row["id"] for row in standing]
    own = [row[side] for row in standing for side in ("record", "patient") if row[side]]
    patients = animals.one_with(db, own)
    told = animals.connected(db, [*patients, *(row["record"] for row in rows if row["record"])])
    asked = asking.for_person(db, device, person)
    named = sorted({*exams.of_animals(db, patients), *_exams_now_of(db, patients), *asked})
    return DayList(day, _opened(db, listed), patients, told, named, _from_others(db, named, patients))


def _ever_listed(db: Database, day: str, person: str | None, ahead: list[str]) -> list[dict[str, Any]]:
    """Visits that were ever on this day, or ever this person's on one of the days ahead."""
    lists = ["instr(ever, ?) > 0"]
    arguments = [f"\n{day}\n"]
    if person:
        days = " or ".join("instr(ever, ?) > 0" for _ in ahead)
        lists.append(f"(instr(ever, ?) > 0 and ({days}))")
        arguments += [f"\n{person}\n", *(f"\n{one}\n" for one in ahead)]
    return list(db.query(f"select * from visits where {' or '.join(lists)} order by id", arguments))


def _stands(row: dict[str, Any], day: str, person: str | None, ahead: list[str]) -> bool:
    dates = row["dates"].split(" ")
    return day in dates or (person is not None and row["sonographer"] == person and bool(set(dates) & set(ahead)))


def _opened(db: Database, ids: list[str]) -> list[dict[str, Any]]:
    marks = ",".join("?" * len(ids))
    query = f"select id, header, body, why from entries where id in ({marks}) order by arrival"
    return [kept.opened(db, row) for row in list(db.query(query, ids))]


def _exams_now_of(db: Database, patients: list[str]) -> list[str]:
    """Exams that were moved to one of these animals from another."""
    marks = ",".join("?" * len(patients))
    return [row["exam"] for row in db.query(f"select exam from exams where patient in ({marks})", patients)]


def _from_others(db: Database, named: list[str], patients: list[str]) -> list[str]:
    """Of these exams those that some entry ties to an animal that is not listed: moved from it or to it."""
    exam_marks, marks = ",".join("?" * len(named)), ",".join("?" * len(patients))
    query = (
        f"select distinct exam from entries where exam in ({exam_marks}) "
        f"and patient is not null and patient not in ({marks}) order by exam"
    )
    return [row["exam"] for row in db.query(query, [*named, *patients])]


class Page(NamedTuple):
    """A part of the journal in order of arrival. `next` is where to go on; `more` says whether to."""

    entries: list[dict[str, Any]]
    next: int
    more: bool


# What a phone has no use for: who owns the animal, and how to reach them.
_OWNERS = """kind = 'set' and body like '%"about":"patient.owner.%'"""


def page(db: Database, day_list: DayList, since: int, limit: int, largest_bytes: int) -> Page:
    """What the day needs of everything that arrived after `since`: records, visits and merges of its animals and all
    entries of their exams, at most `limit` entries and about `largest_bytes` of text."""
    marks = ",".join("?" * len(day_list.told))
    exam_marks = ",".join("?" * len(day_list.exams))
    rows = list(
        db.query(
            "select arrival, header, body from entries where arrival > ? and why is not 'erased' "
            f"and ((exam is null and patient in ({marks}) and not ({_OWNERS})) or exam in ({exam_marks})) "
            "order by arrival limit ?",
            [since, *day_list.told, *day_list.exams, limit + 1],
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


def ahead(db: Database, day_list: DayList, most: int, largest_bytes: int) -> list[dict[str, Any]]:
    """The records, visits and merges of the list, without any exam: all of them or none, for a visit is shown only
    together with what was changed of it."""
    marks = ",".join("?" * len(day_list.told))
    rows = list(
        db.query(
            "select arrival, header, body from entries where why is not 'erased' and exam is null "
            f"and patient in ({marks}) and not ({_OWNERS}) order by arrival limit ?",
            [*day_list.told, most + 1],
        )
    )
    size = sum(len(row["header"].encode()) + len(row["body"].encode()) for row in rows)
    return rows if len(rows) <= most and size <= largest_bytes else []
