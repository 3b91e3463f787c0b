"""The table of readings for the desk: every single reading, the value they give, and what the rules say of it."""

from typing import Any

from webapp.review import words

Json = dict[str, Any]

# The gravest line stands first; a value may have several.
ORDER = ("tell_someone", "outside", "look_again", "note", "within", "silent")


def groups(exam: Json, judgement: Json) -> list[Json]:
    """The structures that have readings, those asked about first: `[{label, asked, rows}]`."""
    asked = exam["question"].get("structures") or []
    lines = _lines(judgement)
    rows: dict[str, list[Json]] = {}
    for value in judgement["values"]:
        rows.setdefault(_structure(value["quantity"]), []).append(_row(value, exam, judgement, lines))
    for name in _only_struck(exam, judgement):
        rows.setdefault(_structure(name), []).append(_row({"quantity": name, "n": 0}, exam, judgement, lines))
    order = [name for name in words.structures() if name in asked]
    order += [name for name in words.structures() if name not in asked]
    order += [name for name in rows if name not in order]
    return [
        {"id": name, "label": words.label(name), "asked": name in asked, "rows": rows[name]}
        for name in order
        if name in rows
    ]


def _structure(quantity: str) -> str:
    known = words.quantities().get(quantity)
    return str(known["structure"]) if known and known.get("structure") else quantity.rpartition(".")[0] or quantity


def _only_struck(exam: Json, judgement: Json) -> list[str]:
    """Quantities of which every reading was struck: they have no value, and must not vanish."""
    with_value = {value["quantity"] for value in judgement["values"]}
    return sorted({reading["quantity"] for reading in exam["readings"]} - with_value)


def _judged_as(value: Json, judgement: Json) -> list[str]:
    """The values that are made from this one: a pole is judged as its gland's greatest thickness."""
    return [
        words.label(other["quantity"])
        for other in judgement["values"]
        if value["quantity"] in (other.get("inputs") or [])
    ]


def _row(value: Json, exam: Json, judged: Json, lines: dict[str, list[Json]]) -> Json:
    name = value["quantity"]
    readings = [
        reading(row)
        for row in exam["readings"]
        if row["quantity"] == name and row.get("lesion") == value.get("lesion", row.get("lesion"))
    ]
    said = lines.get(name, [])
    return {
        "id": name,
        "label": words.label(name) + (f" ({value['lesion']})" if value.get("lesion") else ""),
        "readings": readings,
        "value": words.amount(value["value"], value["unit"]) if value.get("value") is not None else None,
        "at_least": value.get("at_least", False),
        "view": value.get("view"),
        "n": value.get("n"),
        "spread": value.get("spread"),
        "derived_from": [words.label(name) for name in value.get("inputs") or []],
        "first": said[0] if said else None,
        "judged_as": _judged_as(value, judged),
        "more": said[1:],
        "earlier": _earlier(value.get("earlier")),
    }


def reading(row: Json) -> Json:
    """One reading with all that was recorded about it."""
    facts = [
        words.plain(row[name]) for name in ("plane", "view", "cut", "acquired", "recumbency", "lesion") if row[name]
    ]
    shown = words.amount(row["value"], row["unit"])
    typed = str(row["typed"] or "")
    return {
        "shown": shown,
        "number": row["value"],
        "typed": typed
        if typed and row["typed_unit"] in (None, row["unit"])
        else f"{typed} {row['typed_unit'] or ''}".strip(),
        "facts": facts,
        "who": words.who(row),
        "at": words.moment(row["at"]),
        "struck": row["struck"],
        "why_struck": row["why_struck"],
    }


def _earlier(earlier: Json | None) -> Json | None:
    if not earlier:
        return None
    unit = "" if earlier["unit"] == "1" else f" {earlier['unit']}"
    percent = f", {earlier['change_percent']} %" if earlier.get("change_percent") is not None else ""
    return {
        "value": words.amount(earlier["value"], earlier["unit"]),
        "date": words.day(earlier["date"]),
        "change": f"{earlier['change']}{unit}{percent}",
        "changed": earlier["verdict"] == "changed",
        "words": earlier["words"],
    }


def _lines(judgement: Json) -> dict[str, list[Json]]:
    """What the rules say, by what it is about, gravest first."""
    lines: dict[str, list[Json]] = {}
    for kind in ("flags", "judged", "silent"):
        for row in judgement[kind]:
            lines.setdefault(row["about"], []).append(line(row))
    for said in lines.values():
        said.sort(key=lambda one: ORDER.index(one["mark"].grade))
    return lines


def line(row: Json) -> Json:
    """One line of the rules: its mark, text, source, the limit's own facts and what other sets say."""
    grade = row["grade"] or ("within" if row["kind"] == "within" else "silent")
    limit = row["limit"] or {}
    facts = [
        limit.get("class_words"),
        limit.get("population"),
        f"n = {limit['n']}" if limit.get("n") else None,
        limit.get("statistic"),
        words.plain(limit["plane"]) if limit.get("plane") else None,
    ]
    return {
        "mark": words.MARKS[grade],
        "text": row["text"],
        "source": row["source"],
        "limit": "; ".join(str(fact) for fact in facts if fact),
        "known": limit.get("known"),
        "call": "; ".join(
            piece for piece in (row.get("call"), "sources differ" if row.get("sources_differ") else None) if piece
        ),
        "also": [
            {"words": other["words"], "source": other.get("source"), "known": other.get("known")}
            for other in row["also"]
        ],
    }
