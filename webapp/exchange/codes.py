"""Codes that exports add beside words: units by UCUM, sites and measures by DICOM's dictionary where it has them.

The rows stand in codes.json. SNOMED CT rows go out only where the practice says so (setting SNOMED), but for the two
species, which DICOM and FHIR ask for. What has no row goes out by this project's own id.
"""

import json
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from flask import current_app, has_app_context

SNOMED = "SCT"
# What these schemes are called in FHIR.
SYSTEMS = {
    "SCT": "http://snomed.info/sct",
    "DCM": "http://dicom.nema.org/resources/ontology/DCM",
    "LN": "http://loinc.org",
    "UCUM": "http://unitsofmeasure.org",
}
# The catalogue's own ids: a name for FHIR (a UUID, for a project without a domain), and one of 16 letters for DICOM.
OWN_SYSTEM = "urn:uuid:5b0f7f0e-6f53-4b43-9e53-6a6d2f7b1c52"
OWN_SCHEME = "99GELSIDE"


class Code(NamedTuple):
    """One code: its scheme by DICOM's short name, the code, its meaning there."""

    scheme: str
    value: str
    meaning: str


@cache
def table() -> dict[str, Any]:
    """codes.json."""
    found: dict[str, Any] = json.loads(Path(__file__).with_name("codes.json").read_text(encoding="utf-8"))
    return found


def snomed_wanted() -> bool:
    """Whether this practice gives SNOMED CT codes out: the setting SNOMED."""
    return bool(has_app_context() and current_app.config["SNOMED"] == "on")


def unit(name: str) -> Code:
    """The UCUM code of a unit of the catalogue. Raises KeyError for any other."""
    return Code(*table()["units"][name])


def species(name: object) -> Code | None:
    """The code of a species, or None for what is neither dog nor cat."""
    row = table()["species"].get(name)
    return Code(*row) if row else None


def document() -> Code:
    """The kind of document: a report of imaging."""
    return Code(*table()["document"])


def modality() -> Code:
    """Ultrasound."""
    return Code(*table()["modality"])


def site(structure: object, snomed: bool) -> Code | None:
    """The organ that a structure ("kidney.left") is or is one of; None without a row or without leave for SNOMED CT."""
    return _allowed(table()["structures"].get(str(structure).partition(".")[0]), snomed)


def side(structure: object, snomed: bool) -> Code | None:
    """LEFT or RIGHT of a structure, where its name says a side."""
    return _allowed(table()["sides"].get(str(structure).rpartition(".")[2]), snomed)


def measure(quantity: str, structure: object, snomed: bool) -> Code | None:
    """What is measured of a whole structure ("length"); None for the measures of a part, which have no code."""
    owner, _, name = quantity.rpartition(".")
    return _allowed(table()["measures"].get(name), snomed) if owner and owner == structure else None


def _allowed(row: list[str] | None, snomed: bool) -> Code | None:
    return Code(*row) if row and (snomed or row[0] != SNOMED) else None
