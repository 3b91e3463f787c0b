"""The server alone, by hand, as it grows: a batch of 200 entries, a day's pull, the queue's page, a proof.

    .venv/bin/python -m tests.bench.server --entries 1000000

One client pushes whole exams without a pause, a batch of 200 entries each, through the application as a server runs it
(with its thread beside the requests), without the network. At 10,000 entries, 100,000 and so on the client stops, all
exams but the last forty are marked as signed, and the rest is measured; at the end also duplicates, backup and
rebuild. One table at the end. Times are by the clock and, in brackets, of this process's processors: on a machine
that does other things as well the second says more. The file lies in a folder of its own and is removed.
"""

import argparse
import math
import os
import random
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import Phone, push
from tests.conftest import form_token
from webapp import served
from webapp.keeping import backup
from webapp.store import behind, chain, desk, devices, entries, exams, journal, meta, people, phones
from webapp.store.db import open_database, write
from webapp.store.entries import Act

TOKEN = "a token of the bench"
BEARER = {"Authorization": f"Bearer {TOKEN}"}
PERSON, PASSWORD = "RD", "only for the bench"
BATCH = 200
LAST_BATCHES = 500  # before each level, of which the percentiles are taken
UNSIGNED = 40
PLANNED = 20
READ = (
    ("adrenal.left.caudal_pole_thickness", "6.2"),
    ("adrenal.left.cranial_pole_thickness", "4.1"),
    ("adrenal.right.caudal_pole_thickness", "5.0"),
    ("adrenal.right.cranial_pole_thickness", "4.4"),
)
SEEN = ("liver", "spleen", "kidney.left", "kidney.right", "pancreas", "stomach", "bladder")


def exam(phone: Phone, many: int, chance: random.Random) -> None:
    """One exam of about the mix that a table gives: readings, states, notes, a few struck."""
    phone.exam, phone.patient = entries.new_id(chance.randrange(2**40)), entries.new_id(chance.randrange(2**40))
    phone.opened()
    for number in range(many - 2):
        kind = number % 10
        if kind < 4:
            quantity, value = READ[number % len(READ)]
            phone.read(quantity, f"{float(value) + chance.randrange(-5, 6) / 10:.1f}")
        elif kind < 7:
            phone.seen(SEEN[number % len(SEEN)], "whole", normal=True)
        elif kind < 9:
            phone.act("noted", {"about": SEEN[number % len(SEEN)], "text": "Margins smooth, texture even."})
        else:
            phone.act("struck", {"about": "reading", "why": "slipped"}, of=[phone.place.prev])
    phone.closed()


def batches() -> Iterator[str]:
    """The texts of pushes without end: one exam each, five phones in turn."""
    chance = random.Random(1)
    writers = [Phone(f"{number:032x}", exam=None, patient=None) for number in range(5)]
    while True:
        for phone in writers:
            exam(phone, BATCH, chance)
            yield push(phone)
            phone.written.clear()


class Took(NamedTuple):
    """One act: seconds by the clock, and of this process's processors."""

    clock: float
    process: float


def timed(act: Callable[[], Any]) -> Took:
    clock, process = time.perf_counter(), time.process_time()
    act()
    return Took(time.perf_counter() - clock, time.process_time() - process)


def percentile(values: list[float], share: float) -> float:
    """The value below which this share of them lies, by the nearest rank."""
    ordered = sorted(values)
    return ordered[max(0, math.ceil(share * len(ordered)) - 1)]


def in_ms(took: list[Took]) -> str:
    """Median and p99 by the clock, the longest, and the median of the processors."""
    clock = [one.clock for one in took]
    process = statistics.median(one.process for one in took)
    return (f"p50 {statistics.median(clock) * 1000:6.1f}  p99 {percentile(clock, 0.99) * 1000:6.1f}  "
            f"most {max(clock) * 1000:6.1f}  [{process * 1000:5.1f}]")


def in_s(took: Took, each: int) -> str:
    return f"{took.clock:6.1f} s, {took.clock / each * 1e6:5.1f} us an entry  [{took.process:6.1f} s]"


class Practice:
    """The server with its file, one phone that pushes, and a vet at the desk."""

    def __init__(self, folder: Path):
        self.path = folder / "practice.sqlite3"
        self.db: Database = open_database(self.path)
        phones.add(self.db, "Bench", TOKEN)
        people.add(self.db, PERSON, "R. Dale", "vet", PASSWORD)
        self.app: Flask = served({"DATABASE": str(self.path), "SECRET_KEY": "bench", "REQUESTS_PER_MINUTE": 1_000_000})
        self.phone = self.app.test_client()
        self.desk = self._signed_in()
        self.texts = batches()
        self.held = 0

    def _signed_in(self) -> FlaskClient:
        browser = self.app.test_client()
        token = form_token(browser.get("/sign-in").text)
        form = {"person": PERSON, "password": PASSWORD, "csrf_token": token}
        if browser.post("/sign-in", data=form).status_code != 302:
            raise RuntimeError("the bench could not sign in")
        return browser

    def push(self, text: str) -> Took:
        answers: list[Any] = []
        took = timed(lambda: answers.append(self.phone.post("/api/journal", data=text, headers=BEARER)))
        if answers[0].status_code != 200:
            raise RuntimeError(answers[0].text)
        return took

    def grow(self, target: int) -> list[Took]:
        """Push until so many entries are held; the last batches' times."""
        took = []
        while self.held < target:
            took.append(self.push(next(self.texts)))
            self.held += BATCH
        return took[-LAST_BATCHES:]

    def settle(self) -> None:
        """Sign all exams but the newest, in the journal and without a document, and plan the newest for today."""
        query = "select exam, patient from entries where kind = 'opened' and exam is not null order by arrival"
        rows = list(self.db.query(query))
        signed = {row["exam"] for row in self.db.query("select exam from reports")}
        for row in rows[:-UNSIGNED]:
            if row["exam"] not in signed:
                self._sign(row["exam"], row["patient"])
        day = date.today().isoformat()
        planned = []
        for place, row in enumerate(rows[-PLANNED:]):
            body = {"date": day, "time": f"{8 + place // 4:02d}:00", "order": place, "patient": {"name": "Pepper"}}
            planned.append(Act("planned", body, PERSON, f"{day}T07:00:00+01:00", patient=row["patient"]))
        desk.record(self.db, planned)

    def _sign(self, exam_id: str, patient: str) -> None:
        ids = [row["id"] for row in self.db.query("select id from entries where exam = ? order by arrival", [exam_id])]
        body = {"about": "exam", "version": 1, "status": "final", "covers": ids, "signer": {"id": PERSON}}
        act = Act("signed", body, PERSON, "2026-11-24T18:00:00+01:00", exam_id, patient)
        with write(self.db):
            envelope = entries.make(act, devices.head(self.db, meta.get(self.db, "desk_device")))
            (kept,) = journal.append(self.db, [envelope], "desk", lists_later=True)
            self.db.execute(REPORT, [exam_id, kept.id])
        self.held += 1

    def get(self, browser: FlaskClient, address: str, **more: Any) -> Any:
        answer = browser.get(address, **more)
        if answer.status_code != 200:
            raise RuntimeError(answer.text)
        return answer

    def pull_day(self) -> int:
        """All pages of today's list; how many there were."""
        since, pages, more = 0, 0, True
        while more:
            page = self.get(self.phone, f"/api/journal?since={since}&limit=200", headers=BEARER).json
            since, more, pages = page["next"], page["more"], pages + 1
        return pages


REPORT = (
    "insert into reports (exam, version, signed_id, status, signer, issued_at, html, pdf, plain, exam_json, "
    "judgement_json, html_hash, pdf_hash, judgement_hash, limits_version, tables_hash, core_version) "
    "values (?, 1, ?, 'final', '{}', '2026-11-24', '', x'', '', '{\"fields\": {}, \"amended\": []}', "
    "'{}', '', '', '', '', '', '')"
)


def level(practice: Practice, target: int) -> dict[str, str]:
    """One column of the table."""
    made = {"a batch of 200, without a pause, ms": in_ms(practice.grow(target))}
    practice.settle()
    waiting = practice.db.execute("select count(*) from exams_behind").fetchone()[0]
    took = timed(lambda: behind.renew(practice.db))
    clock, process = (seconds / max(1, waiting) * 1000 for seconds in took)
    made["judging, an exam of 200, ms"] = f"{clock:6.1f}  [{process:5.1f}]"
    practice.get(practice.phone, "/api/practice", headers=BEARER)  # learns from what came: not measured here
    pages = practice.pull_day()
    pulls = [timed(practice.pull_day) for _ in range(10)]
    made["a day's pull, ms a page"] = in_ms([Took(one.clock / pages, one.process / pages) for one in pulls])
    made["the queue's page, ms"] = in_ms([timed(lambda: practice.get(practice.desk, "/review")) for _ in range(15)])
    made["verify"] = in_s(timed(lambda: chain.verify(practice.db)), practice.held)
    practice.db.execute("pragma wal_checkpoint(truncate)")
    sizes = "select sum(length(cast(header as blob)) + length(cast(body as blob))), count(*) from entries"
    texts, held = practice.db.execute(sizes).fetchone()
    size = practice.path.stat().st_size
    made["on disk"] = f"{size / held:6.0f} bytes an entry, {texts / held:.0f} of them its texts"
    for name, value in made.items():
        print(f"{target:>9,} {name:<38} {value}", flush=True)
    return made


def at_the_end(practice: Practice, folder: Path, rebuild: bool) -> None:
    last = next(practice.texts)
    practice.push(last)
    made = {"the same batch again (duplicates), ms": in_ms([practice.push(last) for _ in range(50)])}
    made["backup, checked"] = in_s(timed(lambda: backup.backup(practice.db, folder / "copies")), practice.held)
    if rebuild:
        made["rebuild of the lists"] = in_s(timed(lambda: exams.rebuild(practice.db)), practice.held)
    for name, value in made.items():
        print(f"{practice.held:>9,} {name:<38} {value}", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--entries", type=int, default=100_000)
    parser.add_argument("--skip-rebuild", action="store_true", help="The rebuild judges every exam: the longest step.")
    given = parser.parse_args()
    levels = [one for one in (10_000, 100_000, 1_000_000) if one < given.entries] + [given.entries]
    load = os.getloadavg()[0]
    with tempfile.TemporaryDirectory(prefix="gelside-bench-") as name:
        folder = Path(name)
        practice = Practice(folder)
        columns = {target: level(practice, target) for target in levels}
        at_the_end(practice, folder, not given.skip_rebuild)
        practice.db.close()
    print(f"\n{'':38}" + "".join(f"{target:>52,}" for target in levels))
    for row in columns[levels[0]]:
        print(f"{row:38}" + "".join(f"{columns[target][row]:>52}" for target in levels))
    print(f"load before and after: {load:.2f}, {os.getloadavg()[0]:.2f} ({os.cpu_count()} processors)", flush=True)
    os._exit(0)  # the thread beside the requests must not find its file gone


if __name__ == "__main__":
    main()
