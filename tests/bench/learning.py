"""Figures over many exams, by hand: how long the pages of learning and of the own reference take as exams grow.

    .venv/bin/python -m tests.bench.learning --exams 5000 --healthy 500

Each exam is a cat's with eight states and three readings. Prints figures; asserts nothing. The file is made in a
folder of its own and removed.
"""

import argparse
import random
import tempfile
import time
from pathlib import Path

from tests.bench.animals import opened, signed_in
from tests.own_reference.practice import KIDNEY, exam
from webapp import create_app
from webapp.learned import renewing as spread
from webapp.learning import renewing
from webapp.own_reference import measuring
from webapp.store import behind, healthy, journal, people
from webapp.store.db import get_db, open_database

PARTS = ("liver", "spleen", "stomach", "jejunum", "bladder", "kidney.left", "kidney.right", "pancreas.body")
BATCH = 2000


def arrive(many: int, path: Path) -> list[str]:
    """The exams in the practice's file, as phones send them; their ids."""
    chance = random.Random(3)
    names, waiting = [], []
    db = open_database(path)
    for _ in range(many):
        phone = exam(day=f"2026-{chance.randint(1, 12):02d}-{chance.randint(1, 28):02d}", closed=False)
        for part in PARTS:
            phone.seen(part, chance.choice(("whole", "whole", "whole", "partly", "not_seen")), ["gas"])
        for _ in range(3):
            phone.read(KIDNEY, f"{chance.gauss(40, 2.5):.1f}")
        phone.closed()
        names.append(str(phone.exam))
        waiting += phone.written
        if len(waiting) > BATCH:
            journal.append(db, waiting, "phone")
            waiting = []
    journal.append(db, waiting, "phone")
    db.close()
    return names


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--exams", type=int, default=5000)
    ask.add_argument("--healthy", type=int, default=500)
    given = ask.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "practice.sqlite3"
        db = open_database(path)
        people.add(db, "RD", "R. Dale", "vet", "correct horse battery")
        db.close()
        names = arrive(given.exams, path)
        app = create_app({"DATABASE": str(path)})
        with app.app_context():
            db = get_db()
            behind.renew(db)
            for name in names[: given.healthy]:
                healthy.say(db, healthy.HEALTHY + name, {"healthy": True, "known": "Well."}, "RD", "")
            began = time.perf_counter()
            spread.renew(db)
            print(f"spread of {given.exams} exams learned, as after any push: {time.perf_counter() - began:.2f} s")
            began = time.perf_counter()
            renewing.renew(db, lambda: True)
            print(f"first look at {given.exams} exams: {time.perf_counter() - began:.2f} s")
            began = time.perf_counter()
            measuring.of_exams(db, names[: given.healthy])
            print(f"first measuring of {given.healthy} healthy animals: {time.perf_counter() - began:.2f} s")
        browser = app.test_client()
        signed_in(browser)
        opened(browser, "learning, all days", "/learning")
        opened(browser, "learning, one month", "/learning?first=2026-03-01&last=2026-03-31")
        opened(browser, "own reference, overview", "/own-reference")
        opened(browser, "own reference, one group", f"/own-reference/group?species=cat&quantity={KIDNEY}")


if __name__ == "__main__":
    main()
