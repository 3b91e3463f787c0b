"""What is held of each device: its count, its unbroken beginning, its last entry."""

import json
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import entries
from webapp.store.schema_phones import FIND_SPLITS

_AROUND = "select seq, id, header from entries where device = ? and seq in (select value from json_each(?))"
_BEYOND = "select seq from entries where device = ? and seq > ? order by seq"


class Holding(NamedTuple):
    """What is held of a device: `through` = 1..through without a gap, `held` = entries in all."""

    through: int
    held: int


class Links:
    """What is held around the places of a batch, device by device, so that each entry of it can be asked whether
    it hangs together with the others; read at once, and told of each entry that the batch adds."""

    def __init__(self, db: Database, places: Iterable[tuple[str, int]]):
        self._at: dict[tuple[str, int], dict[str, str | None]] = {}  # (device, seq) -> id -> prev
        around: dict[str, set[int]] = {}
        for device, seq in places:
            around.setdefault(device, set()).update((seq - 1, seq, seq + 1))
        for device, counts in around.items():
            rows = db.query(_AROUND, [device, json.dumps(sorted(counts))])
            for row in rows:
                self._put(device, row["seq"], row["id"], (entries.parse_header(row["header"]) or {}).get("prev"))

    def add(self, header: Mapping[str, Any], entry_id: str) -> bool:
        """Take in an entry; whether it hangs together with what is held. `breaks` tells where it does not."""
        device, seq, prev = header["device"], header["seq"], header["prev"]
        before = self._at.get((device, seq - 1), {})
        follows = prev == entries.NO_PREVIOUS if seq == 1 else not before or prev in before
        alone = not self._at.get((device, seq))
        self._put(device, seq, entry_id, prev)
        return follows and alone

    def breaks_next(self, header: Mapping[str, Any], entry_id: str) -> bool:
        """Whether some entry held at the next count does not follow this one."""
        return any(prev != entry_id for prev in self._at.get((header["device"], header["seq"] + 1), {}).values())

    def _put(self, device: str, seq: int, entry_id: str, prev: str | None) -> None:
        self._at.setdefault((device, seq), {})[entry_id] = prev


def ids_at(db: Database, device: str, seq: int) -> list[str]:
    """The entries a device wrote as its `seq`-th: none, one, or more where a phone was cloned."""
    rows = db.query("select id from entries where device = ? and seq = ?", [device, seq])
    return [row["id"] for row in rows]


def count(db: Database, device: str, new: int) -> None:
    """Count `new` more entries of the device and move its unbroken beginning on."""
    kept = holding(db, device)
    through = kept.through
    # A copied phone holds a count twice; only a count that is missing ends the unbroken beginning.
    for (seq,) in db.execute(_BEYOND, [device, through]):
        if seq > through + 1:
            break
        through = seq
    db.execute(
        "insert into devices (device, through, held) values (?, ?, ?) "
        "on conflict (device) do update set through = excluded.through, held = excluded.held",
        [device, through, kept.held + new],
    )


def split(db: Database, device: str, seq: int) -> None:
    """Note that the device's chain does not hold together at this count: the phone was copied."""
    db.execute(
        "insert into devices (device, through, held, split_at) values (?, 0, 0, ?) "
        "on conflict (device) do update set split_at = min(coalesce(split_at, excluded.split_at), excluded.split_at)",
        [device, seq],
    )


def recount(db: Database) -> None:
    """Count every device anew."""
    db.execute("delete from devices")
    query = "select device, count(*) as held from entries where device is not null group by device order by device"
    for row in list(db.query(query)):
        count(db, row["device"], row["held"])
    db.execute(FIND_SPLITS)


def miscounted(db: Database) -> list[str]:
    """Devices whose kept count is not what the journal gives, one line each."""
    lines = []
    for row in db.query("select device, count(*) as held from entries where device is not null group by device"):
        kept = holding(db, row["device"])
        if kept.held != row["held"]:
            lines.append(f"device {row['device']}: {kept.held} counted, {row['held']} held")
        if kept.through and not ids_at(db, row["device"], kept.through):
            lines.append(f"device {row['device']}: counted through {kept.through}, which is not held")
        if ids_at(db, row["device"], kept.through + 1):
            lines.append(f"device {row['device']}: counted through {kept.through}, yet the next is held")
    return lines


def holding(db: Database, device: str) -> Holding:
    """What is held of a device; (0, 0) for one never heard of."""
    row = next(db.query("select through, held from devices where device = ?", [device]), None)
    return Holding(row["through"], row["held"]) if row else Holding(0, 0)


def split_at(db: Database, device: str) -> int | None:
    """The smallest count at which the device's chain does not hold together; None for an honest phone."""
    row = next(db.query("select split_at from devices where device = ?", [device]), None)
    return row["split_at"] if row else None


def head(db: Database, device: str) -> entries.Place:
    """The place for this device's next entry: after its last one held."""
    query = "select seq, id from entries where device = ? order by seq desc, arrival desc limit 1"
    row = next(db.query(query, [device]), None)
    if row is None:
        return entries.Place(device, 1, entries.NO_PREVIOUS)
    return entries.Place(device, row["seq"] + 1, row["id"])
