"""Findings in sentences: the asked structures spelled out, the others only where there is something to say."""

from webapp.core import sentences

from . import sides, wording
from .case import Case, Json

_GAPS = ("partly", "not_seen", "not_examined")


def blocks(case: Case) -> list[Json]:
    """One line per structure with something to say; LEFT and RIGHT of the same words share it."""
    items = [
        {"label": case.label(name), "text": _sentence(case, name), "asked": name in case.asked}
        for name in _spoken(case)
    ]
    return [{"kind": "findings", "items": sides.joined(items)}] if items else []


def grouped(case: Case) -> list[Json]:
    """The other structures by what was recorded of them, each with what was noted of it: nothing typed is left out."""
    made: list[Json] = []
    for label, names in _groups(case, set(_spoken(case))):
        items = sides.joined([{"label": case.label(name), "text": _remarks(case, name)} for name in names])
        noted = [item for item in items if item["text"]]
        bare = [item["label"] for item in items if not item["text"]]
        if bare:
            noted.insert(0, {"label": wording.several(_in_a_row(bare)), "text": ""})
        made.append({"kind": "remarks", "label": label, "items": noted})
    return made


def notes(case: Case) -> list[Json]:
    """Notes on the exam as a whole, as they were typed."""
    return [
        {"kind": "fact", "label": "Note", "text": wording.sentence(str(note["text"])), "small": True}
        for note in case.live("notes")
        if _structure_of(case, note.get("about")) is None
    ]


def _spoken(case: Case) -> list[str]:
    return [name for name in case.reading_order if _stands_alone(case, name)]


def _stands_alone(case: Case, structure: str) -> bool:
    """A line of its own: asked about, a finding, a gap, or records that do not fit together."""
    told = _told(case, structure)
    state = _own_state(case, structure)
    found = any(finding["finding"] != "none" for finding in told.findings)
    unclear = state is not None and (state["seen"] in _GAPS or state.get("fork"))
    parts = [row for row in told.states if row.get("part")]
    halved = state is None and bool(parts) and not _whole_by_parts(case, structure)
    return bool(structure in case.asked or found or unclear or halved or told.gaps() or sentences.conflict(told))


def _sentence(case: Case, structure: str) -> str:
    """Everything recorded of one structure: the words that the phone showed as they were made. Windows tried for a
    gap stand with it, under what was not seen."""
    exam = case.exam
    if any(state["seen"] in _GAPS for state in _states(case, structure)):
        tried = f"{structure}.windows_tried"
        exam = exam | {"fields": {name: told for name, told in (exam.get("fields") or {}).items() if name != tried}}
    return sentences.of_structure(structure, exam, _flags(case), case.catalogue, case.tables["windows"])


def _remarks(case: Case, structure: str) -> str:
    """Descriptors and notes: "Capsule: smooth. Outline kept."."""
    return sentences.remarks(_told(case, structure), case.tables["windows"])


def _told(case: Case, structure: str) -> sentences.Told:
    return sentences.Told(structure, case.exam, _flags(case), case.catalogue)


def _flags(case: Case) -> list[Json]:
    return case.judgement.get("flags") or []


def _states(case: Case, structure: str) -> list[Json]:
    return [state for state in case.exam.get("states") or [] if state["structure"] == structure]


def _own_state(case: Case, structure: str) -> Json | None:
    return next((state for state in _states(case, structure) if not state.get("part")), None)


def _whole_by_parts(case: Case, structure: str) -> bool:
    """Whether every part has its own record of being seen and normal, so that no record on the whole is needed."""
    rows = {row["part"]: row for row in _states(case, structure) if row.get("part")}
    parts = [part["id"] for part in case.structures[structure]["parts"]]
    return bool(parts) and all(
        part in rows and rows[part]["seen"] == "whole" and rows[part].get("normal") and not rows[part].get("fork")
        for part in parts
    )


def _quantity_of(case: Case, quantity: object) -> str | None:
    return (case.quantities.get(str(quantity)) or {}).get("structure")


def _structure_of(case: Case, about: object) -> str | None:
    name = str(about or "")
    if name in case.structures:
        return name
    if name in case.quantities:
        return case.quantities[name].get("structure")
    structure = name.rpartition(".")[0]
    return structure if structure in case.structures else None


def _groups(case: Case, told: set[str]) -> list[tuple[str, list[str]]]:
    """The other structures by what was recorded of them; a value alone never makes a "normal"."""
    named = {
        "normal": "Seen and recorded as normal",
        "seen": "Seen, not recorded as normal",
        "measured": "Measured, appearance not recorded",
        "expected": "Not visible, as expected",
        "removed": "Removed",
    }
    members: dict[str, list[str]] = {name: [] for name in named}
    for structure in case.structures:
        group = "" if structure in told else _group(case, structure)
        if group:
            members[group].append(structure)
    return [(label, members[name]) for name, label in named.items() if members[name]]


def _group(case: Case, structure: str) -> str:
    state = _own_state(case, structure)
    if state is None:
        if _whole_by_parts(case, structure):
            return "normal"
        measured = any(_quantity_of(case, row["quantity"]) == structure for row in case.live("readings"))
        return "measured" if measured or _remarks(case, structure) else ""
    if state["seen"] == "whole":
        return "normal" if state.get("normal") else "seen"
    return {"not_visible_expected": "expected", "removed": "removed"}.get(state["seen"], "")


def _in_a_row(labels: list[str]) -> list[str]:
    """Labels as words of one sentence: a capital at the first, and where a side is named."""
    return [
        label if index == 0 or label[:2].isupper() else label[:1].lower() + label[1:]
        for index, label in enumerate(labels)
    ]
