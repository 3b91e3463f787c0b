"""The server killed, busy, full, or asked by many at once: an answer means that it is on disk."""

import json
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import Phone, push, whole_exam
from tests.conftest import BEARER, TOKEN
from webapp.store import chain, entries, phones
from webapp.store.db import open_database, write

ROOT = Path(__file__).resolve().parents[2]

# A server's process that is killed at a chosen moment of a push read from standard input.
KILLED = """
import os, signal, sys
from webapp.store import behind, db, phones
from webapp.sync import receive

def die(*arguments, **more):
    os.kill(os.getpid(), signal.SIGKILL)

database = db.open_database(sys.argv[1])
where, token = sys.argv[2:]
if where == "between two entries":
    # Rows go into the file one by one; SQLite asks this after each.
    database.conn.create_function("die", 0, die)
    trigger = "create temp trigger fifth after insert on main.entries when new.seq = 5 begin select die(); end"
    database.execute(trigger)
elif where == "before the lists":
    behind.note = die
elif where == "before the commit":
    phones.heard_from = die
answer = receive.receive(database, phones.by_token(database, token), sys.stdin.buffer.read())
print(answer["held"], flush=True)
die()
"""


def killed(path: Path, where: str, text: str) -> str:
    """Run the process until it is killed; what it had answered."""
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(path), where, TOKEN],
        input=text.encode(),
        capture_output=True,
        cwd=ROOT,
        timeout=60,
    )
    assert done.returncode == -9, done.stderr.decode()
    return done.stdout.decode()


def rows(db: Database) -> int:
    return int(next(db.query("select count(*) as n from entries"))["n"])


@pytest.mark.catalogue(29)
@pytest.mark.parametrize("where", ["between two entries", "before the lists", "before the commit"])
def test_killed_in_the_middle_nothing_is_kept_and_the_retry_is_complete(
    path: Path, client: FlaskClient, where: str
) -> None:
    phone = whole_exam()
    assert killed(path, where, push(phone)) == ""
    db = open_database(path)
    assert rows(db) == 0
    answer = client.post("/api/journal", data=push(phone), headers=BEARER).json
    assert [result["status"] for result in answer["results"]] == ["stored"] * 9
    assert chain.verify(db) == []
    db.close()


@pytest.mark.catalogue(46)
def test_killed_right_after_the_answer_everything_is_there(path: Path) -> None:
    phone = whole_exam()
    assert killed(path, "after the answer", push(phone)) == "9\n"
    db = open_database(path)
    assert {row["id"] for row in db.query("select id from entries")} == set(map(entries.entry_id, phone.written))
    assert chain.verify(db) == []
    db.close()


@pytest.mark.catalogue(46)
def test_every_commit_waits_for_the_disk(app: Flask) -> None:
    """Power loss itself cannot be played; SQLite promises it for FULL under WAL."""
    from webapp.store.db import get_db

    with app.app_context():
        db = get_db()
        assert db.execute("pragma synchronous").fetchone() == (2,)
        assert db.execute("pragma journal_mode").fetchone() == ("wal",)


@pytest.mark.catalogue(45)
def test_a_database_locked_for_too_long_is_503_with_retry_after(app: Flask, db: Database) -> None:
    app.config["BUSY_TIMEOUT_MS"] = 100
    with write(db):
        answer = app.test_client().post("/api/journal", data=push(whole_exam()), headers=BEARER)
    assert (answer.status_code, answer.json["error"]["code"]) == (503, "busy")
    assert int(answer.headers["Retry-After"]) > 0
    assert rows(db) == 0


@pytest.mark.catalogue(45)
def test_a_lock_that_is_given_back_in_time_delays_and_refuses_nothing(app: Flask, path: Path) -> None:
    holder = open_database(path)
    holder.conn.execute("begin immediate")
    answers: list[int] = []
    sender = threading.Thread(
        target=lambda: answers.append(
            app.test_client().post("/api/journal", data=push(whole_exam()), headers=BEARER).status_code
        )
    )
    sender.start()
    sender.join(0.3)
    assert answers == []
    holder.commit()
    sender.join()
    holder.close()
    assert answers == [200]


@pytest.mark.catalogue(44)
def test_a_full_disk_is_507_acknowledges_nothing_and_takes_all_once_there_is_room(
    app: Flask, db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = {"pages": 0}

    def small(path: str, timeout: int) -> Database:
        opened = open_database(path, timeout)
        opened.execute(f"pragma max_page_count = {room['pages'] or opened.execute('pragma page_count').fetchone()[0]}")
        return opened

    monkeypatch.setattr("webapp.store.db.open_database", small)
    phone = Phone(exam=None, patient=None)
    for _ in range(100):
        phone.act("noted", {"about": "exam", "text": "n" * 1000})
    answer = app.test_client().post("/api/journal", data=push(phone), headers=BEARER)
    assert (answer.status_code, answer.json["error"]["code"]) == (507, "disk_full")
    assert rows(db) == 0
    room["pages"] = 100_000
    answer = app.test_client().post("/api/journal", data=push(phone), headers=BEARER)
    assert (answer.status_code, answer.json["held"]) == (200, 100)


WORKER = """
import json, sys
from webapp.store import db, phones
from webapp.sync import receive

database = db.open_database(sys.argv[1], 60_000)
answered = []
for line in sys.stdin:
    asked = json.loads(line)
    phone = phones.by_token(database, asked["token"])
    answered.append(receive.receive(database, phone, asked["text"].encode())["results"])
print(json.dumps(answered))
"""


@pytest.mark.catalogue(47)
def test_two_workers_and_four_phones_at_once_keep_exactly_what_was_sent(path: Path, db: Database) -> None:
    senders = []
    for number in range(4):
        token = phones.new_token()
        phones.add(db, f"Phone {number}", token)
        phone = Phone(f"{number:032x}", exam=None, patient=None)
        for count in range(500):
            phone.act("noted", {"about": "exam", "text": f"{count}"})
        senders.append((token, phone))
    work: list[list[str]] = [[], []]
    for turn, start in enumerate(range(0, 500, 50)):
        for number, (token, phone) in enumerate(senders):
            line = json.dumps({"token": token, "text": push(phone, phone.written[start : start + 50])})
            work[(turn + number) % 2].append(line)  # one phone's batches go to both workers
            work[turn % 2].append(line)  # and every batch twice, as after a lost answer
    command = [sys.executable, "-c", WORKER, str(path)]
    workers: list[subprocess.Popen[Any]] = [
        subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, cwd=ROOT) for _ in work
    ]
    said: list[bytes] = []

    def run(worker: subprocess.Popen[Any], lines: list[str]) -> None:
        said.append(worker.communicate("\n".join(lines).encode())[0])

    threads = [threading.Thread(target=run, args=each) for each in zip(workers, work, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(120)
    statuses = [result["status"] for out in said for batch in json.loads(out) for result in batch]
    assert rows(db) == 2000
    assert statuses.count("duplicate") == 2000
    assert len(statuses) - statuses.count("duplicate") == 2000
    held = {row["device"]: (row["through"], row["held"]) for row in db.query("select * from devices")}
    assert held == {f"{number:032x}": (500, 500) for number in range(4)}
    assert [fault for fault in chain.verify(db) if fault.grave] == []
