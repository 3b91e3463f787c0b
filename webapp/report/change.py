"""Section "Change since the earlier exam": each value beside its earlier one, in mm, per cent and fixed words."""

from . import sources, wording
from .case import Case, Json

_COLUMNS = (
    {"id": "name", "label": "Measured", "numeric": False},
    {"id": "earlier", "label": "Earlier", "numeric": True},
    {"id": "date", "label": "On", "numeric": False},
    {"id": "now", "label": "This exam", "numeric": True},
    {"id": "change", "label": "Change", "numeric": True},
    {"id": "percent", "label": "%", "numeric": True},
    {"id": "words", "label": "In words", "numeric": False},
)


def blocks(case: Case, cited: sources.Sources) -> list[Json]:
    """The comparison, and what the rules say about a weight class that moved; says so where nothing is comparable."""
    rows = [_row(case, value) for value in case.judgement.get("values") or [] if value.get("earlier")]
    if not rows:
        return [{"kind": "para", "text": "No earlier exam with a comparable measurement is on record here."}]
    rows.sort(key=lambda row: (not row["strong"], row["place"]))
    made: list[Json] = []
    moved = [flag for flag in case.flags("caution") if is_class_move(flag)]
    for flag in moved:
        mark = sources.marks([cited.number((flag.get("limit") or {}).get("id"), flag.get("source"))])
        made.append({"kind": "fact", "label": "Weight class", "text": f"{wording.sentence(flag['text'])} {mark}".strip()})
    made.append({"kind": "table", "name": "change", "caption": "Change", "columns": list(_COLUMNS),
                 "rows": [{"cells": row["cells"], "strong": row["strong"]} for row in rows], "legend": ""})
    return made


def is_class_move(flag: Json) -> bool:
    return "class" in str(flag.get("text") or "") and "moved" in str(flag.get("text") or "")


def _row(case: Case, value: Json) -> Json:
    earlier = value["earlier"]
    about = value["quantity"]
    structure = (case.quantities.get(about) or {}).get("structure")
    changed = any(flag["about"] == about for flag in case.flags("changed"))
    order = case.reading_order
    percent = earlier.get("change_percent")
    cells = {
        "name": case.label(about),
        "earlier": wording.with_unit(earlier["value"], value.get("unit")),
        "date": wording.day(earlier.get("date")),
        "now": wording.with_unit(value["value"], value.get("unit")),
        "change": wording.with_unit(_signed(earlier.get("change")), value.get("unit")),
        "percent": f"{_signed(percent)} %" if percent is not None else "\u2013",
        "words": str(earlier.get("words") or "\u2013"),
    }
    return {"cells": cells, "strong": changed,
            "place": order.index(structure) if structure in order else len(order)}


def _signed(number: object) -> str:
    """A change always carries its sign; a true minus, not a hyphen."""
    text = str(number) if number is not None else "\u2013"
    if text.startswith("-"):
        return "\u2212" + text[1:]
    return text if text.startswith(("+", "\u2013")) or not text.strip("0.") else "+" + text
