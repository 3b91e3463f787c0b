"""What would turn a verdict round: the value, the weight class, another set. Shown on tap, never a verdict itself."""

from . import decimals, verdicts, wording
from . import limits as limit_rules
from .verdicts import Judge


def say(judge: Judge, line: dict) -> list:
    """Sentences for a line that names a limit and a value; [] for any other."""
    if not line["limit"] or line["kind"] not in ("above_limit", "below_limit", "near_limit", "within"):
        return []
    row = judge.limits.by_id[line["limit"]["id"]]
    sides = verdicts.sides(judge, line["about"])
    return _value(line, row, sides) + _weight(judge, line, row, sides) + _sets(line)


def _value(line: dict, row: dict, sides: tuple) -> list:
    """At which value the verdict changes, on the sides that judge: the limit, and whether it counts as within."""
    made = []
    for side, word in (("upper", "above"), ("lower", "below")):
        other_side = line["kind"] == ("below_limit" if side == "upper" else "above_limit")
        if side not in sides or row["_" + side] is None or other_side:
            continue
        bound = wording.amount(row[side], row["unit"])
        more = "more" if side == "upper" else "less"
        counts = row.get(side + "_is_within") is False
        made.append(word + ": " + (bound + " or " + more if counts else more + " than " + bound))
    return made


def _weight(judge: Judge, line: dict, row: dict, sides: tuple) -> list:
    """The classes of the same set in which the same value would get another verdict."""
    if not row.get("weight_kg"):
        return []
    number = decimals.parse(line["value"])
    now = limit_rules.verdict(row, number, sides)
    made = []
    for other in judge.rows(line["about"]):
        same_set = (
            other["source"] == row["source"] and other["quantity"] == row["quantity"] and other["use"] == row["use"]
        )
        if other is row or not same_set or not other.get("weight_kg"):
            continue
        verdict = limit_rules.verdict(other, number, sides)
        if verdict != now:
            bound = wording.bound_words(other, other["unit"])
            made.append("weight: " + wording.class_words(other) + ", " + bound + ": " + verdict)
    return made


def _sets(line: dict) -> list:
    beyond = line["kind"] in ("above_limit", "below_limit")
    return ["other set: " + row["words"] for row in line["also"] if (row["verdict"] in ("above", "below")) != beyond]
