"""The last sections: recommendations with dates, the signature with its addenda, cautions and fingerprints."""

from . import probability, wording
from .case import Case, Json

_UNARRANGED = "(No day, no person named.)"


def recommendations(case: Case) -> list[Json]:
    """Each recommendation with its date and person, then those that an addendum settled or dropped, with the version
    and the reason. A missing date or person is said, so that nobody takes it for arranged: beside its row where others
    have one, once where none has, never of what ended. What this version brought or ended is strong."""
    rows = (case.exam.get("fields") or {}).get("recommendations") or []
    if not rows:
        return [{"kind": "para", "text": "None recorded."}]
    stands = [row for row in rows if not row.get("state")]
    bare = len(stands) > 1 and not any(row.get("due") or row.get("who") for row in stands)
    standing = [_item(case, row, _added(row), "" if bare else _UNARRANGED) for row in stands]
    ended = [_item(case, row, _ended(row), "") for row in rows if row.get("state")]
    label = "No day, no person named" if bare else ""
    made: list[Json] = [{"kind": "list", "label": label, "items": standing}] if standing else []
    made += [] if standing else [{"kind": "para", "text": "Nothing is recommended any more."}]
    return made + ([{"kind": "list", "label": "No longer recommended", "items": ended}] if ended else [])


def _item(case: Case, row: Json, since: str, unarranged: str) -> Json:
    what = wording.sentence(str(row.get("text") or "No text"))
    pieces = (what, _where(case, row), _by_whom(case, row) or unarranged, since)
    words = " ".join(piece for piece in pieces if piece)
    return {"text": words, "strong": row.get("since") is not None and row["since"] == case.meta.get("version")}


def _added(row: Json) -> str:
    return f"Added in version {row['since']}." if row.get("since") else ""


def _ended(row: Json) -> str:
    """ "Dropped in version 2: the owner declined."."""
    why = wording.sentence(str(row.get("why") or "no reason given"))
    return f"{wording.capital(str(row['state']))} in version {row.get('since')}: {why}"


def _where(case: Case, row: Json) -> str:
    """The part and the plane of a recommendation, as far as they are named."""
    plane = wording.PLANES.get(row["plane"], str(row["plane"]).replace("_", " ")) if row.get("plane") else ""
    named = [case.label(row["part"]) if row.get("part") else "", plane]
    return wording.sentence(wording.capital(", ".join(word for word in named if word)))


def _by_whom(case: Case, row: Json) -> str:
    """ "By 17 February 2027: R. Dale."; "" where neither is named."""
    if not row.get("due") and not row.get("who"):
        return ""
    due = f"By {wording.day(row['due'])}" if row.get("due") else "No day named"
    return f"{due}: {case.person(row['who']) if row.get('who') else 'no person named'}."


def signature(case: Case) -> list[Json]:
    """Who stands for the report, in which version, with every addendum and what came too late."""
    meta, signer = case.meta, case.meta.get("signer") or {}
    version = f", version {meta['version']}" if meta.get("version") else ""
    status = f"{wording.capital(case.status)}{version}. {wording.STATUS.get(case.status, '')}".strip()
    if case.signed:
        who = str(signer.get("name") or signer.get("id") or "not named")
        by = ("Signed by", f"{who}, {wording.moment(meta.get('issued_at'))}.")
    else:
        made = wording.moment(meta.get("issued_at")) or "time not recorded"
        maker = f" by {meta['made_by']}" if meta.get("made_by") else ""
        by = ("Signed by", f"Nobody yet. Made{maker}, {made}.")
    facts = (("Status", status), by, ("Recorded by", wording.sentence(_recorders(case))))
    told: list[Json] = [
        {"kind": "fact", "label": label, "text": text} | ({"run_on": True} if place else {})
        for place, (label, text) in enumerate(facts)
    ]
    told += [_addendum(case, row) for row in meta.get("amendments") or []]
    late = case.exam.get("late") or []
    if late and any(not row.get("struck") for row in case.exam.get("signed") or []):
        told.append({"kind": "fact", "label": "Arrived late", "text": _late_words(case, len(late))})
    return told


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
    """What limits the report, as far as it bears on this one; the key to words of probability; the fingerprints."""
    texts = list(wording.CAUTIONS)
    if any(str(value["quantity"]).startswith("adrenal.") for value in case.judgement.get("values") or []):
        texts.insert(3, wording.CAUTION_OF_ADRENALS)
    if any(value.get("earlier") for value in case.judgement.get("values") or []):
        texts.insert(-1, wording.CAUTION_OF_CHANGE)
    texts = [case.say(text) for text in texts] + [text for text in (probability.key(case),) if text]
    items = [{"text": text, "strong": False} for text in texts]
    return [{"kind": "cautions", "items": items}, {"kind": "prints", "items": fingerprints(case)}]


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
