"""What people type about an animal, as the record keeps it. Used by the forms and by the importer.

Every function raises ValueError with a sentence for the person; nothing is guessed.
"""

import re
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from webapp import dates, rules
from webapp.core import typed as core_typed
from webapp.core.errors import CoreError
from webapp.store import animals

YEARS, MONTHS = ("y", "yr", "yrs", "year", "years"), ("m", "mo", "mos", "month", "months")
LONGEST_LIFE_MONTHS = 480
CHIP = re.compile(r"[0-9]{15}")


class Weight(NamedTuple):
    """Kilograms as decimal text, and what was typed with its unit."""

    kg: str
    typed: str
    unit: str

    @property
    def body(self) -> dict[str, str]:
        return {"value": self.kg, "typed": self.typed, "typed_unit": self.unit}


def weight(text: str, species: str | None = None) -> Weight:
    """Kilograms from "12,4", "12.4 kg", "27 lb" or "400 g", exactly: no class edge is crossed by rounding."""
    asked = re.sub(r"(?i)\b(lbs|pounds?)\.?$", "lb", text.strip())
    asked = re.sub(r"(?i)\s*(kg|lb|g)\.?$", lambda found: f" {found[1].lower()}", asked)
    try:
        answer = core_typed.read(asked, "kg", "kg")
    except CoreError as error:
        advice = error.message.replace("mm or cm", "kg or lb").replace("like 6.2", "like 6.2 or 13 lb")
        raise ValueError(advice) from error
    value = Decimal(answer["value"])
    window = rules.tables()["catalogue"]["weight_plausible_kg"].get(species or "")
    if value <= 0:
        raise ValueError("A weight is above zero; leave it empty if it is not known.")
    if window and not Decimal(window["from"]) <= value <= Decimal(window["to"]):
        shown = core_typed.kilograms(_plain(value))
        raise ValueError(
            f"{shown} kg for a {species}? Believed here: {window['from']} to {window['to']} kg. Was it the wrong unit?"
        )
    number = re.sub(r"\s*[a-z]+$", "", asked)
    return Weight(_plain(value), number, answer["typed_unit"])


def _plain(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def born(text: str, today: date) -> str:
    """A day of birth, not in the future and not before any animal alive could be born."""
    found = dates.typed_day(text)
    if found > today.isoformat():
        raise ValueError(f"{dates.day(found, dates.SHORT)} is still to come.")
    if int(found[:4]) < today.year - LONGEST_LIFE_MONTHS // 12:
        raise ValueError(f"Born {found[:4]}? Look at the year.")
    return found


def age_months(text: str) -> int:
    """Months from "7 years", "7 y 3 m", "18 months"; a bare number is not guessed."""
    parts = re.findall(r"([0-9]+)\s*([a-z]+)", text.lower())
    rest = re.sub(r"([0-9]+)\s*([a-z]+)|,|and|\s", "", text.lower())
    months = 0
    for number, unit in parts:
        if unit in YEARS:
            months += 12 * int(number)
        elif unit in MONTHS:
            months += int(number)
        else:
            rest += unit
    if rest or not parts or not 0 <= months <= LONGEST_LIFE_MONTHS:
        raise ValueError("Write the age with its unit: 7 years, 7 y 3 m or 18 months.")
    return months


def chip_advice(text: str) -> str | None:
    """What is unusual about a chip's number, or None. It is advice: older and foreign chips are numbered otherwise."""
    number = animals.digits(text)
    if not number:
        return None
    if not CHIP.fullmatch(number):
        counted = "digits" if number.isdecimal() else "letters and digits"
        return f"A chip by ISO 11784 has 15 digits; this one has {len(number)} {counted}. It is kept as typed."
    if number[:3] == "000":
        return "A chip's first three digits name a country or a maker; 000 is neither. It is kept as typed."
    return None
