"""The judgement of one exam: flags, lines within, silences, values and what is still open (README, "assess")."""

from . import animal as animals
from . import change
from . import checks
from . import gland
from . import open_items
from . import relations
from . import values
from . import verdicts

OF_THE_GLAND = ("caudal_pole_thickness", "cranial_pole_thickness", "maximum_thickness")


class Tables:
    """The tables that every judgement goes by, indexed once."""

    def __init__(self, catalogue, limits, thresholds, descriptors):
        self.catalogue = catalogue
        self.limits = limits
        self.thresholds = thresholds
        self.descriptors = descriptors


def judge(exam, earlier, tables):
    """The output object of README's "assess", for an exam dict and earlier exams as made by `summary`, latest first."""
    animal = animals.of_exam(exam, tables.catalogue, tables.thresholds)
    judging = verdicts.Judge(exam, animal, tables)
    found, order = values.of_exam(exam, tables.catalogue)
    checks.look_again(judging, found, order)
    values.derive(found, tables.catalogue, exam)
    glands = gland.judge_glands(judging, found)
    _others(judging, found)
    relations.relate(judging, glands)
    relations.class_notes(judging, found, earlier)
    order = values.in_order(found, tables.catalogue)
    beside = change.compare(judging, found, order, earlier)
    return {"limits_version": tables.limits.version, "flags": judging.flags, "judged": judging.judged,
            "silent": judging.silent, "assumed": judging.assumed,
            "open": open_items.still_open(exam, found, tables.catalogue, _open_line(judging)),
            "values": [_shown(judging, found[name], beside.get(name)) for name in order]
            + [_shown(judging, value, None) for value in values.lesions(exam, tables.catalogue)]}


def summary(exam, tables):
    """What later exams compare with: {"id", "date", "animal", "values" {id: value}, "order"}."""
    found, _ = values.of_exam(exam, tables.catalogue)
    values.derive(found, tables.catalogue, exam)
    animal = animals.of_exam(exam, tables.catalogue, tables.thresholds)
    judging = verdicts.Judge(exam, animal, tables)
    checks.look_again(judging, found, values.in_order(found, tables.catalogue))
    gland.judge_glands(judging, found)
    return {"id": exam["id"], "date": exam["date"], "animal": animal, "values": found,
            "order": values.in_order(found, tables.catalogue)}


def _others(judging, found):
    """Everything but the poles and the greatest thickness of the adrenal glands, which gland.py judges."""
    for name in values.in_order(found, judging.catalogue):
        value = found[name]
        if name[:8] == "adrenal." and name.split(".")[-1] in OF_THE_GLAND:
            continue
        if value["believable"]:
            verdicts.judge_value(judging, value)


def _open_line(judging):
    def line(about, kind, text):
        known = judging.catalogue.has_quantity(about)
        quantity = judging.catalogue.quantity(about) if known else None
        if known:
            structure, part = quantity["structure"], quantity["part"]
        elif about in ("question", "patient.sex"):
            structure, part = None, None
        else:
            structure, part = judging.catalogue.place(about)
        return {"about": about, "kind": kind, "text": text, "structure": structure, "part": part}
    return line


def _shown(judging, value, beside):
    """A value as text: the mean rounded half up to the quantity's decimals, every reading kept beside it."""
    name = value["id"]
    made = {"quantity": name, "value": judging.show(value["mean"], name), "unit": judging.unit(name), "n": value["n"],
            "spread": judging.show(value["spread"], name) if value["spread"] is not None else None,
            "view": value["view"], "derived": value["derived"], "inputs": value["inputs"],
            "at_least": value.get("at_least", False), "earlier": beside}
    if "lesion" in value:
        made["lesion"] = value["lesion"]
    return made
