"""Slots: what stands where several entries set one thing, which entries are struck, and where they fork."""


def strikes(readable: list) -> dict:
    """{id of a struck entry: the strike that counts}. A strike of a strike restores; ids are hashes, so no ring."""
    strikes_of = {}
    for entry in readable:
        if entry["kind"] == "struck":
            for name in entry.get("of") or []:
                strikes_of.setdefault(name, []).append(entry)
    counts = {}

    def effective(strike: dict) -> bool:
        if strike["id"] not in counts:
            counts[strike["id"]] = not any([effective(other) for other in strikes_of.get(strike["id"], [])])
        return counts[strike["id"]]

    struck_by = {}
    for name in strikes_of:
        for strike in strikes_of[name]:
            if name not in struck_by and effective(strike):
                struck_by[name] = strike
    return struck_by


def heads(slot_entries: list, struck_by: dict, by_id: dict) -> list:
    """The effective entries of a slot that no other effective entry of it had seen; `by_id` holds all entries."""
    superseded = {}
    effective = [entry for entry in slot_entries if entry["id"] not in struck_by]
    for entry in effective:
        waiting = list(entry.get("after") or [])
        while waiting:
            seen = waiting.pop()
            if seen in superseded:
                continue
            superseded[seen] = True
            if seen in by_id:
                waiting.extend(by_id[seen].get("after") or [])
    return [entry for entry in effective if entry["id"] not in superseded]


def different(heads: list) -> list:
    """The values of these entries, each once: more than one is a fork."""
    values = []
    for entry in heads:
        value = value_of(entry)
        if value not in values:
            values.append(value)
    return values


def value_of(entry: dict) -> object:
    """What a `set` or `seen` entry puts into its slot."""
    body = entry["body"]
    if entry["kind"] == "seen":
        return [body["seen"], as_list(body.get("why")), bool(body.get("normal"))]
    return body["value"]


def shown(entry: dict) -> dict:
    """One side of a fork, with who set it and when."""
    return {"id": entry["id"], "value": value_of(entry), "author": entry["author"], "at": entry["at"]}


def as_list(value: object) -> list:
    """A text or a list of texts as a list; nothing is an empty one."""
    if value is None or value == "":
        return []
    return value if isinstance(value, list) else [value]
