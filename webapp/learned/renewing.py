"""Learning from the readings that came since the last time: exam by exam, so that no request folds them all."""

import json
from datetime import UTC, datetime
from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.store import behind, kept, learned, overlays
from webapp.store.db import write

MOST = 5_000  # entries looked at in one transaction: phones must not wait long for theirs
TEACHING = ("opened", "read", "seen", "struck")  # kinds of entries that can change what an exam teaches


def renew(db: Database) -> bool:
    """Bring what is learned up to date; True when something was looked at.

    Where the spread in use moved by it, the exams that are not signed are judged anew by whoever reads their rows next
    (store.behind): hundreds may wait for a signature, and no phone waits for them.
    """
    looked = False
    while _behind(db):
        with write(db):
            _learn(db)
        looked = True
    return looked


def renew_daily(db: Database) -> bool:
    """As `renew`, but not a second time on a day unless the limits were changed: phones and desk go by one spread
    while the day's readings come; these count from the next day, or once somebody opens the page of the spread."""
    known = learned.newest(db)
    if known and known.limits_version == _limits_version(db):
        made = datetime.fromisoformat(known.made_at)
        if made.astimezone().date() == datetime.now(UTC).astimezone().date():
            return False
    return renew(db)


def _behind(db: Database) -> bool:
    known = learned.newest(db)
    if known is None or known.limits_version != _limits_version(db):
        return True
    return bool(_teaching(db, known.through, 1))


def _limits_version(db: Database) -> str:
    return rules.limits_version(overlays.in_force(db))


def _teaching(db: Database, since: int, most: int) -> list[dict[str, Any]]:
    """The next entries (arrival, exam) that can teach something."""
    marks = ",".join("?" * len(TEACHING))
    query = (
        f"select arrival, exam from entries where arrival > ? and kind in ({marks}) and exam is not null "
        "order by arrival limit ?"
    )
    return list(db.query(query, [since, *TEACHING, most]))


def _learn(db: Database) -> None:
    """Take in the next entries and pool again."""
    known = learned.newest(db)
    since = known.through if known else 0
    found = _teaching(db, since, MOST)
    overlay = overlays.in_force(db)
    for exam in sorted({row["exam"] for row in found}):
        rows = [row.entry for row in kept.of_exam(db, exam)]
        sums = rules.call({"do": "learn", "exams": [rows]})["sums"][0]
        db.table("learned_exams").upsert({"exam": exam, "sums": json.dumps(sums, sort_keys=True)}, pk="exam")
    parts = [json.loads(row["sums"]) for row in db.query("select sums from learned_exams where sums != '{}'")]
    made = rules.call({"do": "learn", "sums": parts}, overlay)["learned"]
    through = found[-1]["arrival"] if found else since
    db.table("learned").upsert(
        {
            "id": 1,
            "through": through,
            "limits_version": rules.limits_version(overlay),
            "made_at": datetime.now(UTC).isoformat(timespec="seconds"),
            "learned": json.dumps(made, ensure_ascii=False, sort_keys=True),
        },
        pk="id",
    )
    if used(made) != used(known.learned if known else {}):
        behind.note_unsigned(db)


def used(made: dict[str, Any]) -> dict[str, Any]:
    """What of the learned the rules go by: only rows with enough readings."""
    rows = {}
    for name, one in made.items():
        everyone = {"": one["pooled"], **one["observers"]}
        enough = {who: (row["sd"], row["df"]) for who, row in everyone.items() if row["enough"]}
        if enough:
            rows[name] = enough
    return rows
