"""Builders of exams and judgements as the rule code gives them, and the invented exams through the real rules."""

import json
from functools import cache
from pathlib import Path
from typing import Any

import demo
from webapp.core import engine
from webapp.report.case import Json

ROOT = Path(demo.__file__).parent.parent
ISSUED = "2026-11-20T18:32:05+01:00"
NAMED_BY_PEOPLE_ONLY = (
    "cushing",
    "addison",
    "hyperadrenocorticism",
    "hypoadrenocorticism",
    "hyperplasia",
    "adenoma",
    "carcinoma",
    "lymphoma",
    "phaeochromocytoma",
    "pheochromocytoma",
    "tumour",
    "neoplasia",
    "cancer",
    "inflammatory bowel",
    "enteritis",
    "nephritis",
    "pyelonephritis",
    "hydronephrosis",
    "cystitis",
    "prostatitis",
    "pancreatitis",
    "hepatitis",
    "cirrhosis",
    "ascites",
    "mucocele",
    "metastasis",
    "atrophy",
    "splenomegaly",
    "hepatomegaly",
    "adrenomegaly",
    "obstruction",
    "kidney disease",
    "renal failure",
    "thrombus",
    "invasion",
)


@cache
def tables() -> Json:
    """The project's own tables."""
    folder = ROOT / "webapp" / "core" / "tables"
    return {
        name: json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
        for name in engine.NAMES
    }


def exam(**changed: Any) -> Json:
    """An opened exam of a dog without any record; `changed` replaces whole fields."""
    made: Json = {
        "id": "01a1f640-bc00-7a09-98e8-8e24d1a9bb92",
        "patient_id": "015eda61-dc00-7fa3-b9c9-8dc4256d3112",
        "date": "2026-11-20",
        "opened": True,
        "closed": True,
        "started_at": None,
        "closed_at": None,
        "patient": {
            "name": "Otto",
            "species": "dog",
            "breed": "Weimaraner",
            "sex": "male",
            "neutered": False,
            "age_months": 109,
            "birth_date": None,
            "weight_kg": "34.2",
            "weight_source": "scales today",
            "ideal_weight_kg": None,
            "body_condition": 5,
        },
        "context": {},
        "question": {"text": "Prostate? Kidneys?", "structures": [], "answered": "partly"},
        "readings": [],
        "states": [],
        "findings": [],
        "notes": [],
        "fields": {},
        "forks": [],
        "acknowledged": [],
        "signed": [],
        "amended": [],
        "late": [],
        "unread": [],
        "entries": 12,
        "heads": {},
    }
    return made | changed


def judgement(**changed: Any) -> Json:
    made: Json = {
        "limits_version": "limits-2026.11.1",
        "flags": [],
        "open": [],
        "silent": [],
        "values": [],
        "judged": [],
        "assumed": [],
    }
    return made | changed


def meta(**changed: Any) -> Json:
    """Signing facts of a first, final version."""
    made: Json = {
        "practice": "Quillmere Lane Animal Practice (invented)",
        "version": 1,
        "status": "final",
        "signer": {"id": "IF", "name": "I. Ferrow"},
        "issued_at": ISSUED,
        "limits_version": "limits-2026.11.1",
        "tables_hash": "ab" * 32,
        "core_version": "1",
        "entries": 12,
        "amendments": [],
        "head": "cd" * 32,
    }
    return made | changed


def unsigned() -> Json:
    return meta(status="preliminary", version=None, signer=None)


def reading(quantity: str, value: str, **changed: Any) -> Json:
    made: Json = {
        "id": f"{quantity} {value}",
        "quantity": quantity,
        "value": value,
        "unit": "mm",
        "typed": value,
        "typed_unit": "mm",
        "plane": None,
        "view": None,
        "cut": None,
        "acquired": None,
        "recumbency": None,
        "lesion": None,
        "struck": False,
        "why_struck": None,
        "author": "VS",
        "behalf": None,
        "at": ISSUED,
    }
    return made | changed


def state(about: str, seen: str, structure: str, part: str | None = None, **changed: Any) -> Json:
    made: Json = {
        "id": about,
        "about": about,
        "structure": structure,
        "part": part,
        "seen": seen,
        "why": [],
        "tried": [],
        "normal": False,
        "fork": False,
        "author": "VS",
        "at": ISSUED,
    }
    return made | changed


def value(quantity: str, shown: str, n: int, spread: str | None, **changed: Any) -> Json:
    made: Json = {
        "quantity": quantity,
        "value": shown,
        "unit": "mm",
        "n": n,
        "spread": spread,
        "view": "whole",
        "derived": False,
        "inputs": [],
        "at_least": False,
        "earlier": None,
    }
    return made | changed


def line(about: str, kind: str, limit_id: str | None = None, **changed: Any) -> Json:
    """A flag or a judged line; the limit's words come from the project's own table row."""
    row = next((row for row in tables()["limits"]["rows"] if row["id"] == limit_id), None)
    grade = {"above_limit": "outside", "below_limit": "outside", "alert": "tell_someone"}.get(kind, "note")
    limit = None
    if row:
        limit = {name: row.get(name) for name in ("id", "lower", "upper", "unit", "population", "n", "plane", "known")}
        limit["class_words"] = "dogs over 20 to 40 kg"
    made: Json = {
        "about": about,
        "kind": kind,
        "grade": grade,
        "value": "7.8",
        "unit": "mm",
        "limit": limit,
        "also": [],
        "at_least": False,
        "borderline": None,
        "probability": None,
        "text": f"7.8 mm: {kind}",
        "source": None,
    }
    return made | changed


def silent(about: str, why: str, **changed: Any) -> Json:
    made: Json = {"about": about, "why": why, "text": why, "also": []}
    return made | changed


def hidden_pole() -> tuple[Json, Json]:
    """A RIGHT adrenal gland with its caudal pole read three times and its cranial pole hidden by gas."""
    quantity, whole = "adrenal.right.caudal_pole_thickness", "adrenal.right.maximum_thickness"
    taken = [reading(quantity, number) for number in ("7.4", "7.1", "8.9")]
    states = [
        state("adrenal.right", "partly", "adrenal.right", why=["gas"]),
        state("adrenal.right.cranial_pole", "not_seen", "adrenal.right", "cranial_pole", why=["gas"]),
    ]
    judged = judgement(
        values=[
            value(quantity, "7.8", 3, "1.8"),
            value(whole, "7.8", 3, "1.8", derived=True, inputs=[quantity], at_least=True),
        ],
        silent=[
            silent(
                whole,
                "partly_seen",
                also=[
                    {
                        "id": "barthez1995_universal",
                        "verdict": "above",
                        "words": "cut-off 7.4 mm: above",
                        "known": "secondary",
                    }
                ],
            )
        ],
        flags=[line(quantity, "readings_disagree", value="1.8", grade="look_again")],
        open=[
            {
                "about": "adrenal.right.phrenicoabdominal_vein",
                "kind": "not_recorded",
                "structure": "adrenal.right",
                "part": "phrenicoabdominal_vein",
                "text": "RIGHT adrenal, phrenicoabdominal vein: not recorded",
            }
        ],
    )
    question = {
        "text": "Drinks a lot: adrenals?",
        "structures": ["adrenal.left", "adrenal.right"],
        "answered": "partly",
    }
    return exam(readings=taken, states=states, question=question), judged


@cache
def of_demo(name: str) -> tuple[Json, Json]:
    """EXAM and judgement of the newest exam of an invented animal ("DP06"), through the journal's own path."""
    from demo import acts, seed
    from webapp import rules

    patient = next(row for row in seed.practice()["patients"] if row["id"] == name)
    told = [_opened(list(acts.of_exam(patient, one))) for one in patient["exams"]]
    answer = rules.call(
        {
            "do": "open",
            "entries": told[-1],
            "earlier": [{"entries": entries} for entries in told[:-1]],
            "today": patient["exams"][-1]["date"],
        }
    )
    return answer["exam"], answer["judgement"]


def of_demo_without(name: str, kind: str, about: str) -> tuple[Json, Json]:
    """The same without the acts of this kind about this structure."""
    from demo import acts, seed
    from webapp import rules

    patient = next(row for row in seed.practice()["patients"] if row["id"] == name)
    done = acts.of_exam(patient, patient["exams"][-1])
    entries = _opened([act for act in done if (act.kind, act.body["about"]) != (kind, about)])
    answer = rules.call({"do": "open", "entries": entries, "earlier": [], "today": patient["exams"][-1]["date"]})
    return answer["exam"], answer["judgement"]


@cache
def courses_of(name: str) -> Json:
    """The series of an invented animal's exams, as they are signed with."""
    from demo import acts, seed
    from webapp import rules
    from webapp.review import trends

    patient = next(row for row in seed.practice()["patients"] if row["id"] == name)
    told = [_opened(list(acts.of_exam(patient, one))) for one in patient["exams"]]
    answer = rules.call({"do": "series", "exams": told, "learned": []})
    return trends.several({trends._key(row): trends._series(row) for row in answer["series"]})


def _opened(done: list[Any]) -> list[Json]:
    from demo import seed
    from webapp.store import entries

    place = entries.Place(seed.device(), 1, entries.NO_PREVIOUS)
    made = []
    for act in done:
        envelope = entries.make(act, place)
        made.append(entries.open_entry(envelope))
        place = entries.Place(place.device, place.seq + 1, entries.entry_id(envelope))
    return made


def demo_names() -> list[str]:
    from demo import seed

    return [str(row["id"]) for row in seed.practice()["patients"]]


def without_words_of_people(told: Json) -> Json:
    """The exam without anything that a person typed, so that every word left comes from the program."""
    kept = {name: words for name, words in told["fields"].items() if name not in ("impression", "recommendations")}
    findings = [row | {"text": None} for row in told["findings"]]
    return told | {
        "notes": [],
        "procedures": [],
        "fields": kept,
        "findings": findings,
        "question": told["question"] | {"text": "What is there?"},
        "context": told["context"] | {"signs": []},
    }
