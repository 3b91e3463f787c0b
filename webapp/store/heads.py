"""One hash over everything that arrived, in order: printed on reports and in a backup's name, it makes a
later change of the file show, even by someone who mends every hash inside the file."""

import hashlib
import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from sqlite_utils import Database

NOTHING = "0" * 64


class Head(NamedTuple):
    """The newest arrival a head covers, and the hash (64 hex)."""

    arrival: int
    hash: str

    @property
    def text(self) -> str:
        """As printed: the arrival and the first 16 digits, such as `412-9f86d081884c7d65`."""
        return f"{self.arrival}-{self.hash[:16]}"


def following(before: Head, arrival: int, entry_id: str) -> Head:
    """The head after one more entry."""
    return Head(arrival, hashlib.sha256(f"{before.hash}{entry_id}".encode()).hexdigest())


def now(db: Database) -> Head:
    """The head over everything held."""
    row = next(db.query("select arrival, head from heads order by arrival desc limit 1"), None)
    return Head(row["arrival"], row["head"]) if row else Head(0, NOTHING)


def of_day(db: Database, day: str) -> Head | None:
    """The head as it stood at the end of a day ("2026-11-24", UTC), or None when nothing arrived then."""
    row = next(db.query("select arrival, head from heads where day = ?", [day]), None)
    return Head(row["arrival"], row["head"]) if row else None


def advance(db: Database, received_at: str, arrived: Iterable[tuple[int, str]]) -> None:
    """Take in these (arrival, id), in order; called in the transaction that keeps them."""
    head = now(db)
    before = head
    for arrival, entry_id in arrived:
        head = following(head, arrival, entry_id)
    if head is not before:
        db.execute(
            "insert into heads (day, arrival, head) values (?, ?, ?) "
            "on conflict (day) do update set arrival = excluded.arrival, head = excluded.head",
            [received_at[:10], head.arrival, head.hash],
        )


def wrong(db: Database, printed: str | None = None) -> Iterator[str]:
    """Days whose kept head is not what the entries give now, one line each; and the same of a head as it
    stands on a report or in a backup's name (`printed`)."""
    kept = {row["arrival"]: (row["day"], row["head"]) for row in db.query("select * from heads")}
    wanted = _parsed(printed) if printed else None
    head = Head(0, NOTHING)
    met = False
    for row in db.query("select arrival, id from entries order by arrival"):
        head = following(head, row["arrival"], row["id"])
        day, noted = kept.pop(head.arrival, (None, None))
        if day is not None and noted != head.hash:
            yield f"head of {day}: entries up to {head.arrival} are not those that arrived"
        if wanted is not None and wanted.arrival == head.arrival:
            met = True
            if not (head.hash if wanted.over_all else row["id"]).startswith(wanted.digits):
                yield f"head {printed}: the entries up to {head.arrival} are not those it was printed for"
    for arrival, (day, _) in sorted(kept.items()):
        yield f"head of {day}: entry {arrival}, which it covers, is gone"
    if wanted is not None and not met:
        yield f"head {printed}: there is no entry {wanted.arrival} here"


class Printed(NamedTuple):
    """A head as printed: `412-...` is over all entries; the first reports had `412:...`, the newest entry's id,
    which speaks for its own device only."""

    arrival: int
    digits: str
    over_all: bool


def _parsed(printed: str) -> Printed:
    """Raises ValueError."""
    match = re.fullmatch(r"([0-9]{1,15})([-:])([0-9a-f]{4,64})", printed.strip().lower())
    if match is None:
        raise ValueError(f"{printed!r} is no head: it looks like 412-9f86d081884c7d65")
    return Printed(int(match.group(1)), match.group(3), match.group(2) == "-")
