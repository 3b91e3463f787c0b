"""Taking a file in: looked at first, then taken whole in one transaction or not at all.

An import makes the same entries that a person at the desk would make; taken in again, it makes none.
"""

from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.exchange import animals_in, columns, fhir_in, meanings, tables, visits_in
from webapp.exchange.ready import Change, Choices, Plan, Problem, Progress, Row
from webapp.store import desk
from webapp.store.db import read, write
from webapp.store.entries import Act

AT_ONCE = 500  # rows whose entries are kept together within the one transaction


class Refused(ValueError):
    """The file cannot be taken in as it is; the message says why. Nothing of it was kept."""


class Look(NamedTuple):
    """What a file looks like: its table (None for FHIR), what its columns say, what must still be chosen."""

    kind: str
    table: tables.Table | None
    mapping: dict[str, str]
    orders: list[str]  # orders of day and month that its days leave open
    asks: list[str]  # sentences: what a person must choose before it can be taken in
    unread: list[str]  # of FHIR: elements that are not kept here


def nothing(_what: str, _done: int, _total: int) -> None:
    """Progress that nobody watches."""


def is_fhir(data: bytes) -> bool:
    """Whether the file is JSON: FHIR comes in no other form here."""
    return data.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] in (b"{", b"[")


def look(data: bytes, choices: Choices) -> Look:
    """Look at a file. Raises tables.Unreadable."""
    if is_fhir(data):
        listed = fhir_in.resources(data)
        asks = [] if choices.label else ["Say whose numbers these are: the name of the other system."]
        return Look(fhir_in.kind(listed), None, {}, ["ymd"], asks, fhir_in.unread(listed))
    table = tables.read(data, choices.encoding, choices.separator)
    meant = columns.meant(choices.kind, table.heading)
    if choices.mapping is not None:
        known = columns.KNOWN[choices.kind]
        meant = {name: field for name, field in choices.mapping.items() if name in table.heading and field in known}
    asks = [f"Choose the column that holds: {words}." for words in columns.missing(choices.kind, meant)]
    twice = sorted({field for field in meant.values() if list(meant.values()).count(field) > 1})
    asks += [f"Two columns are chosen for: {columns.KNOWN[choices.kind][field].words}." for field in twice]
    if not choices.label:
        asks.append("Say whose numbers these are: the name of the other system.")
    orders = _orders(table, choices.kind, meant)
    if len(orders) != 1 and choices.order not in meanings.ORDERS:
        asks.append("Choose the order of day and month: these days can be read both ways.")
    return Look(choices.kind, table, meant, orders, asks, [])


def _orders(table: tables.Table, kind: str, mapping: dict[str, str]) -> list[str]:
    places = [table.heading.index(name) for name, field in mapping.items() if field in columns.DAYS[kind]]
    return meanings.orders(row[place] for _, row in table.rows for place in places if place < len(row))


def plan(db: Database, data: bytes, choices: Choices, progress: Progress = nothing) -> Plan:
    """What taking the file in would do. Raises tables.Unreadable, and Refused while something must be chosen."""
    seen = look(data, choices)
    if seen.asks:
        raise Refused(" ".join(seen.asks))
    problems: list[Problem] = []
    with read(db):
        ready = _ready(db, data, choices, seen, problems, progress)
        room: Any = animals_in if seen.kind == columns.ANIMALS else visits_in
        changes: list[Change] = room.compared(db, ready, choices.label)
    return Plan(changes, sorted(problems))


def _ready(
    db: Database, data: bytes, choices: Choices, seen: Look, problems: list[Problem], progress: Progress
) -> list[Row]:
    if seen.table is None:
        return _fhir_ready(db, fhir_in.rows(fhir_in.resources(data), choices.label, problems), choices, seen, problems)
    order = choices.order or seen.orders[0]
    if seen.kind == columns.ANIMALS:
        return animals_in.rows(seen.table, choices, seen.mapping, order, problems, progress)
    return visits_in.rows(db, seen.table, choices, seen.mapping, order, problems, progress)


def _fhir_ready(
    db: Database, rows: list[Row], choices: Choices, seen: Look, problems: list[Problem]
) -> list[Row]:
    """Resources tied to what is here: a Patient by its own id or any of its numbers, a request to its animal."""
    known = animals_in.numbered(db)
    here = {row["patient"]: row["root"] for row in db.query("select patient, root from animals")}
    tied = []
    for row in rows:
        if seen.kind == columns.ANIMALS:
            numbers = [(one["label"], one["value"]) for one in row.facts.get("numbers") or []]
            targets = [here[row.id]] if row.id in here else [known[one] for one in numbers if one in known]
            tied.append(row._replace(id=targets[0] if targets else ""))
            continue
        animal = here.get(row.animal) or next(
            (root for (_, number), root in known.items() if number == row.animal), None
        )
        if animal is None:
            problems.append(Problem(row.line, "ServiceRequest.subject", f"no animal here is {row.animal}."))
        else:
            tied.append(row._replace(animal=animal))
    return tied


class Taken(NamedTuple):
    """What an import did."""

    new: int
    changed: int
    same: int
    entries: int


def take(db: Database, data: bytes, choices: Choices, author: str, progress: Progress = nothing) -> Taken:
    """Take the file in, whole or not at all. Raises tables.Unreadable, Refused."""
    with write(db):
        made = plan(db, data, choices, progress)
        if made.problems:
            raise Refused(f"{len(made.problems)} cells cannot be taken in, so nothing was.")
        kind = look(data, choices).kind
        at, entries = desk.now(), 0
        wanted = [change for change in made.changes if change.what != "same"]
        known = animals_in.numbered(db) if kind == columns.VISITS else {}
        for start in range(0, len(wanted), AT_ONCE):
            acts: list[Act] = []
            for change in wanted[start : start + AT_ONCE]:
                if kind == columns.ANIMALS:
                    acts += animals_in.acts(db, change, choices.label, author, at)
                else:
                    acts += visits_in.acts(db, change, choices.label, author, at, known)
            entries += len(desk.record(db, acts))
            progress("written", min(start + AT_ONCE, len(wanted)), len(wanted))
    return Taken(made.count("new"), made.count("changed"), made.count("same"), entries)
