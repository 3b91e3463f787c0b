"""An overlay and an own row, for tests."""

from typing import Any

from webapp.core import engine

Json = dict[str, Any]

NAMES = engine.NAMES
MAXIMUM = "adrenal.left.maximum_thickness"


def overlay(**fields: Any) -> Json:
    return {"change": 1, "sources_off": [], "rows_off": [], "thresholds": {}, "rows": []} | fields


def own(**fields: Any) -> Json:
    row = {
        "id": "own1",
        "quantity": MAXIMUM,
        "species": "dog",
        "weight_kg": {"min": "5", "min_included": False, "max": "10", "max_included": True},
        "lower": None,
        "upper": "5.8",
        "unit": "mm",
        "plane": "long_axis",
        "population": "dogs seen for dental work",
        "n": 31,
        "use": "limit",
        "source": "own series 2024 to 2026",
    }
    return row | fields
