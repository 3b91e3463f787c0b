"""Section "What was not seen": states with their reasons, parts without an entry, entries that disagree."""

from webapp.core import sentences, windows

from . import wording
from .case import Case, Json

_GAPS = ("not_seen", "partly", "not_examined")


_NO_PARTS = "which parts were seen is not recorded"

COMPLETE = "Every part on the list has an entry, and none says not seen, partly seen or not examined."


def blocks(case: Case) -> list[Json]:
    """The section's blocks; none where nothing is missing and nothing is open: the headline says that."""
    made = [_gaps(case), _no_entry(case), _not_described(case), _still_open(case), _forks(case), _unread(case)]
    return [block for block in made if block]


def headline(case: Case) -> str:
    """One line for the top of the report: how complete the exam is."""
    gaps, nobody, measured = _by_structure(case), _unrecorded(case), _only_measured(case)
    if not gaps and not nobody and not measured:
        return COMPLETE
    pieces = []
    if gaps:
        shown = [_short(case, structure, states) for structure, states in list(gaps.items())[:3]]
        rest = len(gaps) - len(shown)
        pieces.append("; ".join(shown) + (f"; {rest} more" if rest else ""))
    if nobody:
        pieces.append(wording.count(len(nobody), "part without an entry", "parts without an entry"))
    if measured:
        pieces.append(wording.count(len(measured), "part measured, not described", "parts measured, not described"))
    return f"Not complete. {wording.capital('; '.join(pieces))}."


def _by_structure(case: Case) -> dict[str, list[Json]]:
    """The states that leave a gap, per structure; the structures asked about first, then what was not seen at all."""
    states = [state for state in case.exam.get("states") or [] if state["seen"] in _GAPS]
    order = {name: place for place, name in enumerate(case.reading_order)}
    states.sort(
        key=lambda state: (
            state["structure"] not in case.asked,
            order.get(state["structure"], len(order)),
            bool(state.get("part")),
            _GAPS.index(state["seen"]),
        )
    )
    made: dict[str, list[Json]] = {}
    for state in states:
        made.setdefault(state["structure"], []).append(state)
    return made


def _short(case: Case, structure: str, states: list[Json]) -> str:
    """ "RIGHT adrenal, cranial pole not seen": the graver of what was said of one structure."""
    gravest = min(states, key=lambda state: _GAPS.index(state["seen"]))
    return f"{case.label(gravest['about'])} {sentences.SEEN[gravest['seen']]}"


def _gaps(case: Case) -> Json | None:
    gaps = _by_structure(case)
    if not gaps:
        return None
    items = []
    for structure, states in gaps.items():
        parts = _NO_PARTS if structure in _parted_by_nobody(case) else ""
        said = [piece for piece in (*words(case, states), parts, windows_tried(case, structure)) if piece]
        items.append(
            {"text": wording.sentence(f"{case.label(structure)}: {'; '.join(said)}"), "strong": structure in case.asked}
        )
    return {"kind": "list", "label": "", "items": items}


def words(case: Case, states: list[Json], reasons: bool = True) -> list[str]:
    """One structure's states in words, parts of one kind together: "cranial and caudal pole not seen (gas)"."""
    kinds: dict[tuple[str, str], list[str]] = {}
    for state in states:
        part = case.part(state["structure"], state["part"]) if state.get("part") else ""
        kinds.setdefault((sentences.SEEN[state["seen"]], _why(case, state) if reasons else ""), []).append(part)
    return [
        " ".join(piece for piece in (wording.several(filter(None, parts)), seen, why) if piece)
        for (seen, why), parts in _wholes_apart(kinds)
    ]


def windows_tried(case: Case, structure: str) -> str:
    """ "two windows tried: ..." where windows were ticked at the table, else ""."""
    done = (case.exam.get("fields") or {}).get(f"{structure}.windows_tried") or []
    return str(windows.tried_words(case.tables["windows"], structure, done)) if done else ""


def _wholes_apart(kinds: dict[tuple[str, str], list[str]]) -> list[tuple[tuple[str, str], list[str]]]:
    """The structure's own state keeps a statement of its own before those of its parts."""
    made = [(kind, [""]) for kind, parts in kinds.items() if "" in parts]
    return made + [(kind, [part for part in parts if part]) for kind, parts in kinds.items() if any(parts)]


def _why(case: Case, state: Json) -> str:
    """ "(gas, deep chest; tried: dorsal)"; a gap without a reason says so."""
    reasons = ", ".join(case.reason(why) for why in state.get("why") or [])
    if not reasons and state["seen"] in ("not_seen", "not_examined"):
        reasons = "no reason given"
    tried = ", ".join(str(window) for window in state.get("tried") or [])
    extra = "; ".join(piece for piece in (reasons, f"tried: {tried}" if tried else "") if piece)
    return f"({extra})" if extra else ""


def _unrecorded(case: Case) -> list[Json]:
    """What nobody made any entry of; not the parts of what was said to be seen in part, where none was named."""
    known = _parted_by_nobody(case)
    rows = [row for row in _without_state(case) if not row.get("measured")]
    return [row for row in rows if not (row.get("part") and row.get("structure") in known)]


def _parted_by_nobody(case: Case) -> list[str]:
    """Structures seen in part of which nobody said, or measured, or found, which part."""
    halved = [state["structure"] for state in case.exam.get("states") or [] if _is_halved(state)]
    return [name for name in halved if _bare_parts(case, name) == len(case.structures[name]["parts"])]


def _is_halved(state: Json) -> bool:
    return state["seen"] == "partly" and not state.get("part")


def _bare_parts(case: Case, structure: str) -> int:
    return sum(bool(row.get("part")) for row in _without_state(case) if row.get("structure") == structure)


def _only_measured(case: Case) -> list[Json]:
    """What somebody measured without saying how it looked."""
    return [row for row in _without_state(case) if row.get("measured")]


def _without_state(case: Case) -> list[Json]:
    return [row for row in case.judgement.get("open") or [] if row["kind"] == "not_recorded"]


def _no_entry(case: Case) -> Json | None:
    return _places("No entry by anybody", case, _unrecorded(case))


def _not_described(case: Case) -> Json | None:
    return _places("Measured, not described", case, _only_measured(case))


def _places(label: str, case: Case, rows: list[Json]) -> Json | None:
    """The rows' structures in the reading order, each with its parts."""
    if not rows:
        return None
    parts: dict[str, list[str]] = {}
    for row in rows:
        structure, part = _place(case, row)
        parts.setdefault(structure, [])
        if part:
            parts[structure].append(case.part(structure, part))
    order = [name for name in case.reading_order if name in parts] + [
        name for name in parts if name not in case.structures
    ]
    words = [case.label(name) + (f" ({wording.several(parts[name])})" if parts[name] else "") for name in order]
    return {"kind": "fact", "label": label, "text": wording.sentence("; ".join(words))}


def _place(case: Case, row: Json) -> tuple[str, str | None]:
    about = str(row["about"])
    if row.get("structure"):
        return str(row["structure"]), row.get("part")
    if about in case.structures:
        return about, None
    structure, _, part = about.rpartition(".")
    return (structure, part) if structure in case.structures else (about, None)


def _still_open(case: Case) -> Json | None:
    rows = [row for row in case.judgement.get("open") or [] if row["kind"] in ("no_reading", "other_side_missing")]
    words = list(dict.fromkeys(str(row.get("text") or _open_words(case, row)) for row in rows))
    return {"kind": "fact", "label": "Also open", "text": wording.sentence("; ".join(words))} if words else None


def _open_words(case: Case, row: Json) -> str:
    ends = {"no_reading": "no reading", "other_side_missing": "the other side is missing"}
    return f"{case.label(row['about'])}: {ends[row['kind']]}"


def _forks(case: Case) -> Json | None:
    items = []
    for fork in case.exam.get("forks") or []:
        said = [f"{_value_words(case, one['value'])} ({case.person(one.get('author'))})" for one in fork["values"]]
        name = case.label(str(fork["slot"]).removeprefix("seen:"))
        items.append(
            {"text": f"{wording.capital(_field_words(name))}: {wording.several(said, 'or')}.", "strong": False}
        )
    label = "Entries that disagree; both are kept and nobody has settled them"
    return {"kind": "list", "label": label, "items": items} if items else None


def _field_words(name: str) -> str:
    return name.removeprefix("patient.").removeprefix("context.").removeprefix("question.").replace("_", " ")


def _value_words(case: Case, value: object) -> str:
    """A slot's value in words; a state comes as [seen, reasons, normal]."""
    if isinstance(value, list) and len(value) == 3 and isinstance(value[1], list):
        state = sentences.SEEN.get(str(value[0]), str(value[0]))
        why = wording.several(case.reason(one) for one in value[1])
        return state + (", recorded normal" if value[2] else "") + (f", {why}" if why else "")
    if isinstance(value, list):
        return wording.several(value)
    return "nothing" if value is None else str(value)


def _unread(case: Case) -> Json | None:
    rows = case.exam.get("unread") or []
    if not rows:
        return None
    text = f"{wording.count(len(rows), 'entry', 'entries')} could not be read by this version and are kept as received."
    return {"kind": "fact", "label": "Not read", "text": text}
