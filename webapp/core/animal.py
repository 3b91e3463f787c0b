"""What the rules need to know of the animal on the table, taken from the exam once."""

from . import decimals
from .catalogue import Catalogue
from .errors import CoreError


def of_exam(exam: dict, catalogue: Catalogue, thresholds: dict) -> dict:
    """{"species", "breed", "sex", "neutered", "age", "age_known", "young", "weight", "ideal_weight", ...}.

    Weights are rationals in kg or None; `age` is in months, just adult where it is not known; `odd_weight` is the
    typed weight that is not believed without a question (it then counts as unknown).
    """
    patient, context = exam["patient"], exam["context"]
    adult = thresholds["adult_months"]
    age = patient.get("age_months")
    if age is None:
        age = months_between(patient.get("birth_date"), exam.get("date"))
    known = age is not None
    weight = _weight(patient.get("weight_kg"))
    odd = weight is not None and not _believable(weight, patient.get("species"), catalogue)
    filling = context.get("bladder_filling")
    return {
        "species": patient.get("species"),
        "breed": _breed(patient.get("breed")),
        "sex": patient.get("sex"),
        "neutered": patient.get("neutered"),
        "age": age if known else adult,
        "age_known": known,
        "young": known and age < adult,
        "weight": None if odd else weight,
        "odd_weight": patient.get("weight_kg") if odd else None,
        "ideal_weight": _weight(patient.get("ideal_weight_kg")),
        "body_condition": patient.get("body_condition"),
        "signs": context.get("signs") or [],
        "fasted": context.get("fasted"),
        "bladder_filling": filling if isinstance(filling, str) else None,
    }


def months_between(birth: object, day: object) -> int | None:
    """Whole months from one ISO date to another; None where either is missing or not a date."""
    first, last = _date(birth), _date(day)
    if first is None or last is None:
        return None
    months = (last[0] - first[0]) * 12 + last[1] - first[1] - (1 if last[2] < first[2] else 0)
    return months if months >= 0 else None


def _date(text: object) -> list | None:
    """[year, month, day] of "2026-11-24"."""
    pieces = text[:10].split("-") if isinstance(text, str) else []
    if len(pieces) != 3:
        return None
    try:
        numbers = [decimals.parse(piece)[0] for piece in pieces]
    except CoreError:
        return None
    return numbers if 1 <= numbers[1] <= 12 and 1 <= numbers[2] <= 31 else None


def _breed(text: object) -> str | None:
    """The breed name in lower case, spaces folded; a cross stays a name of its own."""
    return " ".join(text.lower().split()) if isinstance(text, str) else None


def _weight(text: object) -> tuple[int, int] | None:
    if text is None:
        return None
    try:
        weight = decimals.parse(text)
    except CoreError:
        return None
    return weight if weight[0] > 0 else None


def _believable(weight: tuple[int, int], species: str, catalogue: Catalogue) -> bool:
    window = catalogue.weight_plausible.get(species)
    if not window:
        return True
    return (
        decimals.compare(weight, decimals.parse(window["from"])) >= 0
        and decimals.compare(weight, decimals.parse(window["to"])) <= 0
    )
