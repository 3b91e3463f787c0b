"""Section "Change since the earlier exam": each value beside its earlier one, in its unit, per cent and fixed words."""

from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from . import courses, measured, sides, sources, wording
from .case import Case, Json

_COLUMNS = (
    {"id": "name", "label": "Measured", "spoken": ""},
    {"id": "earlier", "label": "Earlier", "spoken": "earlier"},
    {"id": "now", "label": "This exam", "spoken": "now"},
    {"id": "change", "label": "Change", "spoken": "change"},
    {"id": "words", "label": "In words", "spoken": ""},
)

_CLASS_NOTE = "A verdict that differs from the earlier one can come from the class alone."
_UNKNOWN = "Without repeated readings, so no statement about change"


def blocks(case: Case, cited: sources.Sources) -> list[Json]:
    """Moved weight classes; in a table what changed, was asked or lies beyond a limit; in lines all the rest."""
    found = compared(case)
    dates = list(dict.fromkeys(wording.day(value["earlier"].get("date")) for value in found))
    made: list[Json] = [{"kind": "para", "text": f"Compared with {wording.several(dates)}."}, *_moved(case, cited)]
    told = _in_order(case, [value for value in found if not value.get("derived")])
    rows = [value for value in told if _has_row(case, value)]
    if rows:
        made.append(
            {
                "kind": "table",
                "name": "change",
                "caption": "Change",
                "columns": list(_COLUMNS),
                "rows": [{"cells": _cells(case, value)} for value in rows],
                "legend": "Change is worked out before the means are rounded.",
            }
        )
    rest = [value for value in told if not _has_row(case, value)]
    return [*made, *_lesions(case), *courses.blocks(case), *_in_lines(case, rest), *_otherwise(case, told)]


def compared(case: Case) -> list[Json]:
    """The values that have an earlier one."""
    return [value for value in case.judgement.get("values") or [] if value.get("earlier")]


def _lesions(case: Case) -> list[Json]:
    """Sizes of numbered lesions then and now, in the rule code's words; they are not judged."""
    told = [
        f"{measured.lesion_name(case, '{structure}#{number}'.format(**row))}: {wording.dated(str(row['words']))}"
        for row in case.judgement.get("lesions") or []
    ]
    if not told:
        return []
    return [{"kind": "fact", "label": "Lesions, not judged", "text": wording.sentence("; ".join(told))}]


def is_class_move(flag: Json) -> bool:
    """Whether the rule code says with this flag that the animal now falls in another weight class."""
    return flag["kind"] == "caution" and "weight class moved" in str(flag.get("text") or "")


def _moved(case: Case, cited: sources.Sources) -> list[Json]:
    moves = [flag for flag in case.flags("caution") if is_class_move(flag)]
    made: list[Json] = []
    for place, flag in enumerate(moves, start=1):
        mark = sources.marks([cited.number((flag.get("limit") or {}).get("id"), flag.get("source"))])
        note = _CLASS_NOTE if place == len(moves) else ""
        text = f"{case.label(flag['about'])}: {wording.sentence(wording.dated(str(flag['text'])))} {mark} {note}"
        made.append({"kind": "fact", "label": "Limit", "text": " ".join(text.split())})
    return made


def _has_row(case: Case, value: Json) -> bool:
    structure = (case.quantities.get(value["quantity"]) or {}).get("structure")
    beyond = any(flag["about"] == value["quantity"] for flag in case.flags("above_limit", "below_limit", "alert"))
    return value["earlier"].get("verdict") == "changed" or structure in case.asked or beyond


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


def _cells(case: Case, value: Json) -> Json:
    earlier, unit = value["earlier"], value.get("unit")
    words = {
        "name": case.label(value["quantity"]) + _on(case, value),
        "earlier": wording.with_unit(earlier["value"], unit),
        "now": wording.with_unit(value["value"], unit),
        "change": _amount(value),
        "words": str(earlier.get("words") or "\u2013"),
    }
    strong = earlier.get("verdict") == "changed"
    return {name: {"head": text, "detail": "", "strong": strong} for name, text in words.items()}


def _amount(value: Json) -> str:
    """ "+1.2 mm (+6 %)", with the decimals of the value; no change carries no per cent."""
    earlier = value["earlier"]
    shown = _rounded(earlier.get("change"), str(value["value"]))
    words = wording.with_unit(_signed(shown), value.get("unit"))
    percent = earlier.get("change_percent")
    if percent is None or not str(shown or "").strip("+-0."):
        return words
    return f"{words} ({_signed(percent)}\u00a0%)"


def _rounded(change: object, like: str) -> object:
    """The change with as many decimals as the value beside it, half up: a further one would claim what nobody read."""
    places = len(like.partition(".")[2])
    try:
        return str(Decimal(str(change)).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP))
    except InvalidOperation:
        return change


def _in_lines(case: Case, values: list[Json]) -> list[Json]:
    """The rest by what can be said of it: "Kidney, length LEFT 39.9, now 40.3, RIGHT 39.6, now 40.0 mm"."""
    said: dict[str, dict[str, list[str]]] = {}
    for value in values:
        earlier = value["earlier"]
        unknown = earlier.get("verdict") == "unknown"
        label = _UNKNOWN if unknown else wording.capital(str(earlier.get("words") or "No statement about change"))
        key, side = sides.pair_of(value["quantity"])
        now = wording.with_unit(value["value"], value.get("unit"))
        words = f"{side.upper()}{_on(case, value)} {earlier['value']}, now {now}".strip()
        said.setdefault(label, {}).setdefault(key, []).append(words)
    return [
        {
            "kind": "fact",
            "label": label,
            "text": wording.sentence("; ".join(f"{_name(case, key)} {', '.join(row)}" for key, row in rows.items())),
            "small": True,
        }
        for label, rows in sorted(said.items(), key=lambda group: group[0] == _UNKNOWN)
    ]


def _otherwise(case: Case, values: list[Json]) -> list[Json]:
    """How the earlier values were taken otherwise, where both exams recorded it."""
    said: dict[str, list[str]] = {}
    for value in values:
        for words in value["earlier"].get("differs") or []:
            said.setdefault(str(words), []).append(case.label(value["quantity"]))
    texts = [f"{words} ({wording.several(labels)})" for words, labels in said.items()]
    if not texts:
        return []
    text = wording.sentence("; ".join(texts))
    return [{"kind": "fact", "label": "Taken otherwise", "text": text, "small": True}]


def _name(case: Case, key: str) -> str:
    return sides.without_side(case.label(key.replace(".*", ".left")))


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
