"""One exam opened on two phones: one exam, and what they say differently stands for neither until it is settled."""

from typing import Any

import pytest

from tests.builders import EXAM, Phone
from webapp import rules
from webapp.store import entries

LEFT = "adrenal.left.caudal_pole_thickness"


def two_phones(**second: Any) -> tuple[Phone, Phone]:
    one, other = Phone("a1" * 16, "VS"), Phone("b2" * 16, "AN")
    one.opened()
    other.opened(**second)
    return one, other


def folded(*phones: Phone) -> Any:
    opened = [entries.open_entry(envelope) for phone in phones for envelope in phone.written]
    answer = rules.call({"do": "open", "entries": opened, "earlier": [], "today": "2026-11-24"})
    return answer["exam"], answer["judgement"]


def test_the_halves_are_one_exam_in_any_order_of_arrival() -> None:
    one, other = two_phones()
    one.read(LEFT, "6.2")
    other.read(LEFT, "6.4")
    other.seen("liver", "whole", normal=True)
    exam, judgement = folded(one, other)
    assert [row["value"] for row in exam["readings"]] == ["6.2", "6.4"]
    assert exam["forks"] == [] and len(exam["also_opened"]) == 1
    assert exam["patient"]["weight_kg"] == "7.2"
    again, judged = folded(other, one)
    assert (again, judged) == (exam, judgement)


def test_what_they_say_differently_is_a_fork_and_judges_nothing() -> None:
    one, other = two_phones(weight_kg="12.7")
    one.read(LEFT, "6.2")
    exam, judgement = folded(one, other)
    (fork,) = exam["forks"]
    assert fork["slot"] == "patient.weight_kg"
    assert [(row["value"], row["author"]) for row in fork["values"]] == [("7.2", "VS"), ("12.7", "AN")]
    assert exam["patient"]["weight_kg"] is None
    alone, _ = folded(one)
    assert alone["patient"]["weight_kg"] == "7.2"
    limits = [flag["limit"] for flag in judgement["flags"] if flag.get("limit")]
    assert [limit for limit in limits if "kg" in str(limit.get("class_words"))] == []


def test_what_only_one_of_them_says_stands() -> None:
    one, other = two_phones(body_condition=6)
    exam, _ = folded(one, other)
    assert exam["forks"] == [] and exam["patient"]["body_condition"] == 6


@pytest.mark.parametrize("struck", [False, True])
def test_a_value_that_somebody_sets_settles_it_until_it_is_struck(struck: bool) -> None:
    one, other = two_phones(weight_kg="12.7")
    entry = one.act("set", {"about": "patient.weight_kg", "value": "7.4", "source": "scale_today"})
    if struck:
        one.act("struck", {"about": "patient.weight_kg", "why": "undo"}, of=[entry])
    exam, _ = folded(one, other)
    assert bool(exam["forks"]) == struck
    assert exam["patient"]["weight_kg"] == (None if struck else "7.4")


def test_the_second_opening_struck_leaves_the_first() -> None:
    one, other = two_phones(weight_kg="12.7")
    other.act("struck", {"about": "exam", "why": "wrong animal"}, of=[entries.entry_id(other.written[0])])
    exam, _ = folded(one, other)
    assert exam["forks"] == [] and exam["patient"]["weight_kg"] == "7.2" and exam["id"] == EXAM
