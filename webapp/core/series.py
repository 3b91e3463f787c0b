"""The values of one animal's exams, exam after exam, each with its uncertainty and the limits that held for it.

For showing a course over time: nothing is judged, and no exam is compared with another (change.py does that).
"""

from . import decimals, judgement, spread, verdicts, wording
from . import limits as limit_rules
from . import values as value_rules
from .tables import Tables
from .verdicts import Judge

SHOWN = ("limit", "on_indication", "alert", "criterion", "reference", "unverified")


def of_exams(exams: list, tables: Tables, learned: dict | None = None) -> list:
    """[{"quantity", "lesion", "unit", "points": [point]}] in the catalogue's order, for exams in order of time.

    A point is {"exam", "date", "value", "n", "readings", "set_aside", "uncertainty" (twice the standard one, in the
    value's unit; None: not known), "plane", "view", "at_least", "limits"}; numbers are decimal text.
    """
    found: dict = {}
    lesions: dict = {}
    for exam in exams:
        summed = judgement.summary(exam, tables)
        judging = Judge(_asked(exam), summed["animal"], tables, learned)
        for name in summed["values"]:
            found.setdefault(name, []).append(_point(exam, summed["values"][name], judging, True))
        for value in value_rules.lesions(exam["readings"], exam, tables.catalogue):
            key = value["id"] + "|" + str(value["lesion"])
            if key not in found:
                lesions.setdefault(value["id"], []).append(key)
            found.setdefault(key, []).append(_point(exam, value, judging, False))
    made = []
    for quantity in tables.catalogue.quantities:
        for key in [quantity["id"]] + lesions.get(quantity["id"], []):
            if key in found:
                lesion = key.partition("|")[2] or None
                unit = quantity["unit"]
                made.append({"quantity": quantity["id"], "lesion": lesion, "unit": unit, "points": found[key]})
    return made


def _asked(exam: dict) -> dict:
    """What a Judge looks at here: whose readings they are."""
    return {"author": exam.get("behalf") or exam.get("author"), "states": exam["states"]}


def _point(exam: dict, value: dict, judging: Judge, with_limits: bool) -> dict:
    name = value["id"]
    places = judging.catalogue.quantity(name)["decimals"]
    return {
        "exam": exam["id"],
        "date": exam["date"],
        "value": judging.show(value["mean"], name),
        "n": value["n"],
        "readings": [_as_read(number, places) for number in value["numbers"]],
        "set_aside": [row["value"] for row in value["set_aside"]],
        "uncertainty": _uncertainty(judging, value, places),
        "plane": value["plane"],
        "view": value["view"],
        "at_least": bool(value.get("at_least")),
        "limits": _limits(judging, value) if with_limits else [],
    }


def _as_read(number: tuple[int, int], places: int) -> str:
    """A reading with the quantity's decimals, or with more where it was typed so: it is never rounded."""
    shown = decimals.show(number, places)
    return shown if decimals.compare(decimals.parse(shown), number) == 0 else decimals.exact(number)


def _uncertainty(judging: Judge, value: dict, places: int) -> str | None:
    name = value["id"]
    learned = judging.learned_of(value["inputs"][0] if value["inputs"] else name)
    squared = spread.uncertainty_squared(value, judging.unit(name), judging.thresholds, learned)
    return None if squared is None else decimals.root(decimals.mul((4, 1), squared), places + 1)


def _limits(judging: Judge, value: dict) -> list:
    """The rows that hold for this animal, and which of them judges; sides that are not judged are left out."""
    rows, made = judging.rows(value["id"]), []
    sides = verdicts.sides(judging, value["id"])
    chosen = []
    for side in sides:
        row = limit_rules.choose(rows, side, judging.animal, value["plane"])["row"]
        if row:
            chosen.append(row["id"])
    for row in rows:
        bounds = [side for side in sides if row["_" + side] is not None]
        if row["use"] not in SHOWN or not bounds or not _holds(judging, row, value["plane"]):
            continue
        made.append(
            {
                "id": row["id"],
                "use": row["use"],
                "lower": row.get("lower") if "lower" in bounds else None,
                "upper": row.get("upper") if "upper" in bounds else None,
                "judges": row["id"] in chosen or row["use"] == "alert",
                "known": row["known"],
                "words": wording.class_words(row),
                "source": judging.source_of(row["id"]),
            }
        )
    return made


def _holds(judging: Judge, row: dict, plane: str | None) -> bool:
    if not limit_rules.plane_fits(row, plane):
        return False
    if row["use"] == "alert":  # needs no weight and no age (verdicts.alerts)
        return True
    animal = judging.animal
    if row.get("breed") and not limit_rules.breed_is(row, animal):
        return False
    return (
        limit_rules.sex_fits(row, animal)
        and limit_rules.age_fits(row, animal)
        and limit_rules.weight_fits(row, animal)
        and not limit_rules.unmet(row, animal)
    )
