"""The table of readings for the desk: every single reading, the value they give, and what the rules say of it."""

from typing import Any

from webapp.review import words

Json = dict[str, Any]

# The gravest line stands first; a value may have several.
ORDER = ("tell_someone", "outside", "look_again", "note", "within", "silent")


# Lines that bring a quantity's plot into sight at once.
TOLD = {"tell_someone", "outside"}


def groups(exam: Json, judgement: Json, course: dict[str, Json]) -> list[Json]:
    """The structures that have readings, those asked about first: `[{label, asked, rows}]`; `course`: trends.of."""
    asked = exam["question"].get("structures") or []
    lines = _lines(judgement)
    rows: dict[str, list[Json]] = {}
    for value in judgement["values"]:
        row = _row(value, exam, judgement, lines)
        rows.setdefault(_structure(value["quantity"]), []).append(row | _over_time(value, course))
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
        "pixel": value.get("pixel"),
        "n": value.get("n"),
        "spread": value.get("spread"),
        "derived_from": [{"id": name, "label": words.label(name)} for name in value.get("inputs") or []],
        "moved_by": [one for one in judged.get("context") or [] if one["about"] == name],
        "first": said[0] if said else None,
        "judged_as": _judged_as(value, judged),
        "more": said[1:],
        "told": (value.get("earlier") or {}).get("verdict") == "changed" or any(
            one["mark"].grade in TOLD for one in said
        ),
        "earlier": earlier(value.get("earlier")),
    }


def _over_time(value: Json, course: dict[str, Json]) -> Json:
    """The quantity over the animal's exams, where there are several, and the exam that the earlier value is of."""
    key = f"{value['quantity']}|{value['lesion']}" if value.get("lesion") else value["quantity"]
    points = course[key]["points"] if key in course else []
    if len(points) < 2:
        return {"course": None, "earlier_exam": None}
    return {"course": course[key], "earlier_exam": points[-2]["exam"]}


# What was recorded beside a reading, in the order in which it is told; each with words before it where it needs some.
BESIDE = (
    ("plane", "", ""),
    ("view", "", " view"),
    ("cut", "", " cut"),
    ("acquired", "", ""),
    ("recumbency", "", ""),
    ("window", "window: ", ""),
    ("distance", "", ""),
    ("depth_mm", "depth ", " mm"),
    ("rows", "", " rows"),
    ("lesion", "lesion ", ""),
    ("image", "image ", ""),
)


def reading(row: Json) -> Json:
    """One reading with all that was recorded about it."""
    facts = [f"{before}{words.plain(row[name])}{after}" for name, before, after in BESIDE if row.get(name)]
    shown = words.amount(row["value"], row["unit"])
    typed = str(row["typed"] or "")
    return {
        "shown": shown,
        "number": row["value"],
        "typed": typed
        if typed and row["typed_unit"] in (None, row["unit"])
        else f"{typed} {row['typed_unit'] or ''}".strip(),
        "facts": facts,
        "note": row.get("note"),
        "who": words.who(row),
        "at": words.moment(row["at"]),
        "struck": row["struck"],
        "why_struck": row["why_struck"],
    }


def earlier(row: Json | None) -> Json | None:
    """The earlier value of a quantity, and what the rules say of the change."""
    if not row:
        return None
    unit = "" if row["unit"] == "1" else f" {row['unit']}"
    percent = f", {row['change_percent']} %" if row.get("change_percent") is not None else ""
    return {
        "value": words.amount(row["value"], row["unit"]),
        "date": words.day(row["date"]),
        "change": f"{row['change']}{unit}{percent}",
        "changed": row["verdict"] == "changed",
        "words": row["words"],
        "differs": row.get("differs") or [],
    }


def _lines(judgement: Json) -> dict[str, list[Json]]:
    """What the rules say, by what it is about, gravest first."""
    lines: dict[str, list[Json]] = {}
    for kind in ("flags", "judged", "silent"):
        for row in judgement[kind]:
            if row["kind"] == "changed":  # stands in the column of the last time
                continue
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
        "text": words.dated(row["text"]),
        "source": row["source"],
        "short": _short(row, limit),
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


def _short(row: Json, limit: Json) -> str:
    """The source in a few words and how well it fits: "Melián et al. 2021, n = 86, long axis"."""
    facts = [str(row["source"] or "").partition(",")[0], f"n = {limit['n']}" if limit.get("n") else ""]
    facts.append(words.plain(limit["plane"]) if limit.get("plane") else "")
    facts.append(str(limit["known"]) if limit.get("known") not in (None, "read") else "")
    return ", ".join(fact for fact in facts if fact)
