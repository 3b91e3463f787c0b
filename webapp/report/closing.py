"""The last sections: recommendations with dates, the signature with its addenda, cautions and fingerprints."""

from . import probability, wording
from .case import Case, Json


def recommendations(case: Case) -> list[Json]:
    """Each recommendation with its date and person; a missing date or person is said, not left out."""
    rows = (case.exam.get("fields") or {}).get("recommendations") or []
    items = []
    for row in rows:
        due = f"By {wording.day(row['due'])}" if row.get("due") else "No date given"
        who = case.person(row["who"]) if row.get("who") else "nobody named"
        items.append({"text": f"{wording.sentence(str(row.get('text') or 'No text'))} {due}; {who}.", "strong": False})
    if not items:
        return [{"kind": "para", "text": "None recorded."}]
    return [{"kind": "list", "label": "", "items": items}]


def signature(case: Case) -> list[Json]:
    """Who stands for the report, in which version, with every addendum and what came too late."""
    meta, signer = case.meta, case.meta.get("signer") or {}
    status = wording.STATUS.get(case.status, "")
    version = f", version {meta['version']}" if meta.get("version") else ""
    made: list[Json] = [
        {"kind": "fact", "label": "Status", "text": f"{wording.capital(case.status)}{version}. {status}".strip()}
    ]
    if case.signed:
        who = str(signer.get("name") or signer.get("id") or "not named")
        made.append({"kind": "fact", "label": "Signed by", "text": f"{who}, {wording.moment(meta.get('issued_at'))}"})
    else:
        made.append({"kind": "fact", "label": "Signed by", "text": "Nobody yet."})
        made.append(
            {"kind": "fact", "label": "Made", "text": wording.moment(meta.get("issued_at")) or "time not recorded"}
        )
    made.append({"kind": "fact", "label": "Recorded by", "text": wording.sentence(_recorders(case))})
    made += [_addendum(case, row) for row in meta.get("amendments") or []]
    late = case.exam.get("late") or []
    if late and any(not row.get("struck") for row in case.exam.get("signed") or []):
        made.append({"kind": "fact", "label": "Arrived late", "text": _late_words(case, len(late))})
    return made


def _late_words(case: Case, number: int) -> str:
    """Entries newer than the last signature: a further version covers them, a preliminary look only shows them."""
    entries = wording.count(number, "entry", "entries")
    if case.signed:
        return f"{entries} after the earlier version was signed, included here."
    return f"{entries} after the last signature, not in the signed version, which stands as issued."


def _addendum(case: Case, row: Json) -> Json:
    when = wording.moment(row.get("at"))
    by = case.person(row.get("by"))
    reason = wording.sentence(f"Reason: {row.get('reason') or 'none given'}")
    text = f"{reason} {wording.sentence(str(row.get('text') or ''))}"
    label = f"Addendum ({row.get('status') or 'no status'})"
    return {"kind": "fact", "label": label, "text": f"{text.strip()} {by}{', ' + when if when else ''}."}


def _recorders(case: Case) -> str:
    people: dict[str, None] = {}
    for name in ("readings", "states", "findings", "notes"):
        for row in case.exam.get(name) or []:
            said = case.person(row.get("author"))
            if row.get("behalf"):
                said += f" for {case.person(row['behalf'])}"
            people.setdefault(said)
    people.pop("not named", None)
    return "; ".join(people) or "nobody"


def cautions(case: Case) -> list[Json]:
    texts = [case.say(text) for text in wording.CAUTIONS] + [text for text in (probability.key(case),) if text]
    items = [{"text": text, "strong": False} for text in texts]
    return [{"kind": "list", "label": "", "items": items}, {"kind": "prints", "items": fingerprints(case)}]


def fingerprints(case: Case) -> list[Json]:
    """What the report was made from, so that it can be made again and compared."""
    meta = case.meta
    entries = meta.get("entries")
    number = len(entries) if isinstance(entries, list | tuple | dict) else entries
    facts = (
        ("Exam", case.exam.get("id")),
        ("Limits", meta.get("limits_version")),
        ("Tables", meta.get("tables_hash")),
        ("Rules", meta.get("core_version")),
        ("Entries", number),
        ("Practice head", meta.get("head")),
    )
    return [{"label": label, "text": str(value)} for label, value in facts if value not in (None, "")]
