"""The content of a report: exam + judgement + signing facts -> one plain dict that every form prints in one order."""

from typing import Any

from webapp.core import typed

from . import change, closing, coverage, findings, handed, images, measured, points, procedures, wording
from .case import Case, Json
from .sources import Sources, marks


def report(
    exam: Json, judgement: Json, meta: Json, tables: Json | None = None, courses: Json | None = None
) -> Json:
    """The report as a dict of plain text.

    {"title", "language", "practice", "status": {"word", "line"}, "animal": {"name", "line", "id"}, "exam_line",
     "running": footer text, "issued_at", "sections": [{"id", "title", "blocks": [...]}]}.
    Blocks: {"kind": "lead"|"para", "text"}, {"kind": "fact", "label", "text", "small" where true},
    {"kind": "list", "label", "items": [{"text", "strong"}]},
    {"kind": "findings", "items": [{"label", "text", "asked"}]},
    {"kind": "remarks", "label", "items": [{"label", "text"}]},
    {"kind": "table", "name", "caption", "columns": [{"id", "label", "spoken"}], "rows": [{"cells"}], "legend"} with
    cells {id: text or {"head", "detail", "strong"}},
    {"kind": "sources", "items": [{"number", "text", "rows"}], "note"},
    {"kind": "cautions", "items": [{"text"}]}, {"kind": "prints", "items": [{"label", "text"}]}.
    A fact with "run_on" stands in one paragraph with the block before it, where a form has paragraphs.
    {"kind": "plot", "title", "svg", "text": the same in words}. `courses`: see Case.
    `tables` are the rule code's tables; without them the program's own are read, in the practice's spelling.
    """
    if tables is None:
        from webapp import rules  # the tables come from files; a caller that has them need not load them again

        tables = rules.worded()
    case = Case(exam, judgement, meta, tables, courses or {})
    cited = Sources(case)
    answered = _answer(case, cited)
    missing = coverage.blocks(case)
    sections = [
        _section("answer", answered),
        *([_section("not_seen", missing)] if missing else []),
        _section("measured", _measured(case, cited)),
        *([_section("change", change.blocks(case, cited))] if change.compared(case) else []),
        _section("recommendations", closing.recommendations(case)),
        _section("signature", closing.signature(case)),
        _section("sources", _sources(cited)),
        _section("cautions", closing.cautions(case)),
    ]
    made = _head(case) | {"sections": sections}
    return dict(safe(made))


def _section(name: str, blocks: list[Json]) -> Json:
    return {"id": name, "title": wording.TITLES[name], "blocks": blocks}


def _head(case: Case) -> Json:
    patient = case.exam.get("patient") or {}
    name = str(patient.get("name") or "Animal without a name")
    version = f"version {case.meta['version']}" if case.signed and case.meta.get("version") else "not signed"
    word = case.status.upper()
    identity = str(case.exam.get("patient_id") or case.exam.get("id") or "not given")
    examined = wording.day(case.exam.get("date")) or "date not recorded"
    return {
        "title": f"Abdominal ultrasound: {name}, {examined}, {case.status}, {version}",
        "language": case.language,
        "practice": str(case.meta.get("practice") or "Practice not named"),
        "status": {"word": word, "version": version, "line": _status_line(case)},
        "animal": {"name": name, "line": _animal_line(case), "id": identity},
        "exam_line": f"Abdominal ultrasound, {examined}",
        "context_line": _context_line(case),
        "running": f"{name} \u00b7 animal {identity} \u00b7 {word}, {version}",
        "issued_at": str(case.meta.get("issued_at") or ""),
    }


def _status_line(case: Case) -> str:
    """What the status means; for a later version also why there is one, so that nobody misses it."""
    if case.status == "final":
        return ""
    line = wording.STATUS.get(case.status, "")
    reasons = [str(row["reason"]) for row in case.meta.get("amendments") or [] if row.get("reason")]
    if case.signed and reasons:
        line += f" Reason: {wording.sentence(reasons[-1])}"
    return line.strip()


def _animal_line(case: Case) -> str:
    patient = case.exam.get("patient") or {}
    sex = str(patient.get("sex") or "sex not recorded")
    if patient.get("sex") and patient.get("neutered") is not None:
        sex += ", neutered" if patient["neutered"] else f", {case.say('entire')}"
    weight = "weight unknown"
    if patient.get("weight_kg"):
        source = f" ({patient['weight_source']})" if patient.get("weight_source") else ""
        weight = typed.weight_words(patient) + source
    if patient.get("ideal_weight_kg"):
        weight += f", ideal {typed.kilograms(patient['ideal_weight_kg'])} kg"
    pieces = [
        str(patient.get("species") or "species not recorded"),
        str(patient.get("breed") or ""),
        sex,
        _age(case),
        weight,
    ]
    return " \u00b7 ".join(piece for piece in pieces if piece)


def _age(case: Case) -> str:
    patient = case.exam.get("patient") or {}
    months = patient.get("age_months")
    if months is None:
        months = _months(str(patient.get("birth_date") or ""), str(case.exam.get("date") or ""))
    if months is None:
        return "age unknown"
    years, rest = divmod(int(months), 12)
    return " ".join(
        piece for piece in (f"{years} y" if years else "", f"{rest} mo" if rest or not years else "") if piece
    )


def _months(born: str, examined: str) -> int | None:
    """Whole months between two ISO dates; None where either is no date."""
    dates = [text.split("-") for text in (born[:10], examined[:10])]
    if not all(len(date) == 3 and all(piece.isdecimal() for piece in date) for date in dates):
        return None
    (year, month, day), (later_year, later_month, later_day) = ([int(piece) for piece in date] for date in dates)
    months = (later_year - year) * 12 + later_month - month - (later_day < day)
    return months if months >= 0 else None


def _context_line(case: Case) -> str:
    """What can move a value: only what was recorded, in its own words."""
    context = case.exam.get("context") or {}
    condition = (case.exam.get("patient") or {}).get("body_condition")
    said = [f"body condition {condition} of 9"] if condition is not None else []
    for name in ("fasted", "sedation", "fluids", "bladder_filling", "steroids", "recumbency", "coat", "signs"):
        value = context.get(name)
        if value in (None, "", []):
            continue
        words = {True: "yes", False: "no"}.get(value) if isinstance(value, bool) else None
        text = words or (wording.several(value) if isinstance(value, list) else str(value))
        said.append(f"{name.replace('_', ' ')}: {text.replace('_', ' ')}")
    if not change.compared(case):
        said.append(wording.NO_EARLIER)
    return wording.capital(" \u00b7 ".join(said))


def _answer(case: Case, cited: Sources) -> list[Json]:
    question = case.exam.get("question") or {}
    blocks: list[Json] = [
        {"kind": "fact", "label": "Question", "text": str(question.get("text") or "No question was recorded.")},
        {
            "kind": "fact",
            "label": "Answered",
            "run_on": True,
            "text": wording.ANSWERED.get(
                str(question.get("answered") or ""), str(question.get("answered") or "Not yet stated")
            ),
        },
    ]
    impression = str((case.exam.get("fields") or {}).get("impression") or "")
    if impression:
        blocks.append(
            {
                "kind": "lead",
                "label": "Impression" if case.signed else "PRELIMINARY impression, not signed",
                "text": impression,
            }
        )
    else:
        blocks.append(
            {
                "kind": "lead",
                "label": "Impression" if case.signed else "PRELIMINARY",
                "text": "No impression has been written.",
            }
        )
    blocks += [
        _alert(case, cited, flag) for flag in case.judgement.get("flags") or [] if flag["grade"] == "tell_someone"
    ]
    blocks += handed.told(case)
    blocks.append({"kind": "fact", "label": "Completeness", "text": coverage.headline(case)})
    return blocks


def _alert(case: Case, cited: Sources, flag: Json) -> Json:
    text = str(flag.get("text") or flag["kind"]).removesuffix(wording.ALERT_ENDING)
    label = case.label(flag["about"])
    limit = flag.get("limit") or {}
    mark = marks([cited.number(limit.get("id"), flag.get("source"))]) if limit else ""
    named = text if label in text else f"{label}: {text}"
    return {
        "kind": "fact",
        "label": "\u25a0 To be told in person",
        "text": " ".join(piece for piece in (wording.sentence(named), case.acknowledgement(flag), mark) if piece),
    }


def _measured(case: Case, cited: Sources) -> list[Json]:
    blocks: list[Json | None] = [
        *findings.blocks(case),
        *measured.blocks(case, cited),
        points.points(case, cited),
        points.also_published(case, cited),
        points.once(case),
        points.noted(case),
        images.numbers(case),
        points.struck(case),
        *findings.grouped(case),
        *findings.notes(case),
        *procedures.blocks(case),
        *handed.second_read(case),
    ]
    kept = [block for block in blocks if block]
    return kept or [{"kind": "para", "text": "Nothing was recorded."}]


def _sources(cited: Sources) -> list[Json]:
    items = cited.items()
    if not items:
        return [{"kind": "para", "text": "No published figure was used in this report."}]
    return [{"kind": "sources", "items": items, "note": wording.UNSTATED}]


def safe(value: Any) -> Any:
    """The same structure, control characters written out and broken ones replaced, so that any form can print it."""
    if isinstance(value, str):
        return "".join(_letter(letter) for letter in value.replace("\r\n", "\n").replace("\r", "\n"))
    if isinstance(value, list):
        return [safe(item) for item in value]
    if isinstance(value, dict):
        return {key: safe(item) for key, item in value.items()}
    return value


def _letter(letter: str) -> str:
    point = ord(letter)
    if letter == "\t":
        return " "
    if 0xD800 <= point <= 0xDFFF:
        return "\ufffd"
    if letter != "\n" and (point < 0x20 or 0x7F <= point < 0xA0 or point & 0xFFFE == 0xFFFE):
        return f"[U+{point:04X}]"
    return letter
