"""The tables of measurements: LEFT and RIGHT of one measure in one row, every single reading beside its mean."""

from . import cells, sides, sources, wording
from .case import Case, Json

_NAME = {"id": "name", "label": "Measured, mm", "spoken": ""}
_LIMIT = {"id": "limit", "label": "Published limit (class)", "spoken": "limit:"}
_SOURCE = {"id": "source", "label": "Source", "spoken": "source"}
PAIRS = (
    _NAME,
    {"id": "left", "label": "LEFT", "spoken": "LEFT"},
    {"id": "right", "label": "RIGHT", "spoken": "RIGHT"},
    _LIMIT,
    _SOURCE,
)
PARTS = (_NAME, {"id": "value", "label": "Mean", "spoken": ""}, _LIMIT, _SOURCE)

_SIDES = (sides.LEFT, sides.RIGHT)
_IDLE = {"no_published_limit", "unverified_only", ""}


def blocks(case: Case, cited: sources.Sources) -> list[Json]:
    """The tables, the one that holds what was asked first, then in lines what needs no row."""
    values = _in_rows(case)
    paired = [value for value in values if sides.pair_of(value["quantity"])[1]]
    single = [value for value in values if value not in paired]
    if single and values[0] in single:  # made in the order printed, for so the sources get their numbers
        tables = [_parts(case, cited, single), _pairs(case, cited, paired)]
    else:
        tables = [_pairs(case, cited, paired), _parts(case, cited, single)]
    made = [table for table in tables if table]
    if made:
        made[-1]["legend"] = _legend(made)
    return [*made, *_others(case, cited), *_lesions(case)]


def _pairs(case: Case, cited: sources.Sources, values: list[Json]) -> Json | None:
    pairs: dict[str, dict[str, Json]] = {}
    for value in values:
        key, side = sides.pair_of(value["quantity"])
        pairs.setdefault(key, {})[side] = value
    rows = [_pair_row(case, cited, pair) for pair in pairs.values()]
    return _table("pairs", "Measurements, LEFT and RIGHT", PAIRS, rows)


def _parts(case: Case, cited: sources.Sources, values: list[Json]) -> Json | None:
    return _table("parts", "Measurements", PARTS, [_part_row(case, cited, value) for value in values])


def _table(name: str, caption: str, columns: tuple[Json, ...], rows: list[Json]) -> Json | None:
    if not rows:
        return None
    return {
        "kind": "table",
        "name": name,
        "caption": caption,
        "columns": list(columns),
        "rows": rows,
        "legend": "",
    }


def _legend(tables: list[Json]) -> str:
    """Only what these tables use."""
    shown = str([row["cells"] for table in tables for row in table["rows"]])
    pieces = ["Beside a mean: readings \u00b7 number (n) \u00b7 spread (largest minus smallest); alone: one reading."]
    pieces += ["\u2265: at least, a pole was not seen or not read."] if "\u2265" in shown else []
    pieces += ["Ratios: unrounded."] if "'detail': 'of " in shown else []
    pieces += ["Quoted: read in another paper."] if "quoted" in shown else []
    return " ".join(pieces)


def _in_rows(case: Case) -> list[Json]:
    """Values with a row; the other side of one comes with it. A pole stands in its gland's row."""
    folded = {pole["quantity"] for value in case.judgement.get("values") or [] for pole in cells.poles_of(case, value)}
    values = [
        value
        for value in in_order(case)
        if not value.get("lesion")
        and not idle_ratio(case, value)
        and (value["quantity"] not in folded or cells.verdicts(case, value))
    ]
    kept = {sides.pair_of(value["quantity"])[0] for value in values if not _single_line(case, value)}
    return [value for value in values if sides.pair_of(value["quantity"])[0] in kept]


def _pair_row(case: Case, cited: sources.Sources, pair: dict[str, Json]) -> Json:
    some = next(iter(pair.values()))
    numbers = [number for value in pair.values() for number in cells.numbers(case, cited, value)]
    shown = {side: cells.cell(case, pair[side]) if side in pair else cells.NO_CELL for side in _SIDES}
    return {
        "cells": {
            "name": sides.without_side(case.label(some["quantity"])),
            **shown,
            "limit": _limits_of_pair(case, pair),
            "source": sources.marks(numbers) or "\u2013",
        }
    }


def _part_row(case: Case, cited: sources.Sources, value: Json) -> Json:
    return {
        "cells": {
            "name": case.label(value["quantity"]),
            "value": cells.cell(case, value),
            "limit": cells.limit_words(case, value),
            "source": sources.marks(cells.numbers(case, cited, value)) or "\u2013",
        }
    }


def _limits_of_pair(case: Case, pair: dict[str, Json]) -> str:
    """One limit for both sides once; of two that speak of the same animals the class once."""
    words = {side: _of_no_side(cells.limit_words(case, pair[side])) for side in _SIDES if side in pair}
    if len(set(words.values())) == 1:
        return next(iter(words.values()))
    parted = {side: text.partition(" (") for side, text in words.items()}
    classes = {behind for _, _, behind in parted.values()}
    if len(classes) == 1 and "" not in classes:
        extents = ", ".join(f"{side.upper()} {extent}" for side, (extent, _, _) in parted.items())
        return f"{extents} ({classes.pop()}"
    return "; ".join(f"{side.upper()} {text}" for side, text in words.items())


def _of_no_side(words: str) -> str:
    for side in ("LEFT", "RIGHT"):
        words = words.replace(f", {side}", "").replace(f"({side}, ", "(")
    return words


def _others(case: Case, cited: sources.Sources) -> list[Json]:
    """What was not asked about and is within its limit, read once, or has none: in lines, every reading in them."""
    shown = {value["quantity"] for value in _in_rows(case)}
    shown |= {pole["quantity"] for value in _in_rows(case) for pole in cells.poles_of(case, value)}
    said: dict[str, dict[str, list[tuple[str, str]]]] = {}
    for value in in_order(case):
        if value.get("lesion") or value["quantity"] in shown or idle_ratio(case, value):
            continue
        key, side = sides.pair_of(value["quantity"])
        kind = f"Measured, {_single_line(case, value)} (mm)"
        amount, limit = _amount(case, value), _limit(case, cited, value)
        if limit.startswith("(") and amount.endswith(")"):
            amount, limit = amount.removesuffix(")"), "; " + limit.removeprefix("(")
        said.setdefault(kind, {}).setdefault(key, []).append((f"{side.upper()} {amount}".strip(), limit))
    return [
        {"kind": "fact", "label": label, "text": wording.sentence("; ".join(_entries(case, row))), "small": True}
        for label, row in said.items()
    ]


def _amount(case: Case, value: Json) -> str:
    """ "5.4", and with more than one reading "41.3 (41.6 41.0 \u00b7 n 2 \u00b7 0.6)"."""
    amount = wording.with_unit(value["value"], None if value.get("unit") == "mm" else value.get("unit"))
    behind = cells.detail(case, value).removesuffix("n 1").removesuffix(" \u00b7 ") if value.get("n") else ""
    return f"{amount} ({behind})" if behind else amount


def _limit(case: Case, cited: sources.Sources, value: Json) -> str:
    """ "(up to 5, quoted) [10]": the animals are named where they are not just all of the species."""
    if not cells.verdicts(case, value):
        return ""
    words = cells.limit_words(case, value)
    for species in ("dogs", "cats"):
        words = words.replace(f" ({species})", "").replace(f" ({species}; ", " (")
    return f"({words.replace(' (', ', ').removesuffix(')')}) {sources.marks(cells.numbers(case, cited, value))}"


def _entries(case: Case, row: dict[str, list[tuple[str, str]]]) -> list[str]:
    """ "Kidney: length LEFT 41.3, RIGHT 41.7, cortex thickness LEFT 4.8, RIGHT 5.1": part and limit named once."""
    parts: dict[str, list[str]] = {}
    for key, values in row.items():
        limits = list(dict.fromkeys(limit for _, limit in values))
        alike = len(limits) == 1 and not limits[0].startswith(";")
        told = [amount for amount, _ in values] if alike else [_joined(*pair) for pair in values]
        words = _joined(", ".join(told), limits[0] if alike else "")
        part, comma, measure = sides.without_side(case.label(key.replace(".*", ".left"))).partition(", ")
        parts.setdefault(part, []).append(f"{measure} {words}" if comma else words)
    return [f"{part}{':' if len(said) > 1 else ''} {', '.join(said)}" for part, said in parts.items()]


def _joined(amount: str, limit: str) -> str:
    return (amount + limit if limit.startswith(";") else f"{amount} {limit}").rstrip()


def _lesions(case: Case) -> list[Json]:
    """A lesion's sizes together, each with its readings; no limit is held beside them."""
    by_lesion: dict[str, list[str]] = {}
    for value in in_order(case):
        if value.get("lesion"):
            label = case.label(value["quantity"])
            words = f"{label.partition(', ')[2] or label} {_amount(case, value)}"
            by_lesion.setdefault(str(value["lesion"]), []).append(words)
    said = [f"{lesion_name(case, lesion)}: {', '.join(words)}" for lesion, words in by_lesion.items()]
    if not said:
        return []
    text = wording.sentence("; ".join(said))
    return [{"kind": "fact", "label": "Sizes of lesions (mm)", "text": text, "small": True}]


def lesion_name(case: Case, lesion: str) -> str:
    """ "RIGHT adrenal, mass 1": by what it was called when it was found."""
    structure, _, number = lesion.partition("#")
    found = [
        row["finding"]
        for row in case.live("findings")
        if row["structure"] == structure and str(row.get("number") or "") == number
    ]
    kind = str(found[0]).replace("_", " ") if found else "lesion"
    return f"{case.label(structure)}, {kind} {number}".rstrip()


def structure_of(case: Case, row: Json) -> str:
    """The structure of a reading or a value: of a lesion's size the one that the lesion is in."""
    own = (case.quantities.get(str(row["quantity"])) or {}).get("structure")
    return str(own or str(row.get("lesion") or "").partition("#")[0])


def in_order(case: Case) -> list[Json]:
    """Values in the reading order of their structures, then as the catalogue lists them."""
    places = {structure: place for place, structure in enumerate(case.reading_order)}
    listed = {quantity: place for place, quantity in enumerate(case.quantities)}

    def key(value: Json) -> tuple[int, int]:
        row = case.quantities.get(value["quantity"]) or {}
        return places.get(str(row.get("structure")), len(places)), listed.get(value["quantity"], len(listed))

    return sorted(case.judgement.get("values") or [], key=key)


def idle_ratio(case: Case, value: Json) -> bool:
    """A computed ratio that no limit judges tells the reader nothing that its parts do not."""
    judged = [*case.flags(*cells.VERDICTS), *(case.judgement.get("judged") or [])]
    return (
        bool(value.get("derived"))
        and value.get("unit") == "1"
        and all(line["about"] != value["quantity"] for line in judged)
    )


def _single_line(case: Case, value: Json) -> str:
    """Why a value needs no row of its own ("no published limit"), or "" where it does."""
    about = value["quantity"]
    readings = cells.readings_of(case, value)
    if cells.is_unusual(case, value) or (case.quantities.get(about) or {}).get("structure") in case.asked:
        return ""
    flagged = [row for row in case.judgement.get("flags") or [] if row["kind"] != "changed"]
    if any(flag["about"] == about for flag in flagged):
        return ""
    lines = cells.verdicts(case, value)
    if lines:
        once = len(readings) == 1 and readings[0]["value"] == value["value"]
        within = all(line["kind"] == "within" and line.get("call") != "too close to call" for line in lines)
        return "within the published limit" if once and within else ""
    whys = {row["why"] for row in case.judgement.get("silent") or [] if row["about"] == about}
    if not readings:
        return "" if whys or value.get("unit") != "{score}" else "no published limit"
    return cells.why(next(iter(whys))) if len(whys) == 1 and whys < _IDLE else ""
