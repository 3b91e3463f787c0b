"""Entries as the core gets them, made by hand or by hypothesis: an exam written by several devices."""

import hashlib
from typing import Any

from hypothesis import strategies as st

Entry = dict[str, Any]
EXAM = "01999999-0000-7000-8000-000000000001"
PATIENT = "01999999-0000-7000-8000-00000000000a"
DEVICES = ("b" * 32, "a" * 32, "c" * 32)
POLE = "adrenal.left.caudal_pole_thickness"


class Writer:
    """A device that writes entries; `copied` is the same device restored from a copy."""

    def __init__(self, device: str = DEVICES[0], seq: int = 0, branch: str = ""):
        self.device, self.seq, self.branch = device, seq, branch

    def copied(self, branch: str = "copy") -> "Writer":
        return Writer(self.device, self.seq, branch)

    def write(self, kind: str, body: Any, after: Any = (), of: Any = (), **header: Any) -> Entry:
        self.seq += 1
        entry = {
            "v": 1,
            "device": self.device,
            "seq": self.seq,
            "prev": "0" * 64,
            "exam": EXAM,
            "patient": PATIENT,
            "author": "VS",
            "behalf": None,
            "at": f"2026-11-24T10:{self.seq % 60:02}:00+01:00",
            "kind": kind,
            "after": list(after),
            "of": list(of),
            "body": body,
        } | header
        seed = f"{self.device}{self.seq}{self.branch}{kind}{body}{after}{of}"
        return {"id": hashlib.sha256(seed.encode()).hexdigest()} | entry

    def opened(self, **patient: Any) -> Entry:
        animal = {"species": "dog", "weight_kg": "9", "age_months": 110, "sex": "female", "neutered": True} | patient
        return self.write(
            "opened",
            {
                "about": "exam",
                "date": "2026-11-24",
                "patient": animal,
                "question": {"text": "Large glands?", "structures": ["adrenal.left"]},
                "context": {},
            },
        )

    def read(self, value: str, quantity: str = POLE, unit: str = "mm", **more: Any) -> Entry:
        return self.write(
            "read", {"about": quantity, "value": value, "unit": unit, "typed": value, "typed_unit": unit} | more
        )

    def set(self, about: str, value: Any, after: Any = (), **more: Any) -> Entry:
        return self.write("set", {"about": about, "value": value} | more, after=after)

    def seen(self, about: str, seen: str, after: Any = (), **more: Any) -> Entry:
        return self.write("seen", {"about": about, "seen": seen} | more, after=after)

    def moved(self, animal: Entry, after: Any = (), **more: Any) -> Entry:
        return self.set("exam.patient", animal, after=after, **({"from": BELLA} | more))

    def struck(self, *ids: str, why: str = "slip") -> Entry:
        return self.write("struck", {"why": why}, of=ids)


READ = [
    ("adrenal.left.caudal_pole_thickness", "6.2"),
    ("adrenal.left.cranial_pole_thickness", "4.1"),
    ("adrenal.left.caudal_pole_thickness", "5.4"),
    ("adrenal.right.maximum_thickness", "7.1"),
    ("kidney.left.length", "44"),
    ("aorta.diameter", "8.1"),
    ("jejunum.wall_thickness", "4.6"),
    ("adrenal.left.length", "18"),
    ("lesion.length", "9"),
]
SET: list[tuple[str, Any]] = [
    ("patient.weight_kg", "9.8"),
    ("patient.weight_kg", "11"),
    ("patient.weight_source", "owner"),
    ("patient.neutered", False),
    ("context.signs", ["vomiting"]),
    ("context.fasted", True),
    ("question.answered", "yes"),
    ("question.structures", ["spleen"]),
    ("adrenal.left.capsule", ["smooth"]),
    ("impression", "Quiet."),
    ("impression", "RIGHT adrenal large; material in the caudal vena cava."),
    ("spleen.windows_tried", ["left_intercostal"]),
]
MAX = {"id": "01999999-0000-7000-8000-00000000000b", "name": "Max", "species": "dog", "weight_kg": "31"}
TOM = {"id": "01999999-0000-7000-8000-00000000000c", "name": "Tom", "species": "cat", "weight_kg": "4.4", "sex": "male"}
BELLA = {"id": PATIENT, "name": "Bella", "species": "dog"}
SEEN = [
    ("adrenal.left.cranial_pole", "not_seen"),
    ("adrenal.left.cranial_pole", "whole"),
    ("spleen", "partly"),
    ("spleen", "not_seen"),
    ("spleen", "whole"),
    ("kidney.left", "partly"),
    ("ovary.left", "whole"),
]
FOUND: list[dict[str, Any]] = [
    {
        "about": "adrenal.right",
        "finding": "mass",
        "dimensions": ["21"],
        "unit": "mm",
        "shape": "mass, poles not separable",
    },
    {"about": "vena_cava", "finding": "material"},
    {"about": "spleen", "finding": "no_flow"},
]
UNREAD: list[tuple[str, Any, int]] = [
    ("guessed", {"about": "spleen"}, 1),
    ("read", {"about": POLE, "value": "6.2"}, 2),
    ("read", {"about": POLE, "value": "62", "unit": "mm", "typed": "6.2"}, 1),
    ("seen", "text", 1),
    ("seen", {"seen": "whole"}, 1),
    ("set", {"about": "patient.age_months", "value": "old"}, 1),
]


@st.composite
def journals(draw: Any) -> list[Entry]:
    """The entries of one exam in the order of writing: several devices, one of them cloned now and then."""
    writers = [Writer(device) for device in DEVICES[: draw(st.integers(1, 3))]]
    entries = [writers[0].opened()]
    for _ in range(draw(st.integers(0, 12))):
        writer = draw(st.sampled_from(writers))
        entries.append(draw(acts(writer, entries)))
        if len(writers) < 4 and draw(st.integers(0, 9)) == 0:
            writers.append(writer.copied(str(len(entries))))
    return entries


@st.composite
def acts(draw: Any, writer: Writer, before: list[Entry]) -> Entry:
    """One entry more, which may have seen or struck any of those before it."""
    known = [entry["id"] for entry in before]
    some = st.lists(st.sampled_from(known), max_size=2, unique=True)
    kind = draw(
        st.sampled_from(
            [
                "read",
                "read",
                "set",
                "set",
                "seen",
                "seen",
                "found",
                "noted",
                "struck",
                "struck",
                "acknowledged",
                "closed",
                "attached",
                "moved",
                "unread",
                "signed",
            ]
        )
    )
    if kind == "read":
        quantity, value = draw(st.sampled_from(READ))
        return writer.read(value, quantity, lesion="liver#1" if quantity.startswith("lesion") else None)
    if kind == "set":
        return writer.set(
            *draw(st.sampled_from(SET + 3 * SET[:3])), after=draw(slot_known(before, draw)), source="scale"
        )
    if kind == "seen":
        return writer.seen(*draw(st.sampled_from(SEEN)), after=draw(slot_known(before, draw)), why="gas")
    if kind == "found":
        return writer.write("found", draw(st.sampled_from(FOUND)))
    if kind == "noted":
        return writer.write("noted", {"about": "spleen", "text": "Left side up."})
    if kind == "acknowledged":
        return writer.write("acknowledged", {"about": POLE, "flag": "check_value", "reason": "true"}, of=draw(some))
    if kind == "attached":
        return writer.write("attached", {"about": "spleen", "hash": "f" * 64, "type": "image/jpeg", "size": 81234})
    if kind == "moved":
        animal = draw(st.sampled_from([MAX, TOM]))
        return writer.moved(animal, after=draw(slot_known(before, draw)))
    if kind == "closed":
        return writer.write("closed", {"about": "exam"})
    if kind == "signed":
        body = {"about": "exam", "version": 1, "status": "final", "covers": draw(some), "signer": {"id": "RD"}}
        return writer.write("signed", body) if draw(st.booleans()) else writer.read("6.0")
    if kind == "unread":
        name, body, version = draw(st.sampled_from(UNREAD))
        return writer.write(name, body, v=version)
    return writer.struck(*draw(some))


def slot_known(before: list[Entry], draw: Any) -> st.SearchStrategy[list[str]]:
    """What the author of a set or seen entry may have seen: some of the entries that fill slots."""
    slots = [entry["id"] for entry in before if entry["kind"] in ("set", "seen")]
    return st.lists(st.sampled_from(slots), max_size=2, unique=True) if slots else st.just([])
