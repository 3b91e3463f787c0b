"""What of the journal this version of the program can read, and the entries that another version could not, or could.

The file says which version last read it. Where that was another one, its entries are looked at again when the file is
opened: what was kept as unread is read from then on, and what a step back no longer reads is shown as unread. So are
entries that a server of before wrote while a command of this version had looked already.
"""

import json
from typing import Any

from sqlite_utils import Database

from webapp.store import entries, meta
from webapp.store.entries import Reads

READS = "reads"  # in `meta`
_OTHERS = """
select arrival, exam, patient, header, body, why from entries
where why in ('version', 'kind') or why is not 'erased' and kind is not null and (
  kind not in (select value from json_each(?))
  or case when kind is null then null else json_extract(header, '$.v') end != ?)
"""
_READ_BY_NOW = """
select 1 from entries where why in ('version', 'kind')
  and kind in (select value from json_each(?)) and json_extract(header, '$.v') = ? limit 1
"""


def by_file(db: Database) -> Reads:
    """What the version that last opened the file for writing could read; this one's where the file does not say."""
    text = meta.find(db, READS)
    if text is None:
        return entries.reads_now()
    said = json.loads(text)
    return Reads(said["version"], frozenset(said["kinds"]))


def is_due(db: Database) -> bool:
    """Whether another version than this one last read the file, or wrote into it since."""
    reads = entries.reads_now()
    if meta.find(db, READS) != _text(reads):
        return True
    return db.execute(_READ_BY_NOW, [json.dumps(sorted(reads.kinds)), reads.version]).fetchone() is not None


def read_again(db: Database) -> None:
    """Look again at what may be read otherwise now, inside the caller's write transaction, and renew what is made
    of it: exams are noted as behind, animals and visits made anew."""
    from webapp.store import animals, behind, exams  # they open files themselves

    reads = entries.reads_now()
    changed = [row for row in _others(db, reads) if _moved(db, row, reads)]
    patients = {row["patient"] for row in changed if row["exam"] is None and row["patient"] is not None}
    touched = {row["exam"] for row in changed if row["exam"] is not None}
    tied = animals.refresh(db, patients)
    behind.note(db, touched.union(exams.of_animals(db, tied)))
    meta.put(db, READS, _text(reads))


def _others(db: Database, reads: Reads) -> list[dict[str, Any]]:
    return list(db.query(_OTHERS, [json.dumps(sorted(reads.kinds)), reads.version]))


def _moved(db: Database, row: dict[str, Any], reads: Reads) -> bool:
    why = entries.check({"header": row["header"], "body": row["body"]}, reads).why
    if why != row["why"]:
        db.execute("update entries set why = ? where arrival = ?", [why, row["arrival"]])
    return bool(why != row["why"])


def _text(reads: Reads) -> str:
    return json.dumps({"version": reads.version, "kinds": sorted(reads.kinds)})
