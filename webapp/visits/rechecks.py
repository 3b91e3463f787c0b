"""Re-checks that have come due: what issued reports recommend by a day, is not done, and whether a visit is planned."""

import json
from collections.abc import Iterable
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp import addresses, rules
from webapp.core.catalogue import Catalogue
from webapp.review import words
from webapp.store import animals, recommendations
from webapp.store.recommendations import Reached

Stamp = tuple[int, int]
# {file: {exam: (stamp, how it came to each part)}} of the page before: reading an exam anew takes some 10 ms, and the
# page of a day is opened all day long.
_FOUND: dict[str, dict[str, tuple[Stamp, dict[str, Reached]]]] = {}
PAST_DAYS, AHEAD_DAYS = 30, 7  # further back stands under Learning, further ahead in the calendar


class Recheck(NamedTuple):
    """One that is open. `due`, `examined` = days in words; `late` = its day lies before the day asked about; `tells` =
    False where no part is named, so that nobody can tell whether it was done; `since` = what a later exam made of it;
    `visit` = (id, day in words or "") of the animal's next visit from that day on."""

    exam: str
    number: int
    patient: str
    name: str
    text: str
    part: str
    due: str
    late: bool
    who: str
    examined: str
    tells: bool
    since: str
    visit: tuple[str, str] | None


class Around(NamedTuple):
    """Open re-checks around a day, by their day; the first and last day looked at."""

    rows: list[Recheck]
    first: str
    last: str


def around(db: Database, day: str) -> Around:
    """The open re-checks from PAST_DAYS before a day ("2026-11-24") to AHEAD_DAYS after it."""
    first, last = addresses.beside(day, -PAST_DAYS) or day, addresses.beside(day, AHEAD_DAYS) or day
    known = _still(db)
    found = recommendations.due(db, first, last, known)
    _keep(db, known)
    return Around([_made(db, row, day) for row in found if not row["done"] and row["patient"]], first, last)


def _still(db: Database) -> dict[str, dict[str, Reached]]:
    """What the last page found of later exams, as far as nothing was added to them or taken away since."""
    kept = _FOUND.get(_file(db), {})
    stamps = _stamps(db, kept)
    return {exam: reached for exam, (stamp, reached) in kept.items() if stamps.get(exam) == stamp}


def _keep(db: Database, known: dict[str, dict[str, Reached]]) -> None:
    stamps = _stamps(db, known)
    _FOUND[_file(db)] = {exam: (stamps[exam], reached) for exam, reached in known.items() if exam in stamps}


def _stamps(db: Database, names: Iterable[str]) -> dict[str, Stamp]:
    """{exam: its newest entry, and how many cannot be read or were erased}."""
    query = (
        "select exam, max(arrival) as newest, count(why) as unread from entries "
        "where exam in (select value from json_each(?)) group by exam"
    )
    return {row["exam"]: (row["newest"], row["unread"]) for row in db.query(query, [json.dumps(list(names))])}


def _file(db: Database) -> str:
    return str(db.execute("pragma database_list").fetchone()[2])


def _made(db: Database, row: dict[str, Any], day: str) -> Recheck:
    return Recheck(
        row["exam"], row["number"], row["patient"], row["name"] or "an animal without a name", row["text"],
        row["part_label"] or "", words.day(row["due"]), row["due"] < day, row["who"] or "", words.day(row["examined"]),
        row["done"] is not None, _since(row), _next_visit(db, row["patient"], day),
    )


def _since(row: dict[str, Any]) -> str:
    if row["later"]:
        return f"{row['later'][-1]['how']} on {words.day(row['later'][-1]['date'])}"
    return f"examined {words.day(row['missed'][-1]['date'])} without it" if row["missed"] else ""


def _next_visit(db: Database, patient: str, day: str) -> tuple[str, str] | None:
    query = (
        "select id, date from visits where patient in (select value from json_each(?)) and removed = 0 "
        "and cancelled = 0 and (date >= ? or dates = '') order by dates = '', date limit 1"
    )
    found = next(db.query(query, [json.dumps(animals.one_with(db, [patient])), day]), None)
    return (found["id"], words.day(found["date"] or "")) if found else None


class Asked(NamedTuple):
    """What a visit for a re-check is planned with."""

    text: str
    structures: list[str]
    requested_by: str


def asked(db: Database, patient: str, exam: str, number: int | None) -> Asked | None:
    """What the newest report of an exam of this animal recommends under this number, None where it does not."""
    query = (
        "select one.text, one.part, exams.patient, json_extract(reports.signer, '$.name') as signer "
        "from recommendations as one join exams on exams.exam = one.exam "
        "join reports on reports.exam = one.exam and reports.version = one.version where one.exam = ? and number = ? "
        "and one.state is null "
        "and one.version = (select max(version) from reports where exam = one.exam)"
    )
    row = next(db.query(query, [exam, number]), None)
    if row is None or row["patient"] not in animals.one_with(db, [patient]):
        return None
    structure = Catalogue(rules.tables()["catalogue"]).structure_of(row["part"])
    return Asked(row["text"], [structure] if structure else [], row["signer"] or "")
