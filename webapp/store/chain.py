"""Proof of the journal: every row against its hashes, every device's chain against itself."""

from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import entries, erasures, heads, kept, owner_pages, preliminaries, readable, reports
from webapp.store.db import read

STEP = 10_000  # entries between two lines of progress
COPIED = ("device", "seq", "exam", "patient", "kind")


class Fault(NamedTuple):
    """Something that does not fit. `grave` faults mean that someone changed the file by hand;
    the others (a gap, a cloned phone) can happen honestly and are named so."""

    grave: bool
    text: str


def verify(
    db: Database, progress: Callable[[int, int], None] = lambda done, total: None, printed_head: str | None = None
) -> list[Fault]:
    """Check all entries in order of arrival, then each device's chain, the heads, then the issued reports.

    `progress` is told the entries looked at, of how many. `printed_head`, from a report or a backup's name, is
    checked too; raises ValueError when it is none.
    """
    faults: list[Fault] = []
    with read(db):
        total = next(db.query("select count(*) as n from entries"))["n"]
        erased = erasures.all_of(db)
        reads = readable.by_file(db)
        for done, row in enumerate(db.query("select * from entries order by arrival"), 1):
            name = f"entry {row['arrival']} ({row['id'][:12]})"
            is_erased = row["id"] in erased and (row["body"], row["why"]) == ("", kept.ERASED)
            if is_erased:
                faults.append(Fault(False, f"{name}: {_erased(erased[row['id']])}"))
            faults += [Fault(True, f"{name}: {what}") for what in edited(row, is_erased, reads)]
            if done % STEP == 0 or done == total:
                progress(done, total)
        faults += [Fault(True, text) for text in missing_arrivals(db)]
        faults += list(broken_chains(db))
        faults += [Fault(False, text) for text in second_bodies(db)]
        faults += [Fault(True, text) for text in heads.wrong(db, printed_head)]
        kept_bytes = reports.damaged(db) + preliminaries.damaged(db) + owner_pages.damaged(db)
        faults += [Fault(True, text) for text in kept_bytes]
    return faults


def _erased(erasure: dict[str, Any]) -> str:
    return f"its body was erased on {erasure['at'][:10]} by {erasure['who']}: {erasure['why']}"


def second_bodies(db: Database) -> Iterator[str]:
    """Entries under whose id another body arrived: one of the two is not what the header was made for."""
    query = (
        "select entries.arrival, entries.id, count(*) as n from other_bodies "
        "join entries on entries.id = other_bodies.id group by entries.id order by entries.arrival"
    )
    for row in db.query(query):
        yield f"entry {row['arrival']} ({row['id'][:12]}): {row['n']} other body arrived under its id; all are kept"


def edited(row: dict[str, Any], is_erased: bool = False, reads: entries.Reads | None = None) -> list[str]:
    """What of a row is not as it arrived: header, body (unless it was erased), the columns copied from the header,
    or whether it can be read by the version that the file was last opened with."""
    checked = entries.check({"header": row["header"], "body": row["body"]}, reads)
    if checked.id != row["id"]:
        return ["its header was changed by hand"]
    found = []
    if checked.why != row["why"] and not is_erased:
        found.append(
            "its body was changed by hand" if checked.why == "body_hash" else "its reading was changed by hand"
        )
    header = checked.header or {}
    found += [f"its column {name} was changed by hand" for name in COPIED if row[name] != header.get(name)]
    return found


def missing_arrivals(db: Database) -> list[str]:
    """Rows that were there and are gone: arrival numbers are given once and without a hole,
    and SQLite remembers the last one given."""
    query = "select arrival, lag(arrival, 1, 0) over (order by arrival) as before from entries"
    lines = [
        f"arrivals {row['before'] + 1} to {row['arrival'] - 1}: deleted by hand"
        for row in db.query(f"select * from ({query}) where arrival != before + 1")
    ]
    newest = next(db.query("select coalesce(max(arrival), 0) as n from entries"))["n"]
    given = next(db.query("select seq as n from sqlite_sequence where name = 'entries'"), {"n": 0})["n"]
    if given > newest:
        lines.append(f"arrivals {newest + 1} to {given}: deleted by hand")
    return lines


def broken_chains(db: Database) -> Iterator[Fault]:
    """Gaps (not arrived yet, or lost), splits (one count used twice) and wrong links, per device."""
    last: dict[str, Any] | None = None
    before: set[str] = set()
    here: set[str] = set()
    columns = "arrival, id, device, seq, header"
    query = f"select {columns} from entries where device is not null order by device, seq, arrival"
    for row in db.query(query):
        name = f"device {row['device'][:8]}"
        if last is None or last["device"] != row["device"]:
            last, before, here = {"device": row["device"], "seq": 0}, set(), {entries.NO_PREVIOUS}
        if row["seq"] == last["seq"]:
            yield Fault(
                False,
                f"{name}: number {row['seq']} was used twice (entry {row['arrival']}): "
                "the phone was copied, both branches are kept",
            )
        else:
            if row["seq"] > last["seq"] + 1:
                yield Fault(False, f"{name}: {last['seq'] + 1} to {row['seq'] - 1} have not arrived")
                here = set()
            before, here = here, set()
        header = entries.parse_header(row["header"])
        if header is not None and before and header["prev"] not in before:
            yield Fault(
                False,
                f"{name}: entry {row['arrival']} (number {row['seq']}) does not follow the one before it",
            )
        here.add(row["id"])
        last = row
