"""Builders for tests: a phone that writes a journal, and the acts of an exam on it."""

import json
from collections.abc import Iterable, Sequence
from typing import Any

from webapp.store import entries
from webapp.store.entries import Act, Envelope, Place

EXAM = "01999999-0000-7000-8000-000000000001"
PATIENT = "01999999-0000-7000-8000-00000000000a"
DAY = "2026-11-24"


class Phone:
    """A device that writes entries in order and remembers them."""

    def __init__(
        self,
        device: str = "a1" * 16,
        author: str = "VS",
        exam: str | None = EXAM,
        patient: str | None = PATIENT,
    ):
        self.place = Place(device, 1, entries.NO_PREVIOUS)
        self.author = author
        self.exam = exam
        self.patient = patient
        self.written: list[Envelope] = []

    @property
    def device(self) -> str:
        return self.place.device

    def act(self, kind: str, body: dict[str, Any], *, after: Sequence[str] = (), of: Sequence[str] = ()) -> str:
        """Write one entry; returns its id."""
        minute = self.place.seq % 60
        at = f"{DAY}T10:{minute:02d}:00+01:00"
        made = Act(kind, body, self.author, at, self.exam, self.patient, None, tuple(after), tuple(of))
        envelope = entries.make(made, self.place)
        self.written.append(envelope)
        self.place = Place(self.device, self.place.seq + 1, entries.entry_id(envelope))
        return self.place.prev

    def copied(self) -> "Phone":
        """The same phone restored from a copy: it goes on from the same count."""
        twin = Phone(self.device, self.author, self.exam, self.patient)
        twin.place = self.place
        return twin

    def opened(self, **patient: Any) -> str:
        """Open a dog's exam with a question about both adrenal glands."""
        animal = {
            "name": "Pepper",
            "species": "dog",
            "breed": "Miniature Schnauzer",
            "sex": "female",
            "neutered": True,
            "age_months": 110,
            "weight_kg": "7.2",
        } | patient
        question = {
            "text": "Drinks a lot: are the adrenal glands large?",
            "structures": ["adrenal.left", "adrenal.right"],
        }
        body = {
            "about": "exam",
            "date": DAY,
            "visit": None,
            "patient": animal,
            "question": question,
            "context": {},
        }
        return self.act("opened", body)

    def read(self, quantity: str, value: str, unit: str = "mm", typed: str | None = None, **more: Any) -> str:
        body = {"about": quantity, "value": value, "unit": unit, "typed": typed or value, "typed_unit": unit}
        return self.act("read", body | more)

    def seen(self, about: str, seen: str, why: Iterable[str] = (), normal: bool = False) -> str:
        return self.act("seen", {"about": about, "seen": seen, "why": list(why), "normal": normal})

    def closed(self) -> str:
        return self.act("closed", {"about": "exam"})


def whole_exam(phone: Phone | None = None) -> Phone:
    """A dog's exam with readings of both glands, one over its limit, a pole not seen, and a note."""
    phone = phone or Phone()
    phone.opened()
    for value in ("6.2", "6.4"):
        phone.read("adrenal.left.caudal_pole_thickness", value)
    phone.read("adrenal.left.cranial_pole_thickness", "4.1")
    phone.read("adrenal.right.caudal_pole_thickness", "4.4")
    phone.seen("adrenal.right.cranial_pole", "not_seen", ["gas"])
    phone.seen("liver", "whole", normal=True)
    phone.act("noted", {"about": "adrenal.left", "text": "Capsule smooth."})
    phone.closed()
    return phone


def push(phone: Phone, entries_: Sequence[Envelope] | None = None) -> str:
    """The text of a push request with these entries, all of the phone's by default."""
    return json.dumps(
        {
            "protocol": 1,
            "device": phone.device,
            "entries": list(phone.written if entries_ is None else entries_),
        }
    )


def foreign(envelope: Envelope, **changes: Any) -> Envelope:
    """The envelope with header fields changed, as another version of the program might have written it."""
    header = json.loads(envelope["header"]) | changes
    return {"header": entries.canonical(header), "body": envelope["body"]}
