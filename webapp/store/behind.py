"""Exams whose rows in the lists are behind the journal.

Judging a whole exam takes longer than keeping a batch of it, so a phone is answered first: the exams it touched are
noted here, in the transaction that keeps its entries, and judged before anyone reads the lists. Nobody sees a list
from before: every request but those marked below renews it first.
"""

import threading
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

from flask import Flask, current_app, request
from sqlite_utils import Database

from webapp.store import exams
from webapp.store.db import get_db, read, write

View = TypeVar("View", bound=Callable[..., Any])

_turn = threading.Lock()


def note(db: Database, exam_ids: Iterable[str], touched: bool = True) -> None:
    """These exams have new entries (`touched`), or are compared with one that has; called in the transaction that
    brings it about."""
    db.conn.executemany(
        "insert into exams_behind (exam, touched, times) values (?, ?, 1) on conflict (exam) "
        "do update set touched = max(touched, excluded.touched), times = times + 1",
        [(one, int(touched)) for one in sorted(exam_ids)],
    )


def note_unsigned(db: Database) -> None:
    """What exams are judged by was changed, the limits or the learned spread: every exam that no report was issued of
    is to be made anew, and so is one that somebody judges just now by what was in force before."""
    with write(db):
        judged = {str(row["exam"]) for row in db.query("select exam from exams_behind")}
        note(db, judged.union(exams.unsigned(db)), touched=False)


def note_unread(db: Database) -> None:
    """Exams that the lists call partly unread are made anew once more: another version of the program may have
    listed them, beside one that could read them already."""
    with write(db):
        note(db, [row["exam"] for row in db.query("""select exam from exams where reasons like '%"unread"%'""")], False)


def first(db: Database, only_touched: bool = False) -> str | None:
    """An exam that is behind, one with new entries before all others, or None when the lists are what the journal
    gives (`only_touched`: but for judgements)."""
    query = "select exam from exams_behind where touched >= ? order by touched desc, exam limit 1"
    row = db.execute(query, [int(only_touched)]).fetchone()
    return str(row[0]) if row else None


def renew(db: Database, go_on: Callable[[], bool] = lambda: True, only_touched: bool = False) -> int:
    """Bring the lists up to date; returns how many exams were made anew. Stops early when `go_on` says so, and with
    `only_touched` at exams that have no new entries.

    An exam is judged while others write, and its row written in a moment: no phone waits for a judgement. Two who
    renew at the same time take turns, or both would judge the same exam. Never called inside `db.write`.
    """
    done = 0
    while go_on():
        with _turn:
            exam = first(db, only_touched)
            if exam is None:
                break
            done += _renew(db, exam)
    return done


def _renew(db: Database, exam: str) -> bool:
    """Make one row anew, and note those that are compared with it; False when more arrived meanwhile."""
    with read(db):
        noted = db.execute("select touched, times from exams_behind where exam = ?", [exam]).fetchone()
        if noted is None:
            return False  # another thread or process was quicker
        row = exams.projection(db, exam)
        others = exams.compared_with(db, {exam: row}) if noted[0] else []
    with write(db):
        current = db.execute("delete from exams_behind where exam = ? and times = ?", [exam, noted[1]]).rowcount
        if current:
            exams.put(db, exam, row)
            note(db, others, touched=False)
    return bool(current)


def reads_no_lists(view: View) -> View:
    """Mark a view whose answer holds nothing of the lists: it need not wait for them."""
    view.reads_no_lists = True  # type: ignore[attr-defined]
    return view


def reads_no_judgement(view: View) -> View:
    """Mark a view whose answer goes by what is in which exam, and by no flag: hundreds of exams may be judged anew
    beside it, because the spread or the limits changed."""
    view.reads_no_judgement = True  # type: ignore[attr-defined]
    return view


def init_app(app: Flask) -> None:
    """Renew the lists before every request that may read them."""

    @app.before_request
    def lists_are_new() -> None:
        endpoint = request.endpoint
        if endpoint is None or endpoint.rpartition(".")[2] == "static":
            return
        view = current_app.view_functions[endpoint]
        if not getattr(view, "reads_no_lists", False):
            renew(get_db(), only_touched=getattr(view, "reads_no_judgement", False))
