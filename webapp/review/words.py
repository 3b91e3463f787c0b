"""The desk's words for ids: structures, quantities, states, grades, moments."""

import re
from functools import cache
from typing import Any, NamedTuple

from webapp import dates, rules
from webapp.core import typed, wording


class Mark(NamedTuple):
    """How a grade is shown: a shape and a word, so that it reads without colour. Gravest first."""

    grade: str
    shape: str
    word: str


MARKS = {
    "tell_someone": Mark("tell_someone", "■", "tell someone"),
    "look_again": Mark("look_again", "◇", "look again"),
    "contradiction": Mark("contradiction", "≠", "do not fit"),
    "outside": Mark("outside", "▲", "outside"),
    "note": Mark("note", "·", "note"),
    "within": Mark("within", "○", "within"),
    "silent": Mark("silent", "–", "no verdict"),
}

REASONS = {
    "trouble": ("silent", "could not be read"),
    "late": ("note", "arrived after signing"),
    "tell_someone": ("tell_someone", "tell someone"),
    "question_open": ("note", "question not answered"),
    "asked": ("note", "asked the sonographer"),
    "look_again": ("look_again", "look again"),
    "contradiction": ("contradiction", "do not fit together"),
    "fork": ("note", "two versions to settle"),
    "not_seen": ("note", "not seen or partly seen"),
    "outside": ("outside", "outside"),
    "changed": ("note", "changed"),
    "add_on": ("note", "add-on procedure"),
    "told": ("note", "someone was told"),
    "unread": ("silent", "unread entries"),
}

FIELDS = {
    "exam.patient": "Whose exam it is",
    "patient.name": "Name",
    "patient.species": "Species",
    "patient.breed": "Breed",
    "patient.sex": "Sex",
    "patient.neutered": "Neutered",
    "patient.birth_date": "Born",
    "patient.age_months": "Age in months",
    "patient.weight_kg": "Weight in kg",
    "patient.weight_source": "Source of the weight",
    "patient.ideal_weight_kg": "Ideal weight in kg",
    "patient.body_condition": "Body condition (of 9)",
    "context.sedation": "Sedation",
    "context.fluids": "Fluids",
    "context.bladder_filling": "Bladder",
    "context.fasted": "Fasted",
    "context.steroids": "Steroids",
    "context.recumbency": "Position",
    "context.coat": "Coat",
    "context.signs": "Signs",
    "exam.chip": "Chip number against the record",
    "question.text": "Question",
    "question.structures": "Structures asked about",
    "question.answered": "Question answered",
    "impression": "Impression",
    "recommendations": "Recommendations",
}


def structures() -> dict[str, dict[str, Any]]:
    """The catalogue's structures by id, in its order."""
    return _rows("structures", rules.spelling_here())


def quantities() -> dict[str, dict[str, Any]]:
    """The catalogue's quantities by id, in its order."""
    return _rows("quantities", rules.spelling_here())


@cache
def _rows(of: str, spelling: str) -> dict[str, dict[str, Any]]:
    """By id; kept for each spelling, because a word may differ."""
    return {row["id"]: row for row in rules.worded()["catalogue"][of]}


def parts() -> dict[str, str]:
    """{id: words} of every structure and part, in the catalogue's order."""
    named = {}
    for name, row in structures().items():
        named[name] = str(row["label"])
        named |= {f"{name}.{part['id']}": label(f"{name}.{part['id']}") for part in row["parts"]}
    return named


def planes() -> dict[str, str]:
    """{id: words} of the planes."""
    return {name: plain(name) for name in rules.tables()["catalogue"]["reading_context"]["plane"]}


def probability() -> dict[str, Any]:
    """The six words of probability for an impression, what stands beside them, what they mean, and their source."""
    table = rules.worded()["descriptors"]["probability"]
    cited = f"{wording.source_words(table['source'])}, {wording.known_words(table)}"
    return {name: table[name] for name in ("words", "beside", "means")} | {"cited": cited}


def reason(why: object) -> str:
    """Why something was not seen: the closed list in the practice's spelling, own words as they were typed."""
    text = str(why)
    return rules.say(text) if text in rules.tables()["catalogue"]["not_seen_reasons"] else plain(text)


def label(about: object) -> str:
    """Words for a structure, part, quantity or field; an id nobody knows stays as it is."""
    name = str(about)
    known = quantities().get(name) or structures().get(name)
    if known:
        return str(known["label"])
    if name.startswith("seen:"):
        return f"{label(name[5:])}: seen or not"
    if name in FIELDS:
        return FIELDS[name]
    structure, _, part = name.rpartition(".")
    if structure in structures():
        return f"{label(structure)}, {part_label(structure, part)}"
    return {"exam": "The exam", "question": "The question"}.get(name, name)


def part_label(structure: str, part: object) -> str:
    """Words for a part of a structure, without the structure."""
    rows = structures()[structure]["parts"] if structure in structures() else []
    return next((str(row["label"]) for row in rows if row["id"] == part), plain(part))


def plain(word: object) -> str:
    """A coded word as words: "long_axis" is "long axis"."""
    return str(word).replace("_", " ")


def amount(value: object, unit: object) -> str:
    """A value with its unit; ratios and scores have none."""
    return f"{value} {unit}" if unit not in (None, "1", "{score}") else str(value)


def value(given: object) -> str:
    """A recorded value as words: lists joined, yes and no said, nothing as "not recorded"."""
    if given is None or given == [] or given == "":
        return "not recorded"
    if isinstance(given, bool):
        return "yes" if given else "no"
    if isinstance(given, list):
        return ", ".join(value(item) for item in given)
    if isinstance(given, dict) and "species" in given:
        return ", ".join(str(one) for one in (given.get("name") or "no name", animal(given)))
    if isinstance(given, dict):
        return "; ".join(f"{plain(key)}: {value(item)}" for key, item in given.items() if item not in (None, "", []))
    return plain(given) if isinstance(given, str) and given.islower() else str(given)


def day(text: object) -> str:
    """ "2026-11-24..." as "24 Nov 2026"; anything else as it stands."""
    return dates.day(text, dates.SHORT)


def dated(text: object) -> str:
    """Words of the rules, each day in them written as people write it; never for what a person typed."""
    return re.sub(r"\b\d{4}-\d{2}-\d{2}\b", lambda found: day(found[0]), str(text))


def moment(text: object) -> str:
    """ "2026-11-24T10:41:03+01:00" as "24 Nov 2026 10:41", in the writer's own time."""
    words = str(text or "")
    return f"{day(words)} {words[11:16]}" if words[10:11] == "T" else day(words)


def who(row: dict[str, Any]) -> str:
    """Who recorded something, and for whom."""
    return f"{row.get('author')} for {row['behalf']}" if row.get("behalf") else str(row.get("author"))


def animal(patient: dict[str, Any]) -> str:
    """One line about the animal, without its name."""
    facts = [patient.get("species"), patient.get("breed"), _sex(patient), _age(patient.get("age_months"))]
    if patient.get("weight_kg"):
        source = f" ({dated(patient['weight_source'])})" if patient.get("weight_source") else ""
        facts.append(typed.weight_words(patient) + source)
    else:
        facts.append("weight unknown")
    if patient.get("ideal_weight_kg"):
        facts.append(f"ideal weight {typed.kilograms(patient['ideal_weight_kg'])} kg")
    if patient.get("body_condition"):
        facts.append(f"body condition {patient['body_condition']} of 9")
    return " · ".join(str(fact) for fact in facts if fact)


def _sex(patient: dict[str, Any]) -> str:
    neutered = patient.get("neutered")
    suffix = "" if neutered is None else " neutered" if neutered else f" {rules.say('entire')}"
    return f"{patient['sex']}{suffix}" if patient.get("sex") else "sex not recorded"


def _age(months: object) -> str:
    if not isinstance(months, int):
        return "age not recorded"
    years, rest = divmod(months, 12)
    return f"{years} y {rest} m" if years else f"{rest} m"
