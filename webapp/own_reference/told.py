"""What a group of healthy animals says: of the register's rows for the same animals, and of limits of their own."""

from collections.abc import Sequence
from functools import cache
from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.core import animal as animals
from webapp.core import decimals, register, wording
from webapp.core import limits as limit_rules
from webapp.core.catalogue import Catalogue
from webapp.own_reference.group import Value, Wanted
from webapp.review import words
from webapp.store import overlays

Json = dict[str, Any]

CHECKED = ("limit", "on_indication", "reference", "off")
# A range from cut-offs or of ill animals is nothing that 95 of 100 healthy ones lie in.
TESTS = {"tukey": "Tukey's fences", "dixon": "Dixon's ratio"}
SIDES = ("lower", "upper")


def counted(values: Sequence[Value]) -> list[Value]:
    """Those that count, in the order in which the animals were taken."""
    return [value for value in values if not value.unused]


def own(values: Sequence[Value]) -> Json:
    """{"n", "words", "interval" or None, "fences" or None, "outliers" {exam: [tests]}} of the counted values."""
    used = counted(values)
    made = rules.call({"do": "reference", "values": [value.value for value in used], "bounds": None})
    outliers: dict[str, list[str]] = {}
    if made["outliers"]:
        for value in used:
            exact = decimals.exact(decimals.parse(value.value))
            tests = [name for test, name in TESTS.items() if exact in made["outliers"][test]]
            if tests:
                outliers[value.exam] = tests
    fences = {side: made["outliers"][side] for side in ("low", "high")} if made["outliers"] else None
    return {
        "n": made["n"], "words": made["words"], "interval": made["interval"], "fences": fences, "outliers": outliers
    }


def published(db: Database, wanted: Wanted, values: Sequence[Value]) -> list[Json]:
    """The register's rows with a bound for these animals, each with what its own part of the animals says of it:
    {"row", "bounds", "animals", "source", "n", "verified", "why_not"}. A row is checked on the animals it speaks of."""
    overlay = overlays.in_force(db)
    limits = rules.limits_in_force(overlay)
    used = counted(values)
    made = []
    for row in limits.rows(wanted.species, wanted.quantity):
        if row["use"] not in CHECKED or not (row.get("lower") or row.get("upper")) or not _same_class(row, wanted):
            continue
        why_not = _not_checked(row, wanted)
        fitting = [value for value in used if _speaks_of(row, value)]
        verified = None
        if not why_not:
            asked = {"do": "reference", "values": [value.value for value in fitting], "bounds": _bounds(row)}
            verified = rules.call(asked)["verified"]
        made.append({
            "row": row,
            "bounds": register.bound_words(row),
            "animals": _animals(row),
            "source": wording.source_words(limits.sources[row["source"]]),
            "use": register.use_words(row),
            "n": len(fitting),
            "verified": verified,
            "why_not": why_not,
        })
    return made


def _bounds(row: Json) -> list[str | None]:
    return [row.get("lower"), row.get("upper")]


def _animals(row: Json) -> str:
    """The animals that the row speaks of."""
    said = [wording.class_words(row)]
    said += [rules.say(register.SEXES[row[name]]) for name in ("sex", "neutered") if row[name] != "any"]
    return ", ".join(said)


def _same_class(row: Json, wanted: Wanted) -> bool:
    """A row of a weight class is checked on that class, one without on all weights."""
    if not row.get("weight_kg") or wanted.weights is None:
        return not row.get("weight_kg") and wanted.weights is None
    is_so = (row["weight_kg"], row.get("weight_is") or "body weight")
    return is_so == (wanted.weights["weight_kg"], wanted.weights["weight_is"])


def _not_checked(row: Json, wanted: Wanted) -> str:
    """Why this row cannot be checked on healthy animals, or ""."""
    plane = words.quantities()[wanted.quantity]["plane"]
    if not limit_rules.plane_fits(row, plane):
        return "another plane"
    if any(row.get(f"{side}_is_within") is False for side in SIDES):
        return "the bound itself is beyond"
    needs = row.get("applies_when") or {}
    if row["use"] == "on_indication" or needs:
        return "holds only where its setting is given"
    if row["known"] in limit_rules.OWN:
        return "the practice's own row"
    return ""


@cache
def _catalogue() -> Catalogue:
    return Catalogue(rules.tables()["catalogue"])


def _speaks_of(row: Json, value: Value) -> bool:
    """Whether the row's breed, sex and age are this animal's."""
    exam = {"patient": value.facts["patient"], "context": {}, "date": value.date}
    animal = animals.of_exam(exam, _catalogue(), rules.tables()["thresholds"])
    if row.get("breed") and not limit_rules.breed_is(row, animal):
        return False
    return bool(limit_rules.sex_fits(row, animal) and limit_rules.age_fits(row, animal))


def shown(text: str, quantity: str) -> str:
    """A value rounded half up to the quantity's decimals, with its unit."""
    return words.amount(rounded(text, quantity), words.quantities()[quantity]["unit"])


def rounded(text: str, quantity: str) -> str:
    """The same without the unit."""
    return str(decimals.show(decimals.parse(text), words.quantities()[quantity]["decimals"]))
