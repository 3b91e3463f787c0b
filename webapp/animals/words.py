"""The desk's words for a record's fields, in the order in which they stand."""

from functools import cache
from pathlib import Path
from typing import Any

from webapp import rules
from webapp.core import typed
from webapp.review import words

FIELDS = {
    "name": "Name",
    "species": "Species",
    "breed": "Breed",
    "sex": "Sex",
    "neutered": "Neutered",
    "operation": "Operation",
    "birth_date": "Born",
    "age_months": "Age",
    "weight_kg": "Weight",
    "ideal_weight_kg": "Ideal weight",
    "body_condition": "Body condition (of 9)",
    "microchip": "Microchip",
    "numbers": "Other numbers",
    "owner.name": "Owner",
    "owner.contact": "Owner's contact",
}
WEIGHT_SOURCES = ("scales", "record", "owner", "estimate")
OPERATIONS = {
    "female": ("ovaries and uterus removed", "ovaries removed", "uterus removed, ovaries left"),
    "male": ("testes removed", "vasectomy", "hormone implant"),
}


@cache
def breeds() -> dict[str, list[str]]:
    """{"dog": [...], "cat": [...]}: common names, with those that the limits know; anything else is typed freely."""
    text = (Path(__file__).parent / "breeds.txt").read_text(encoding="utf-8")
    found: dict[str, list[str]] = {"dog": [], "cat": []}
    species = "dog"
    for line in text.splitlines():
        if line.startswith("["):
            species = line.strip("[]")
        elif line:
            found[species].append(line)
    return {name: sorted(set(rows), key=str.casefold) for name, rows in found.items()}


def limits_breeds() -> dict[str, set[str]]:
    """The breeds by which a published row judges, by species."""
    found: dict[str, set[str]] = {"dog": set(), "cat": set()}
    for row in rules.tables()["limits"]["rows"]:
        if row.get("breed") and row["species"] in found:
            found[row["species"]].add(row["breed"])
    return found


def fact(record: dict[str, Any], field: str) -> str:
    """One fact as it is shown, with where it comes from; empty text where it is not known."""
    value = record.get(field)
    if value in (None, "", []) or (field == "age_months" and record.get("birth_date")):
        return ""
    if field == "weight_kg":
        told = [words.dated(record["weight_source"])] if record.get("weight_source") else []
        told += [words.day(record["weight_date"])] if record.get("weight_date") else []
        return typed.weight_words(record) + (f" ({', '.join(told)})" if told else "")
    if field == "ideal_weight_kg":
        return f"{typed.kilograms(value)} kg"
    if field == "birth_date":
        return words.day(value)
    if field == "age_months":
        on = f" on {words.day(record['age_date'])}" if record.get("age_date") else ""
        return age(int(value)) + on
    if field == "numbers":
        return ", ".join(f"{row['label']}: {row['value']}" for row in value)
    if field == "species":
        return str(value)
    return words.value(value) if not isinstance(value, str) else value


def weight_typed(record: dict[str, Any]) -> str:
    """The weight as it was typed, for a form; empty text where there is none."""
    if not record.get("weight_kg"):
        return ""
    unit = record.get("weight_typed_unit")
    return f"{record['weight_typed']} {unit}" if unit not in (None, "kg") else f"{record['weight_kg']} kg"


def ideal_typed(record: dict[str, Any]) -> str:
    """The ideal weight for a form."""
    return f"{typed.kilograms(record['ideal_weight_kg'])} kg" if record.get("ideal_weight_kg") else ""


def age(months: int) -> str:
    """ "7 years", "7 years 3 months", "5 months"."""
    years, rest = divmod(months, 12)
    parts = [f"{years} year{'' if years == 1 else 's'}"] if years else []
    if rest or not years:
        parts.append(f"{rest} month{'' if rest == 1 else 's'}")
    return " ".join(parts)


def line(record: dict[str, Any]) -> str:
    """One line about the animal without its name."""
    known = dict(record)
    if known.get("neutered") is None:
        known.pop("neutered", None)
    facts = [known.get("species"), known.get("breed"), sex(known)]
    if known.get("birth_date"):
        facts.append(f"born {words.day(known['birth_date'])}")
    elif known.get("age_months") is not None:
        facts.append(fact(known, "age_months"))
    facts.append(fact(known, "weight_kg"))
    return " · ".join(str(one) for one in facts if one)


def sex(record: dict[str, Any]) -> str:
    """ "female neutered", "male entire", "female"; what is not known is not said."""
    if not record.get("sex"):
        return "neutered" if record.get("neutered") else ""
    if record.get("neutered") is None:
        return str(record["sex"])
    return f"{record['sex']} {'neutered' if record['neutered'] else rules.say('entire')}"


def slot(name: str) -> str:
    """Words for the slot of a fork."""
    group, _, field = name.partition(".")
    if group == "patient":
        return FIELDS.get(field, field)
    return field.replace("_", " ").capitalize()


def value(given: Any) -> str:
    """One side of a fork."""
    if isinstance(given, list) and given and isinstance(given[0], dict):
        return ", ".join(f"{row.get('label')}: {row.get('value')}" for row in given)
    return words.value(given)
