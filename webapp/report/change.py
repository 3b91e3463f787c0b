"""Section "Change since the earlier exam": each value beside its earlier one, in its unit, per cent and fixed words."""

from . import sources, wording
from .case import Case, Json

_COLUMNS = (
    {"id": "name", "label": "Measured", "spoken": "", "numeric": False},
    {"id": "earlier", "label": "Earlier", "spoken": "earlier", "numeric": True},
    {"id": "now", "label": "This exam", "spoken": "now", "numeric": True},
    {"id": "change", "label": "Change", "spoken": "change", "numeric": True},
    {"id": "percent", "label": "%", "spoken": "", "numeric": True},
    {"id": "words", "label": "In words", "spoken": "", "numeric": False},
)

_CLASS_NOTE = "A verdict that differs from the earlier one can come from the class alone."


def blocks(case: Case, cited: sources.Sources) -> list[Json]:
    """Moved weight classes, the comparison, and in one line what was read once: no statement can be made of it."""
    compared = [value for value in case.judgement.get("values") or [] if value.get("earlier")]
    if not compared:
        return [{"kind": "para", "text": "No earlier exam with a comparable measurement is on record here."}]
    dates = list(dict.fromkeys(wording.day(value["earlier"].get("date")) for value in compared))
    made: list[Json] = [{"kind": "para", "text": f"Compared with {wording.several(dates)}."}, *_moved(case, cited)]
    told = [value for value in compared if not value.get("derived")]
    rows = [value for value in told if _has_row(case, value)]
    if rows:
        made.append(
            {
                "kind": "table",
                "name": "change",
                "caption": "Change",
                "columns": list(_COLUMNS),
                "rows": [_row(case, value) for value in _in_order(case, rows)],
                "legend": "",
            }
        )
    single = [_line(case, value) for value in _in_order(case, told) if not _has_row(case, value)]
    if single:
        made.append(
            {
                "kind": "fact",
                "label": "Without repeated readings, so no statement about change",
                "text": wording.sentence("; ".join(single)),
                "small": True,
            }
        )
    return made


def is_class_move(flag: Json) -> bool:
    """Whether the rule code says with this flag that the animal now falls in another weight class."""
    return flag["kind"] == "caution" and "weight class moved" in str(flag.get("text") or "")


def _moved(case: Case, cited: sources.Sources) -> list[Json]:
    made: list[Json] = []
    for flag in case.flags("caution"):
        if is_class_move(flag):
            mark = sources.marks([cited.number((flag.get("limit") or {}).get("id"), flag.get("source"))])
            text = f"{case.label(flag['about'])}: {wording.sentence(flag['text'])} {_CLASS_NOTE} {mark}"
            made.append({"kind": "fact", "label": "Limit", "text": text.strip()})
    return made


def _has_row(case: Case, value: Json) -> bool:
    structure = (case.quantities.get(value["quantity"]) or {}).get("structure")
    return value["earlier"].get("verdict") != "unknown" or structure in case.asked


def _in_order(case: Case, values: list[Json]) -> list[Json]:
    """Changed values first, then in the reading order of their structures."""
    places = {structure: place for place, structure in enumerate(case.reading_order)}
    return sorted(
        values,
        key=lambda value: (
            value["earlier"].get("verdict") != "changed",
            places.get(str((case.quantities.get(value["quantity"]) or {}).get("structure")), len(places)),
        ),
    )


def _row(case: Case, value: Json) -> Json:
    earlier, unit = value["earlier"], value.get("unit")
    percent = earlier.get("change_percent")
    cells = {
        "name": case.label(value["quantity"]) + _on(case, value),
        "earlier": wording.with_unit(earlier["value"], unit),
        "now": wording.with_unit(value["value"], unit),
        "change": wording.with_unit(_signed(earlier.get("change")), unit),
        "percent": f"{_signed(percent)} %" if percent is not None else "\u2013",
        "words": str(earlier.get("words") or "\u2013"),
    }
    return {"cells": cells, "strong": earlier.get("verdict") == "changed"}


def _line(case: Case, value: Json) -> str:
    earlier, unit = value["earlier"], value.get("unit")
    now = wording.with_unit(value["value"], unit)
    return f"{case.label(value['quantity'])}{_on(case, value)} {earlier['value']}, now {now}"


def _on(case: Case, value: Json) -> str:
    """The date beside a value, needed only where the earlier values come from several exams."""
    dates = {row["earlier"].get("date") for row in case.judgement["values"] if row.get("earlier")}
    return f" ({wording.day(value['earlier'].get('date'))})" if len(dates) > 1 else ""


def _signed(number: object) -> str:
    """A change carries its sign, with a true minus; no change carries none."""
    text = str(number) if number is not None else "\u2013"
    if not text.strip("+-0."):
        return text.lstrip("+-")
    if text.startswith("-"):
        return "\u2212" + text[1:]
    return text if text.startswith(("+", "\u2013")) else "+" + text
