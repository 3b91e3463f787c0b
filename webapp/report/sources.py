"""Numbered sources: one number per publication, and under it each of its rows that the report leans on."""

from webapp.core import wording as core_words

from . import sides, wording
from .case import Case, Json


class Sources:
    """Gives publications numbers in the order in which the report first leans on them."""

    def __init__(self, case: Case) -> None:
        self._case = case
        self._numbers: dict[str, int] = {}
        self._limits: dict[str, dict[str, Json]] = {}

    def number(self, limit_id: object, cited: object = None) -> int | None:
        """The number for a limit row; None where neither the tables nor the judgement know a source.

        `cited` is the judgement's own short citation: it stands in where the row is not in the tables at hand.
        """
        row = self._case.limits.get(str(limit_id))
        source = str(row.get("source") or "") if row else ""
        key = source if source in self._case.tables["limits"]["sources"] else str(cited or "")
        if not key:
            return None
        number = self._numbers.setdefault(key, len(self._numbers) + 1)
        rows = self._limits.setdefault(key, {})
        if row:
            rows[row["id"]] = row
        return number

    def items(self) -> list[Json]:
        """One item per publication: number, short citation, and of whom its figures speak: population, n, plane,
        statistic, how known. The figures themselves and their classes stand where they are used; what a source does
        not state is left out, and the section says so."""
        table = self._case.tables["limits"]["sources"]
        return [
            {
                "number": number,
                "text": _citation(table[key]) if key in table else wording.sentence(key),
                "rows": _rows_words(self._case, list(self._limits[key].values())),
            }
            for key, number in self._numbers.items()
        ]


def marks(numbers: list[int | None]) -> str:
    """ "[1] [3]" without doubles; "" where there is none."""
    return " ".join(f"[{number}]" for number in dict.fromkeys(numbers) if number is not None)


def _citation(source: Json) -> str:
    text = wording.sentence(wording.capital(core_words.source_words(source)))
    found = source.get("vol") and source.get("pages")  # volume and pages lead there; a number only where they do not
    if source.get("doi") and not found:
        text += f" doi {source['doi']}."
    elif source.get("pmid") and not found:
        text += f" PMID {source['pmid']}."
    return text


def _rows_words(case: Case, rows: list[Json]) -> list[str]:
    """The facts of one publication's rows; rows that differ in nothing but measure and class share them."""
    alike: dict[str, dict[str, None]] = {}
    measures = [row["quantity"] for row in rows]
    for row in rows:
        name = sides.without_side(_quantity_words(case, str(row["quantity"])))
        if measures.count(row["quantity"]) > 1:
            name += f" ({core_words.class_words(row)})"
        alike.setdefault(_facts(case, row), {}).setdefault(name)
    if len(alike) == 1:
        return list(alike)
    return [f"{wording.several(names)}: {facts[:1].lower()}{facts[1:]}" for facts, names in alike.items()]


def _facts(case: Case, row: Json) -> str:
    """Population, n, plane, statistic; what the row is used for where that is no limit; how known where not read."""
    plane, judges = str(row.get("plane") or "unspecified"), row["use"] in ("limit", "on_indication", "alert")
    pieces = [
        _population(case, row),
        f"n {row['n']}" if row.get("n") else "",
        "" if plane == "unspecified" else wording.PLANES.get(plane, plane),
        str(row.get("statistic") or ""),
        "" if row["use"] == "limit" else wording.USE.get(row["use"], str(row["use"])),
        "" if judges else core_words.class_words(row),
        "" if _says_how_known(row) else wording.KNOWN[row["known"]],
    ]
    text = wording.sentence(wording.capital("; ".join(piece for piece in pieces if piece)))
    return text + (f" {wording.sentence(str(row['quantity_known']))}" if row.get("quantity_known") else "")


def _population(case: Case, row: Json) -> str:
    """Who or what was measured; not where the table only says the measure's own name again."""
    words = str(row.get("population") or "")
    measure = _quantity_words(case, str(row["quantity"])).lower()
    return "" if words.lower() in measure or words.lower() in measure.replace(",", "") else words


def _says_how_known(row: Json) -> bool:
    """Read in the paper, as most were, or a statistic that says itself that it is quoted."""
    return row["known"] == "read" or (
        row["known"] == "secondary" and "quoted" in str(row.get("statistic") or "")
    )


def class_words(case: Case, limit: Json) -> str:
    """The animals a limit speaks of. Signs that gate it stand with the signs that a person recorded, not here:
    a number must not bring the name of a disease into the report."""
    words = str(limit.get("class_words") or "")
    row = case.limits.get(str(limit.get("id"))) or {}
    for sign in (row.get("applies_when") or {}).get("signs") or []:
        words = words.replace(f", {str(sign).replace('_', ' ')}", ", with the signs recorded")
    return words


def _quantity_words(case: Case, quantity: str) -> str:
    """The measure that a row speaks of; a row for both sides names neither."""
    if quantity == "adrenal.smaller":
        return "Thinner adrenal gland, greatest thickness"
    if quantity.startswith("node.any."):
        return "Any node without figures of its own, " + quantity.rpartition(".")[2].replace("_", " ")
    if ".*." in quantity:
        return wording.capital(case.label(quantity.replace(".*.", ".left.")).removeprefix("LEFT ")) + ", either side"
    return wording.capital(case.label(quantity).replace("_", " "))


def extent(limit: Json) -> str:
    """ "up to 5.5", "from 3.2" or "2.4 to 3.9"; "" for a row that draws no line."""
    lower, upper = limit.get("lower"), limit.get("upper")
    if lower is not None and upper is not None:
        return f"{lower} to {upper}"
    if upper is not None:
        return f"up to {upper}" if limit.get("upper_is_within") is not False else f"under {upper}"
    if lower is not None:
        return f"from {lower}" if limit.get("lower_is_within") is not False else f"over {lower}"
    return ""
