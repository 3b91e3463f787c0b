"""Forks settled at the desk by a third version, any flag left so with a reason: entries of the desk, all readable."""

from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import DAY, EXAM, Phone, whole_exam
from tests.review.desk import Vet
from webapp.review import settling
from webapp.store import exams, journal, kept

Enter = Callable[..., FlaskClient]


def two_say(db: Database, kind: str, one: dict[str, Any], other: dict[str, Any]) -> None:
    """Two phones that did not see each other set one slot."""
    first, second = whole_exam(), Phone("b2" * 16, author="KM")
    first.act(kind, one)
    second.act(kind, other)
    journal.append(db, [*first.written, *second.written], "phone")


def newest(db: Database) -> dict[str, Any]:
    return kept.of_exam(db, EXAM)[-1].entry


def test_a_third_weight_settles_it_as_it_was_typed_and_all_three_stay(db: Database, sign_in: Enter) -> None:
    about = {"about": "patient.weight_kg"}
    two_say(db, "set", about | {"value": "7.2"}, about | {"value": "2.7"})
    vet = Vet(sign_in())
    before = len(kept.of_exam(db, EXAM))
    assert vet.post("settle", slot="patient.weight_kg", text="16 lb").status_code == 302
    exam = exams.fold(db, EXAM).exam
    assert exam["forks"] == []
    assert exam["patient"]["weight_typed"] == "16" and exam["patient"]["weight_typed_unit"] == "lb"
    assert len(kept.of_exam(db, EXAM)) == before + 1
    assert newest(db)["author"] == "RD" and len(newest(db)["after"]) == 2


def test_a_third_state_needs_its_reason_and_what_was_typed_stays(db: Database, sign_in: Enter) -> None:
    two_say(db, "seen", {"about": "spleen", "seen": "whole", "why": [], "normal": True},
            {"about": "spleen", "seen": "partly", "why": ["gas"], "normal": False})  # fmt: skip
    vet = Vet(sign_in())
    answer = vet.post("settle", slot="seen:spleen", state="not_seen", text="")
    assert "write why it was not seen" in answer.text
    assert '<option value="not_seen" selected>' in answer.text
    assert exams.fold(db, EXAM).exam["forks"]
    vet.post("settle", slot="seen:spleen", state="not_seen", text="gas, ribs")
    state = next(row for row in exams.fold(db, EXAM).exam["states"] if row["about"] == "spleen")
    assert state["seen"] == "not_seen" and state["why"] == ["gas", "ribs"] and not state["fork"]


@pytest.mark.parametrize(
    ("slot", "one", "other", "typed", "kept_as"),
    [
        ("context.fasted", True, False, "Yes", True),
        ("context.sedation", ["butorphanol"], [], "butorphanol, propofol", ["butorphanol", "propofol"]),
        ("patient.age_months", 110, 11, "101", 101),
        ("patient.sex", "male", "female", "Male", "male"),
        ("adrenal.left.shape", ["plump"], ["round"], "plump, bent", ["plump", "bent"]),
        ("question.text", "Large?", "Small?", "Large\r\nor small?", "Large\nor small?"),
    ],
)
def test_a_third_version_is_kept_in_the_form_that_its_slot_has(
    db: Database, sign_in: Enter, slot: str, one: object, other: object, typed: str, kept_as: object
) -> None:
    two_say(db, "set", {"about": slot, "value": one}, {"about": slot, "value": other})
    vet = Vet(sign_in())
    assert vet.post("settle", slot=slot, text=typed).status_code == 302
    assert newest(db)["body"] == {"about": slot, "value": kept_as}
    exam = exams.fold(db, EXAM).exam
    assert exam["forks"] == [] and exam["unread"] == []


@pytest.mark.parametrize(
    ("slot", "one", "other", "typed", "said"),
    [
        ("context.fasted", True, False, "perhaps", "write yes or no"),
        ("patient.age_months", 110, 11, "old", "write a whole number"),
        ("patient.weight_kg", "7.2", "2.7", "7200", "Believed here"),
        ("patient.sex", "male", "female", "neuter", "write male or female"),
        ("patient.breed", "Pug", "Cross", " ", "write what holds"),
    ],
)
def test_what_cannot_be_read_is_asked_for_kindly_and_stays_typed(
    db: Database, sign_in: Enter, slot: str, one: object, other: object, typed: str, said: str
) -> None:
    two_say(db, "set", {"about": slot, "value": one}, {"about": slot, "value": other})
    before = len(kept.of_exam(db, EXAM))
    answer = Vet(sign_in()).post("settle", slot=slot, text=typed)
    assert answer.status_code == 200
    assert said in answer.text
    assert f'value="{typed}"' in answer.text
    assert len(kept.of_exam(db, EXAM)) == before


def test_what_is_written_elsewhere_is_not_taken_here(db: Database, sign_in: Enter) -> None:
    rows = [{"text": "Scan again", "due": None, "who": ""}]
    two_say(db, "set", {"about": "recommendations", "value": rows}, {"about": "recommendations", "value": []})
    vet = Vet(sign_in())
    assert settling.ELSEWHERE["recommendations"] in vet.page
    assert "saving it settles this" in vet.post("settle", slot="recommendations", text="x").text
    vet.fill(recommendations__0__text="Scan in a month").post("draft")
    assert exams.fold(db, EXAM).exam["forks"] == []


def test_a_signed_exam_is_settled_by_an_addendum_only(db: Database, sign_in: Enter) -> None:
    journal.append(db, whole_exam().written, "phone")
    vet = Vet(sign_in())
    vet.sign()
    assert "addendum" in vet.post("settle", slot="patient.breed", text="Pug").text


def test_any_flag_can_be_left_so_with_a_reason_and_stays_in_sight(db: Database, sign_in: Enter) -> None:
    journal.append(db, whole_exam().written, "phone")
    vet = Vet(sign_in())
    key = "adrenal.left.maximum_thickness|above_limit"
    field = next(name for name, value in vet.form.items() if value == key)
    vet.fill(**{field.replace("-flag", "-reason").replace("-", "__"): "limit does not fit this breed"})
    assert vet.post("draft").status_code == 302
    entry = newest(db)
    assert entry["kind"] == "acknowledged" and entry["author"] == "RD"
    assert entry["body"] == {"about": "adrenal.left.maximum_thickness", "flag": "above_limit",
                             "reason": "limit does not fit this breed"}  # fmt: skip
    page = vet.look().page
    flags = page.split("Flags", 1)[1].split("</section>", 1)[0]
    assert "▲" in flags and "above 5.5 mm" in flags
    assert "Left so: limit does not fit this breed" in flags and "RD, " in flags
    assert key not in vet.form.values()


def test_a_reason_given_before_a_later_reading_says_so_and_the_flag_asks_again(db: Database, sign_in: Enter) -> None:
    phone = Phone()
    phone.opened()
    for value in ("4.0", "6.2"):
        phone.read("adrenal.left.caudal_pole_thickness", value)
    journal.append(db, phone.written, "phone")
    vet = Vet(sign_in())
    vet.ready().post("draft")
    assert "a record that came later is not covered" not in vet.look().page
    phone.read("adrenal.left.caudal_pole_thickness", "4.1")
    journal.append(db, phone.written[-1:], "phone")
    assert "a record that came later is not covered" in vet.look().page


def test_a_flag_that_needs_no_reason_does_not_hold_a_signature_up(db: Database, sign_in: Enter) -> None:
    journal.append(db, whole_exam().written, "phone")
    vet = Vet(sign_in()).fill(answered="yes", impression=f"Seen on {DAY}.")
    assert vet.post("sign").status_code == 302
