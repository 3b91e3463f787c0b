"""One exam that two people opened, each on a phone of their own: what they say differently is shown as a fork.

Two phones without network begin the exam of one planned visit under one id, made from the visit's. What only one
of them says stands; what they say differently stands for neither, until somebody sets it: a weight that nobody agreed
on judges nothing.
"""

from . import entries as entry_rules

GROUPS = (
    ("patient", entry_rules.PATIENT_FIELDS),
    ("context", entry_rules.CONTEXT_FIELDS),
    ("question", entry_rules.QUESTION_FIELDS),
)
# They say how a weight was typed, and follow it.
OF_A_WEIGHT = ("weight_typed", "weight_typed_unit", "weight_source")


def forks(exam: dict, first: dict, others: list, is_set: dict, moved: bool) -> list:
    """Bring what the other opening entries say into the exam; the forks, as the exam lists them.

    `is_set` tells of each slot whether somebody set it since: those stand. A moved exam has the right animal's own
    facts.
    """
    made: list = []
    for group, names in GROUPS:
        if moved and group == "patient":
            continue
        for name in names:
            slot = group + "." + name
            if is_set.get(slot) or name in OF_A_WEIGHT:
                continue
            values = _said(first, others, group, name)
            if not values:
                continue
            forked = len(values) > 1
            exam[group][name] = None if forked else values[0]["value"]
            if name == "weight_kg":
                for beside in OF_A_WEIGHT:
                    exam[group][beside] = None if forked else values[0][beside]
            if forked:
                shown = ("id", "value", "author", "at")
                rows = [{key: row[key] for key in shown} for row in values]
                made.append({"slot": slot, "values": rows})
    return made


def _said(first: dict, others: list, group: str, name: str) -> list:
    """The different things that the opening entries say, each once, the first one's before the others'."""
    found: list = []
    for entry in [first] + others:
        told = entry["body"].get(group) or {}
        value = told.get(name)
        if value is None or value in [row["value"] for row in found]:
            continue
        row = {"id": entry["id"], "value": value, "author": entry["author"], "at": entry["at"]}
        for beside in OF_A_WEIGHT:
            row[beside] = told.get(beside)
        found.append(row)
    return found
