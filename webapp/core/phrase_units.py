"""Said numbers -> values in the catalogue's unit, and what must be asked about them.

A unit said once holds for the whole phrase; one said with its own measure holds for that. Without one the
quantity's usual window decides what is offered, never what is believed: see `decided`.
"""

from . import decimals

LENGTHS = ("mm", "cm")
# How far the point moves from a said unit to the catalogue's.
PLACES = {"mm mm": 0, "cm mm": 1, "cm/s cm/s": 0, "m/s cm/s": 2, "mL mL": 0, "{score} {score}": 0, "1 1": 0}


def shifted(text: str, places: int) -> str:
    """The decimal text with its point moved to the right, digits kept: "0.64", 1 -> "6.4"; "6", 1 -> "60"."""
    whole, _, part = text.partition(".")
    while len(part) < places:
        part += "0"
    whole, part = whole + part[:places], part[places:]
    while len(whole) > 1 and whole[0] == "0":
        whole = whole[1:]
    return whole + ("." + part if part else "")


def inside(text: str, window: dict | None) -> bool:
    """Whether a decimal text lies in a window {"from", "to"}; False without one."""
    if not window or window["from"] is None or window["to"] is None:
        return False
    number = decimals.parse(text)
    low, high = decimals.parse(window["from"]), decimals.parse(window["to"])
    return decimals.compare(number, low) >= 0 and decimals.compare(number, high) <= 0


def said_units(value, phrase_unit: str | None) -> list:
    """The unit of each number: its own, else the next said in the same measure, the one before, the phrase's."""
    units = list(value.units)
    for at in range(len(units)):
        later = [unit for unit in value.units[at:] if unit is not None]
        earlier = [unit for unit in value.units[:at] if unit is not None]
        units[at] = (later[:1] or earlier[-1:] or [phrase_unit])[0]
    return units


def decided(texts: list, window: dict | None) -> tuple:
    """(unit, whether to ask) of lengths said without a unit.

    In the usual window as mm and not as cm: mm. Only as cm: cm, asked. As both or neither: mm, asked.
    """
    as_mm = all([inside(text, window) for text in texts])
    as_cm = all([inside(shifted(text, 1), window) for text in texts])
    if as_cm and not as_mm:
        return "cm", True
    return "mm", as_mm == as_cm


def converted(texts: list, units: list, target: str) -> list | None:
    """The texts in the target unit, or None where a unit does not measure such a thing."""
    values = []
    for at, text in enumerate(texts):
        if units[at] is None:
            values.append(shifted(text, 0))
            continue
        places = PLACES.get(units[at] + " " + target)
        if places is None:
            return None
        values.append(shifted(text, places))
    return values


def usual(row: dict, species: str) -> dict | None:
    """Where values of the quantity mostly lie in this species, or None."""
    return row["usual"].get(species) if row["usual"] else None


def believed(text: str, row: dict, species: str) -> bool:
    """Whether a value needs no question: inside the usual window, or where there is none inside the plausible one."""
    window = usual(row, species) or row["plausible"]
    if not window or window["from"] is None:
        return True
    return inside(text, window)
