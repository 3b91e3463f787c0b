"""The queue and its search, by hand: how long their pages take at the server with a few exams and with years of them.

    .venv/bin/python -m tests.bench.queue --exams 5000

Makes two practices with the store's own functions: records of animals with owners and chips, whole exams with
readings, states, findings and notes, all but the last sixty signed (in the journal and in the table of reports with
the frozen exam, but without the bytes of page and PDF: no page measured here reads them). Then opens pages through the
application as a browser would, without the network. Prints median, 95th percentile and the ratio of the medians;
asserts nothing. The files lie in a folder of their own and are removed.
"""

import argparse
import json
import random
import statistics
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.bench.animals import SYLLABLES, signed_in
from tests.bench.server import percentile
from tests.builders import Phone
from tests.conftest import PASSWORD
from webapp import create_app
from webapp.animals import record, words
from webapp.store import behind, desk, entries, exams, journal, people, reports
from webapp.store.db import open_database, write

FEW = 50
UNSIGNED = 60
TIMES = 40
LAST_DAY = date(2026, 11, 28)
READ = (
    ("adrenal.left.caudal_pole_thickness", 5.4), ("adrenal.left.cranial_pole_thickness", 4.4),
    ("adrenal.right.caudal_pole_thickness", 5.2), ("adrenal.right.cranial_pole_thickness", 4.5),
    ("kidney.left.length", 52.0), ("kidney.right.length", 53.0), ("jejunum.wall_thickness", 3.4),
)
SEEN = ("liver", "gallbladder", "spleen", "stomach", "kidney.left", "kidney.right", "bladder", "duodenum", "jejunum",
        "colon", "aorta", "vena_cava")
FINDINGS = (("spleen", "nodule"), ("liver", "nodule"), ("kidney.left", "cyst"), ("bladder", "sediment"),
            ("liver", "enlarged"), ("vena_cava", "material"))
NOTES = ("Margins smooth, texture even.", "Small amount of gas; seen from the right window only.",
         "Bright rim, centre dark.", "Layering kept, two loops looked at.", "Capsule smooth, outline kept.")
ASKED = ("Drinks a lot: are the adrenal glands large?", "Vomits since a week: foreign body?", "Blood in the urine.",
         "Weight loss, appetite good.", "Re-check of the splenic nodule.")
IMPRESSION = "Both glands seen, within the limits shown."
PAGES = {
    "queue, first page": "/review",
    "queue, last page": "/review?page=9999",
    "queue, three filters": "/review?reason=outside&species=dog&person=VS",
    "queue, a month of one person": "/review?person=VS&since=2026-10-01&until=2026-10-31",
    "search, one animal": "/review?q=kalo",
    "search, an owner's name": "/review?q=batobako",
    "search, a finding": "/review?q=spleen+nodule",
    "search, what every exam holds": "/review?q=liver",
    "search, its last page": "/review?q=liver&page=9999",
    "search, one letter": "/review?q=s",
    "search, words and filters": "/review?q=bright+rim&state=signed&species=cat",
    "search, nothing": "/review?q=hedgehog+nodule",
}


def exam(phone: Phone, patient: str, animal: dict[str, Any], day: date, chance: random.Random) -> str:
    """One exam of the mix that a table gives; returns its id."""
    phone.exam, phone.patient = entries.new_id(chance.randrange(2**40)), patient
    phone.author = chance.choice(["VS", "KM"])
    body = {"about": "exam", "date": day.isoformat(), "visit": None, "patient": animal, "context": {},
            "question": {"text": chance.choice(ASKED), "structures": ["adrenal.left", "adrenal.right"]}}
    phone.act("opened", body)
    for quantity, usual in READ:
        for _ in range(2):
            phone.read(quantity, f"{usual * chance.uniform(0.9, 1.15):.1f}")
    for about in SEEN:
        phone.seen(about, "whole", normal=chance.random() < 0.7)
    if chance.random() < 0.4:
        phone.seen("adrenal.right.cranial_pole", "not_seen", ["gas"])
    for about, finding in chance.sample(FINDINGS, chance.choice([0, 0, 1, 1, 2])):
        phone.act("found", {"about": about, "finding": finding, "text": chance.choice(NOTES)})
    for about in chance.sample(SEEN, 4):
        phone.act("noted", {"about": about, "text": chance.choice(NOTES)})
    phone.closed()
    return phone.exam


def sign(db: Database, exam_id: str) -> None:
    """The signature as the journal and the table of reports have it, without the documents' bytes."""
    folded = exams.fold(db, exam_id)
    frozen = folded.exam | {"fields": folded.exam["fields"] | {"impression": IMPRESSION}}
    signer = {"id": "RD", "name": "R. Dale"}
    body = {"about": "exam", "version": 1, "status": "final", "covers": folded.ids, "signer": signer}
    with write(db):
        name = desk.act(db, "signed", body, author="RD", exam=exam_id, patient=folded.exam["patient_id"])
        reports.keep(db, {
            "exam": exam_id, "version": 1, "signed_id": name, "status": "final", "signer": json.dumps(signer),
            "issued_at": desk.now(), "html": "", "pdf": b"", "plain": "",
            "exam_json": json.dumps(frozen, ensure_ascii=False), "judgement_json": json.dumps(folded.judgement),
            "limits_version": folded.judgement["limits_version"], "tables_hash": "", "core_version": "",
        })
        behind.note(db, [exam_id])


def animals(db: Database, many: int, chance: random.Random) -> list[tuple[str, dict[str, Any]]]:
    """Records with owners and chips: (id, what a phone writes of the animal)."""
    made = []
    for number in range(many):
        species = chance.choice(["dog", "dog", "cat"])
        name = "".join(chance.choice(SYLLABLES) for _ in range(2)).capitalize()
        weight = f"{chance.uniform(3, 40 if species == 'dog' else 7):.1f}"
        told = {"name": name, "species": species, "breed": chance.choice(words.breeds()[species]), "weight_kg": weight}
        patient = record.new_id()
        owner = "".join(chance.choice(SYLLABLES) for _ in range(4)).capitalize()
        chip = str(276_000_000_000_000 + number)
        record.save(db, patient, told | {"owner.name": owner, "microchip": chip}, "RD", None)
        made.append((patient, told | {"age_months": chance.randrange(12, 160)}))
    return made


def practice(path: Path, many: int) -> FlaskClient:
    """A practice of so many exams, and a vet who has signed in there."""
    began, chance = time.perf_counter(), random.Random(7)
    db = open_database(path)
    people.add(db, "RD", "R. Dale", "reviewer, admin", PASSWORD)
    for person, name in (("VS", "V. Stone"), ("KM", "K. Moss")):
        people.add(db, person, name, "sonographer", None)
    known = animals(db, max(20, many // 3), chance)
    phone = Phone("ab" * 16, exam=None, patient=None)
    ids = []
    for number in range(many):
        day = LAST_DAY - timedelta(days=(many - number) // 6)
        ids.append(exam(phone, *chance.choice(known), day, chance))
        if number % 20 == 19 or number == many - 1:
            journal.append(db, phone.written, "phone", lists_later=True)
            phone.written.clear()
    for one in ids[:-UNSIGNED]:
        sign(db, one)
    behind.renew(db)
    db.execute("pragma wal_checkpoint(truncate)")
    listed, signed, kept = (db.table(name).count for name in ("exams", "reports", "entries"))
    size, seconds = path.stat().st_size / 1e6, time.perf_counter() - began
    print(f"{listed:,} exams, {signed:,} of them signed, {kept:,} entries, {size:,.0f} MB, made in {seconds:.0f} s",
          flush=True)
    db.close()
    browser = create_app({"DATABASE": str(path), "SECRET_KEY": "bench"}).test_client()
    signed_in(browser)
    return browser


def took(browser: FlaskClient, address: str) -> list[float]:
    """Milliseconds of each opening, after one that warms the page's template."""
    times = []
    for _ in range(TIMES + 1):
        began = time.perf_counter()
        answer = browser.get(address)
        times.append((time.perf_counter() - began) * 1000)
        if answer.status_code != 200:
            raise RuntimeError(answer.text)
    return times[1:]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--exams", type=int, default=5_000)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="gelside-bench-") as name:
        few = practice(Path(name) / "few.sqlite3", FEW)
        many = practice(Path(name) / "many.sqlite3", given.exams)
        titles = [f"{count:,} exams: median, p95" for count in (FEW, given.exams)]
        print(f"{'page, ms':<32}{titles[0]:>26}{titles[1]:>30}{'ratio':>8}")
        for what, address in PAGES.items():
            small, large = took(few, address), took(many, address)
            ratio = statistics.median(large) / statistics.median(small)
            shown = [f"{statistics.median(one):8.1f} {percentile(one, 0.95):8.1f}" for one in (small, large)]
            print(f"{what:<32}{shown[0]:>26}{shown[1]:>30}{ratio:8.2f}", flush=True)


if __name__ == "__main__":
    main()
