"""An exam moved to another animal: it follows, both names stay, and it can be moved back.

Source of the laws: nothing is overwritten (journal); a value is judged for the animal it was measured in.
"""

import json
from typing import Any

import pytest

from tests.core import support
from tests.core.entries import BELLA, MAX, PATIENT, TOM, Entry, Writer


def opened(entries: list[Entry], earlier: Any = ()) -> Any:
    call = {"do": "open", "entries": entries, "earlier": [{"entries": rows} for rows in earlier]}
    return json.loads(support.fresh_engine().call(json.dumps(call)))


@pytest.mark.catalogue(70)
def test_a_moved_exam_is_judged_for_the_right_animal_and_names_both() -> None:
    """6.3 mm is above the limit of a dog over 5 to 10 kg (Melian 2021: 5.5 mm LEFT), not of one over 30 kg."""
    bella = Writer()
    entries = [bella.opened(name="Bella"), bella.read("6.3", "adrenal.left.maximum_thickness", plane="long_axis")]
    before = opened(entries)
    assert "above_limit" in {flag["kind"] for flag in before["judgement"]["flags"]}
    entries.append(bella.moved(MAX, why="two dogs in one room"))
    after = opened(entries)
    assert "above_limit" not in {flag["kind"] for flag in after["judgement"]["flags"]}
    assert after["exam"]["patient_id"] == MAX["id"]
    assert after["exam"]["patient"] == {"name": "Max", "species": "dog", "weight_kg": "31"}
    assert [(row["from"]["name"], row["to"]["name"], row["why"]) for row in after["exam"]["moved"]] == [
        ("Bella", "Max", "two dogs in one room")
    ]
    assert len(after["exam"]["readings"]) == 1


def test_a_struck_move_gives_the_exam_back_and_stays_in_the_history() -> None:
    bella = Writer()
    entries = [bella.opened(name="Bella")]
    move = bella.moved(TOM)
    back = opened([*entries, move, bella.struck(move["id"])])["exam"]
    assert (back["patient_id"], back["patient"]["name"], back["patient"]["weight_kg"]) == (PATIENT, "Bella", "9")
    assert [(row["to"]["name"], row["struck"]) for row in back["moved"]] == [("Tom", True)]


def test_a_fact_that_the_move_did_not_see_stands() -> None:
    """The weight set after the move, or by a colleague who did not know of it, is the weight of this exam."""
    bella = Writer()
    wrong = bella.set("patient.weight_kg", "9.4", source="record")
    start = [bella.opened(name="Bella"), wrong]
    seen = bella.moved(MAX, after=[wrong["id"]])
    assert opened([*start, seen])["exam"]["patient"]["weight_kg"] == "31"
    later = bella.set("patient.weight_kg", "29.8", after=[wrong["id"]], source="scales today")
    folded = opened([*start, seen, later])["exam"]
    assert (folded["patient"]["weight_kg"], folded["patient"]["weight_source"]) == ("29.8", "scales today")
    unseen = bella.moved(MAX)
    assert opened([*start, unseen])["exam"]["patient"]["weight_kg"] == "9.4"


def test_two_moves_that_disagree_are_a_fork_and_move_nothing() -> None:
    bella, other = Writer(), Writer("c" * 32)
    exam = opened([bella.opened(name="Bella"), bella.moved(MAX), other.moved(TOM)])["exam"]
    assert exam["patient_id"] == PATIENT and exam["patient"]["name"] == "Bella"
    assert [fork["slot"] for fork in exam["forks"]] == ["exam.patient"]
    assert {row["to"]["name"] for row in exam["moved"]} == {"Max", "Tom"}


def test_a_second_move_that_saw_the_first_settles_where_the_exam_belongs() -> None:
    bella = Writer()
    first = bella.moved(MAX)
    second = bella.moved(TOM, after=[first["id"]], **{"from": MAX})
    exam = opened([bella.opened(name="Bella"), first, second])["exam"]
    assert (exam["patient_id"], exam["forks"]) == (TOM["id"], [])
    assert len(exam["moved"]) == 2


@pytest.mark.parametrize(
    "body",
    [
        {"value": {"name": "Max"}},
        {"value": "Max"},
        {"value": {**MAX, "species": "hen"}},
        {"from": None},
        {"value": {**MAX, "id": ""}},
    ],
)
def test_a_move_that_does_not_name_both_animals_is_kept_unread(body: dict[str, Any]) -> None:
    bella = Writer()
    move = bella.write("set", {"about": "exam.patient", "value": MAX, "from": BELLA} | body)
    exam = opened([bella.opened(name="Bella"), move])["exam"]
    assert exam["patient"]["name"] == "Bella" and [row["id"] for row in exam["unread"]] == [move["id"]]


def test_a_photo_is_a_row_of_the_exam_and_can_be_struck() -> None:
    bella = Writer()
    photo = bella.write("attached", {"about": "spleen", "hash": "ab" * 32, "type": "image/jpeg", "size": 9})
    wrong = bella.write("attached", {"about": "spleen", "hash": 7, "type": "image/jpeg"})
    exam = opened([bella.opened(), photo, wrong, bella.struck(photo["id"], why="blurred")])["exam"]
    assert [(row["hash"], row["struck"], row["why_struck"]) for row in exam["attachments"]] == [
        ("ab" * 32, True, "blurred")
    ]
    assert [row["id"] for row in exam["unread"]] == [wrong["id"]]
