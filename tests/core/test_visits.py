"""Records, merges and visits folded from entries outside any exam: the laws of the journal hold for them too."""

import json
import random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core import support
from tests.core.days import OTHER, Desk, desks
from tests.core.entries import BELLA, DEVICES, MAX, PATIENT, Entry


def day(*entries: Entry) -> Any:
    answer = support.call({"do": "day", "entries": list(entries)})
    assert "error" not in answer, answer
    return answer


def test_a_record_is_what_was_set_and_a_later_value_replaces_what_it_saw() -> None:
    desk = Desk()
    first = desk.fact("weight_kg", "9.8", source="record", date="2026-01-02")
    record = day(first, desk.fact("name", "Bella"))["animals"][PATIENT]
    assert (record["name"], record["weight_kg"], record["weight_source"], record["weight_date"], record["recorded"]) \
        == ("Bella", "9.8", "record", "2026-01-02", True)
    second = desk.fact("weight_kg", "10.4", [first["id"]], source="scales today", date="2026-11-25")
    record = day(second, first)["animals"][PATIENT]
    assert (record["weight_kg"], record["weight_source"], record["forks"]) == ("10.4", "scales today", [])
    assert record["heads"]["patient.weight_kg"] == [second["id"]]


def test_two_desks_that_did_not_see_each_other_leave_a_fork() -> None:
    here, there = Desk(), Desk(DEVICES[1])
    one, two = here.fact("name", "Bella"), there.fact("name", "Bela")
    record = day(one, two)["animals"][PATIENT]
    assert record["name"] is None and record["shown"] == "Bela or Bella"
    assert sorted(side["value"] for side in record["forks"][0]["values"]) == ["Bela", "Bella"]
    settled = here.fact("name", "Bella", [one["id"], two["id"]])
    assert day(one, two, settled)["animals"][PATIENT]["name"] == "Bella"


def test_a_fact_nobody_recorded_comes_from_the_visit_and_a_recorded_one_stands_over_it() -> None:
    desk = Desk()
    visit = desk.planned(patient=PATIENT) | {}
    visit["body"]["patient"] = {"name": "Bella", "species": "dog", "weight_kg": "9"}
    record = day(visit)["animals"][PATIENT]
    assert (record["name"], record["species"], record["recorded"]) == ("Bella", "dog", False)
    record = day(visit, desk.fact("species", "cat"))["animals"][PATIENT]
    assert (record["name"], record["species"], record["recorded"]) == ("Bella", "cat", True)


def test_a_visit_is_changed_cancelled_and_removed_by_entries() -> None:
    desk = Desk()
    visit = desk.planned(time="09:00", order=1, question={"text": "Stones?"})
    later = desk.change(visit, "time", "11:30")
    moved = desk.change(visit, "date", "2026-11-26")
    row = day(moved, visit, later)["visits"][0]
    assert (row["id"], row["date"], row["time"], row["question"], row["cancelled"]) == (
        visit["id"], "2026-11-26", "11:30", {"text": "Stones?"}, False)
    off = desk.change(visit, "cancelled", True)
    assert day(visit, off)["visits"][0]["cancelled"] is True
    assert day(visit, off, desk.struck(visit["id"]))["visits"] == []


def test_a_visit_moved_to_two_days_stands_on_both_and_a_doubtful_cancellation_leaves_it_on() -> None:
    """No record is lost: where two desks disagree the animal stays on the list until a person settles it."""
    here, there = Desk(), Desk(DEVICES[1])
    visit = here.planned()
    one, two = here.change(visit, "date", "2026-11-26"), there.change(visit, "date", "2026-11-27")
    row = day(visit, one, two)["visits"][0]
    assert row["dates"] == ["2026-11-26", "2026-11-27"] and row["forks"][0]["slot"] == "visit.date"
    off, on = here.change(visit, "cancelled", True), there.change(visit, "cancelled", False)
    assert day(visit, off, on)["visits"][0]["cancelled"] is False


def test_visits_stand_in_the_order_planned() -> None:
    desk = Desk()
    rows = [desk.planned(order=2, time="08:00"), desk.planned(time="07:00"), desk.planned(order=10, time="06:00"),
            desk.planned("2026-11-24", order=5)]
    random.Random(5).shuffle(rows)
    assert [(row["date"][-2:], row["order"]) for row in day(*rows)["visits"]] == [
        ("24", 5), ("25", 2), ("25", 10), ("25", None)]


def test_merged_records_are_one_and_a_struck_merge_makes_them_two_again() -> None:
    desk = Desk()
    facts = [desk.fact("name", "Bella"), desk.fact("name", "Bela", patient=OTHER), desk.planned(patient=OTHER)]
    merge = desk.merged(MAX, BELLA)
    both = day(*facts, merge)
    assert both["animals"][OTHER]["merged_into"] == PATIENT and both["animals"][PATIENT]["merged"] == [OTHER]
    assert (both["visits"][0]["patient"], both["visits"][0]["record"]) == (PATIENT, OTHER)
    assert both["animals"][OTHER]["name"] == "Bela", "the merged record keeps its own facts"
    apart = day(*facts, merge, desk.struck(merge["id"]))
    assert apart["animals"][OTHER]["merged_into"] is None and apart["animals"][PATIENT]["merged"] == []
    assert apart["visits"][0]["patient"] == OTHER


def test_merges_in_a_chain_and_in_a_ring_have_one_record_that_stands() -> None:
    desk, third = Desk(), {"id": "01999999-0000-7000-8000-00000000000c", "name": "Bell", "species": "dog"}
    chain = [desk.merged(third, MAX), desk.merged(MAX, BELLA)]
    animals = day(*chain)["animals"]
    assert animals[PATIENT]["merged"] == [OTHER, third["id"]] and animals[third["id"]]["merged_into"] == PATIENT
    ring = day(*chain, desk.merged(BELLA, third))["animals"]
    assert [ring[name]["merged_into"] for name in (PATIENT, OTHER, third["id"])] == [None, PATIENT, PATIENT]


def test_the_age_on_the_day_comes_from_birth_or_from_an_age_told_earlier() -> None:
    desk = Desk()
    told = desk.fact("age_months", 30, date="2026-05-20")
    assert day(told, desk.planned())["visits"][0]["age_months"] == 36
    born = desk.fact("birth_date", "2020-11-26")
    assert day(told, born, desk.planned())["visits"][0]["age_months"] == 71


@pytest.mark.parametrize("kind, body", [
    ("set", {"about": "patient.species", "value": "horse"}),
    ("set", {"about": "patient.numbers", "value": ["7"]}),
    ("set", {"about": "visit.date", "value": None}),
    ("set", {"about": "visit.order", "value": "first"}),
    ("planned", {"about": "visit", "date": 5}),
    ("planned", {"about": "visit", "date": "2026-11-25", "question": "Stones?"}),
    ("merged", {"about": "patient", "from": {"id": 1}, "into": {"id": "x"}}),
    ("merged", {"about": "patient"}),
])
def test_what_cannot_be_read_is_named_and_harms_nothing(kind: str, body: Any) -> None:
    desk = Desk()
    good = desk.planned()
    bad = desk.write(kind, body, of=[good["id"]])
    answer = day(good, bad)
    assert [row["id"] for row in answer["unread"]] == [bad["id"]] and len(answer["visits"]) == 1


@given(desks(), st.randoms())
def test_any_order_and_any_repetition_gives_the_same_day(entries: list[Entry], chance: random.Random) -> None:
    mixed = entries + chance.choices(entries, k=3)
    chance.shuffle(mixed)
    assert json.dumps(day(*mixed), sort_keys=True) == json.dumps(day(*entries), sort_keys=True)


@given(desks())
def test_every_planned_animal_stands_on_some_day_or_was_struck(entries: list[Entry]) -> None:
    answer = day(*entries)
    planned = {entry["id"] for entry in entries if entry["kind"] == "planned"}
    struck = {name for entry in entries if entry["kind"] == "struck" for name in entry["of"]}
    listed = {row["id"] for row in answer["visits"]}
    assert planned - struck <= listed <= planned
    assert all(row["patient"] in answer["animals"] and row["dates"] for row in answer["visits"])
