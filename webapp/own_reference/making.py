"""Limits of the practice's own healthy animals as a row of the register. Only an admin's act makes it one."""

import hashlib
import json
from collections import Counter
from collections.abc import Sequence
from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.core.limits import OWN_DATA
from webapp.own_reference import told
from webapp.own_reference.group import Value, Wanted
from webapp.register import changes
from webapp.review import words
from webapp.store import overlays, people

Json = dict[str, Any]

ANIMALS = {"dog": "dogs", "cat": "cats"}
SEXES = (("female", "female"), ("male", "male"))
MOST_BREEDS = 6


def basis(values: Sequence[Value]) -> str:
    """What a row is made from, as one text: an admin makes a row of what the page showed, or of nothing."""
    used = [[value.exam, value.value] for value in told.counted(values)]
    return hashlib.sha256(json.dumps(used).encode()).hexdigest()


def record(db: Database, wanted: Wanted, values: Sequence[Value], use: str, author: str, seen: str) -> str:
    """Put the group's own limits into the practice's rows, in place of an earlier row of own data for the same animals;
    the new version of the limits. Raises changes.Refused, changes.Meanwhile."""
    row = own_row(db, wanted, values, use)
    if row is None:
        raise changes.Refused("there are too few animals for limits of their own.")
    overlay = changes.now(overlays.newest(db))
    for old in overlay["rows"]:
        if _same(old, row):
            overlay = changes.without_row(overlay, old["id"])
    return changes.record(db, changes.with_row(overlay, row), author, seen)


def _same(old: Json, row: Json) -> bool:
    named = ("quantity", "species", "weight_kg", "weight_is", "known")
    return all(old.get(name) == row[name] for name in named)


def own_row(db: Database, wanted: Wanted, values: Sequence[Value], use: str) -> Json | None:
    """The row as the rules take it, or None while there are too few animals."""
    used = told.counted(values)
    made = told.own(values)
    if made["interval"] is None:
        return None
    quantity = words.quantities()[wanted.quantity]
    adult = rules.tables()["thresholds"]["adult_months"]
    return {
        "quantity": wanted.quantity,
        "species": wanted.species,
        "breed": None,
        "sex": "any",
        "neutered": "any",
        "weight_kg": wanted.weights["weight_kg"] if wanted.weights else None,
        "weight_is": wanted.weights["weight_is"] if wanted.weights else "body weight",
        "age_months": {"min": adult, "max": None},
        "lower": told.rounded(made["interval"]["lower"], wanted.quantity),
        "upper": told.rounded(made["interval"]["upper"], wanted.quantity),
        "unit": quantity["unit"],
        "plane": quantity["plane"] or "unspecified",
        "use": use,
        "known": OWN_DATA,
        "population": f"healthy {ANIMALS[wanted.species]} of this practice from {adult} months on: {composition(used)}",
        "n": made["n"],
        "statistic": method(),
        "source": source(db, used),
        "note": note(wanted, values, made["interval"]),
    }


def method() -> str:
    """How the limits were made, in words."""
    rule = rules.tables()["thresholds"]["own_reference"]
    return f"own limits by ranks p(n + 1), the middle {float(rule['share']) * 100:g} of 100 (CLSI EP28-A3c)"


def composition(used: Sequence[Value]) -> str:
    """Sexes and the most frequent breeds."""
    sexes = Counter(value.facts["patient"].get("sex") for value in used)
    said = [f"{sexes[name]} {label}" for name, label in SEXES if sexes[name]]
    unknown = len(used) - sum(sexes[name] for name, _ in SEXES)
    said += [f"{unknown} of sex not recorded"] if unknown else []
    breeds = Counter(str(value.facts["patient"].get("breed") or "breed not recorded") for value in used)
    most = sorted(breeds.items(), key=lambda item: (-item[1], item[0]))
    said.append(", ".join(f"{count} {name}" for name, count in most[:MOST_BREEDS]))
    rest = sum(count for _, count in most[MOST_BREEDS:])
    if rest:
        said.append(f"{rest} of {len(most) - MOST_BREEDS} other breeds")
    return "; ".join(said)


def source(db: Database, used: Sequence[Value]) -> str:
    """Own data, from when to when, marked by whom."""
    names = {person["id"]: person["name"] for person in people.everyone(db)}
    dates = sorted(value.date for value in used)
    by = sorted({names.get(value.mark.author, value.mark.author) for value in used})
    return f"own data, exams {words.day(dates[0])} to {words.day(dates[-1])}, marked as healthy by {', '.join(by)}"


def note(wanted: Wanted, values: Sequence[Value], interval: Json) -> str:
    """The intervals of both limits, and every value that a person left out."""
    unit = words.quantities()[wanted.quantity]["unit"]
    said = []
    for side in ("lower", "upper"):
        first, last = (told.rounded(edge, wanted.quantity) for edge in interval[f"{side}_between"])
        said.append(f"{side} limit {words.amount(f'{first} to {last}', unit)}")
    share = float(rules.tables()["thresholds"]["own_reference"]["confidence"]) * 100
    text = f"{share:g} % intervals: {', '.join(said)}. First healthy exam of each animal."
    out = [value for value in values if value.unused == "left_out"]
    for value in out:
        text += f" Left out: {told.shown(value.value, wanted.quantity)} ({value.said[0].value.get('why')})."
    return text[:1000]
