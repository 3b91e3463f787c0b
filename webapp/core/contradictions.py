"""Records that do not fit together, asked about before signing; nothing is changed and nothing is refused.

Each is {"about", "kind", "text"}. Kinds: normal_with_finding, normal_not_seen, normal_beyond, removed_described,
other_sex, opposites, side_differs, lost_no.
"""

from . import catalogue as catalogue_rules
from .catalogue import Catalogue
from .verdicts import Judge

HIDDEN = ("partly", "not_seen", "not_examined")
NO_WORDS = ("no", "not", "none", "without", "nil", "neither", "never")


def of_unit(structures: list, exam: dict, judge: Judge) -> list:
    """Contradictions within the records of each structure of a unit."""
    found: list = []
    for structure in structures:
        rows = _Records(structure["id"], exam)
        for state in rows.states:
            if state["normal"]:
                found = found + _normal(structure, state, rows, judge)
            if state["seen"] == "removed" and state["part"] is None and rows.described():
                found.append(
                    _made(structure["id"], "removed_described", structure["label"] + ": removed, yet described")
                )
        found = found + _opposites(structure, exam, judge)
        absent = catalogue_rules.presence(structure, exam["patient"]) == "absent"
        if absent and exam["patient"].get("sex") and rows.described():
            words = structure["label"] + ": described in a " + exam["patient"]["sex"] + " animal"
            found.append(_made(structure["id"], "other_sex", words))
    return found


class _Records:
    """What stands in the exam of one structure."""

    def __init__(self, name: str, exam: dict):
        self.states = [row for row in exam["states"] if row["structure"] == name]
        self.findings = [
            row
            for row in exam["findings"]
            if row["structure"] == name and not row.get("struck") and row["finding"] != "none"
        ]
        self.readings = [
            row for row in exam["readings"] if not row.get("struck") and row["quantity"][: len(name) + 1] == name + "."
        ]

    def described(self) -> bool:
        return bool(self.findings or self.readings) or any([row["seen"] == "whole" for row in self.states])


def _normal(structure: dict, state: dict, rows: _Records, judge: Judge) -> list:
    """A part or structure said to be normal, against findings, hidden parts and values beyond a limit."""
    label = judge.catalogue.label(state["about"])
    made = []
    for finding in rows.findings:
        if state["part"] is None or finding.get("part") in (None, state["part"]):
            words = label + ": normal, and a finding: " + finding["finding"].replace("_", " ")
            made.append(_made(state["about"], "normal_with_finding", words))
    for other in rows.states:
        if state["part"] is None and other["part"] is not None and other["seen"] in HIDDEN:
            words = (
                label + ": normal, and " + judge.catalogue.label(other["about"]) + " " + other["seen"].replace("_", " ")
            )
            made.append(_made(state["about"], "normal_not_seen", words))
    for flag in judge.flags:
        if (
            flag["grade"] == "outside"
            and flag["structure"] == structure["id"]
            and state["part"] in (None, flag["part"])
        ):
            made.append(_made(state["about"], "normal_beyond", label + ": normal, and " + flag["text"]))
    return made


def _opposites(structure: dict, exam: dict, judge: Judge) -> list:
    """Two words of one list of descriptors that cannot both be meant; each list is answered by itself."""
    words = judge.tables.descriptors
    kind = words["classes"].get(structure["id"]) or structure["id"].split(".")[0]
    made = []
    for name, one, other in words["opposites"].get(kind) or []:
        about = structure["id"] + "." + name
        said = exam["fields"].get(about)
        if isinstance(said, list) and one in said and other in said:
            group = [row["label"] for row in words["organs"].get(kind) or [] if row["id"] == name]
            title = group[0] if group else name.replace("_", " ")
            made.append(_made(about, "opposites", structure["label"] + ", " + title + ": " + one + ", and " + other))
    return made


def of_words(exam: dict, flags: list, catalogue: Catalogue) -> list:
    """Contradictions between the words of the impression and the records: the side, and a lost "no"."""
    text = exam["fields"].get("impression")
    if not isinstance(text, str):
        return []
    sentences = [_words(piece) for piece in _sentences(text)]
    return _sides(sentences, exam, flags, catalogue) + _lost_no(sentences, exam, catalogue)


def _sentences(text: str) -> list:
    for mark in (";", "!", "?", "\n"):
        text = text.replace(mark, ".")
    return [piece for piece in text.split(".") if piece.strip()]


def _words(sentence: str) -> list:
    for mark in (",", ":", "(", ")", '"', "/", "-"):
        sentence = sentence.replace(mark, " ")
    return sentence.lower().split()


def _sides(sentences: list, exam: dict, flags: list, catalogue: Catalogue) -> list:
    """Paired organs of which the impression names one side only, while the findings are of the other side only."""
    made = []
    for structure in catalogue.structures:
        if not structure["pair"]:
            continue
        stem, _, side = structure["id"].partition(".")
        named = {"left": False, "right": False}
        for words in sentences:
            for near in _sides_near(words, stem):
                named[near] = True
        other_side = "right" if side == "left" else "left"
        only_other = not _spoken(structure["id"], exam, flags) and _spoken(structure["pair"], exam, flags)
        if named[side] and not named[other_side] and only_other:
            other = catalogue.label(structure["pair"])
            text = "the impression names the " + structure["label"] + "; the findings are of the " + other
            made.append(_made(structure["id"], "side_differs", text))
    return made


def _sides_near(words: list, stem: str) -> list:
    """The sides that stand up to three words before or four after the organ (or "gland", for the adrenal glands)."""
    sides = []
    for place, word in enumerate(words):
        if word[: len(stem)] == stem or (stem == "adrenal" and word in ("gland", "glands")):
            sides += [near for near in words[max(0, place - 3) : place + 5] if near in ("left", "right")]
    return sides


def _spoken(name: str, exam: dict, flags: list) -> bool:
    finding = any(
        [row["structure"] == name and not row.get("struck") and row["finding"] != "none" for row in exam["findings"]]
    )
    return finding or any([flag["structure"] == name and flag["grade"] != "note" for flag in flags])


def _lost_no(sentences: list, exam: dict, catalogue: Catalogue) -> list:
    """A structure recorded as "none" that the impression names in a sentence without any "no"."""
    made = []
    for row in exam["findings"]:
        if row["finding"] != "none" or row.get("struck") or row.get("part"):
            continue
        label = catalogue.label(row["structure"])
        name = label.lower().split()
        for words in sentences:
            spared = any([word in NO_WORDS for word in words])
            if not spared and any([words[place : place + len(name)] == name for place in range(len(words))]):
                text = label + ": recorded as none; was a no lost in the impression?"
                made.append(_made(row["structure"], "lost_no", text))
    return made


def _made(about: str, kind: str, text: str) -> dict:
    return {"about": about, "kind": kind, "text": text}
