"""The paper of a visit, for the day on which no phone works: the same structures in the same order, one line a value.

Blank but for what the desk knows of the animal. Typed back into the phone's form, which goes in the same order.
"""

from typing import Any

from webapp import rules
from webapp.core.catalogue import is_core, presence
from webapp.store.ways import Ways


def rows(patient: dict[str, Any], asked: list[str], ways: Ways) -> list[dict[str, Any]]:
    """[{"label", "asked", "parts": [words], "measures": [{"label", "unit", "times"}]}] of the structures that are asked
    for in this animal, those of the question marked, in the order of whoever scans."""
    catalogue = rules.worded()["catalogue"]
    place = {name: number for number, name in enumerate(ways["order"])}
    usual = [row for row in catalogue["structures"] if row["id"] in asked or _asked_for(row, patient)]
    ordered = sorted(usual, key=lambda row: place.get(row["id"], len(place)))
    species = patient.get("species")
    core = [row for row in catalogue["quantities"] if is_core(row, species) and not row["derived"]]
    return [_row(row, asked, [one for one in core if one["structure"] == row["id"]], species) for row in ordered]


def _row(structure: dict[str, Any], asked: list[str], core: list[dict[str, Any]], species: Any) -> dict[str, Any]:
    fitting = [one for one in core if not one.get("species") or not species or species in one["species"]]
    measures = [
        {
            "label": one["label"].removeprefix(f"{structure['label']}, "),
            "unit": "" if one["unit"] == "1" else one["unit"],
            "times": range(one["readings"]),
        }
        for one in fitting
    ]
    parts = [part["label"] for part in structure["parts"]]
    return {"label": structure["label"], "asked": structure["id"] in asked, "parts": parts, "measures": measures}


def _asked_for(structure: dict[str, Any], patient: dict[str, Any]) -> bool:
    """As the phone's form does: by sex and neutering, where they are known."""
    found = presence(structure, patient)
    return bool(structure["default"]) and (found == "present" or (found == "absent" and patient.get("sex") is None))
