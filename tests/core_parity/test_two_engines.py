"""The phone's Python and the server's give the same answers to the same calls, as parsed JSON."""

import json
import os
import random
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from demo import acts, seed
from tests.core import days
from tests.core.entries import Writer
from tests.core_parity import generated
from webapp import rules
from webapp.core import engine
from webapp.store import entries

ROOT = Path(__file__).resolve().parents[2]
RUNTIME = ROOT / "sw/node_modules/@micropython/micropython-webassembly-pyscript/micropython.mjs"
CORE = ROOT / "webapp" / "core"
CASES: list[dict[str, Any]] = json.loads((ROOT / "tests/core/cases.json").read_text(encoding="utf-8"))
TYPED = ("6.2", "6,2", "0.64", "0,64 cm", "620", "", "6.2.1", "6,2 mm", "4 4", "six", "-3", "1e2", ".5", "12 kg", "é")


def on_the_phone(calls: list[str], overlay: dict[str, Any] | None = None) -> list[Any]:
    """The answers of the core in MicroPython, one engine for all calls."""
    node = shutil.which("node", path=f"{ROOT / '.venv/bin'}{os.pathsep}{os.environ['PATH']}")
    assert node, "node is missing: ./tests/run sets it up"
    asked = {
        "runtime": str(RUNTIME),
        "files": {path.name: path.read_text(encoding="utf-8") for path in CORE.glob("*.py")},
        "tables": {path.stem: path.read_text(encoding="utf-8") for path in (CORE / "tables").glob("*.json")},
        "calls": calls,
        "overlay": overlay,
    }
    script = Path(__file__).with_name("run.mjs")
    ran = subprocess.run([node, str(script)], input=json.dumps(asked), capture_output=True, text=True, timeout=300)
    assert ran.returncode == 0, ran.stderr
    answers = [json.loads(answer) for answer in json.loads(ran.stdout)]
    assert len(answers) == len(calls)
    return answers


def on_the_server(calls: list[str], overlay: dict[str, Any] | None = None) -> list[Any]:
    """The answers of the same code in CPython, one engine for all calls."""
    tables = {path.stem: path.read_text(encoding="utf-8") for path in (CORE / "tables").glob("*.json")}
    server = engine.Engine(engine.tables_of(tables, overlay))
    return [json.loads(server.call(call)) for call in calls]


def compare(asked: list[dict[str, Any]], overlay: dict[str, Any] | None = None) -> list[Any]:
    """Ask both; the answers, once they are shown to be equal."""
    calls = [json.dumps(call, ensure_ascii=False) for call in asked]
    phone, server = on_the_phone(calls, overlay), on_the_server(calls, overlay)
    for call, there, here in zip(asked, phone, server, strict=True):
        assert there == here, call
    return server


def test_every_case_gets_the_same_judgement() -> None:
    answers = compare([{"do": "assess", "case": case["case"]} for case in CASES])
    assert len(answers) > 20 and not any("error" in answer for answer in answers)


def test_random_animals_and_values_get_the_same_judgement() -> None:
    """Weights, ages and values all over the tables: classes, class edges, rounding and probabilities."""
    chance = random.Random(20261124)
    quantities = [row for row in rules.tables()["catalogue"]["quantities"] if not row["derived"]]
    cases = []
    for _ in range(150):
        weight, readings = f"{chance.uniform(1, 45):.1f}", []
        for quantity in chance.sample(quantities, 12):
            window = quantity["plausible"] or {"from": "1", "to": "9"}
            middle = chance.uniform(float(window["from"] or 1), float(window["from"] or 1) * 3 + 5)
            values = [f"{middle * chance.uniform(0.9, 1.1):.1f}" for _ in range(chance.randint(1, 4))]
            readings.append({"quantity": quantity["id"], "values": values, "unit": quantity["unit"]})
        cases.append({
            "patient": {"species": chance.choice(["dog", "cat"]), "weight_kg": weight, "sex": "female",
                        "age_months": chance.randint(3, 200), "body_condition": chance.randint(1, 9)},
            "context": {"fasted": chance.choice([True, False]), "signs": ["vomiting"]},
            "readings": readings,
        })
    answers = compare([{"do": "assess", "case": case} for case in cases])
    assert sum(len(answer["flags"]) for answer in answers) > 100


GENERATED, BATCH = 2_000, 250


@pytest.mark.catalogue(62)
@pytest.mark.parametrize("seed_", range(0, GENERATED, BATCH))
def test_generated_exams_are_folded_and_judged_the_same(seed_: int) -> None:
    """Two thousand exams in all, each alone reproducible by its seed (generated.Chance)."""
    answers = compare(generated.calls(BATCH, seed_))
    assert not any("error" in answer for answer in answers)
    flags = [flag for answer in answers for flag in answer["judgement"]["flags"]]
    assert len({flag["kind"] for flag in flags}) > 10 and len(flags) > BATCH
    assert any(answer["exam"]["forks"] for answer in answers) and any(answer["exam"]["moved"] for answer in answers)


def test_typed_numbers_are_read_the_same() -> None:
    calls = [{"do": "typed", "text": text, "quantity": "adrenal.left.caudal_pole_thickness", "unit": "mm"}
             for text in TYPED]
    answers = compare(calls)
    assert answers[1]["value"] == "6.2"
    assert "error" in answers[4 + 1]


OVERLAY = {
    "change": 4,
    "sources_off": ["s001"],
    "rows_off": ["gi-cat-duo"],
    "thresholds": {"class_edge.share": "0.05", "learned_spread.least_df": "12"},
    "rows": [{
        "id": "own4", "quantity": "adrenal.*.maximum_thickness", "species": "dog", "lower": None, "upper": "0,58 cm",
        "weight_kg": {"min": "5", "min_included": False, "max": "10", "max_included": True}, "plane": "long_axis",
        "population": "dogs seen for dental work", "n": 31, "use": "limit", "source": "own series, Müller's sheet",
    }],
}


@pytest.mark.parametrize("overlay", [None, OVERLAY], ids=["published", "practice"])
def test_the_register_and_the_practices_limits_are_the_same(overlay: dict[str, Any] | None) -> None:
    cases = [{"do": "assess", "case": case["case"]} for case in CASES]
    answers = compare([{"do": "register"}, {"do": "version"}, *cases], overlay)
    assert len(answers[0]["register"]["rows"]) == 291 + (overlay is not None)
    assert answers[1]["limits_version"].endswith("+p4") == (overlay is not None)


@pytest.mark.parametrize("patient", seed.practice()["patients"], ids=lambda patient: patient["id"])
def test_whole_exams_are_folded_and_judged_the_same(patient: dict[str, Any]) -> None:
    """Opened whole, opened in another order, and opened in part with the rest applied one by one."""
    by_exam: dict[str, list[dict[str, Any]]] = {}
    for envelope in seed.envelopes():
        entry = entries.open_entry(envelope)
        if entry["patient"] == acts.patient_id(patient):
            by_exam.setdefault(entry["exam"], []).append(entry)
    exams = [by_exam[acts.exam_id(exam)] for exam in patient["exams"]]
    newest, earlier = exams[-1], [{"entries": rows} for rows in exams[:-1]]
    shuffled = random.Random(patient["id"]).sample(newest, len(newest))
    today = patient["exams"][-1]["date"]
    asked: list[dict[str, Any]] = [
        {"do": "open", "entries": newest, "earlier": earlier, "today": today},
        {"do": "open", "entries": shuffled, "earlier": earlier, "today": today},
        {"do": "open", "entries": newest[:-12], "earlier": earlier, "today": today},
        *({"do": "apply", "entries": [entry]} for entry in newest[-12:]),
        {"do": "series", "exams": exams},
    ]
    answers = compare(asked)
    course = answers.pop()["series"]
    assert any(len(row["points"]) == len(exams) for row in course)
    whole = answers[0]
    assert whole["exam"]["entries"] == len(newest)
    assert answers[1] == whole, "the order of arrival changed the exam"
    assert answers[-1] == whole, "applied one by one, the exam is another"


@settings(max_examples=1, suppress_health_check=list(HealthCheck), deadline=None, database=None)
@given(st.lists(days.desks(), min_size=60, max_size=60))
def test_days_are_folded_the_same(many: list[list[dict[str, Any]]]) -> None:
    """Records, visits, merges and strikes of two desks, as hypothesis makes them; and the demo's list."""
    compare([{"do": "day", "entries": entries} for entries in many])


def test_the_demos_list_is_folded_the_same() -> None:
    desk = Writer()
    planned = [
        desk.write("planned", acts.visit(patient, "2026-11-25", order), exam=None, patient=acts.patient_id(patient))
        for order, patient in enumerate(seed.practice()["patients"], start=1)
    ]
    (answer,) = compare([{"do": "day", "entries": planned}])
    assert len(answer["visits"]) == 12 and answer["unread"] == []
