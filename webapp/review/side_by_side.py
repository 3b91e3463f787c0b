"""Two exams of one animal beside each other, by structure and quantity: what was seen, found and read in each, the
difference, and what the rules say of it. Nothing is judged here: the rules compare the later exam with the earlier."""

from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp import rules
from webapp.review import measured, table, words
from webapp.store import animals, exams, kept, learned, overlays, reports

Json = dict[str, Any]


class Apart(LookupError):
    """The two are not two exams of one animal; the message says so."""


class Pair(NamedTuple):
    """Two exams as the rules answer for them, the earlier one first."""

    then: Json
    now: Json
    then_values: list[Json]
    judgement: Json


def compared(db: Database, one: str, other: str) -> Pair:
    """The two exams folded, the later one judged with the earlier one alone before it.

    Raises LookupError for an exam that is not here, Apart where they are two animals' or one and the same, and
    rules.RulesError where the rules cannot judge them.
    """
    if one == other:
        raise Apart("This is one exam: choose another one of the animal.")
    first, last = sorted((exams.fold(db, name) for name in (one, other)), key=_in_time)
    then, now = first.exam, last.exam
    if not _same_animal(db, then, now):
        raise Apart("These are exams of two animals: they are not compared.")
    entries = [[row.entry for row in kept.of_exam(db, exam["id"])] for exam in (then, now)]
    answer = rules.call(
        {"do": "open", "entries": entries[1], "earlier": [{"entries": entries[0]}], "today": now["date"]}
        | {"learned": learned.in_use(db)},
        overlays.in_force(db, reports.first_signed(db, now["id"])),
    )
    return Pair(then, answer["exam"], first.judgement["values"], answer["judgement"])


def others(db: Database, exam_id: str, exam: Json) -> list[Json]:
    """The other exams of the animal that can be set beside this one, newest first: [{"exam", "date"}]."""
    if not exam["patient_id"]:
        return []
    standing = animals.one_with(db, [exam["patient_id"]])
    marks = ",".join("?" * len(standing))
    query = (
        f"select exam, date from exams where patient in ({marks}) and exam != ? and trouble is null "
        "order by date desc, started_at desc, exam desc"
    )
    return [row | {"date": words.day(row["date"])} for row in db.query(query, [*standing, exam_id])]


def _in_time(folded: exams.Folded) -> tuple[str, str, str]:
    exam = folded.exam
    return str(exam["date"] or ""), str(exam["started_at"] or ""), str(exam["id"])


def _same_animal(db: Database, then: Json, now: Json) -> bool:
    if not then["patient_id"] or not now["patient_id"]:
        return False
    return then["patient_id"] in animals.one_with(db, [now["patient_id"]])


def content(pair: Pair) -> Json:
    """What the page prints: the two heads, and a group of rows for each structure that either exam has anything of."""
    asked = pair.now["question"].get("structures") or []
    groups = []
    for name in words.structures():
        then, now = (table.recorded(name, exam, asked) for exam in (pair.then, pair.now))
        rows = _rows(name, pair)
        if rows or any(side[kind] for side in (then, now) for kind in ("states", "findings", "fields", "notes")):
            group = {"id": name, "label": words.label(name), "asked": name in asked}
            groups.append(group | {"then": then, "now": now, "rows": rows})
    return {
        "name": pair.now["patient"].get("name") or "Animal without a name",
        "heads": [_head(exam) for exam in (pair.then, pair.now)],
        "groups": sorted(groups, key=lambda group: not group["asked"]),
        "lesions": [_lesion(row) for row in pair.judgement.get("lesions") or []],
    }


def _head(exam: Json) -> Json:
    context = [
        f"{words.label(f'context.{key}')}: {words.value(value)}"
        for key, value in exam["context"].items()
        if value not in (None, [], "")
    ]
    return {
        "exam": exam["id"],
        "date": words.day(exam["date"]),
        "animal": words.animal(exam["patient"]),
        "by": words.who(exam) if exam["author"] else "not recorded",
        "question": exam["question"].get("text"),
        "context": context,
    }


def _rows(structure: str, pair: Pair) -> list[Json]:
    """The structure's quantities that either exam has, in the catalogue's order."""
    then, now = _by_quantity(pair.then_values), _by_quantity(pair.judgement["values"])
    made = []
    for name, quantity in words.quantities().items():
        if quantity.get("structure") != structure:
            continue
        sides = [_side(exam, name, found) for exam, found in ((pair.then, then), (pair.now, now))]
        if any(side["value"] or side["readings"] for side in sides):
            change = measured.earlier(now[name].get("earlier")) if name in now else None
            made.append({"id": name, "label": words.label(name), "sides": sides, "change": change})
    return made


def _by_quantity(values: list[Json]) -> dict[str, Json]:
    return {value["quantity"]: value for value in values if not value.get("lesion")}


def _side(exam: Json, quantity: str, found: dict[str, Json]) -> Json:
    """What one of the two exams has of a quantity: the value, and every reading behind it."""
    value = found.get(quantity)
    return {
        "value": words.amount(value["value"], value["unit"]) if value else None,
        "n": value["n"] if value else None,
        "spread": value["spread"] if value else None,
        "partly": bool(value) and found[quantity]["view"] == "partly",
        "at_least": bool(value) and found[quantity].get("at_least", False),
        "readings": _readings(exam, quantity),
        "from": [words.label(name) for name in (value or {}).get("inputs") or []],
    }


def _readings(exam: Json, quantity: str) -> list[Json]:
    return [
        measured.reading(row) for row in exam["readings"] if row["quantity"] == quantity and not row.get("lesion")
    ]


def _lesion(row: Json) -> Json:
    number = f" {row['number']}" if row.get("number") else ""
    named = f"{words.label(row['structure'])}, {words.plain(row['finding'])}{number}"
    sizes = [" × ".join(str(axis) for axis in row[side]) for side in ("then", "now")]
    return {"label": named, "then": f"{sizes[0]} mm", "now": f"{sizes[1]} mm", "words": words.dated(row["words"])}
