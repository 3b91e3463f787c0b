"""The engine as tests call it, and how a written expectation is matched against a judgement."""

import json
from functools import cache
from pathlib import Path
from typing import Any

from webapp.core import engine

Judgement = dict[str, Any]
Row = dict[str, Any]
HERE = Path(__file__).parent
TABLES = Path(engine.__file__).parent / "tables"


def read_json(path: Path) -> Any:
    """A JSON file with every number that has a point kept as its digits."""
    return json.loads(path.read_text(encoding="utf-8"), parse_float=str)


@cache
def table(name: str) -> Any:
    return json.loads((TABLES / f"{name}.json").read_text(encoding="utf-8"))


@cache
def tables() -> Any:
    texts = {path.stem: path.read_text(encoding="utf-8") for path in TABLES.glob("*.json")}
    return engine.tables_of(texts)


def fresh_engine() -> engine.Engine:
    """An engine with no exam open."""
    return engine.Engine(tables())


def call(request: Any) -> Any:
    """One call to a fresh engine: objects in, objects out, JSON text between."""
    return json.loads(fresh_engine().call(json.dumps(request)))


def assess(case: Any) -> Any:
    return call({"do": "assess", "case": case})


def dog(weight: str | None = "20", age: int | None = 84, **more: Any) -> Row:
    return {"species": "dog", "weight_kg": weight, "age_months": age, **more}


def cat(weight: str | None = "4.5", age: int | None = 84, **more: Any) -> Row:
    return {"species": "cat", "weight_kg": weight, "age_months": age, **more}


def reading(quantity: str, *values: str, unit: str = "mm", **more: Any) -> Row:
    return {"quantity": quantity, "values": list(values), "unit": unit, **more}


def judge(patient: Row, *readings: Row, **more: Any) -> Judgement:
    """The judgement of a case that must be understood."""
    judged: Judgement = assess({"patient": patient, "readings": list(readings), **more})
    assert "error" not in judged, judged
    return judged


def matches(wanted: Row, line: Row) -> bool:
    """Whether a line has every wanted field; `limit` compares its id, `also` asks for each row named."""
    return all(_field(name, value, line) for name, value in wanted.items())


def _field(name: str, value: Any, line: Row) -> bool:
    if name == "limit":
        return (line.get("limit") or {}).get("id") == value
    if name == "also":
        return all(any(matches(other, row) for row in line.get("also") or []) for other in value)
    if isinstance(line.get(name), float):
        return str(line[name]) == str(value)
    return name in line and line[name] == value


def faults(judged: Judgement, expect: Row) -> list[str]:
    """Every sentence of an expectation that does not hold, as text; an empty list where all hold."""
    if expect.get("error"):
        return [] if "error" in judged else ["no error was given"]
    if "error" in judged:
        return [f"an error: {judged['error']['message']}"]
    found = []
    for name in ("flags", "open", "silent", "values", "judged", "assumed"):
        for wanted in expect.get(name, []):
            if not any(matches(wanted, line) for line in judged[name]):
                found.append(f"{name} lack {wanted}")
    for rule, name in (
        ("never", "flags"),
        ("never_open", "open"),
        ("never_silent", "silent"),
        ("never_assumed", "assumed"),
        ("never_judged", "judged"),
        ("never_values", "values"),
    ):
        for wanted in expect.get(rule, []):
            found += [f"{name} hold {line}" for line in judged[name] if matches(wanted, line)]
    for wanted in expect.get("values_earlier", []):
        now = [line["earlier"] or {} for line in judged["values"] if line["quantity"] == wanted["quantity"]]
        fields = {name: value for name, value in wanted.items() if name != "quantity"}
        if not any(matches(fields, line) for line in now):
            found.append(f"values lack the earlier {wanted}: {now}")
    for grade in expect.get("no_grades", []):
        found += [f"grade {grade}: {line}" for line in judged["flags"] if line["grade"] == grade]
    said = [row for name in ("flags", "judged", "silent") for line in judged[name] for row in line["also"]]
    found += [f"also holds {row}" for row in said if row["id"] in expect.get("never_also", [])]
    found += [f"also holds {row}" for row in said if row["verdict"] in expect.get("never_also_verdict", [])]
    unknown = set(expect) - {
        "flags",
        "open",
        "silent",
        "values",
        "judged",
        "assumed",
        "values_earlier",
        "never",
        "never_open",
        "never_silent",
        "never_assumed",
        "never_judged",
        "never_values",
        "no_grades",
        "never_also",
        "never_also_verdict",
        "error",
    }
    return found + [f"unknown expectation {name}" for name in sorted(unknown)]
