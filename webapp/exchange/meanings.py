"""What the cells of a column mean: words people use for species and sex, and days in the order that was asked for.

Every function raises ValueError with a sentence about the cell; nothing is guessed.
"""

import re
from collections.abc import Iterable
from datetime import date
from typing import Any

from webapp import dates
from webapp.animals import typed
from webapp.exchange import csv_out

DOG = ("dog", "canine", "canis", "hund", "chien", "perro", "448771007")
CAT = ("cat", "feline", "felis", "katze", "chat", "gato", "448169003")
YES = ("yes", "y", "true", "1", "x", "neutered", "spayed", "castrated", "desexed")
NO = ("no", "n", "false", "0", "entire", "intact")
SEX = {
    "female": ("female", None), "f": ("female", None), "male": ("male", None), "m": ("male", None),
    "female neutered": ("female", True), "neutered female": ("female", True), "female spayed": ("female", True),
    "spayed female": ("female", True), "fn": ("female", True), "fs": ("female", True),
    "female entire": ("female", False), "entire female": ("female", False), "intact female": ("female", False),
    "fe": ("female", False), "fi": ("female", False),
    "male neutered": ("male", True), "neutered male": ("male", True), "castrated male": ("male", True),
    "male castrated": ("male", True), "mn": ("male", True), "mc": ("male", True),
    "male entire": ("male", False), "entire male": ("male", False), "intact male": ("male", False),
    "me": ("male", False), "mi": ("male", False),
}
UNKNOWN = ("unknown", "not known", "?", "-", "n/a", "none known")
ORDERS = {"dmy": "day, month, year", "mdy": "month, day, year", "ymd": "year, month, day"}
NUMERIC = re.compile(r"^([0-9]{1,4})[./\- ]([0-9]{1,2})[./\- ]([0-9]{1,4})$")


def empty(text: str) -> bool:
    """Whether the cell says nothing: an empty cell never clears what a record holds."""
    return not text or text.casefold() in UNKNOWN


def species(text: str) -> str:
    word = text.casefold()
    for name, words in (("dog", DOG), ("cat", CAT)):
        if word in words:
            return name
    raise ValueError(f'"{text}" is neither dog nor cat: only these two are kept here.')


def sex(text: str) -> tuple[str, bool | None]:
    """(sex, neutered or None where the word does not say)."""
    known = SEX.get(" ".join(re.sub(r"[()/,]", " ", text.casefold()).split()))
    if known is None:
        raise ValueError(f'"{text}" is no sex known here: write female, male, female neutered or male neutered.')
    return known


def truth(text: str) -> bool:
    word = text.casefold()
    if word in YES or word in NO:
        return word in YES
    raise ValueError(f'"{text}" is neither yes nor no.')


def orders(cells: Iterable[str]) -> list[str]:
    """The orders of day and month that these cells leave open.

    One: they tell it. Two: it must be asked. None: some can only be the one, some only the other. A year written
    first tells its own order; a cell that is no day in any order tells nothing and is named with its row.
    """
    left, told = ["dmy", "mdy"], False
    for text in cells:
        found = NUMERIC.match(_bare(text))
        if found and len(found[1]) < 4:
            fits = [order for order in ("dmy", "mdy") if _ordered(found.groups(), order) is not None]
            told = told or bool(fits)
            left = [order for order in left if order in fits] if fits else left
    return left if told else ["ymd"]


def _bare(text: str) -> str:
    """A day without the time of day behind it."""
    return re.sub(r"[T ][0-9]{1,2}:[0-9]{2}(:[0-9]{2}(\.[0-9]+)?)?(Z|[+-][0-9:]+)?$", "", text.strip())


def _ordered(parts: Iterable[str], order: str) -> str | None:
    """The day of three numbers in this order, or None where there is no such day or the year lacks its century."""
    told = dict(zip(order, parts, strict=True))
    if len(told["y"]) != 4:
        return None
    try:
        return date(int(told["y"]), int(told["m"]), int(told["d"])).isoformat()
    except ValueError:
        return None


def day(text: str, order: str) -> str:
    """A day as "2026-12-01", its numbers in the order that was chosen; a time of day behind it is left away."""
    found = NUMERIC.match(_bare(text))
    if found is None:
        return dates.typed_day(_bare(text))
    order = "ymd" if len(found[1]) == 4 else order
    made = _ordered(found.groups(), order)
    if made is None:
        short = min(len(found[1]), len(found[3])) < 3 and max(len(found[1]), len(found[3])) < 4
        why = "write the year with four digits" if short else f"no such day in the order {ORDERS[order]}"
        raise ValueError(f'"{text}": {why}.')
    return made


def cell(text: str) -> str:
    """The text of a cell; a file that was given out here comes in as it was."""
    return csv_out.plain(text)


def weight(text: str, unit: str, of: str | None) -> dict[str, Any]:
    """A weight's body for the record; `unit` = the column's, where the cell writes none."""
    body: dict[str, Any] = typed.weight(text if re.search(r"[A-Za-z]\.?$", text) else f"{text} {unit}", of).body
    return body
