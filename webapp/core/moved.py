"""An exam that was recorded under the wrong animal: the move, with both animals named.

A move is a `set` of the slot "exam.patient": its value is the right animal's id and facts, `from` the animal it was
opened for. It stands in place of what the exam was opened with; facts that were set in the exam stand unless the
move names them in `after` (its author saw them and put what holds into the value). Struck, the exam is back.
"""

from . import shapes
from .errors import CoreError

SLOT = "exam.patient"


def check(body: dict) -> None:
    """Refuses a move that does not name both animals (CoreError)."""
    for name in ("value", "from"):
        animal = shapes.fields(body.get(name), shapes.PATIENT, SLOT + " " + name)
        if not shapes.text(animal.get("id"), SLOT + " " + name + ".id"):
            raise CoreError("no_animal", "a move without the id of an animal")


def rows(slot_entries: list, struck_by: dict) -> list:
    """Every move of the exam, struck ones too: the history names both animals."""
    return [
        {
            "id": entry["id"],
            "from": _named(entry["body"]["from"]),
            "to": _named(entry["body"]["value"]),
            "why": entry["body"].get("why"),
            "author": entry["author"],
            "at": entry["at"],
            "struck": entry["id"] in struck_by,
        }
        for entry in slot_entries
    ]


def put(exam: dict, body: dict) -> None:
    """The exam is the right animal's: its id and the facts that the move holds, nothing of the wrong animal."""
    animal = body["value"]
    exam["patient_id"] = animal["id"]
    exam["patient"] = {}
    for name in shapes.PATIENT:
        if animal.get(name) is not None:
            exam["patient"][name] = animal[name]


def _named(animal: dict) -> dict:
    return {"id": animal["id"], "name": animal.get("name"), "species": animal.get("species")}
