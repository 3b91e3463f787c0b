"""The register as the desk shows it: read from the rules' own words, filtered, grouped, written as CSV."""

import csv
import io
import json
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any, NamedTuple

from webapp import rules

Json = dict[str, Any]

USES = {
    "limit": "limit",
    "on_indication": "limit on a condition",
    "alert": "alert",
    "criterion": "cut-off",
    "reference": "values seen",
    "unverified": "unverified",
    "record": "kept for the record",
    "off": "switched off",
    "own": "the practice's own",
}
SPECIES = {"dog": "dogs", "cat": "cats"}
COLUMNS = (
    "id", "quantity", "animals", "lower", "upper", "unit", "values", "statistic", "n", "population", "plane",
    "use_words", "known", "citation", "note", "sources_differ",
)  # fmt: skip
HEADINGS = {
    "use_words": "use",
    "known": "how known",
    "citation": "source",
    "sources_differ": "sources differ",
}


class Filter(NamedTuple):
    """What of the register is wanted: "" = all. `text`: every word must be somewhere in the row."""

    structure: str = ""
    species: str = ""
    use: str = ""
    text: str = ""

    @property
    def asked(self) -> dict[str, str]:
        """The fields that are set, for addresses."""
        return {name: value for name, value in self._asdict().items() if value}


def wanted(given: Mapping[str, str]) -> Filter:
    """The filter in an address; what is not a choice is as good as not given."""
    species, use = given.get("species", ""), given.get("use", "")
    return Filter(
        given.get("structure", "").strip()[:60],
        species if species in SPECIES else "",
        use if use in USES else "",
        given.get("text", "").strip()[:200],
    )


@lru_cache(maxsize=4)
def _made(key: str, spelled: str) -> Json:
    """Kept for each overlay and each spelling: the words come in the one that is set where this runs."""
    overlay = None if key == "" else json.loads(key)
    register: Json = rules.call({"do": "register"}, overlay)["register"]
    cited = {one["source"]: one for one in register["sets"]}
    for row in register["rows"]:
        row["short"], row["citation"] = cited[row["source"]]["short"], cited[row["source"]]["citation"]
        row["sources_differ"] = " | ".join(register["differ"][place]["words"] for place in row["differ"])
        row["searched"] = _folded(" ".join(str(row[name]) for name in COLUMNS[:-1]))
    return register


def register(overlay: Json | None) -> Json:
    """The whole register with this overlay, each row with its citation and what it is searched by."""
    key = "" if overlay is None else json.dumps(overlay, sort_keys=True, ensure_ascii=False)
    return _made(key, rules.spelling_here())


def rows(made: Json, filter: Filter) -> list[Json]:
    """The rows that the filter lets through, in the table's order."""
    words = _folded(filter.text).split()
    return [
        row
        for row in made["rows"]
        if (not filter.structure or row["unit_id"] == filter.structure)
        and (not filter.species or filter.species in row["species"])
        and (not filter.use or filter.use in _kinds(row))
        and all(word in row["searched"] for word in words)
    ]


def _kinds(row: Json) -> set[str]:
    """The choices of `use` that a row belongs to."""
    kinds = {row["use"] if row["use"] in USES else "record"}
    return kinds | {"own"} if row["own"] else kinds


def _folded(text: str) -> str:
    return text.casefold().replace("\u2019", "'")


def groups(chosen: Iterable[Json], differ: list[Json]) -> list[Json]:
    """Rows by quantity: [{"quantity", "rows", "differ" [words]}], "sources differ" told once for a quantity."""
    made: dict[str, Json] = {}
    for row in chosen:
        group = made.setdefault(row["quantity"], {"quantity": row["quantity"], "rows": [], "differ": []})
        group["rows"].append(row)
        for place in row["differ"]:
            told = f"{SPECIES[differ[place]['species']]}: {differ[place]['words']}"
            if told not in group["differ"]:
                group["differ"].append(told)
    return list(made.values())


def thresholds(overlay: Json | None) -> list[Json]:
    """Our own choices, each value with the one it had before the practice changed it (None where unchanged)."""
    ours = {value["path"]: value["value"] for row in register(None)["thresholds"] for value in row["values"]}
    listed = []
    for row in register(overlay)["thresholds"]:
        values = [
            value | {"before": ours[value["path"]] if ours[value["path"]] != value["value"] else None}
            for value in row["values"]
        ]
        listed.append(row | {"name": row["id"].replace("_", " "), "values": values})
    return listed


def as_csv(chosen: Iterable[Json]) -> str:
    """The rows as CSV with a heading; a cell that a spreadsheet would take for a formula begins with an apostrophe."""
    file = io.StringIO()
    writer = csv.writer(file)
    writer.writerow([HEADINGS.get(name, name) for name in COLUMNS])
    for row in chosen:
        writer.writerow([_cell(str(row[name])) for name in COLUMNS])
    return file.getvalue()


def _cell(text: str) -> str:
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text
