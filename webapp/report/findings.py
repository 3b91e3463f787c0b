"""Findings in sentences: the asked structures spelled out, the others only where there is something to say."""

from . import coverage, wording
from .case import Case, Json

_GAPS = ("partly", "not_seen", "not_examined")


def blocks(case: Case) -> list[Json]:
    """One line per structure with something to say, then the others in grouped sentences."""
    spoken = [name for name in case.reading_order if _stands_alone(case, name)]
    items = [{"label": case.label(name), "text": _sentence(case, name), "asked": name in case.asked} for name in spoken]
    made: list[Json] = [{"kind": "findings", "items": items}] if items else []
    made += [
        {"kind": "fact", "label": label, "text": wording.sentence(_list(case, names))}
        for label, names in _groups(case, set(spoken))
    ]
    return made


def remarks(case: Case) -> list[Json]:
    """Notes and descriptors of the grouped structures, and notes on the exam: nothing typed is left out."""
    spoken = {name for name in case.reading_order if _stands_alone(case, name)}
    items = [
        {"label": case.label(name), "text": words}
        for _, names in _groups(case, spoken)
        for name in names
        if (words := _remarks(case, name))
    ]
    made: list[Json] = (
        [{"kind": "remarks", "label": "Noted on the parts grouped above", "items": items}] if items else []
    )
    made += [
        {"kind": "fact", "label": "Note", "text": wording.sentence(str(note["text"])), "small": True}
        for note in case.live("notes")
        if _structure_of(case, note.get("about")) is None
    ]
    return made


def _stands_alone(case: Case, structure: str) -> bool:
    """A line of its own: asked about, a finding, a gap, or records that do not fit together."""
    state = _own_state(case, structure)
    parts = [row for row in _states(case, structure) if row.get("part")]
    found = any(finding["structure"] == structure and finding["finding"] != "none" for finding in case.live("findings"))
    unclear = state is not None and (state["seen"] in _GAPS or state.get("fork"))
    halved = state is None and bool(parts) and not _whole_by_parts(case, structure)
    return bool(
        structure in case.asked or found or unclear or halved or _gaps(case, structure) or _conflict(case, structure)
    )


def _sentence(case: Case, structure: str) -> str:
    """Everything recorded of one structure: its state, what was not seen of it, findings, descriptors, notes."""
    found = [_finding_words(case, finding) for finding in case.live("findings") if finding["structure"] == structure]
    pieces = [_state_words(case, structure), *_gaps(case, structure), *found]
    said = " ".join(wording.sentence(wording.capital(piece)) for piece in pieces if piece)
    return f"{said} {_remarks(case, structure)}".strip()


def _remarks(case: Case, structure: str) -> str:
    """Descriptors and notes: "Capsule: smooth. Outline kept."."""
    notes = [
        _note_words(case, structure, note)
        for note in case.live("notes")
        if _structure_of(case, note.get("about")) == structure
    ]
    tried = [] if _gaps(case, structure) else [coverage.windows_tried(case, structure)]
    pieces = [piece for piece in (*_descriptors(case, structure), *notes, *tried) if piece]
    return " ".join(wording.sentence(wording.capital(piece)) for piece in pieces)


def _states(case: Case, structure: str) -> list[Json]:
    return [state for state in case.exam.get("states") or [] if state["structure"] == structure]


def _own_state(case: Case, structure: str) -> Json | None:
    return next((state for state in _states(case, structure) if not state.get("part")), None)


def _gaps(case: Case, structure: str) -> list[str]:
    """Parts not fully seen, without the reasons: these stand in the section on what was not seen."""
    rows = [state for state in _states(case, structure) if state.get("part") and state["seen"] in _GAPS]
    return coverage.words(case, rows, reasons=False)


def _whole_by_parts(case: Case, structure: str) -> bool:
    """Whether every part has its own record of being seen and normal, so that no record on the whole is needed."""
    rows = {row["part"]: row for row in _states(case, structure) if row.get("part")}
    parts = [part["id"] for part in case.structures[structure]["parts"]]
    return bool(parts) and all(
        part in rows and rows[part]["seen"] == "whole" and rows[part].get("normal") and not rows[part].get("fork")
        for part in parts
    )


def _state_words(case: Case, structure: str) -> str:
    state = _own_state(case, structure)
    if state is None:
        return _words_without_state(case, structure)
    text = wording.SEEN[state["seen"]]
    if state.get("fork"):
        return text + "; entries disagree, see above"
    if state["seen"] != "whole":
        return text
    conflict = _conflict(case, structure)
    if conflict:
        return f"seen; {conflict}"
    if state.get("normal"):
        return "seen, recorded as normal"
    found = any(finding["structure"] == structure for finding in case.live("findings"))
    return "seen" if found else "seen; not recorded as normal"


def _words_without_state(case: Case, structure: str) -> str:
    seen = [row for row in _states(case, structure) if row["seen"] == "whole"]
    normal = [row for row in seen if row.get("normal") and not row.get("fork")]
    plain = [row for row in seen if row not in normal]
    said = []
    if normal:
        said.append(f"{_parts(case, structure, normal)} seen, recorded as normal")
    if plain:
        said.append(f"{_parts(case, structure, plain)} seen")
    if said:
        return "; ".join(said)
    measured = any(_quantity_of(case, row["quantity"]) == structure for row in case.live("readings"))
    if measured:
        return "measured; its appearance was not recorded"
    touched = _states(case, structure) or any(row["structure"] == structure for row in case.live("findings"))
    return "" if touched else "no entry by anybody"


def _parts(case: Case, structure: str, rows: list[Json]) -> str:
    return wording.several(case.part(structure, row["part"]) for row in rows)


def _conflict(case: Case, structure: str) -> str:
    """Why "normal" on the record is not repeated: something else on the record speaks against it."""
    state = _own_state(case, structure)
    if state is None or not state.get("normal"):
        return ""
    if state["seen"] != "whole" or _gaps(case, structure):
        return "the record also holds an entry on parts not fully seen, so no statement on the whole"
    if any(finding["structure"] == structure and finding["finding"] != "none" for finding in case.live("findings")):
        return "a finding is recorded beside it"
    beyond = [
        flag
        for flag in case.flags("above_limit", "below_limit", "alert")
        if _quantity_of(case, flag["about"]) == structure
    ]
    return (
        "recorded as normal in appearance; a measurement is beyond a published limit, see the table" if beyond else ""
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


def _finding_words(case: Case, finding: Json) -> str:
    kind = str(finding["finding"]).replace("_", " ")
    if kind == "none":
        kind = "no finding"
    pieces = [kind + (f" {finding['number']}" if finding.get("number") else "")]
    if finding.get("part"):
        pieces[0] += f" ({case.part(finding['structure'], finding['part'])})"
    if finding.get("dimensions"):
        size = " \u00d7 ".join(str(size) for size in finding["dimensions"])
        pieces.append(wording.with_unit(size, finding.get("unit")))
    pieces += [_plain(finding[name]) for name in ("site", "shape", "outline", "echo") if finding.get(name)]
    vessel = finding.get("vessel") or {}
    if vessel.get("id"):
        pieces.append(f"{case.label(vessel['id']).replace('_', ' ')}: {vessel.get('state') or 'state not recorded'}")
    text = ", ".join(pieces)
    return f"{text}: {finding['text']}" if finding.get("text") else text


def _plain(value: object) -> str:
    return wording.several(value) if isinstance(value, list) else str(value).replace("_", " ")


def _descriptors(case: Case, structure: str) -> list[str]:
    """Set fields "<structure>.<descriptor>" in words: "capsule: smooth"."""
    made = []
    for field, value in sorted((case.exam.get("fields") or {}).items()):
        owner, _, name = str(field).rpartition(".")
        if owner == structure and name != "windows_tried" and value not in (None, "", []):
            made.append(f"{name.replace('_', ' ')}: {_plain(value)}")
    return made


def _note_words(case: Case, structure: str, note: Json) -> str:
    about = str(note["about"])
    part = case.label(about).partition(", ")[2] if about != structure else ""
    return f"{part}: {note['text']}" if part else str(note["text"])


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


def _list(case: Case, names: list[str]) -> str:
    return wording.several(
        case.label(name)
        if index == 0 or case.label(name)[:2].isupper()
        else case.label(name)[:1].lower() + case.label(name)[1:]
        for index, name in enumerate(names)
    )
