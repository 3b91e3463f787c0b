"""The fold: the same entries tell the same exam in any order, any batches and any repetition.

Source of the laws: the promises of the journal (union within a scope; nothing lost; forks shown; no clock decides).
"""

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.core import support
from tests.core.entries import DEVICES, POLE, Entry, Writer, journals

SLOW = settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
LISTS = ("readings", "findings", "notes", "attachments", "acknowledged", "unread")


class Phone:
    """The engine as the phone drives it, with the merging of what `"as": "units"` answers."""

    def __init__(self, entries: list[Entry]):
        self.engine = support.fresh_engine()
        whole = self.ask({"do": "open", "entries": entries, "as": "units"})
        self.take(whole)

    def ask(self, request: Any) -> Any:
        answer = json.loads(self.engine.call(json.dumps(request)))
        assert "error" not in answer, answer
        return answer

    def take(self, whole: Any) -> None:
        self.exam, self.units = whole["exam"], whole["units"]
        self.order, self.open_order = whole["order"], whole["open_order"]

    def apply(self, entries: list[Entry]) -> None:
        answer = self.ask({"do": "apply", "entries": entries, "as": "units"})
        if "delta" not in answer:
            self.take(answer)
            return
        delta = answer["delta"]
        self.exam |= delta["fields"]
        for name, rows in delta["added"].items():
            self.exam[name] = self.exam[name] + rows
        new = {row["about"]: row for row in delta["states"]}
        kept = [row for row in self.exam["states"] if row["about"] not in new]
        self.exam["states"] = sorted([*kept, *new.values()], key=lambda row: row["about"])
        self.units |= delta["units"]
        self.open_order = delta["open_order"]

    def judgement(self) -> dict[str, Any]:
        """The lists of all units in order, and the sentence of every structure."""
        units = [self.units[name] for name in self.order]
        names = [name for name, rows in units[0].items() if isinstance(rows, list) and name != "open"]
        made: dict[str, Any] = {name: [line for unit in units for line in unit[name]] for name in names}
        made["open"] = [line for unit in self.open_order for line in self.units[unit]["open"]]
        sentences: dict[str, str] = {}
        for unit in units:
            sentences |= unit["sentences"]
        return made | {"sentences": sentences}


def fold(*entries: Entry) -> Any:
    answer = support.call({"do": "open", "entries": list(entries)})
    assert "error" not in answer, answer
    return answer


def values(answer: Any, name: str = "readings") -> list[Any]:
    return [row["value"] for row in answer["exam"][name] if not row["struck"]]


@SLOW
@given(journals(), st.randoms(use_true_random=False))
def test_order_of_arrival_never_matters(entries: list[Entry], chance: Any) -> None:
    shuffled = entries[:]
    chance.shuffle(shuffled)
    assert fold(*shuffled) == fold(*entries)


@SLOW
@given(journals(), st.randoms(use_true_random=False))
def test_repetition_never_matters(entries: list[Entry], chance: Any) -> None:
    assert fold(*entries, *chance.choices(entries, k=5)) == fold(*entries)


@SLOW
@given(journals(), st.randoms(use_true_random=False), st.booleans())
def test_folding_on_equals_folding_whole(entries: list[Entry], chance: Any, in_order: bool) -> None:
    arriving = entries[:]
    if not in_order:
        chance.shuffle(arriving)
    first = chance.randint(0, len(arriving))
    engine = support.fresh_engine()
    answer = json.loads(engine.call(json.dumps({"do": "open", "entries": arriving[:first]})))
    for batch in batches(arriving[first:], chance):
        answer = json.loads(engine.call(json.dumps({"do": "apply", "entries": batch})))
    assert answer == fold(*entries)


@SLOW
@given(journals(), st.randoms(use_true_random=False), st.booleans())
def test_merging_units_equals_judging_whole(entries: list[Entry], chance: Any, in_order: bool) -> None:
    arriving = entries[:]
    if not in_order:
        chance.shuffle(arriving)
    first = chance.randint(0, len(arriving))
    phone = Phone(arriving[:first])
    for batch in batches(arriving[first:], chance):
        phone.apply(batch)
    whole = fold(*entries)
    assert phone.exam == whole["exam"]
    judged = {name: rows for name, rows in whole["judgement"].items() if isinstance(rows, list | dict)}
    # The words of the impression are compared with the records at the desk only, on the whole exam.
    words = ("side_differs", "lost_no")
    judged["contradictions"] = [row for row in judged["contradictions"] if row["kind"] not in words]
    assert phone.judgement() == judged


def batches(entries: list[Entry], chance: Any) -> list[list[Entry]]:
    made, rest = [], entries
    while rest:
        size = chance.randint(1, 4)
        made.append(rest[:size])
        rest = rest[size:]
    return made


@SLOW
@given(journals())
def test_every_entry_is_counted_and_every_reading_is_kept_or_named_unread(entries: list[Entry]) -> None:
    exam = fold(*entries)["exam"]
    assert exam["entries"] == len(entries)
    unread = {row["id"] for row in exam["unread"]}
    readings = {row["id"] for row in exam["readings"]}
    assert {entry["id"] for entry in entries if entry["kind"] == "read"} == readings | {
        entry["id"] for entry in entries if entry["kind"] == "read" and entry["id"] in unread
    }
    assert not unread & readings
    assert all(row["why"] for row in exam["unread"])


def test_both_branches_of_a_cloned_phone_are_folded() -> None:
    """Source: journal, "A cloned phone": two ids, one cursor, both branches kept."""
    phone = Writer()
    start = [phone.opened(), phone.read("6.0")]
    twin = phone.copied()
    one, two = phone.read("6.1"), twin.read("6.3")
    assert one["seq"] == two["seq"] and one["id"] != two["id"]
    assert fold(*start, one, two) == fold(*start, two, one)
    assert sorted(values(fold(*start, one, two))) == ["6.0", "6.1", "6.3"]


def test_undo_and_undo_of_undo() -> None:
    phone = Writer()
    start, read = phone.opened(), phone.read("6.2")
    undo = phone.struck(read["id"])
    redo = phone.struck(undo["id"])
    again = phone.struck(redo["id"])
    assert values(fold(start, read)) == ["6.2"]
    assert values(fold(start, read, undo)) == []
    assert values(fold(start, read, undo, redo)) == ["6.2"]
    assert values(fold(start, read, undo, redo, again)) == []


def test_a_struck_reading_stays_readable_with_its_reason() -> None:
    phone = Writer()
    start, read = phone.opened(), phone.read("6.2")
    row = fold(start, read, phone.struck(read["id"], why="wrong side"))["exam"]["readings"][0]
    assert (row["value"], row["struck"], row["why_struck"]) == ("6.2", True, "wrong side")


def test_one_of_two_strikes_undone_leaves_it_struck() -> None:
    phone = Writer()
    start, read = phone.opened(), phone.read("6.2")
    first, second = phone.struck(read["id"]), phone.struck(read["id"])
    assert values(fold(start, read, first, second, phone.struck(first["id"]))) == []


def test_a_strike_that_arrives_before_its_reading_counts() -> None:
    phone, other = Writer(DEVICES[1]), Writer(DEVICES[0])
    start, read = phone.opened(), phone.read("6.2")
    assert values(fold(other.struck(read["id"]), start, read)) == []


def test_two_who_set_without_seeing_each_other_are_a_fork() -> None:
    one, two = Writer(DEVICES[0]), Writer(DEVICES[1])
    start = one.opened(weight_kg=None)
    entries = [start, one.set("patient.weight_kg", "9.8"), two.set("patient.weight_kg", "11.0")]
    answer = fold(*entries)
    assert [fork["slot"] for fork in answer["exam"]["forks"]] == ["patient.weight_kg"]
    assert sorted(row["value"] for row in answer["exam"]["forks"][0]["values"]) == ["11.0", "9.8"]
    assert answer["exam"]["patient"]["weight_kg"] is None


def test_a_forked_weight_judges_nothing() -> None:
    """Source: journal, promise 5: neither value is dropped, and no clock decides."""
    one, two = Writer(DEVICES[0]), Writer(DEVICES[1])
    entries = [
        one.opened(),
        one.set("patient.weight_kg", "9.8"),
        two.set("patient.weight_kg", "11.0"),
        one.read("6.2", "adrenal.left.maximum_thickness"),
    ]
    judged = fold(*entries)["judgement"]
    assert [line["why"] for line in judged["silent"] if line["about"] == "adrenal.left.maximum_thickness"] == [
        "weight_unknown"
    ]


def test_the_same_value_set_twice_is_no_fork() -> None:
    one, two = Writer(DEVICES[0]), Writer(DEVICES[1])
    answer = fold(one.opened(), one.set("patient.weight_kg", "9.8"), two.set("patient.weight_kg", "9.8"))
    assert answer["exam"]["forks"] == [] and answer["exam"]["patient"]["weight_kg"] == "9.8"


def test_a_fork_ends_when_someone_who_saw_both_sets() -> None:
    one, two = Writer(DEVICES[0]), Writer(DEVICES[1])
    start, left, right = one.opened(), one.set("patient.weight_kg", "9.8"), two.set("patient.weight_kg", "11.0")
    settled = one.set("patient.weight_kg", "11.0", after=[left["id"], right["id"]])
    answer = fold(start, left, right, settled)
    assert answer["exam"]["forks"] == [] and answer["exam"]["patient"]["weight_kg"] == "11.0"


def test_a_forked_state_is_judged_by_the_claim_that_says_least() -> None:
    one, two = Writer(DEVICES[0]), Writer(DEVICES[1])
    part = "adrenal.left.cranial_pole"
    answer = fold(one.opened(), one.seen(part, "whole"), two.seen(part, "not_seen", why="gas"), one.read("5.0"))
    assert [fork["slot"] for fork in answer["exam"]["forks"]] == ["seen:" + part]
    assert [line["why"] for line in answer["judgement"]["silent"] if line["about"].startswith("adrenal.left.max")] == [
        "partly_seen"
    ]


@pytest.mark.parametrize(
    ("strikes", "weight"), [((), "12"), ((1,), "12"), ((2,), "11"), ((1, 2), "10"), ((0, 1, 2), "9")]
)
def test_a_chain_of_settings_with_struck_links(strikes: tuple[int, ...], weight: str) -> None:
    """A struck middle passes on what it had seen; a struck end gives way to the link before it."""
    phone = Writer()
    chain = [phone.opened(weight_kg="9")]
    after: list[str] = []
    for value in ("10", "11", "12"):
        chain.append(phone.set("patient.weight_kg", value, after=after))
        after = [chain[-1]["id"]]
    struck = [phone.struck(chain[link + 1]["id"]) for link in strikes]
    exam = fold(*chain, *struck)["exam"]
    assert exam["patient"]["weight_kg"] == weight and exam["forks"] == []


@pytest.mark.parametrize(
    ("kind", "body", "version"),
    [
        ("guessed", {"about": "spleen"}, 1),
        ("read", {"about": POLE, "value": "6.2", "unit": "mm"}, 2),
        ("read", {"about": "adrenal.left.girth", "value": "6.2", "unit": "mm"}, 1),
        ("read", {"about": POLE, "value": "6.2", "unit": "cm"}, 1),
        ("read", {"about": POLE, "value": "-6.2", "unit": "mm"}, 1),
        ("read", {"about": POLE, "value": 6.2, "unit": "mm"}, 1),
        ("read", {"about": POLE, "unit": "mm"}, 1),
        ("read", {"about": POLE, "value": "62", "unit": "mm", "typed": "6,2", "typed_unit": "mm"}, 1),
        ("read", {"about": POLE, "value": "0.64", "unit": "mm", "typed": "0.64", "typed_unit": "cm"}, 1),
        ("read", {"about": POLE, "value": "6.2", "unit": "mm", "lesion": {}}, 1),
        ("read", "text", 1),
        ("read", None, 1),
        ("seen", {"about": "spleen", "seen": "glimpsed"}, 1),
        ("seen", {"about": "gland", "seen": "whole"}, 1),
        ("seen", {"about": ["spleen"], "seen": "whole"}, 1),
        ("seen", {"seen": "whole"}, 1),
        ("set", {"about": "spleen.windows_tried", "value": 5}, 1),
        ("found", {"about": "spleen"}, 1),
        ("found", {"about": "spleen", "finding": "mass", "vessel": "cava"}, 1),
        ("found", {"about": "spleen", "finding": "mass", "dimensions": ["wide"]}, 1),
        ("set", {"about": "patient.age_months", "value": "old"}, 1),
        ("set", {"about": "context.signs", "value": 5}, 1),
        ("set", {"about": "patient.weight_kg", "value": "heavy"}, 1),
        ("set", {"value": "x"}, 1),
        ("signed", {"covers": 5, "version": 1}, 1),
        ("signed", {"covers": [], "version": "one"}, 1),
        ("opened", {"patient": "a dog"}, 1),
        ("noted", {"about": "spleen", "text": 7}, 1),
    ],
)
def test_what_cannot_be_read_is_kept_named_and_harms_nothing(kind: str, body: Any, version: int) -> None:
    """Source: journal, "An unknown kind is kept and shown as unread"; "no record is lost or silently changed"."""
    phone = Writer()
    start, read = phone.opened(), phone.read("6.2")
    odd = phone.write(kind, body, v=version)
    last = phone.read("6.3")
    answer = fold(start, read, odd, last)
    assert [row["id"] for row in answer["exam"]["unread"]] == [odd["id"]]
    assert answer["exam"]["unread"][0]["why"].strip()
    assert values(answer) == ["6.2", "6.3"] and answer["exam"]["entries"] == 4
    phone_app = Phone([start, read])
    phone_app.apply([odd])
    phone_app.apply([last])
    assert phone_app.exam == answer["exam"]


def test_a_question_about_an_unknown_structure_does_not_close_the_exam() -> None:
    phone = Writer()
    answer = fold(phone.opened(), phone.set("question.structures", ["node.unheard_of", "spleen"]), phone.read("6.2"))
    assert answer["exam"]["question"]["structures"] == ["node.unheard_of", "spleen"]
    assert answer["judgement"]["values"]


def test_a_reading_as_typed_is_read() -> None:
    phone = Writer()
    typed = phone.write("read", {"about": POLE, "value": "6.4", "unit": "mm", "typed": "0,64", "typed_unit": "cm"})
    assert values(fold(phone.opened(), typed)) == ["6.4"]


def test_what_arrives_after_signing_is_late_whatever_its_clock_says() -> None:
    phone, desk = Writer(DEVICES[0]), Writer(DEVICES[1])
    start, read = phone.opened(), phone.read("6.2")
    covers = [start["id"], read["id"]]
    signed = desk.write("signed", {"version": 1, "status": "final", "covers": covers, "signer": {"id": "RD"}})
    late = phone.read("7.0") | {"at": "2020-01-01T00:00:00+00:00"}
    exam = fold(start, read, signed, late)["exam"]
    assert exam["late"] == [late["id"]]
    second = desk.write(
        "signed",
        {"version": 2, "status": "amended", "covers": [*covers, late["id"]], "signer": {"id": "RD"}},
        of=[signed["id"]],
    )
    assert fold(start, read, signed, late, second)["exam"]["late"] == []
    assert fold(start, read, signed, late)["exam"]["signed"][0]["covers"] == covers


def test_an_earlier_exam_is_folded_with_its_strikes() -> None:
    now, then = Writer(DEVICES[0]), Writer(DEVICES[1])
    old = [then.opened(), *[then.read(value, "jejunum.wall_thickness") for value in ("3.0", "3.0", "9.0")]]
    strike = then.struck(old[-1]["id"])
    entries = [now.opened(), now.read("3.1", "jejunum.wall_thickness"), now.read("3.1", "jejunum.wall_thickness")]
    answer = support.call({"do": "open", "entries": entries, "earlier": [{"entries": [*old, strike]}]})
    assert [value["earlier"]["value"] for value in answer["judgement"]["values"]] == ["3.0"]


def test_a_struck_reading_keeps_its_place_in_the_pairing_with_lengths() -> None:
    """Source: the contract, "A pole's reading and a length pair by their order"."""
    phone = Writer()
    start = phone.opened()
    poles = [phone.read(value) for value in ("6.4", "5.5", "5.6")]
    lengths = [phone.read(value, "adrenal.left.length") for value in ("17.5", "22.0", "21.5")]
    whole = fold(start, *poles, *lengths)["judgement"]["flags"]
    assert [flag["about"] for flag in whole if flag["kind"] == "oblique"] == [POLE]
    struck = fold(start, *poles, *lengths, phone.struck(poles[0]["id"]))["judgement"]["flags"]
    assert [flag for flag in struck if flag["kind"] == "oblique"] == []


@pytest.mark.parametrize("order", [("source", "weight"), ("weight", "source")])
def test_where_a_weight_is_from_does_not_hang_on_the_order_of_folding_on(order: tuple[str, str]) -> None:
    phone = Writer()
    start = phone.opened()
    made = {
        "source": phone.set("patient.weight_source", "owner"),
        "weight": phone.set("patient.weight_kg", "9.8", source="scale"),
    }
    engine = Phone([start])
    for name in order:
        engine.apply([made[name]])
    assert engine.exam["patient"] == fold(start, *made.values())["exam"]["patient"]


@pytest.mark.parametrize("missing", ["exam", "patient", "kind", "body", "author", "at", "v"])
def test_an_entry_whose_header_lacks_a_field_stops_nothing(missing: str) -> None:
    phone = Writer()
    odd = phone.opened()
    del odd[missing]
    start, read = phone.opened(), phone.read("6.2")
    answer = fold(odd, start, read)
    assert values(answer) == ["6.2"] and answer["exam"]["opened"]
