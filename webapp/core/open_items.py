"""What is still open before the probe is lifted: parts nobody recorded, the other side, values, the question.

A structure recorded whole, normal or removed closes its parts, except the adrenal poles and phrenicoabdominal
veins whenever an adrenal gland is asked about or has a reading: a normal caudal pole never closes the gland.
"""

from . import catalogue as catalogue_rules
from .catalogue import Catalogue
from .verdicts import Judge

CLOSED = ("whole", "removed", "not_visible_expected", "not_examined")
NEVER_CLOSED = ("cranial_pole", "caudal_pole", "phrenicoabdominal_vein")
SEEN = ("whole", "partly")
MEASURED_ONLY = "measured; how it looked is not recorded"


class Looked:
    """What was recorded of the exam, indexed by structure and part."""

    def __init__(self, exam: dict, found: dict, catalogue: Catalogue, patient: dict) -> None:
        self.catalogue = catalogue
        self.patient = patient
        self.state = {}
        for state in exam["states"]:
            self.state[state["about"]] = state["seen"]
        self.read = {}
        self.read_parts = {}
        for name in found:
            if found[name]["derived"]:
                continue
            quantity = catalogue.quantity(name)
            if quantity["structure"]:
                self.read[quantity["structure"]] = True
                if quantity["part"]:
                    self.read_parts[quantity["structure"] + "." + quantity["part"]] = True
        self.found = {}
        self.inseparable = {}
        for finding in exam["findings"]:
            if finding.get("struck"):
                continue
            self.found[finding["structure"]] = True
            if finding.get("part"):
                self.read_parts[finding["structure"] + "." + finding["part"]] = True
            if finding["finding"] == "mass" and finding.get("shape") == "mass, poles not separable":
                self.inseparable[finding["structure"]] = True
        self.asked = exam["question"].get("structures") or []

    def touched(self, structure: dict) -> bool:
        """Whether anything at all was recorded of the structure or its parts."""
        name = structure["id"]
        if name in self.state or name in self.read or name in self.found:
            return True
        return any([name + "." + part["id"] in self.state for part in structure["parts"]])

    def is_asked(self, structure: dict) -> bool:
        name = structure["id"]
        return any([asked == name or asked[: len(name) + 1] == name + "." for asked in self.asked])


def general(exam: dict, judge: Judge) -> list:
    """Open items that belong to no structure: the animal's sex, and the question itself."""
    items = []
    if exam["question"].get("text") and not exam["question"].get("answered"):
        items.append(
            judge.open_item("question", "question_open", "the question: answered yes, partly or not possible?")
        )
    if exam["patient"].get("sex") is None:
        items.append(
            judge.open_item(
                "patient.sex", "not_recorded", "sex: not recorded, so no organ of reproduction is asked for"
            )
        )
    return items


def of_unit(structures: list, exam: dict, found: dict, judge: Judge) -> list:
    """The open items of a structure or a pair."""
    looked = Looked(exam, found, judge.catalogue, exam["patient"])
    in_question = any([asked[:7] == "adrenal" for asked in looked.asked]) or any(
        [name[:8] == "adrenal." for name in looked.read]
    )
    items = []
    for structure in structures:
        own = _of_structure(structure, looked, in_question, judge)
        own = own + _no_reading(structure, looked, found, judge) + _other_side(structure, looked, found, judge)
        if own and looked.is_asked(structure):
            own.append(
                judge.open_item(
                    structure["id"], "question_open", structure["label"] + ": asked about, and not complete"
                )
            )
        items = items + own
    return items


def _of_structure(structure: dict, looked: Looked, adrenal, judge: Judge) -> list:
    name = structure["id"]
    state = looked.state.get(name)
    if not _wanted(structure, looked):
        return []
    if state == "not_seen":
        return [judge.open_item(name, "not_seen", structure["label"] + ": not seen")] + _parts(
            structure, looked, (), judge
        )
    strict = NEVER_CLOSED if adrenal and name[:8] == "adrenal." else ()
    if state in CLOSED:
        return _parts(structure, looked, strict if state == "whole" else (), judge)
    if not structure["parts"] or not (name[:8] == "adrenal." or state == "partly" or _some_part(structure, looked)):
        if state == "partly" or (state is None and name in looked.found):
            return []
        return [_not_recorded(structure, looked, judge)]
    own = [_not_recorded(structure, looked, judge)] if state is None and _only_measured(structure, looked) else []
    return own + _parts(structure, looked, [part["id"] for part in structure["parts"]], judge)


def _not_recorded(structure: dict, looked: Looked, judge: Judge) -> dict:
    """Nobody said how the structure looked; `measured` where somebody read a value of it all the same."""
    measured = structure["id"] in looked.read
    words = MEASURED_ONLY if measured else "not recorded"
    item = judge.open_item(structure["id"], "not_recorded", structure["label"] + ": " + words)
    if measured:
        item["measured"] = True
    return item


def _only_measured(structure: dict, looked: Looked) -> bool:
    """Whether values are all that there is of the structure: no state of a part, no finding."""
    name = structure["id"]
    return name in looked.read and name not in looked.found and not _some_part(structure, looked)


def _wanted(structure: dict, looked: Looked) -> bool:
    """Default structures that this animal has; others only once touched or asked about."""
    here = catalogue_rules.presence(structure, looked.patient)
    if looked.touched(structure) or looked.is_asked(structure):
        return True
    return structure["default"] and here == "present"


def _some_part(structure: dict, looked: Looked) -> bool:
    return any([structure["id"] + "." + part["id"] in looked.state for part in structure["parts"]])


def _parts(structure: dict, looked: Looked, asked_for: tuple | list, judge: Judge) -> list:
    """Items for parts said to be not seen, and for those of `asked_for` that nobody recorded."""
    items = []
    for part in structure["parts"]:
        about = structure["id"] + "." + part["id"]
        state = looked.state.get(about)
        if state == "not_seen":
            items.append(judge.open_item(about, "not_seen", structure["label"] + ", " + part["label"] + ": not seen"))
        elif state is None and part["id"] in asked_for and about not in looked.read_parts:
            if structure["id"] in looked.inseparable and part["id"] in ("cranial_pole", "caudal_pole", "waist"):
                continue
            items.append(
                judge.open_item(about, "not_recorded", structure["label"] + ", " + part["label"] + ": not recorded")
            )
    return items


def _no_reading(structure: dict, looked: Looked, found: dict, judge: Judge) -> list:
    """Core readings that were not taken though the structure (or the pole) was seen."""
    items = []
    for quantity in looked.catalogue.quantities_of(structure["id"]):
        if not catalogue_rules.is_core(quantity, looked.patient.get("species")) or quantity["id"] in found:
            continue
        if structure["id"] in looked.inseparable or _read_as_such(quantity, found):
            continue
        about = structure["id"] + "." + str(quantity["part"])
        state = looked.state.get(about) or looked.state.get(structure["id"])
        if state in SEEN:
            items.append(judge.open_item(quantity["id"], "no_reading", quantity["label"] + ": no reading"))
    return items


def _read_as_such(quantity: dict, found: dict) -> bool:
    """The greatest thickness of a gland read as such stands for its poles' readings."""
    name = quantity["structure"] + ".maximum_thickness"
    return name in found and not found[name]["derived"]


def _other_side(structure: dict, looked: Looked, found: dict, judge: Judge) -> list:
    """What was read on one side only, the other side being neither hidden nor gone."""
    pair = structure["pair"]
    if pair is None or pair not in looked.read:
        return []
    name = structure["id"]
    if (
        looked.state.get(name) in ("not_seen", "not_examined", "removed", "not_visible_expected")
        or name in looked.inseparable
    ):
        return []
    if not looked.touched(structure):
        return [judge.open_item(name, "other_side_missing", structure["label"] + ": only the other side was read")]
    items = []
    for quantity in looked.catalogue.quantities_of(name):
        twin = pair + quantity["id"][len(name) :]
        if twin not in found or found[twin]["derived"] or quantity["id"] in found or _read_as_such(quantity, found):
            continue
        part = looked.state.get(name + "." + str(quantity["part"]))
        if part not in ("not_seen", "not_examined", "removed"):
            items.append(
                judge.open_item(
                    quantity["id"], "other_side_missing", quantity["label"] + ": read on the other side only"
                )
            )
    return items
