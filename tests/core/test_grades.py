"""Grades and the list of whom to tell as the practice may change them: quieter only with a reason, never gone."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core import support
from tests.core.overlays import NAMES, overlay
from webapp.core import engine, grades
from webapp.core.errors import CoreError

Json = dict[str, Any]
TABLES = {name: support.table(name) for name in NAMES}
PUBLISHED = TABLES["thresholds"]["grades"]


def judge(given_: Json | None, *findings: Json, readings: Any = (), species: str = "dog") -> Json:
    case = {"patient": {"species": species, "weight_kg": "7", "age_months": 84, "sex": "female", "neutered": True}}
    case |= {"findings": list(findings), "readings": list(readings)}
    made = engine.Engine(engine.tables_of(TABLES, given_))
    answer: Json = json.loads(made.call(json.dumps({"do": "assess", "case": case})))
    assert "error" not in answer, answer
    return answer


def alerts(judged: Json) -> list[tuple[str, str, str]]:
    return [(line["about"], line["grade"], line["text"]) for line in judged["flags"] if line["kind"] == "alert"]


MATERIAL = {"structure": "vena_cava", "finding": "material"}
PELVIS = support.reading("kidney.left.pelvis_width", "13.4", "13.6")


def test_without_changes_the_published_list_holds() -> None:
    assert alerts(judge(None, MATERIAL)) == [
        ("vena_cava", "tell_someone", "Caudal vena cava: material; consider telling someone now")
    ]


def test_an_own_entry_is_told_and_leaves_the_others() -> None:
    own = overlay(tell=[{"finding": "stone", "structures": ["bile_duct"], "grade": "tell_someone"}])
    judged = judge(own, {"structure": "bile_duct", "finding": "stone"}, MATERIAL)
    assert [row[:2] for row in alerts(judged)] == [("bile_duct", "tell_someone"), ("vena_cava", "tell_someone")]
    assert alerts(judge(own, {"structure": "bladder", "finding": "stone"})) == []


def test_an_entry_made_quieter_keeps_its_line_with_the_reason() -> None:
    own = overlay(tell=[{"finding": "material", "structures": ["vena_cava"], "grade": "note", "why": "told by phone"}])
    assert alerts(judge(own, MATERIAL)) == [
        (
            "vena_cava",
            "note",
            "Caudal vena cava: material; not on this practice's list of what someone is told (told by phone)",
        )
    ]


def test_the_louder_of_two_entries_about_one_place_stands() -> None:
    own = overlay(tell=[{"finding": "material", "structures": ["vena_cava"], "grade": "note", "why": "told by phone"}])
    beside = MATERIAL | {"vessel": {"id": "vena_cava", "state": "material, attached"}}
    assert [row[:2] for row in alerts(judge(own, beside))] == [("vena_cava", "tell_someone")]


def test_a_kind_made_louder_needs_no_reason_and_quieter_does() -> None:
    loud = overlay(grades={"changed": {"grade": "look_again"}})
    assert engine.tables_of(TABLES, loud).thresholds["grades"]["changed"] == "look_again"
    with pytest.raises(CoreError, match="needs a reason"):
        engine.tables_of(TABLES, overlay(grades={"above_limit": {"grade": "note"}}))
    with pytest.raises(CoreError, match="needs a reason"):
        engine.tables_of(TABLES, overlay(grades={"alert": {"grade": "outside", "why": "  "}}))


def test_all_alerts_made_quieter_keep_their_text_and_say_why() -> None:
    own = overlay(grades={"alert": {"grade": "outside", "why": "the vet stands beside the table"}})
    for judged in (judge(own, MATERIAL), judge(own, readings=[PELVIS], species="cat"), judge(own, readings=[PELVIS])):
        for _, grade, text in alerts(judged):
            assert grade == "outside" and text.endswith("(the vet stands beside the table)")
    assert alerts(judge(own, MATERIAL)) and alerts(judge(own, readings=[PELVIS]))


@given(
    st.dictionaries(st.sampled_from(sorted(PUBLISHED)), st.sampled_from(grades.GRADES), max_size=6),
    st.lists(st.tuples(st.sampled_from(["material", "stone", "free_gas"]), st.sampled_from(grades.GRADES)), max_size=3),
)
def test_no_change_of_grades_takes_a_line_away_or_alters_a_value(kinds: Json, told: list[tuple[str, str]]) -> None:
    own = overlay(
        grades={kind: {"grade": grade, "why": "because"} for kind, grade in kinds.items()},
        tell=[{"finding": finding, "grade": grade, "why": "because"} for finding, grade in told],
    )
    findings = [MATERIAL, {"structure": "bladder", "finding": "stone"}]
    readings = [support.reading("adrenal.left.maximum_thickness", "9.1", "9.9"), PELVIS]
    before, after = judge(None, *findings, readings=readings), judge(own, *findings, readings=readings)

    def told_of(judged: Json) -> set[tuple[Any, ...]]:
        return {(row["about"], row["kind"], row["value"]) for row in judged["flags"]}

    assert told_of(before) <= told_of(after)
    assert before["values"] == after["values"] and before["silent"] == after["silent"]
    assert all(row["text"] and row["grade"] in grades.GRADES for row in after["flags"])


@pytest.mark.parametrize(
    "wrong",
    [
        {"grades": {"shouted": {"grade": "note", "why": "x"}}},
        {"grades": {"alert": {"grade": "hidden", "why": "x"}}},
        {"grades": {"alert": "note"}},
        {"tell": [{"finding": "cushing", "grade": "tell_someone"}]},
        {"tell": [{"finding": "none", "grade": "tell_someone"}]},
        {"tell": [{"finding": "stone", "structures": ["heart"], "grade": "tell_someone"}]},
        {"tell": [{"finding": "stone", "grade": "note"}]},
        {"tell": [{"finding": "stone", "vessel_state_begins": "material", "grade": "note", "why": "x"}]},
        {"tell": [{"vessel_state_begins": "clear", "grade": "tell_someone"}]},
        {"tell": "all"},
        {"tell": [{"finding": "stone", "grade": "tell_someone"}] * 61},
    ],
)
def test_nonsense_is_refused_with_a_sentence(wrong: Json) -> None:
    with pytest.raises(CoreError) as refused:
        engine.tables_of(TABLES, overlay(**wrong))
    assert refused.value.message


def test_the_register_tells_grades_and_list_with_reasons() -> None:
    own = overlay(
        grades={"caution": {"grade": "outside"}},
        tell=[{"finding": "material", "structures": ["vena_cava"], "grade": "note", "why": "told by phone"}],
    )
    made = engine.Engine(engine.tables_of(TABLES, own))
    told = json.loads(made.call('{"do": "register"}'))["register"]["grades"]
    assert {row["kind"] for row in told["grades"]} == set(PUBLISHED)
    assert next(row for row in told["grades"] if row["kind"] == "caution")["grade_words"] == "outside"
    assert told["tell"][0] == {
        "words": "material: Caudal vena cava",
        "grade": "note",
        "grade_words": "note",
        "why": "told by phone",
        "own": True,
    }
    assert len(told["tell"]) == 1 + len(TABLES["thresholds"]["tell_someone"])


def test_the_published_thresholds_are_not_touched() -> None:
    before = json.dumps(TABLES["thresholds"])
    engine.tables_of(TABLES, overlay(grades={"alert": {"grade": "note", "why": "x"}}, tell=[]))
    assert json.dumps(TABLES["thresholds"]) == before
