"""What stands beside the tables: points about values, other published figures, readings taken back."""

from . import change, measured, sides, sources, wording
from .case import Case, Json

_SHOWN_ELSEWHERE = ("above_limit", "below_limit", "near_limit", "alert", "changed")
_COMPARABLE = ("limit", "criterion", "unverified")


def points(case: Case, cited: sources.Sources) -> Json | None:
    """What the rules say about the values besides the verdicts, and what a person answered to each flag."""
    items = []
    for flag in case.judgement.get("flags") or []:
        answer = case.acknowledgement(flag)
        if (flag["kind"] in _SHOWN_ELSEWHERE or change.is_class_move(flag)) and not answer:
            continue
        limit = flag.get("limit") or {}
        mark = sources.marks([cited.number(limit.get("id"), flag.get("source"))]) if limit else ""
        label, words = _named(case, flag)
        text = " ".join(piece for piece in (wording.sentence(words), answer, mark) if piece)
        items.append({"label": label, "text": text, "strong": flag["grade"] in ("outside", "tell_someone")})
    told = [
        {"text": f"{item['label']}: {item['text']}" if item["label"] else item["text"], "strong": item["strong"]}
        for item in sides.joined(items)
    ]
    return {"kind": "list", "label": "Points about the values", "items": _distinct(told)} if told else None


def also_published(case: Case, cited: sources.Sources) -> Json | None:
    """Cut-offs and other limits beside a value: where it is beyond, or another set says that it would be.

    Never for a part that was not fully seen: no line at all may stand beside its value.
    """
    said: dict[str, list[str]] = {}
    for line in _lines(case):
        if line.get("why") in ("partly_seen", "needs_other_pole"):
            continue
        for other in line.get("also") or []:
            mark = sources.marks([cited.number(other["id"])]) if _worth_saying(case, line, other) else ""
            if mark:
                said.setdefault(_with_value(case, line), []).append(f"{other['words']} {mark}")
    named: dict[str, list[str]] = {}
    for name, words in said.items():
        named.setdefault("; ".join(dict.fromkeys(words)), []).append(name)
    items = [{"text": f"{wording.several(names)}: {words}.", "strong": False} for words, names in named.items()]
    label = "Other published figures, never the reason for a verdict"
    return {"kind": "list", "label": label, "items": items} if items else None


def once(case: Case) -> Json | None:
    """Where a person said that one reading is enough, and why."""
    single = {value["quantity"] for value in case.judgement.get("values") or [] if value.get("n") == 1}
    words = [
        f"{case.label(row['about'])} ({case.reason(row['reason'])})"
        for row in case.exam.get("acknowledged") or []
        if row.get("flag") == "one_reading" and row["about"] in single and not row.get("struck")
    ]
    if not words:
        return None
    return {"kind": "fact", "label": "Measured once on purpose", "text": wording.sentence("; ".join(words))}


def noted(case: Case) -> Json | None:
    """What somebody noted with a reading, once where several readings carry the same words."""
    said: dict[tuple[str, str, str], list[str]] = {}
    for row in case.live("readings"):
        words = " ".join(str(row.get("note") or "").split())
        if words:
            name = measured.lesion_name(case, row["lesion"]) + ", " if row.get("lesion") else ""
            key = (f"{name}{case.label(row['quantity'])}", wording.unit(row["unit"]), words)
            said.setdefault(key, []).append(str(row["value"]))
    if not said:
        return None
    lines = [
        f"{name} {f'{wording.several(amounts)} {unit}'.rstrip()}: {words}"
        for (name, unit, words), amounts in said.items()
    ]
    text = " ".join(wording.sentence(line) for line in lines)
    return {"kind": "fact", "label": "Noted with readings", "text": text, "small": True}


def struck(case: Case) -> Json | None:
    """Readings taken back: they stay in the record and count for nothing."""
    rows = [row for row in case.exam.get("readings") or [] if row.get("struck")]
    if not rows:
        return None
    words = [
        f"{case.label(row['quantity'])} {wording.with_unit(row['value'], row['unit'])}"
        + (f" ({row['why_struck']})" if row.get("why_struck") else "")
        for row in rows
    ]
    return {"kind": "fact", "label": "Struck by hand and not used", "text": wording.sentence("; ".join(words))}


def _lines(case: Case) -> list[Json]:
    silent = [row | {"kind": "silent"} for row in case.judgement.get("silent") or []]
    return [*(case.judgement.get("flags") or []), *(case.judgement.get("judged") or []), *silent]


def _with_value(case: Case, line: Json) -> str:
    """The measure with its value: a figure of a paper beside no number would compare nothing."""
    found = [value for value in case.judgement.get("values") or [] if value["quantity"] == line["about"]]
    amount = wording.with_unit(found[0]["value"], found[0].get("unit")) if len(found) == 1 else ""
    return f"{case.label(line['about'])} {amount}".rstrip()


def _worth_saying(case: Case, line: Json, other: Json) -> bool:
    use = (case.limits.get(str(other.get("id"))) or {}).get("use")
    if use not in _COMPARABLE or line["kind"] in ("above_limit", "below_limit"):
        return use in _COMPARABLE
    asked = (case.quantities.get(str(line["about"])) or {}).get("structure") in case.asked
    return other.get("verdict") in ("above", "below") and (asked or (line["kind"] != "silent" and use != "unverified"))


def _named(case: Case, flag: Json) -> tuple[str, str]:
    """What the flag is about and its words for a reader; "" where the words name it themselves."""
    text = wording.dated(str(flag.get("text") or flag["kind"].replace("_", " ")))
    if flag["kind"] in wording.POINTS:
        amount = wording.with_unit(flag.get("value") or "a reading", flag.get("unit"))
        text = wording.POINTS[flag["kind"]].format(amount=amount)
    label = "Adrenal glands" if flag["kind"] == "side_difference" else case.label(flag["about"])
    return ("", text) if label in text or label == flag["about"] else (label, text)


def _distinct(items: list[Json]) -> list[Json]:
    return list({item["text"]: item for item in items}.values())
