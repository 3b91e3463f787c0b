"""The rows of an exam's lists: what each additive entry becomes in the folded exam."""


def _row(entry: dict, names: tuple) -> dict:
    body = entry["body"]
    row = {
        "id": entry["id"],
        "author": entry["author"],
        "behalf": entry.get("behalf"),
        "at": entry["at"],
        "device": entry["device"],
        "seq": entry["seq"],
    }
    for name in names:
        row[name] = body.get(name)
    return row


def _reading(entry: dict) -> dict:
    row = _row(
        entry,
        (
            "value",
            "unit",
            "typed",
            "typed_unit",
            "plane",
            "view",
            "cut",
            "acquired",
            "recumbency",
            "window",
            "distance",
            "depth_mm",
            "rows",
            "lesion",
            "note",
            "image",
            "pair",
        ),
    )
    row["quantity"] = entry["body"]["about"]
    return row


def _finding(entry: dict) -> dict:
    row = _row(
        entry,
        (
            "finding",
            "part",
            "shape",
            "dimensions",
            "unit",
            "vessel",
            "number",
            "outline",
            "echo",
            "site",
            "text",
            "image",
        ),
    )
    row["structure"] = entry["body"]["about"]
    return row


def _note(entry: dict) -> dict:
    return _row(entry, ("about", "text"))


def _asking(entry: dict) -> dict:
    """A question of the desk to the person at the table (`asks`: whom), or an answer (`answers`: its id)."""
    row = _row(entry, ("about", "text", "asks", "answers"))
    row["of"] = entry.get("of") or []
    return row


def _attachment(entry: dict) -> dict:
    """A photo or clip; its bytes are kept by their hash and travel on their own."""
    return _row(entry, ("about", "hash", "type", "size", "width", "height", "duration_s", "text"))


def _acknowledgement(entry: dict) -> dict:
    row = _row(entry, ("about", "flag", "reason"))
    row["of"] = entry.get("of") or []
    return row


def _signature(entry: dict) -> dict:
    row = _row(
        entry, ("version", "status", "covers", "tables_hash", "core_version", "judgement_hash", "pdf_hash", "signer")
    )
    row["of"] = entry.get("of") or []
    row["covers"] = row["covers"] or []
    row["version"] = row["version"] or 1
    return row


def _amendment(entry: dict) -> dict:
    row = _row(entry, ("status", "reason", "text", "stands"))
    row["of"] = entry.get("of") or []
    return row


def _telling(entry: dict) -> dict:
    """Someone was told or given something: an urgent finding, a preliminary report, a version."""
    row = _row(entry, ("about", "to", "how", "when", "read_back", "text", "version", "number", "pdf_hash"))
    row["of"] = entry.get("of") or []
    return row


def _second_read(entry: dict) -> dict:
    row = _row(entry, ("reads", "text"))
    row["structure"] = entry["body"]["about"]
    return row


def _procedure(entry: dict) -> dict:
    """A procedure done or not done; or with `watched`, what was seen after the one that `of` names."""
    row = _row(
        entry,
        (
            "about",
            "procedure",
            "number",
            "done",
            "why_not",
            "when",
            "consent",
            "checks",
            "attempts",
            "got",
            "text",
            "watched",
        ),
    )
    row["of"] = entry.get("of") or []
    return row


LISTS = {
    "read": ("readings", _reading),
    "found": ("findings", _finding),
    "noted": ("notes", _note),
    "attached": ("attachments", _attachment),
    "acknowledged": ("acknowledged", _acknowledgement),
    "signed": ("signed", _signature),
    "amended": ("amended", _amendment),
    "told": ("told", _telling),
    "second_read": ("second_reads", _second_read),
    "procedure": ("procedures", _procedure),
}


def shape_of(entry: dict) -> tuple:
    """(the list of the exam that an additive entry goes to, what makes a row of it)."""
    body = entry["body"]
    if entry["kind"] == "noted" and (body.get("asks") or body.get("answers")):
        return "asked", _asking
    return LISTS[entry["kind"]]
