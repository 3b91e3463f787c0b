"""A copied phone: two devices that call themselves by one name.

Restored from a copy, a phone goes on counting where the copy was made, so a count is used twice. Both
branches are kept and folded. The one that came here later is a device of its own from then on: in
listings it goes by the first 32 digits of its first entry's id, whatever its headers say.
"""

from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store.entries import NO_PREVIOUS, parse_header


class Row(NamedTuple):
    """One held entry of the device."""

    id: str
    seq: int
    prev: str
    arrival: int


class Branches:
    """The entries of one device, each on its line. `line` maps entry id to the line's name: the
    device's own id, or that of a branch seen later."""

    def __init__(self, device: str, rows: list[Row]):
        self.device = device
        self.rows = {row.id: row for row in rows}
        self.line: dict[str, str] = {}
        self.first: dict[str, Row] = {}
        self._next: dict[str, str] = {}
        levels: dict[int, list[Row]] = {}
        for row in rows:
            levels.setdefault(row.seq, []).append(row)
        for seq in sorted(levels):
            self._place(sorted(levels[seq], key=lambda row: row.arrival))

    def _place(self, level: list[Row]) -> None:
        """Give the entries of one count their lines: whoever follows an entry goes on with its line, the
        first to arrive before others; what follows nothing held takes the device's own line if that is free."""
        taken: set[str] = set()
        linked = [row for row in level if row.prev in self.line]
        for row in linked + [row for row in level if row.prev not in self.line]:
            name = self.line.get(row.prev, self.device)
            if name in taken:
                name = row.id[:32]
            elif row.prev in self.line:
                self._next[row.prev] = row.id
            taken.add(name)
            self.line[row.id] = name
            self.first.setdefault(name, row)

    def through(self, newest: str | None) -> int:
        """How far the chain that leads to this entry is held without a break, from 1 on; 0 when it cannot
        be told. Follows the links, not the counts: another branch's entries prove nothing here."""
        row = self.rows.get(newest or "")
        if row is None:
            return 0
        walked = row
        while walked.prev in self.rows:
            walked = self.rows[walked.prev]
        if walked.prev != NO_PREVIOUS or walked.seq != 1:
            return 0
        while row.id in self._next:
            row = self.rows[self._next[row.id]]
        return row.seq


def load(db: Database, device: str) -> Branches:
    """All held entries of a device, sorted into lines."""
    query = "select id, seq, header, arrival from entries where device = ? order by seq, arrival"
    rows = []
    for row in db.query(query, [device]):
        header = parse_header(row["header"])
        if header is not None:
            rows.append(Row(row["id"], row["seq"], header["prev"], row["arrival"]))
    return Branches(device, rows)


def listing(db: Database) -> list[dict[str, Any]]:
    """The branches seen later, of all devices: device, name, seq of its first entry, number of entries,
    when it first came, and the phone that brought it (`phone`, its id)."""
    found = []
    for split in db.query("select device from devices where split_at is not null order by device"):
        branches = load(db, split["device"])
        for name, first in branches.first.items():
            if name != split["device"]:
                kept = next(db.query("select received_at, arrived_from from entries where id = ?", [first.id]))
                many = sum(line == name for line in branches.line.values())
                found.append(
                    {
                        "device": split["device"],
                        "name": name,
                        "seq": first.seq,
                        "entries": many,
                        "since": kept["received_at"],
                        "phone": kept["arrived_from"],
                    }
                )
    return found
