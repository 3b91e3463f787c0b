"""Readings as rows of a CSV file: of one exam, one animal, one day, or all; struck ones marked, nothing left out.

Of a signed exam limits and flags are those of its newest issued version; what arrived after it says so.
"""

import json
from collections.abc import Iterable, Iterator
from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.core import sentences
from webapp.exchange import csv_out
from webapp.exchange.told_exam import Json, ToldExam
from webapp.review import words
from webapp.store import animals, exams, reports

COLUMNS = (
    "date", "animal", "species", "breed", "weight_kg", "row", "structure", "measure", "quantity", "value", "unit",
    "typed", "typed_unit", "plane", "view", "cut", "acquired", "recumbency", "lesion", "image", "read_by", "read_for",
    "read_at", "struck", "struck_because", "n", "mean", "at_least", "spread", "said", "limit_lower", "limit_upper",
    "limit_unit", "limit_for", "limit_found_in", "limit_source", "report", "limits_version", "animal_id",
    "exam_id", "reading_id",
)  # fmt: skip
AS_READ = ("quantity", "value", "unit", "typed", "typed_unit", "lesion", "image")
AS_WORDS = ("plane", "view", "cut", "acquired", "recumbency")
GAPS = ("partly", "not_seen", "not_examined")
# What a row is: a reading, what was computed from readings, a place that was not seen, an exam that nobody can read.
READING, CALCULATED, NOT_SEEN, NOT_READ = "reading", "calculated", "not seen", "could not be read"


def of_day(db: Database, day: str) -> list[str]:
    """The exams of a day, in the order in which they began."""
    return _ids(db.query("select exam from exams where date = ? order by started_at, exam", [day]))


def of_animal(db: Database, patient: str) -> list[str]:
    """The exams of an animal, of records that are one with it too, oldest first."""
    marks = json.dumps(animals.one_with(db, [patient]))
    query = "select exam from exams where patient in (select value from json_each(?)) order by date, started_at, exam"
    return _ids(db.query(query, [marks]))


def everything(db: Database) -> list[str]:
    """All exams, oldest first."""
    return _ids(db.query("select exam from exams order by date, started_at, exam"))


def _ids(rows: Iterable[dict[str, Any]]) -> list[str]:
    return [str(row["exam"]) for row in rows]


def lines(db: Database, names: Iterable[str]) -> Iterator[str]:
    """The file, line by line, so that one with every reading needs no more memory than one exam."""
    return csv_out.lines(COLUMNS, rows(db, names))


def rows(db: Database, names: Iterable[str]) -> Iterator[Json]:
    """The rows of these exams, each a dict of COLUMNS. An exam that the rules cannot read is one row that says so."""
    for name in names:
        try:
            folded = exams.fold(db, name)
        except exams.NotAnAnimals:
            continue
        except (LookupError, rules.RulesError) as error:
            yield {"exam_id": name, "row": NOT_READ, "said": str(error)}
            continue
        issued = reports.versions(db, name)
        row = reports.version(db, name, issued[-1]["version"]) if issued else None
        if row is None:
            yield from _rows(name, folded.exam, ToldExam(folded.exam, folded.judgement), None, set())
        else:
            told = ToldExam(json.loads(row["exam_json"]), json.loads(row["judgement_json"]))
            covered = {(one["id"], one["struck"]) for one in told.exam["readings"]}
            yield from _rows(name, folded.exam, told, row, covered)


def _rows(name: str, exam: Json, told: ToldExam, issued: Json | None, covered: set[tuple[str, bool]]) -> Iterator[Json]:
    patient = exam["patient"]
    report = f"version {issued['version']}, {issued['status']}" if issued else "not signed"
    common = {
        "date": exam["date"],
        "animal": patient.get("name"),
        **{field: patient.get(field) for field in ("species", "breed", "weight_kg")},
        "limits_version": told.judgement["limits_version"],
        "animal_id": exam["patient_id"],
        "exam_id": name,
        "report": report,
    }
    values = {(value["quantity"], value.get("lesion")): value for value in told.judgement["values"]}
    for row in exam["readings"]:
        value = values.get((row["quantity"], row.get("lesion")))
        late = issued is not None and (row["id"], row["struck"]) not in covered
        yield common | _reading(told, row) | (_said(told, value) if value else {}) | (
            {"report": f"{report}; not in it: arrived after signing"} if late else {})
    for value in values.values():
        if value["derived"]:
            yield common | _place(told, value) | {"row": CALCULATED, "quantity": value["quantity"]} | _said(told, value)
    for state in exam["states"]:
        if state["seen"] in GAPS:
            yield common | _gap(told, state)


def _place(told: ToldExam, row: Json) -> Json:
    structure = told.structure_of(row)
    return {"structure": told.case.label(structure) if structure else None, "measure": told.measure_words(row)}


def _reading(told: ToldExam, row: Json) -> Json:
    return {
        "row": READING,
        **_place(told, row),
        **{field: row[field] for field in AS_READ},
        **{field: words.plain(row[field]) if row[field] else None for field in AS_WORDS},
        "read_by": row["author"],
        "read_for": row["behalf"],
        "read_at": row["at"],
        "struck": bool(row["struck"]),
        "struck_because": row["why_struck"],
        "reading_id": row["id"],
    }


def _said(told: ToldExam, value: Json) -> Json:
    """The value that a reading went into, its limit, and all that the rules said of it."""
    said = told.said(value)
    limited = next((line for line in said if line.get("limit")), None)
    made: Json = {
        "n": value["n"],
        "mean": value["value"],
        "at_least": bool(value.get("at_least")),
        "spread": value["spread"],
        "said": "; ".join(dict.fromkeys(f"{line['text']}{_call(line)}" for line in said)),
    }
    if value["derived"]:
        made["unit"] = value["unit"]
    if limited:
        limit = limited["limit"]
        made |= {f"limit_{field}": limit.get(field) for field in ("lower", "upper", "unit")}
        made |= {"limit_for": told.class_words(limit), "limit_found_in": told.population(limit)}
        made["limit_source"] = told.citation(limited)
    return made


def _call(line: Json) -> str:
    return f" ({line['call']})" if line.get("call") else ""


def _gap(told: ToldExam, state: Json) -> Json:
    why = ", ".join(told.case.reason(one) for one in state["why"])
    return {
        "row": NOT_SEEN,
        "structure": told.case.label(state["about"]),
        "said": sentences.SEEN[state["seen"]] + (f" ({why})" if why else ""),
        "read_by": state["author"],
        "read_at": state["at"],
    }
