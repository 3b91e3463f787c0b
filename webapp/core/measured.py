"""What one exam measured, each quantity as one value: for whoever looks over many exams (own reference, learning)."""

from . import animal as animals
from . import decimals, judgement
from .tables import Tables

# A mean of three readings has no last digit; so many tell it apart from every limit that is printed.
PLACES = 6


def of_exam(exam: dict, tables: Tables) -> dict:
    """{"date", "started_at", "purpose", "patient_id", "patient" {facts}, "age_months" or None, "weight_kg",
    "ideal_weight_kg" decimal text or None, "values" {quantity: {"value", "n" or None, "plane", "unused"}}}.

    `value` is the mean to six decimals. `unused` says why a value tells no size: "partly" (not seen whole),
    "not_believed", "at_least" (more may be hidden), or None. A weight that is not believed is None.
    """
    animal = animals.of_exam(exam, tables.catalogue, tables.thresholds)
    return {
        "date": exam["date"],
        "started_at": exam["started_at"],
        "purpose": exam["purpose"],
        "patient_id": exam["patient_id"],
        "patient": exam["patient"],
        "age_months": animal["age"] if animal["age_known"] else None,
        "weight_kg": _text(animal["weight"]),
        "ideal_weight_kg": _text(animal["ideal_weight"]),
        "values": _values(judgement.summary(exam, tables)["values"]),
    }


def _text(number: tuple[int, int] | None) -> str | None:
    return decimals.exact(number) if number is not None else None


def _values(found: dict) -> dict:
    made = {}
    for name in found:
        value = found[name]
        made[name] = {
            "value": decimals.show(value["mean"], PLACES),
            "n": value["n"],
            "plane": value["plane"],
            "unused": _unused(value),
        }
    return made


def _unused(value: dict) -> str | None:
    if value["view"] != "whole":
        return "partly"
    if not value["believable"]:
        return "not_believed"
    return "at_least" if value.get("at_least") else None
