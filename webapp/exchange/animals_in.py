"""Animals from a file: rows to facts, compared with the records by the number that the other system gives them."""

import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlite_utils import Database

from webapp.animals import record, typed, words
from webapp.exchange import meanings
from webapp.exchange.ready import Cells, Change, Choices, Problem, Progress, Row, cells, once
from webapp.exchange.tables import Table
from webapp.store import animals
from webapp.store.entries import Act

SOURCE = "record"


def rows(table: Table, choices: Choices, mapping: Mapping[str, str], order: str,
         problems: list[Problem], progress: Progress) -> list[Row]:
    """The rows that can be taken in; what is wrong with the others goes to `problems`."""
    found = []
    for done, one in enumerate(cells(table, choices, mapping, problems), 1):
        facts = _facts(one, choices, order)
        if one.sound:
            found.append(Row(one.line, one.text("number"), facts))
        if done % 500 == 0:
            progress("read", done, len(table.rows))
    return once(found, {field: name for name, field in mapping.items()}, problems)


def _facts(one: Cells, choices: Choices, order: str) -> dict[str, Any]:
    """What a row says; an empty cell says nothing."""
    today = date.today()
    species = one.read("species", meanings.species)
    sex, neutered = one.read("sex", meanings.sex) or (None, None)
    told = one.read("neutered", meanings.truth)
    if told is not None and neutered is not None and told != neutered:
        one.fault("neutered", "does not fit the sex that is written.")
    facts: dict[str, Any] = {
        "name": one.text("name"),
        "species": species,
        "sex": sex,
        "neutered": neutered if told is None else told,
        "birth_date": one.read("birth_date", lambda text: typed.born(meanings.day(text, order), today)),
        "ideal_weight_kg": one.read("ideal_weight", lambda text: meanings.weight(text, choices.unit, species)["value"]),
        "body_condition": one.read("body_condition", _condition),
        "weight_kg": _weight(one, choices, order, species),
    }
    if facts["birth_date"] is None:
        age = one.read("age", typed.age_months)
        facts["age_months"] = None if age is None else {"value": age, "date": today.isoformat()}
    for field in ("breed", "operation", "microchip", "owner.name", "owner.contact"):
        facts[field] = one.text(field)
    return {field: value for field, value in facts.items() if value not in (None, "")}


def _weight(one: Cells, choices: Choices, order: str, species: str | None) -> dict[str, Any] | None:
    body = one.read("weight", lambda text: meanings.weight(text, choices.unit, species))
    on = one.read("weight_date", lambda text: meanings.day(text, order))
    return None if body is None else body | {"source": one.text("weight_source") or SOURCE, "date": on}


def _condition(text: str) -> int:
    number = text.split("/")[0].strip()
    if not number.isdecimal() or not 1 <= int(number) <= 9 or not text.replace(" ", "").endswith((number, "/9")):
        raise ValueError(f'"{text}": body condition is a whole number from 1 to 9 (of 9).')
    return int(number)


def numbered(db: Database) -> dict[tuple[str, str], str]:
    """{(whose number, number): the record that stands} of every number in any record."""
    found: dict[tuple[str, str], str] = {}
    for row in db.query("select root, facts from animals order by patient"):
        for number in json.loads(row["facts"]).get("numbers") or []:
            found[number["label"], number["value"]] = row["root"]
    return found


def compared(db: Database, ready: list[Row], label: str) -> list[Change]:
    """What each row would change."""
    known = numbered(db)
    chips = {row["microchip"]: row["name"] for row in db.query("select microchip, name from animals where microchip "
                                                               "is not null and root = patient")}
    changes = []
    for row in ready:
        target = row.id or known.get((label, row.number), "")
        told = animals.record(db, target) if target else None
        if told is None:
            twin = chips.get(animals.digits(row.facts.get("microchip") or ""))
            changes.append(Change(row, "new", target, [] if twin is None else [f"{twin} has this chip number already"]))
        else:
            acts = record.acts(target, _with_numbers(row, told, label), "", told, "")
            said = [_said(act, told) for act in acts]
            changes.append(Change(row, "changed" if acts else "same", target, said))
    return changes


def _with_numbers(row: Row, told: Mapping[str, Any], label: str) -> dict[str, Any]:
    """The row's facts with its number beside those that the record has."""
    numbers = list(told.get("numbers") or [])
    own = [] if row.id else [{"label": label, "value": row.number}]
    for number in row.facts.get("numbers") or own:
        if number not in numbers:
            numbers.append(number)
    facts = {field: value for field, value in row.facts.items() if field != "numbers"}
    if "age_months" in facts and (told.get("birth_date") or _age_stands(facts["age_months"], told)):
        facts.pop("age_months")
    return facts | ({"numbers": numbers} if numbers else {})


def _age_stands(age: Mapping[str, Any], told: Mapping[str, Any]) -> bool:
    """An age that the record holds already is not told anew each day that the same file comes in."""
    return bool(told.get("age_months") == age["value"])


def _said(act: Act, told: Mapping[str, Any]) -> str:
    field = str(act.body["about"]).removeprefix("patient.")
    before = words.fact(dict(told), field) or "not recorded"
    after = {**told, field: act.body["value"]}
    if field == "weight_kg":
        typed_as = {f"weight_{name}": act.body.get(name) for name in ("source", "date", "typed", "typed_unit")}
        after |= typed_as
    return f"{words.FIELDS[field]}: {before} → {words.fact(after, field) or 'not recorded'}"


def acts(db: Database, change: Change, label: str, author: str, at: str) -> list[Act]:
    """The acts that take one row in, by the record as it stands."""
    patient = change.target or record.new_id()
    told = (animals.record(db, patient) if change.target else None) or {}
    return record.acts(patient, _with_numbers(change.row, told, label), author, told, at)
