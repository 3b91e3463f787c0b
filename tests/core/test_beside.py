"""What is said of an exam (who was told, a second read), and procedures: folded, checked, the former never late."""

from typing import Any

import pytest

from tests.builders import Phone, whole_exam
from webapp import rules
from webapp.store.entries import open_entry

TOLD = {"about": "urgent", "to": "M. Hale", "how": "by phone", "when": "2026-11-24T10:41+01:00", "read_back": True}
READ = {"about": "liver", "reads": "disagree", "text": "Coarse to me."}
TAP = {"about": "peritoneum", "procedure": "fluid_tap", "done": True, "attempts": 2, "checks": [
    {"id": "path_seen", "answer": "yes"}], "consent": {"by": "owner", "when": "today", "how": "signed"}}


def folded(phone: Phone) -> dict[str, Any]:
    entries = [open_entry(envelope) for envelope in phone.written]
    return dict(rules.call({"do": "open", "entries": entries, "today": "2026-11-24"})["exam"])


def test_each_becomes_a_row_with_who_and_when() -> None:
    phone = whole_exam()
    for kind, body in (("told", TOLD), ("second_read", READ), ("procedure", TAP)):
        phone.act(kind, body)
    exam = folded(phone)
    assert {name: exam["told"][0][name] for name in TOLD} == TOLD
    assert (exam["second_reads"][0]["structure"], exam["second_reads"][0]["text"]) == ("liver", "Coarse to me.")
    assert {name: exam["procedures"][0][name] for name in TAP} == TAP
    assert all(exam[name][0]["author"] == "VS" for name in ("told", "second_reads", "procedures"))
    assert exam["unread"] == []


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("told", TOLD | {"to": None}),
        ("told", TOLD | {"read_back": "yes"}),
        ("told", TOLD | {"version": -1}),
        ("second_read", READ | {"about": "nowhere"}),
        ("second_read", READ | {"reads": "normal"}),
        ("second_read", READ | {"text": 7}),
        ("procedure", TAP | {"about": "nowhere"}),
        ("procedure", TAP | {"done": None}),
        ("procedure", TAP | {"checks": [{"id": "path_seen"}]}),
        ("procedure", TAP | {"checks": "yes"}),
        ("procedure", TAP | {"consent": "yes"}),
    ],
)
def test_nonsense_is_kept_as_unread_and_counts_for_nothing(kind: str, body: dict[str, Any]) -> None:
    phone = whole_exam()
    phone.act(kind, body)
    exam = folded(phone)
    assert len(exam["unread"]) == 1
    assert exam["told"] == exam["second_reads"] == exam["procedures"] == []


def test_what_is_said_of_a_signed_exam_is_not_late_but_a_procedure_is() -> None:
    phone = whole_exam()
    covers = [open_entry(envelope)["id"] for envelope in phone.written]
    phone.act("signed", {"about": "exam", "version": 1, "status": "final", "covers": covers})
    told = phone.act("told", TOLD)
    phone.act("second_read", READ)
    phone.act("struck", {"about": "urgent", "why": "other animal"}, of=[told])
    assert folded(phone)["late"] == []
    assert folded(phone)["told"][0]["struck"] is True
    tap = phone.act("procedure", TAP)
    assert folded(phone)["late"] == [tap]
    strike = phone.act("struck", {"about": "peritoneum", "why": "not done"}, of=[tap, told])
    assert folded(phone)["late"] == [tap, strike]
