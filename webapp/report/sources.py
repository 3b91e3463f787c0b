"""Numbered sources: one number per publication, and under it each of its rows that the report leans on."""

from webapp.core import wording as core_words

from . import wording
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
        """One item per publication: number, the full citation and its rows with population, n, plane and class."""
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
    volume = str(source.get("vol") or "")
    pages = str(source.get("pages") or "")
    place = ": ".join(piece for piece in (volume, pages) if piece)
    journal = " ".join(piece for piece in (str(source.get("journal") or ""), place) if piece)
    pieces = [str(source.get("authors") or "Authors not known"), str(source.get("title") or ""), journal]
    text = " ".join(wording.sentence(piece.strip()) for piece in pieces if piece.strip())
    if source.get("year"):
        text += f" {source['year']}."
    if source.get("doi"):
        text += f" doi {source['doi']}."
    elif source.get("pmid"):
        text += f" PMID {source['pmid']}."
    return text


def _rows_words(case: Case, rows: list[Json]) -> list[str]:
    """The rows of one publication; those that differ in nothing but measure, figure and class share their facts."""
    alike: dict[str, list[str]] = {}
    for row in rows:
        figure = wording.with_unit(extent(row), row.get("unit")) if extent(row) else "no single figure"
        head = f"{_quantity_words(case, str(row['quantity']))}: {figure} ({core_words.class_words(row)})"
        alike.setdefault(_facts(row), []).append(head)
    return [f"{'; '.join(heads)}. {facts}" for facts, heads in alike.items()]


def _facts(row: Json) -> str:
    """Population, n, plane, statistic, what the row is used for and how it is known."""
    pieces = [
        str(row.get("population") or ""),
        f"n {row['n']}" if row.get("n") else "n not stated",
        wording.PLANES.get(str(row.get("plane") or "unspecified"), str(row.get("plane"))),
        str(row.get("statistic") or ""),
    ]
    text = wording.sentence(wording.capital("; ".join(piece for piece in pieces if piece)))
    text += f" {wording.capital(wording.USE.get(row['use'], str(row['use'])))}; {wording.KNOWN[row['known']]}."
    return text + (f" {wording.sentence(str(row['quantity_known']))}" if row.get("quantity_known") else "")


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
