"""What each exam adds to the figures: taken from the journal once, and anew where more arrived or the rules changed."""

import json
import time
from collections.abc import Callable
from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.core.catalogue import Catalogue
from webapp.learning import facts
from webapp.store import kept
from webapp.store.db import write

BUDGET_S = 5.0  # a page waits no longer; it says how far it came, and goes on at the next look
STEP = 100  # exams in one transaction: phones must not wait long for theirs

_WAITING = """
select entries.exam, max(entries.arrival) as newest, learning_exams.through as held, learning_exams.made_by
from entries left join learning_exams on learning_exams.exam = entries.exam
where entries.exam is not null group by entries.exam
having held is null or newest > held or made_by is not ? order by newest
"""

# Kinds of entries that the figures go by; the rest of an exam, most of it readings, need not be opened for them.
TOLD = ("opened", "seen", "closed", "struck", "amended")
_TOLD = """
select id, header, body, why from entries
where exam = ? and arrival <= ? and kind in (select value from json_each(?)) order by arrival
"""


def renew(db: Database, go_on: Callable[[], bool] | None = None) -> int:
    """Bring the figures' exams up to date; the number of exams that still wait when `go_on` (by default a budget of
    seconds) ends it early."""
    end = time.monotonic() + BUDGET_S
    go_on = go_on or (lambda: time.monotonic() < end)
    made_by = f"{rules.core_version()} {rules.tables_hash()}"
    waiting = list(db.query(_WAITING, [made_by]))
    catalogue = Catalogue(rules.tables()["catalogue"])
    while waiting and go_on():
        batch, waiting = waiting[:STEP], waiting[STEP:]
        rows = [_row(db, one, made_by, catalogue) for one in batch]
        with write(db):
            db.table("learning_exams").upsert_all(rows, pk="exam")
    return len(waiting)


def _row(db: Database, one: dict[str, Any], made_by: str, catalogue: Catalogue) -> dict[str, Any]:
    rows = db.query(_TOLD, [one["exam"], one["newest"], json.dumps(TOLD)])
    made = facts.of_exam(db, one["exam"], [kept.opened(db, row) for row in rows], catalogue)
    return {
        "exam": one["exam"],
        "through": one["newest"],
        "made_by": made_by,
        "date": made["date"],
        "facts": json.dumps(made, ensure_ascii=False, sort_keys=True),
    }
