"""Measurements of a DICOM structured report as proposals: each shown with the report's own words, none taken by itself.

Any template: every number (NUM) counts that is no property of another number; its words are those of the report. Only
cm are turned into mm (UCUM); a unit that the catalogue has itself stays. Which measure of the catalogue a number is, a
person says; only an id of our own catalogue is known again. Sources: DICOM PS3.3 C.17.3, C.18.1; PS3.16 TID 300.
"""

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, NamedTuple

from pydicom.dataset import Dataset

from webapp.exchange import codes
from webapp.exchange.dicom_in import DAMAGE, Unusable

DEEPEST, MOST = 24, 20_000
DECIMAL = re.compile(r"[0-9]{1,9}(\.[0-9]{1,9})?")
TRACKING, FINDING_SITE, DERIVATION = "112039", "363698007", "121401"
# Words of a report that are shown beside a number are kept with its reading: so much of them.
LONGEST_WORDS = 200


class Proposal(NamedTuple):
    """A number of a report. `place` = its place among the report's numbers, from 1; `words`, `typed` and `typed_unit`
    as they stand there; `value` and `unit` as a reading keeps them, "" where they cannot be kept; `quantity` a measure
    of ours that the report names itself, or ""; `refused` why it cannot be taken, or ""."""

    place: int
    words: str
    typed: str
    typed_unit: str
    value: str
    unit: str
    quantity: str
    refused: str


def is_report(data: Dataset) -> bool:
    """Whether the file is a structured report."""
    return "ContentSequence" in data and "PixelData" not in data


def proposals(data: Dataset, quantities: dict[str, Any]) -> list[Proposal]:
    """Every number of the report in its order. `quantities` = the catalogue's, by id. Raises Unusable."""
    try:
        found = [_proposal(place, item, path, quantities) for place, (item, path) in enumerate(_numbers(data), 1)]
    except Unusable:
        raise
    except DAMAGE as error:
        raise Unusable(f"The report is damaged and cannot be read ({type(error).__name__}).") from error
    if not found:
        raise Unusable("The report holds no number, so there is nothing to take in.")
    return found


def _numbers(data: Dataset) -> Iterator[tuple[Dataset, list[str]]]:
    """Every number that is no property of another one, with the words that stand above it."""
    count = 0
    waiting: list[tuple[Dataset, list[str], int]] = [(data, [], 0)]
    while waiting:
        item, path, depth = waiting.pop()
        count += 1
        if depth > DEEPEST or count > MOST:
            raise Unusable("The report is nested deeper or longer than any that people write; it is not read.")
        if item.get("ValueType") == "NUM":
            yield item, path
            continue
        children = list(item.get("ContentSequence") or [])
        told = [*path, *_told(item, children)]
        waiting += [(child, told, depth + 1) for child in reversed(children)]


def _told(item: Dataset, children: list[Dataset]) -> list[str]:
    """What a container says of the numbers in it: its tracking identifier or name, and the finding's site."""
    tracked = [str(one.TextValue) for one in children if _code(one) == TRACKING and one.get("TextValue")]
    own = tracked or ([_meaning(item)] if item.get("ValueType") == "CONTAINER" and _meaning(item) else [])
    return own + [_site(one) for one in children if _code(one) == FINDING_SITE]


def _site(item: Dataset) -> str:
    within = [_value(one) for one in item.get("ContentSequence") or []]
    return " ".join(piece for piece in (_value(item), *within) if piece)


def _proposal(place: int, item: Dataset, path: list[str], quantities: dict[str, Any]) -> Proposal:
    children = list(item.get("ContentSequence") or [])
    extra = [f"{_meaning(one)}: {_site(one)}" for one in children if one.get("ValueType") == "CODE"]
    words = ", ".join(dict.fromkeys(piece for piece in (*path[1:], _meaning(item), *extra) if piece))[:LONGEST_WORDS]
    measured = list(item.get("MeasuredValueSequence") or [])
    if not measured:
        return Proposal(place, words, "", "", "", "", "", "the report says that there is no value")
    typed = str(measured[0].NumericValue).strip()
    scheme, unit = _unit(measured[0])
    name = item.ConceptNameCodeSequence[0]
    known = _code(item) if name.get("CodingSchemeDesignator") == codes.OWN_SCHEME else ""
    made = Proposal(place, words, typed, unit, "", "", known if known in quantities else "", "")
    if made.quantity.startswith("lesion."):
        return made._replace(refused="a lesion's size: it is recorded with the finding and its number")
    if any(_code(one) == DERIVATION for one in children):
        return made._replace(refused="a value made from several (see its words): readings are kept singly")
    return _kept(made, scheme, {row["unit"] for row in quantities.values()})


def _kept(made: Proposal, scheme: str, units: set[str]) -> Proposal:
    """The value and unit as a reading keeps them."""
    if not DECIMAL.fullmatch(made.typed):
        return made._replace(refused="no plain decimal number of up to nine digits")
    if scheme != "UCUM":
        return made._replace(refused="its unit is not written in UCUM")
    if made.typed_unit == "cm":
        return made._replace(value=format(Decimal(made.typed).scaleb(1), "f"), unit="mm")
    if made.typed_unit in units:
        return made._replace(value=made.typed, unit=made.typed_unit)
    return made._replace(refused="a unit that no measure here has; only cm are turned into mm")


def _unit(measured: Dataset) -> tuple[str, str]:
    found = list(measured.get("MeasurementUnitsCodeSequence") or [])
    if not found:
        return "", ""
    return str(found[0].get("CodingSchemeDesignator") or ""), str(found[0].get("CodeValue") or "")


def _code(item: Dataset) -> str:
    found = list(item.get("ConceptNameCodeSequence") or [])
    return str(found[0].get("CodeValue") or found[0].get("LongCodeValue") or "") if found else ""


def _meaning(item: Dataset) -> str:
    found = list(item.get("ConceptNameCodeSequence") or [])
    return str(found[0].get("CodeMeaning") or "") if found else ""


def _value(item: Dataset) -> str:
    found = list(item.get("ConceptCodeSequence") or [])
    return str(found[0].get("CodeMeaning") or "") if found else ""
