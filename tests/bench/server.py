"""The server alone, by hand: how long a batch, a proof and a rebuild take with many entries, and how large the file is.

    .venv/bin/python -m tests.bench.server --entries 1000000

One client pushes whole exams, one batch of `--batch` entries each, through the application as a request would, without
the network. Prints figures; asserts nothing. The file is made in a folder of its own and removed.
"""

import argparse
import random
import statistics
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from flask import Flask

from tests.builders import Phone, push
from webapp import create_app
from webapp.keeping import backup
from webapp.store import chain, entries, exams, phones
from webapp.store.db import open_database

TOKEN = "a token of the bench"
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


def batches(total: int, size: int) -> Iterator[str]:
    """The texts of pushes: one exam each, five phones in turn."""
    chance = random.Random(1)
    writers = [Phone(f"{number:032x}", exam=None, patient=None) for number in range(5)]
    for number in range(total // size):
        phone = writers[number % len(writers)]
        exam(phone, size, chance)
        yield push(phone)
        phone.written.clear()


def percentile(times: list[float], part: float) -> float:
    return sorted(times)[min(len(times) - 1, int(len(times) * part))] * 1000


def told(words: str, times: list[float]) -> None:
    p50, p99 = statistics.median(times) * 1000, percentile(times, 0.99)
    print(f"{words:<38} p50 {p50:7.1f} ms   p99 {p99:7.1f} ms   max {max(times) * 1000:7.1f} ms", flush=True)


def pushes(app: Flask, total: int, size: int) -> None:
    """First sync in tenths, so that growth shows; then the same last batches again."""
    client = app.test_client()
    header = {"Authorization": f"Bearer {TOKEN}"}
    times: list[float] = []
    last: list[str] = []
    step = max(1, total // size // 10)
    for text in batches(total, size):
        began = time.perf_counter()
        answer = client.post("/api/journal", data=text, headers=header)
        times.append(time.perf_counter() - began)
        if answer.status_code != 200:
            raise RuntimeError(answer.text)
        last = [*last[-49:], text]
        if len(times) % step == 0:
            told(f"batch of {size}, {len(times) * size:>9,} entries held", times[-step:])
    told(f"batch of {size}, all", times)
    print(f"{'entries a second, one client':<38} {total / sum(times):,.0f}")
    again = []
    for text in last:
        began = time.perf_counter()
        client.post("/api/journal", data=text, headers=header)
        again.append(time.perf_counter() - began)
    told(f"the same batch again ({size} duplicates)", again)


def measured(words: str, act: object, entries_held: int) -> None:
    began = time.perf_counter()
    act()  # type: ignore[operator]
    took = time.perf_counter() - began
    print(f"{words:<38} {took:7.1f} s   {took / entries_held * 1e6:7.1f} microseconds an entry", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--entries", type=int, default=20_000)
    parser.add_argument("--batch", type=int, default=200)
    parser.add_argument("--skip-rebuild", action="store_true", help="The rebuild folds every exam: the longest step.")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="gelside-bench-") as folder:
        path = Path(folder) / "practice.sqlite3"
        db = open_database(path)
        phones.add(db, "Bench", TOKEN)
        app = create_app({"DATABASE": str(path), "SECRET_KEY": "bench"})
        pushes(app, given.entries, given.batch)
        held = db.execute("select count(*) from entries").fetchone()[0]
        db.execute("pragma wal_checkpoint(truncate)")
        text = db.execute("select sum(length(cast(header as blob)) + length(cast(body as blob))) from entries")
        size, pure = path.stat().st_size, text.fetchone()[0]
        print(f"{'on disk':<38} {size / held:7.0f} bytes an entry, of which {pure / held:.0f} are its texts")
        measured("verify", lambda: chain.verify(db), held)
        measured("backup, checked", lambda: backup.backup(db, Path(folder) / "copies"), held)
        if not given.skip_rebuild:
            measured("rebuild of the lists", lambda: exams.rebuild(db), held)
        db.close()


if __name__ == "__main__":
    main()
