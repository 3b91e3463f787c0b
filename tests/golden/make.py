"""Make the golden journals of a format version, once: what its phones and desk wrote, and the exams folded from it.

    .venv/bin/python -m tests.golden.make        # writes tests/golden/v<version of the format>/, never over one

The files are journal files as "give me a copy" writes them and `import` takes them in. They are frozen: a later version
of the program must read them and give the same exams (test_golden).
"""

import hashlib
import json
import os
import tempfile
from pathlib import Path
from typing import Any

from flask import Flask
from sqlite_utils import Database

from demo import seed
from tests.builders import DAY, PATIENT, Phone, foreign, whole_exam
from tests.golden import golden
from webapp import create_app, rules
from webapp.store import entries, exams, meta
from webapp.store.db import open_database
from webapp.store.entries import Envelope
from webapp.sync.protocol import PROTOCOL

HERE = Path(__file__).parent
OTHER_ANIMAL = PATIENT[:-1] + "b"
PHOTO = {"hash": "ab" * 32, "type": "image/jpeg", "size": 81_000, "width": 1600, "height": 1200}


def journal_file(device: str, envelopes: list[Envelope]) -> dict[str, Any]:
    """As the phone's copy.js and the practice's export write it."""
    return {"gelside": "journal", "protocol": PROTOCOL, "device": device, "entries": envelopes}


def of_demo(app: Flask) -> dict[str, dict[str, Any]]:
    """The demo's phone and its desk, signatures and the day's list included."""
    seed.seed(app, DAY)
    db = open_database(app.config["DATABASE"])
    try:
        desk = meta.get(db, "desk_device")
        rows = db.query("select header, body from entries where device = ? order by seq", [desk])
        desk_wrote: list[Envelope] = [{"header": row["header"], "body": row["body"]} for row in rows]
        return {
            "demo-phone": journal_file(seed.device(), seed.envelopes()),
            "demo-desk": journal_file(desk, desk_wrote),
        }
    finally:
        db.close()


def of_every_kind() -> dict[str, dict[str, Any]]:
    """What the demo does not have: every kind, strikes of strikes, forks, a move, a copied phone, and what this
    version cannot read."""
    first = whole_exam(Phone("a1" * 16))
    read = first.read("spleen.thickness", "11.2")
    struck = first.act("struck", {"why": "slipped"}, of=[read])
    first.act("struck", {"why": "it was right"}, of=[struck])
    first.act("attached", {"about": "spleen", **PHOTO})
    weight = {"about": "patient.weight_kg", "value": "7.35", "typed": "16.2", "typed_unit": "lb", "source": "scales"}
    first.act("set", weight)
    first.act("acknowledged", {"about": "spleen", "flag": "check_value", "reason": "measured again, same"}, of=[read])
    place = {"part": "body", "number": 1, "dimensions": ["8.0", "6.5"], "unit": "mm", "text": "on the edge"}
    first.act("found", {"about": "spleen", "finding": "nodule", **place})
    copy = first.copied()
    first.act("noted", {"about": "exam", "text": "Ω – für später, \u202eabc\U0001f43e"})
    copy.act("noted", {"about": "exam", "text": "by the copy"})

    second = Phone("b2" * 16, author="RD")
    second.seen("liver", "partly", ["gas", "deep"])
    moved = {"id": OTHER_ANIMAL, "name": "Peper", "species": "dog"}
    was = {"id": PATIENT, "name": "Pepper", "species": "dog"}
    second.act("set", {"about": "exam.patient", "value": moved, "from": was})
    numbers = {"typed": "968000001234567", "record": "968000001234568"}
    second.act("set", {"about": "exam.chip", "value": "mismatch", **numbers})
    second.act("noted", {"about": "exam", "text": "of a later kind"})
    second.written[-1] = foreign(second.written[-1], kind="dreamt")
    second.place = second.place._replace(prev=entries.entry_id(second.written[-1]))
    second.act("noted", {"about": "exam", "text": "of a later format"})
    second.written[-1] = foreign(second.written[-1], v=999)

    desk = Phone("de" * 16, author="RD", exam=None)
    for name in ("Pepper", "Peper"):
        desk.patient = PATIENT if name == "Pepper" else OTHER_ANIMAL
        desk.act("set", {"about": "patient.name", "value": name})
    visit = {"date": DAY, "time": "09:30", "order": 2, "patient": {"name": "Pepper", "species": "dog"}}
    planned = desk.act("planned", {"about": "visit", **visit})
    desk.act("set", {"about": "visit.cancelled", "value": "the owner rang"}, of=[planned])
    sides = {"from": {"id": OTHER_ANIMAL, "name": "Peper"}, "into": {"id": PATIENT, "name": "Pepper"}}
    merged = desk.act("merged", {"about": "patient", **sides, "why": "one chip"})
    desk.act("struck", {"why": "they are two after all"}, of=[merged])
    wrong = foreign(desk.written[0], body_hash="0" * 64, seq=desk.place.seq, prev=desk.place.prev)
    return {
        "phone": journal_file(first.device, first.written),
        "its-copy": journal_file(copy.device, copy.written),
        "second-phone": journal_file(second.device, second.written),
        "desk": journal_file(desk.device, [*desk.written, wrong]),
    }


def folded(db: Database) -> dict[str, Any]:
    """What the rules make of a practice's journal: every exam, and the animals and visits."""
    made: dict[str, Any] = {"exams": {}}
    for exam in exams.all_ids(db):
        made["exams"][exam] = exams.fold(db, exam).exam
    for name, key in (("animals", "patient"), ("visits", "id")):
        made[name] = {row[key]: json.loads(row["facts"]) for row in db.query(f"select {key}, facts from {name}")}
    return made


def main() -> None:
    folder = HERE / f"v{entries.VERSION}"
    with tempfile.TemporaryDirectory() as instance:
        os.environ["GELSIDE_INSTANCE"] = instance
        journals = of_demo(create_app()) | of_every_kind()
    folder.mkdir()
    for name, journal in journals.items():
        (folder / f"{name}.json").write_text(_text(journal), encoding="utf-8")
    db = golden.practice_of(folder)
    (folder / "expected.json").write_text(_text(folded(db)), encoding="utf-8")
    sums = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(folder.glob("*.json"))}
    (folder / "frozen.json").write_text(_text(sums), encoding="utf-8")
    print(f"{folder.name}: {', '.join(sums)}; rules {rules.core_version()}")


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, indent=0) + "\n"


if __name__ == "__main__":
    main()
